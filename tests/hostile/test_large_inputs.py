"""A megabyte of anything takes at most ten seconds of CPU and a gigabyte of memory, and ends with words."""

from __future__ import annotations

import random
import time
from pathlib import Path

import pytest
from large_texts import HOSTILE, LARGE
from measured import Measured, measured

from wiregen.exchange.from_table import import_table

pytestmark = pytest.mark.long  # an absolute bound on time is no business of a quick test

HEAD = "Kind,Name,Block,Way,Rating,From,To,Colour,Size,Length\n"
CHANCE = random.Random(1)


def word() -> str:
    """Eight letters of a few, so that all words are close to each other."""
    return "".join(CHANCE.choice("abcdefgh") for _ in range(8))


TABLES = {
    "unknown kinds": lambda n: f"{word()},L{n},,,1 A,,,,,\n",
    "bad names": lambda n: f"fuse,{n}!,,,1 A,,,,,\n,,,,,{word()},x,,,\n",
    "bad cells": lambda n: f"fuse,F{n},,,1 mm2,,,,,\n",
    "ways of nothing": lambda n: f"fuse,F{n},X,{n % 9},1 A,,,,,\n",
    "unknown ends": lambda n: f"fuse,{word()},,,1 A,,,,,\n,,,,,{word()},{word()},red,1 mm2,1 m\n",
    "rows of the job": lambda n: f"job,{word()},,,,,,,,\n",
    "the same name": lambda n: "fuse,F1,,,1 A,,,,,\n",
}


def within(started: float) -> None:
    """Ten seconds of CPU."""
    assert time.process_time() - started < 10


@pytest.mark.parametrize("name", TABLES)
def test_a_table_of_slips_is_told_and_no_hang(name: str) -> None:
    data = (HEAD + "".join(TABLES[name](n) for n in range(9_000))).encode()
    started = time.process_time()
    made = import_table("x.csv", data)
    within(started)
    assert made.findings and not made.text and len(made.findings) <= 201


@pytest.mark.parametrize("text", ["a,", "a\n", ",", '"', '"a\n', HEAD, "=1+1,\n", "\t", ";\n"], ids=repr)
def test_a_megabyte_of_the_same_in_a_table(text: str) -> None:
    started = time.process_time()
    assert import_table("x.csv", (text * (990_000 // len(text))).encode()).findings
    within(started)


def run(folder: Path, text: str, *words: str) -> Measured:
    """A command on this text."""
    (folder / "large.wnet").write_text(text, encoding="utf-8")
    return measured(folder, [words[0], "large.wnet", *words[1:]])


@pytest.mark.parametrize("name", HOSTILE)
def test_a_megabyte_of_slips_is_told_within_ten_seconds_and_a_gigabyte(name: str, tmp_path: Path) -> None:
    text = LARGE[name]()
    assert 900_000 < len(text.encode()) <= 1_000_000
    for words in (["check"], ["format", "--check"]):
        code, seconds, memory, told = run(tmp_path, text, *words)
        assert code == 0 or (code in (1, 2) and told)
        assert "Traceback" not in told and "mistake in wiregen" not in told
        assert seconds < 10 and memory < 1000


def test_many_slips_among_many_names_are_no_hang(tmp_path: Path) -> None:
    """Each of 200 unknown names is held against every known one, as long as that is soon done."""
    names = "".join(f"fuse {word()} 5 A\n" for _ in range(12_000))
    slips = "".join(f"{word()}x -- {word()}y\n" for _ in range(2_000))
    code, seconds, _, told = run(tmp_path, names + slips, "check")
    assert code == 2 and "is not declared" in told
    assert seconds < 10
