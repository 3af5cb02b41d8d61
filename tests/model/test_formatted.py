"""Formatting a netlist does not change what it says."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import random_netlist

from wiregen.findings import Source, Span
from wiregen.language import format_text
from wiregen.model import read

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").rglob("*.wnet"))


def said(thing: Any) -> Any:
    """What a job says, without the places where it stands in the text."""
    if isinstance(thing, Span):
        return None
    if is_dataclass(thing):
        return {f.name: said(getattr(thing, f.name)) for f in fields(thing)}
    if isinstance(thing, dict) or hasattr(thing, "items"):
        return {key: said(value) for key, value in thing.items()}
    if isinstance(thing, tuple | list):
        return [said(value) for value in thing]
    return thing


def check_same(path: str, text: str) -> None:
    """The formatted text makes the same job and the same findings."""
    formatted, _ = format_text(Source(path, text))
    one, first = read(path, text=text)
    two, second = read(path, text=formatted)
    assert said(one) == said(two)
    assert [f.message for f in first] == [f.message for f in second]


@given(st.integers(0, 10**6), st.integers(2, 40))
@settings(max_examples=30)
def test_random_jobs_say_the_same_formatted(seed: int, parts: int) -> None:
    check_same("t.wnet", random_netlist(seed, parts))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_examples_say_the_same_formatted(path: Path) -> None:
    check_same(str(path), path.read_text(encoding="utf-8"))
