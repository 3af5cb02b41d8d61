"""A job on several sheets: all of it there, cut ends that lead to one another, and sheets worth their paper."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Literal
from xml.etree import ElementTree

import pytest
from contract import breaches
from jobs import random_netlist

from wiregen.circuit.network import build
from wiregen.circuit.study import Study
from wiregen.drawing import Options, compare, draw_job, rebuild
from wiregen.findings import Finding
from wiregen.layout import lay_out
from wiregen.layout.geometry import Geometry
from wiregen.layout.sheet import field_of
from wiregen.model import read
from wiregen.model.job import Job

EXAMPLES = Path(__file__).parents[2] / "examples"
Paper = Literal["a4", "a3", "letter", "tabloid"]
PAPERS: tuple[tuple[Paper | None, Literal["landscape", "portrait"] | None], ...] = (
    ("a4", None), ("a4", "portrait"), ("a3", "landscape"), ("letter", "landscape"), ("tabloid", "portrait"),
    (None, None),
)  # fmt: skip
LONG_BAR = "\n".join(
    ['job "Bar" { system 12 V }', "battery B 100 Ah agm", "busbar NB 300 A, studs 60", "busbar PB 300 A, studs 60"]
    + [f"load M{k} 2 A" for k in range(1, 41)]
    + ["B.- --[W0 black 35 mm2 1 m]-- NB", "B.+ --[V0 red 35 mm2 1 m]-- PB"]
    + [f"PB --[P{k} red 2 mm2 1 m]-- M{k} --[N{k} black 2 mm2 1 m]-- NB" for k in range(1, 41)]
)
TWO = """job "Two sheets" { system 12 V }
battery B 100 Ah agm
fuse F1 30 A blade
charger U 25 A
battery A 100 Ah agm
lamp H 2 W led
body shell bonded
earth E1 on shell
B.+ --[W1 red 6 mm2 0.2 m]-- F1 --[W2 red 6 mm2 3 m]-- U.in.+
B.- --[W3 black 6 mm2 3 m]-- U.in.-
U.out.+ --[W4 red 6 mm2 1 m]-- A.+
A.- --[W5 black 6 mm2 1 m]-- U.out.-
B.- --[W6 black 16 mm2 0.4 m]-- E1
circuit control {
    U.indicator --[S1 white 1 mm2 1 m]-- H --[S2 black 1 mm2 1 m]-- E1
    U.sense --[S3 grey 1 mm2 1 m]-- A.-
}
draw { sheet 2 "Control leads", control }
"""


def job_of(text: str) -> Job:
    job, mistakes = read("made.wnet", text=text)
    assert job is not None, mistakes
    return job


def study_of(job: Job) -> Study:
    return Study(job, build(job), (), (), (), {}, ())


def sheets_of(job: Job, options: Options, findings: tuple[Finding, ...] = ()) -> tuple[str, ...]:
    """The sheets, each by the contract, all of them together the job."""
    svgs, told = draw_job(study_of(job), findings, options)
    assert svgs is not None, [f.message for f in told][:5]
    for number, svg in enumerate(svgs, 1):
        assert breaches(svg) == []
        root = ElementTree.fromstring(svg)
        assert (root.get("data-sheet"), root.get("data-sheets")) == (str(number), str(len(svgs)))
    drawn = rebuild(svgs)
    assert drawn.parts == {part.id: part.kind for part in job.parts.values()}
    assert drawn.conductors == {c.id: (c.from_, c.to) for c in job.conductors.values()}
    assert {frozenset(link) for link in drawn.links} == {frozenset((link.a, link.b)) for link in job.links}
    assert compare(job, drawn) == ()
    return svgs


def cuts_meet(geometry: Geometry) -> int:
    """Each cut end names the sheet and field where the other one really is; returns how many there are."""
    ends: dict[str, list[tuple[int, str, int, str]]] = {}
    for sheet in geometry.sheets:
        for c in sheet.continuations:
            here = (sheet.number, field_of(sheet.frame, c.at))
            ends.setdefault(c.conductor, []).append((*here, c.sheet, c.zone))
    for name, found in ends.items():
        assert len(found) == 2, name
        (a, b) = found
        assert a[2:] == b[:2] and b[2:] == a[:2], name
        assert a[0] != b[0], name
    return len(ends)


@pytest.mark.parametrize("seed", range(50))
def test_any_job_comes_back_from_all_its_sheets(seed: int) -> None:
    paper, orientation = PAPERS[seed % len(PAPERS)]
    job = job_of(random_netlist(seed, 2 + seed * 7 % 39))
    sheets_of(job, Options(paper=paper, orientation=orientation))


@pytest.mark.long
@pytest.mark.parametrize("block", range(20))
def test_two_thousand_jobs_come_back_from_all_their_sheets(block: int) -> None:
    for seed in range(block * 100, block * 100 + 100):
        paper, orientation = PAPERS[seed % len(PAPERS)]
        sheets_of(job_of(random_netlist(seed, 2 + seed * 7 % 199)), Options(paper=paper, orientation=orientation))


@pytest.mark.parametrize(
    ("name", "paper", "count"),
    [
        ("camper-van", "a4", 6), ("camper-van", "a3", 3), ("camper-van", None, 3), ("caravan", "a4", 2),
        ("truck-24v", "a4", 2), ("trailer-48v", "a4", 2), ("solar-touring", "a4", 2), ("dual-battery", None, 1),
        ("caravan", None, 1),
    ],
)  # fmt: skip
def test_examples_take_few_sheets_and_fill_them(name: str, paper: Paper | None, count: int) -> None:
    job, _ = read(str(EXAMPLES / f"{name}.wnet"))
    assert job is not None
    assert len(sheets_of(job, Options(paper=paper))) <= count
    geometry, said = lay_out(study_of(job), (), Options(paper=paper))
    assert said == ()
    cuts_meet(geometry)
    for sheet in geometry.sheets:
        boxes = [p.box for p in sheet.parts] + [x.box for x in sheet.labels] + [c.box for c in sheet.continuations]
        xs = [x for box in boxes for x in (box.x, box.right)]
        ys = [y for box in boxes for y in (box.y, box.bottom)]
        taken = (max(xs) - min(xs)) * (max(ys) - min(ys)) / (sheet.area.width * sheet.area.height)
        assert taken > 0.2, f"sheet {sheet.number} is nearly empty"


def test_one_sheet_where_it_is_asked_for() -> None:
    job, _ = read(str(EXAMPLES / "camper-van.wnet"))
    assert job is not None
    geometry, said = lay_out(study_of(job), (), Options(one_sheet=True))
    assert len(geometry.sheets) == 1
    assert [f.rule for f in said] == ["drawing-size"]


def test_a_sheet_hint_is_honoured() -> None:
    """A box that belongs to both sheets is parted, an earth stands on each, other leads of it are cut."""
    job = job_of(TWO)
    first, second = sheets_of(job, Options())
    assert "Two sheets – Control leads" in second and "Control leads" not in first
    assert 'data-terminal="U.in.+"' in first and 'data-terminal="U.in.+"' not in second
    assert 'data-terminal="U.sense"' in second and 'data-terminal="U.sense"' not in first
    assert "also 2/" in first and "also 1/" in second
    assert 'data-terminal="E1"' in first and 'data-terminal="E1"' in second
    assert re.findall(r'class="continuation" data-conductor="(\w+)" data-sheet="(\d)"', first) == [("S3", "2")]
    assert re.findall(r'class="continuation" data-conductor="(\w+)" data-sheet="(\d)"', second) == [("S3", "1")]
    assert "goes on on sheet 2" in first and "goes on on sheet 1" in second


def test_a_finding_is_on_the_sheet_of_its_subject() -> None:
    said = tuple(
        Finding(rule="voltage-drop", severity="warning", message=f"about {subject}", subject=subject)
        for subject in ("W2", "S1", "S3", "A", None)
    )
    first, second = lay_out(study_of(job_of(TWO)), said)[0].sheets
    assert [number for number, _, _ in first.finding_list] == [1, 4, 5]
    assert [number for number, _, _ in second.finding_list] == [2, 3]
    assert {m.number: m.for_ for m in (*first.marks, *second.marks)} == {1: "W2", 2: "S1", 3: "S3", 4: "A"}
    assert [mark for mark, _ in first.legend] == ["BK", "RD", "GY", "frame", "continuation"]
    assert [mark for mark, _ in second.legend] == ["BK", "GY", "WH", "frame", "continuation"]


def test_a_long_bar_is_parted() -> None:
    job = job_of(LONG_BAR)
    geometry, said = lay_out(study_of(job), (), Options(paper="a4", orientation="landscape"))
    assert said == ()
    assert 1 < len(geometry.sheets) <= 5
    sheets_of(job, Options(paper="a4", orientation="landscape"))
    studs = [t for s in geometry.sheets for p in s.parts if p.id == "NB" for t in p.terminals]
    assert len(studs) == len(set(studs)) == 41
    places = {s.number for s in geometry.sheets for p in s.parts if p.id == "NB"}
    assert len(places) > 1
    for sheet in geometry.sheets:
        bars = [p for p in sheet.parts if p.id == "NB"]
        assert len(bars) <= 1, "parts of a bar that meet on a sheet are one"
        for bar in bars:
            label = next(x for x in sheet.labels if x.for_ == bar.id)
            told = {int(n) for n in re.findall(r"(\d+)/[A-Z]\d", " ".join(label.lines))}
            assert told == places - {sheet.number}


def test_two_drawings_of_a_job_on_sheets_are_the_same_to_the_byte() -> None:
    text = random_netlist(11, 60)
    assert sheets_of(job_of(text), Options(paper="a4")) == sheets_of(job_of(text), Options(paper="a4"))
