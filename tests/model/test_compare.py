"""Two revisions beside each other: every change told once, and nothing that is only written differently."""

from __future__ import annotations

from pathlib import Path

import pytest

from wiregen.model import read
from wiregen.model.compare import Change, compare
from wiregen.model.job import Job

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.wnet"))
OLD = """\
job "Van"
battery start 12 V 75 Ah flooded
fuse F1 30 A
load pump 5 A
start.+ --[ W1 red 6 mm2 300 mm ]-- F1 --[ W2 red 6 mm2 4 m ]-- pump.+
start.- --[ B1 black 6 mm2 4 m ]-- pump.-
"""


def job(text: str) -> Job:
    made, found = read("van.wnet", text=text)
    assert made is not None, found
    return made


def changes(*edits: tuple[str, str]) -> tuple[Change, ...]:
    new = OLD
    for before, after in edits:
        assert before in new
        new = new.replace(before, after)
    return compare(job(OLD), job(new))


def test_another_way_of_writing_is_no_change() -> None:
    remark = "# spare in the glove box\nfuse F1   30 A"
    assert changes(("300 mm", "0.3 m"), ("fuse F1 30 A", remark), ("W2 red", "W2  red")) == ()
    assert changes(("red 6 mm2 4 m", "6 mm2 red 4 m")) == ()


def test_a_value_is_told_with_the_old_one_beside_it() -> None:
    (change,) = changes(("W2 red 6 mm2 4 m", "W2 orange 10 mm2 4 m"))
    assert (change.kind, change.id, change.at) == ("changed", "W2", "W2")
    assert change.message == "conductor W2: colour orange, was red; size 10 mm2, was 6 mm2"
    (fuse,) = changes(("fuse F1 30 A", "fuse F1 25 A, holder 30 A"))
    assert fuse.message == "fuse F1: rating 25 A, was 30 A; holder 30 A is new"


def test_what_is_added_is_told_with_its_figures() -> None:
    path = "F1.out --[ W3 red 1 mm2 1 m ]-- D1.+\n"
    told = changes(("load pump", "lamp D1 4 W\nload pump"), ("pump.-\n", f"pump.-\n{path}"))
    assert [(c.kind, c.id, c.at, c.message) for c in told] == [
        ("added", "D1", "D1", "lamp D1 4 W"),
        ("added", "W3", "W3", "conductor W3 red 1 mm2 1 m, F1.out to D1.+"),
    ]


def test_what_is_removed_is_marked_where_it_was() -> None:
    told = changes(("start.- --[ B1 black 6 mm2 4 m ]-- pump.-\n", ""))
    assert [(c.kind, c.id, c.at) for c in told] == [("removed", "B1", "start")]
    told = changes(("load pump 5 A\n", "load fan 2 A\n"), ("pump.+", "fan.+"), ("pump.-", "fan.-"))
    assert [(c.kind, c.id, c.at) for c in told] == [
        ("added", "fan", "fan"), ("changed", "W2", "W2"), ("changed", "B1", "B1"), ("removed", "pump", "F1"),
    ]  # fmt: skip


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_a_job_is_no_other_than_itself(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    a, _ = read(str(path))
    b, _ = read(str(path), text="# a remark\n\n" + text)
    assert a is not None and b is not None
    assert compare(a, b) == ()
