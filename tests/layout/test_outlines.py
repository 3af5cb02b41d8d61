"""Outlines of places: each holds the parts of its place and no other; a part that stands alone is told where it is."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import random_netlist

from wiregen.circuit.network import build
from wiregen.circuit.study import Study
from wiregen.layout import Options, invariants, lay_out
from wiregen.layout.geometry import Geometry
from wiregen.model import read
from wiregen.model.job import Job

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.wnet"))
NETLIST = """
place bay "Engine bay"
place tray "Tray"
battery start 70 Ah flooded, at bay
fuse F1 40 A, at bay
connector X1 50 A, poles +, at tray
fuse F2 20 A, at tray
load fridge 5 A, at tray
start.+ --[R1 red 10 mm2 0.2 m]-- F1 --[R2 red 10 mm2 3 m]-- X1.+ --[R3 red 10 mm2 1 m]-- F2
F2 --[R4 red 4 mm2 1 m]-- fridge --[B1 black 4 mm2 5 m]-- start.-
"""


def laid(text: str) -> tuple[Job, Geometry]:
    job, found = read("places.wnet", text=text)
    assert job is not None, found
    return job, lay_out(Study(job, build(job), (), (), (), {}, ()), (), Options())[0]


def held_by_place(job: Job, geometry: Geometry) -> None:
    """No more is asked than of the invariants, which do not know the job, and that they know the right places."""
    assert invariants.broken(geometry) == []
    for sheet in geometry.sheets:
        outlined = [part for outline in sheet.outlines for part in outline.parts]
        assert len(outlined) == len(set(outlined))
        for outline in sheet.outlines:
            assert len(outline.parts) >= 2
            assert {job.parts[part].place for part in outline.parts} == {outline.place}
        for label in sheet.labels:
            if label.lines[0].startswith("("):
                place = job.parts[label.for_].place
                assert place and " ".join(label.lines) in (f"({job.places[place].title})", f"({place})")
                assert label.for_ not in outlined


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_places_of_the_examples(path: Path) -> None:
    job, _ = read(str(path))
    assert job is not None
    geometry, _ = lay_out(Study(job, build(job), (), (), (), {}, ()), (), Options())
    held_by_place(job, geometry)
    assert any(sheet.outlines for sheet in geometry.sheets)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6), st.integers(3, 40))
def test_the_places_of_any_job(seed: int, parts: int) -> None:
    held_by_place(*laid(random_netlist(seed, parts)))


@pytest.mark.parametrize(("seed", "paper"), [(1502, "a3"), (1797, "letter")])
def test_the_name_of_a_place_stands_in_its_outline_with_nothing_else(seed: int, paper: Literal["a3", "letter"]) -> None:
    """An outline was raised for its name past a loose end above it; a name stood in a strip lower than itself."""
    job, _ = read("places.wnet", text=random_netlist(seed, 2 + seed * 7 % 199))
    assert job is not None
    study = Study(job, build(job), (), (), (), {}, ())
    held_by_place(job, lay_out(study, (), Options(paper=paper, orientation="landscape"))[0])


def test_two_places_along_a_run_are_two_outlines() -> None:
    job, geometry = laid(NETLIST)
    held_by_place(job, geometry)
    (sheet,) = geometry.sheets
    assert [(o.place, o.title, sorted(o.parts)) for o in sheet.outlines] == [
        ("bay", "Engine bay", ["F1", "start"]),
        ("tray", "Tray", ["F2", "X1", "fridge"]),
    ]


def test_a_part_that_stands_alone_is_told_its_place() -> None:
    _, geometry = laid(NETLIST.replace("F1 40 A, at bay", "F1 40 A"))
    (sheet,) = geometry.sheets
    assert [label.lines for label in sheet.labels if label.for_ == "start" and not label.strong] == [("(Engine bay)",)]


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize("paper", [None, "a4"])
def test_a_place_is_lettered_by_one_name_in_all_of_a_drawing(path: Path, paper: Literal["a4"] | None) -> None:
    job, _ = read(str(path))
    assert job is not None
    geometry = lay_out(Study(job, build(job), (), (), (), {}, ()), (), Options(paper=paper))[0]
    calls: dict[str, set[str]] = {}
    for label in (label for sheet in geometry.sheets for label in sheet.labels):
        place = job.parts[label.for_].place if label.for_ in job.parts and not label.strong else None
        if place and label.lines[0].startswith("("):
            calls.setdefault(place, set()).add(" ".join(label.lines))
    for place, found in calls.items():
        assert found in ({f"({job.places[place].title})"}, {f"({place})"})


def test_a_job_without_places_is_drawn_as_before() -> None:
    text = "\n".join(line.split(", at")[0] for line in NETLIST.splitlines() if not line.startswith("place"))
    _, geometry = laid(text)
    assert all(sheet.outlines == () for sheet in geometry.sheets)
    assert not any(label.lines[0].startswith("(") for sheet in geometry.sheets for label in sheet.labels)


def test_the_invariants_see_an_outline_that_is_wrong() -> None:
    _, geometry = laid(NETLIST)
    (sheet,) = geometry.sheets
    bay, tray = sheet.outlines

    def trouble(**change: object) -> str:
        spoilt = bay._replace(**change)  # type: ignore[arg-type]
        return "; ".join(invariants.broken(geometry._replace(sheets=(sheet._replace(outlines=(spoilt, tray)),))))

    assert "holds" in trouble(parts=("start",))
    x, y = bay.corners[0]
    assert "cuts" in trouble(corners=((x + 6, y), *bay.corners[1:-1], (x + 6, bay.corners[-1][1])))
    assert "stands outside" in trouble(label=tray.label)
    assert "meet" in trouble(corners=tray.corners)
    level = next(run.points for run in sheet.runs if run.id == "R2")
    on_it = ((x, level[0][1]), (bay.box.right, level[0][1]), (bay.box.right, bay.box.bottom), (x, bay.box.bottom))
    assert "lies on R2" in trouble(corners=on_it)
