"""A rule's words, places, evidence and remedies do not change unnoticed."""

from __future__ import annotations

import pytest
from said import FOLDER, text

from wiregen.rules.register import JUDGING


@pytest.mark.parametrize("rule", JUDGING)
def test_a_rule_says_what_is_written_down(rule: str) -> None:
    path = FOLDER / f"{rule}.txt"
    written = path.read_text(encoding="utf-8") if path.exists() else ""
    assert text(rule) == written, "if that is meant: python tests/rules/said.py, and read the difference"


def test_nothing_is_written_down_for_a_rule_that_is_not_there() -> None:
    assert {path.stem for path in FOLDER.glob("*.txt")} == set(JUDGING)
