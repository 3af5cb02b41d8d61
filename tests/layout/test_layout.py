"""The layout keeps its promises on jobs of every sort: made by chance, made by hand, and the examples."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_jobs import NOWHERE, Bench, random_job, study_of

from wiregen.circuit.study import CaseResult, Flow
from wiregen.findings import Finding
from wiregen.layout import Options, invariants, lay_out
from wiregen.layout.geometry import Geometry, Run
from wiregen.model import read
from wiregen.model.job import Hint, Job

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.wnet"))


def laid_out(job: Job, findings: tuple[Finding, ...] = (), options: Options | None = None) -> Geometry:
    """The geometry, sound by its own rules and by the netlist."""
    geometry, said = lay_out(study_of(job), findings, options)
    assert [f.message for f in said if f.rule == "drawing-failure"] == []
    runs = [run for sheet in geometry.sheets for run in sheet.runs]
    drawn = {(r.id, r.from_, r.to) for r in runs if r.kind == "conductor"}
    assert drawn == {(c.id, c.from_, c.to) for c in job.conductors.values()}
    assert sorted((r.from_, r.to) for r in runs if r.kind == "link") == sorted((k.a, k.b) for k in job.links)
    parts = [part for sheet in geometry.sheets for part in sheet.parts]
    assert {p.id for p in parts} >= set(job.parts)
    shown = {t for p in parts for t in p.terminals}
    assert shown >= {t for p in job.parts.values() for t in p.terminals}
    for sheet in geometry.sheets:
        labelled = {x.for_ for x in sheet.labels}
        assert labelled >= {r.id for r in sheet.runs if r.id}
        assert labelled >= {p.id for p in sheet.parts if p.id in job.parts and not job.parts[p.id].block}
    return geometry


@pytest.mark.parametrize(("seed", "parts"), [(2, 23), (30, 54), (176, 21), (222, 26), (244, 46)])
def test_bars_that_grow_keep_their_studs_apart_and_push_what_stands_below(seed: int, parts: int) -> None:
    """Heights hold for one order of studs; a side of a bar that nothing is joined to keeps its length."""
    laid_out(random_job(seed, parts))


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.integers(2, 60))
def test_any_job_is_drawn_whole_and_without_a_clash(seed: int, parts: int) -> None:
    laid_out(random_job(seed, parts))


@pytest.mark.long
@pytest.mark.parametrize("block", range(20))
def test_two_thousand_jobs_of_up_to_200_parts(block: int) -> None:
    for seed in range(block * 100, block * 100 + 100):
        laid_out(random_job(seed, 2 + seed * 7 % 199))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
@pytest.mark.parametrize("paper", [None, "a4", "a3", "letter", "tabloid"])
def test_examples_on_every_paper(path: Path, paper: str | None) -> None:
    job, _ = read(str(path))
    assert job is not None
    laid_out(job, (), Options(paper=paper))  # type: ignore[arg-type]


def test_an_empty_job_is_an_empty_sheet() -> None:
    geometry = laid_out(Bench().job())
    assert geometry.sheets[0].parts == ()


def two_batteries() -> Bench:
    """Start battery, fuse, connector, charger, second battery."""
    b = Bench()
    b.part("battery", "start", "Start battery", volts="12 V", capacity="74 Ah", chemistry="flooded")
    b.part("fuse", "F1", rating="40 A")
    b.part("connector", "X1", "Plug", ["a.+", "b.+", "a.-", "b.-"], rating="50 A")
    b.part("charger", "dcdc", "Charger", ["in.+", "in.-", "out.+", "out.-", "sense"], rating="18 A")
    b.part("fuse", "F2", rating="30 A")
    b.part("battery", "aux", "Second battery", volts="12 V", capacity="100 Ah", chemistry="agm")
    b.wire("W1", "start.+", "F1.in")
    b.wire("W2", "F1.out", "X1.a.+")
    b.wire("W3", "X1.b.+", "dcdc.in.+")
    b.wire("W4", "start.-", "X1.a.-", "black")
    b.wire("W5", "X1.b.-", "dcdc.in.-", "black")
    b.wire("W6", "aux.+", "F2.in")
    b.wire("W7", "F2.out", "dcdc.out.+")
    b.wire("W8", "aux.-", "dcdc.out.-", "black")
    b.wire("S1", "dcdc.sense", "aux.-", "grey", "0.5 mm2")
    return b


def lamp_block(ways: int) -> Bench:
    """A battery and a fuse block with a lamp on each way, returns to the block's own bar."""
    b = Bench()
    b.part("battery", "aux", "Battery", volts="12 V", capacity="100 Ah", chemistry="agm")
    b.part("fuse", "F1", rating="60 A")
    b.block("FB1", ways, "Block")
    b.wire("W1", "aux.+", "F1.in")
    b.wire("W2", "F1.out", "FB1.in")
    b.wire("W3", "aux.-", "FB1.-", "black")
    for k in range(1, ways + 1):
        b.part("lamp", f"L{k}", f"Lamp {k}", draws="5 W")
        b.wire(f"P{k}", f"FB1.{k}", f"L{k}.+", "red", "1.5 mm2")
        b.wire(f"N{k}", f"L{k}.-", "FB1.-", "black", "1.5 mm2")
    return b


def bends(run: Run) -> int:
    return len(run.points) - 2


def test_the_trunk_is_straight_sources_left_positive_above() -> None:
    sheet = laid_out(two_batteries().job(), (), Options(paper="a3")).sheets[0]
    runs = {r.id: r for r in sheet.runs}
    assert [bends(runs[w]) for w in ("W1", "W2", "W3", "W4", "W5", "W6", "W7", "W8")] == [0] * 8
    at = {t: p for part in sheet.parts for t, p in part.terminals.items()}
    order = ["start.+", "F1.in", "F1.out", "X1.a.+", "X1.b.+", "dcdc.in.+", "dcdc.out.+", "F2.out", "F2.in", "aux.+"]
    assert [at[t][0] for t in order] == sorted(at[t][0] for t in order)
    for positive in ("start.+", "X1.a.+", "dcdc.in.+", "dcdc.out.+", "aux.+"):
        assert at[positive][1] < at[positive[:-1] + "-"][1]


def test_a_dozen_ways_are_rows_with_a_comb() -> None:
    sheet = laid_out(lamp_block(12).job(), (), Options(paper="a3")).sheets[0]
    runs = {r.id: r for r in sheet.runs}
    assert all(bends(runs[f"P{k}"]) == 0 for k in range(1, 13))
    combs = {runs[f"N{k}"].points[1][0] for k in range(1, 13)}
    assert len(combs) == 1, "the returns share one upright trunk"
    assert len(sheet.junctions) >= 11


def test_one_more_lamp_moves_little() -> None:
    def places(ways: int) -> dict[str, tuple[float, float]]:
        sheet = laid_out(lamp_block(ways).job(), (), Options(paper="a3")).sheets[0]
        at = {t: p for part in sheet.parts for t, p in part.terminals.items()}
        x, y = at["aux.+"]
        return {t: (p[0] - x, p[1] - y) for t, p in at.items()}

    before, after = places(6), places(7)
    moved = [t for t, p in before.items() if after[t] != p and t not in ("FB1.-", "aux.-")]
    assert moved == []


def test_the_same_job_gives_the_same_geometry_whatever_the_hash_seed() -> None:
    import os
    import subprocess
    import sys

    script = (
        "import hashlib; from small_jobs import random_job, study_of; from wiregen.layout import lay_out;"
        "print(hashlib.sha256(repr([lay_out(study_of(random_job(s, 30))) for s in range(4)]).encode()).hexdigest())"
    )
    here = Path(__file__).parent
    path = os.pathsep.join((str(here), str(here.parents[1])))
    said = {
        subprocess.run(
            [sys.executable, "-c", script], env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": path},
            capture_output=True, text=True, check=True,
        ).stdout
        for seed in ("1", "2")
    }  # fmt: skip
    assert len(said) == 1


def test_rows_that_the_job_asks_for_are_bands_one_below_the_other() -> None:
    job = two_batteries().job()
    rows = (("start", "F1", "X1"), ("dcdc", "F2", "aux"))
    job = replace(job, hints=tuple(Hint("row", "", "", members, NOWHERE) for members in rows))
    sheet = laid_out(job).sheets[0]
    boxes = {p.id: p.box for p in sheet.parts}
    assert max(boxes[p].bottom for p in rows[0]) < min(boxes[p].y for p in rows[1])
    for row in rows:
        assert [boxes[p].x for p in row] == sorted(boxes[p].x for p in row)


def test_a_case_adds_currents_and_drops() -> None:
    flows = {"W1": Flow(-21.43, -0.00745, None, None, None), "W2": Flow(18.0, 1.5, None, None, None)}
    flows["W8"] = Flow(None, None, None, None, None)
    driving = CaseResult("driving", "Engine running", True, {}, flows, {}, {})
    study = replace(study_of(two_batteries().job()), cases=(driving,))
    geometry, said = lay_out(study, (), Options(case="driving"))
    assert said == ()
    lines = {x.for_: x.lines for x in geometry.sheets[0].labels}
    assert lines["W1"][-1] == "21.4 A 7.45 mV"
    assert lines["W2"][-1] == "18 A 1.5 V"
    assert lines["W8"][-1].endswith("1.2 m")
    assert ("case", "Engine running") in geometry.title_block


@pytest.mark.parametrize("orientation", ["landscape", "portrait"])
def test_the_sheet_lies_as_asked(orientation: str) -> None:
    sheet = laid_out(two_batteries().job(), (), Options(paper="letter", orientation=orientation)).sheets[0]  # type: ignore[arg-type]
    assert (sheet.width > sheet.height) == (orientation == "landscape")


def test_a_conductor_says_name_colour_size_and_length() -> None:
    b = two_batteries()
    b.wire("PE", "start.-", "aux.-", "green/yellow", "2.5 mm2", "0.3 m")
    said = {x.for_: " ".join(x.lines) for x in laid_out(b.job()).sheets[0].labels}
    assert said["W1"] == "W1 RD 10 mm² 1.2 m"
    assert said["PE"] == "PE GNYE 2.5 mm² 0.3 m"
    assert said["F1"] == "F1 40 A"
    assert said["aux"] == "Second battery aux 12 V 100 Ah agm"


def test_a_name_that_the_title_has_is_not_said_again() -> None:
    b = Bench()
    b.part("battery", "start", "Start battery 12 V", volts="12 V", capacity="74 Ah", chemistry="agm")
    b.part("load", "pump", "Bilge pump", draws="4 A")
    b.part("load", "fan-a", "Fan", draws="1 A")
    b.part("load", "left", "Lamp, left", draws="1 A")
    b.part("load", "right", "Lamp, left", draws="1 A")
    for k, load in enumerate(("pump", "fan-a", "left", "right")):
        b.wire(f"P{k}", "start.+", f"{load}.+")
        b.wire(f"N{k}", f"{load}.-", "start.-", "black")
    said = {x.for_: " ".join(x.lines) for x in laid_out(b.job()).sheets[0].labels}
    assert said["start"] == "Start battery 12 V 74 Ah agm"
    assert said["pump"] == "Bilge pump 4 A"
    assert said["fan-a"] == "Fan fan-a 1 A"
    assert said["left"] == "Lamp, left left 1 A", "two of one title are told apart"
    assert said["right"] == "Lamp, left right 1 A"


@pytest.mark.parametrize("seed", range(6))
def test_marks_on_everything_stay_on_the_sheet(seed: int) -> None:
    job = random_job(seed, 20)
    found = tuple(
        Finding(rule="some-rule", severity="warning", message="something", subject=subject)
        for subject in (*job.parts, *job.conductors)
    )
    laid_out(job, found)


def test_the_ends_in_the_air_and_doubled_conductors_are_drawn() -> None:
    b = two_batteries()
    b.wire("W3b", "X1.b.+", "dcdc.in.+")
    b.wire("L1", "dcdc.sense", "loose:L1", "grey")
    b.wire("C1", "aux.+", "capped:C1")
    b.wire("R1", "aux.-", "aux.-", "black")
    sheet = laid_out(b.job()).sheets[0]
    kinds = {p.kind for p in sheet.parts}
    assert {"loose", "capped"} <= kinds
    runs = {r.id: r for r in sheet.runs}
    assert runs["W3"].points != runs["W3b"].points


def test_marks_stand_beside_their_subjects_and_are_listed() -> None:
    found = tuple(
        Finding(rule="unfused-positive", severity="danger", message=f"{s} is not protected", subject=s)
        for s in ("W6", "W6", "dcdc", "start.+", "aux", "aux", "aux", "aux", "no-such-part")
    )
    geometry = laid_out(two_batteries().job(), found)
    sheet = geometry.sheets[0]
    assert [m.for_ for m in sheet.marks] == ["W6", "W6", "dcdc", "start", "aux", "aux", "aux", "aux"]
    assert [n for n, _, _ in sheet.finding_list] == list(range(1, 10))
    assert {f.kind for f in sheet.furniture} == {"title", "legend", "findings", "cautions"}


def test_what_does_not_fit_the_paper_asked_for_says_so() -> None:
    _, said = lay_out(study_of(random_job(3, 60)), (), Options(paper="a4"))
    assert [(f.rule, f.severity) for f in said] == [("drawing-size", "advice")]


def test_the_checker_sees_what_is_wrong() -> None:
    geometry = laid_out(two_batteries().job())
    sheet = geometry.sheets[0]

    def trouble(**change: object) -> str:
        return "; ".join(invariants.broken(geometry._replace(sheets=(sheet._replace(**change),))))  # type: ignore[arg-type]

    at = {t: p for part in sheet.parts for t, p in part.terminals.items()}
    first = next(r for r in sheet.runs if r.id == "W1")
    others = tuple(r for r in sheet.runs if r.id != "W1")
    crooked = first._replace(points=(at["start.+"], (first.points[-1][0] - 1, first.points[-1][1] - 1), at["F1.in"]))
    assert "right angles" in trouble(runs=(*others, crooked))
    astray = first._replace(points=(at["start.+"], (at["F1.in"][0] - 1, at["F1.in"][1])))
    assert "does not end at F1.in" in trouble(runs=(*others, astray))
    down = at["start.-"][1]
    over = (
        at["start.+"],
        (at["start.+"][0] + 6, at["start.+"][1]),
        (at["start.+"][0] + 6, down),
        (at["F1.in"][0], down),
    )
    assert "lies on W4" in trouble(runs=(*others, first._replace(points=(*over, at["F1.in"]))))
    label = sheet.labels[0]
    assert "lies on that of" in trouble(labels=(*sheet.labels, label))
    part = next(p for p in sheet.parts if p.id == "F1")
    assert "lies on F1" in trouble(labels=(label._replace(box=part.box),))
    assert "joins 0 nets" in trouble(junctions=((1.0, 1.0),))
    assert "beyond the sheet" in trouble(labels=(label._replace(box=label.box._replace(x=-50.0)),))


@pytest.mark.benchmark
def test_time_grows_gently() -> None:
    """Forty parts in well under 0.1 s of computing, and four times the parts in at most eight times that (n^1.5)."""
    from time import process_time

    def seconds(parts: int) -> float:
        jobs = [random_job(seed, parts) for seed in range(5)]
        start = process_time()
        for job in jobs:
            lay_out(study_of(job))
        return (process_time() - start) / len(jobs)

    seconds(12)
    small, large = seconds(40), seconds(160)
    assert small < 0.3  # generous: a loaded machine
    assert large < 8 * small


@pytest.mark.parametrize("seed", range(3))
def test_larger_jobs_too(seed: int) -> None:
    laid_out(random_job(seed, 150))


def test_a_run_is_drawn_by_its_copper_area_whatever_its_size_is_sold_by() -> None:
    """AWG counts downwards: 2 AWG is 33.6 mm2 and 20 AWG 0.518 mm2 (ASTM B258, read in a reprint)."""
    text = (
        "battery b 100 Ah agm\nload l 5 A\nb.+ --[W1 red 2 AWG 1 m]-- l --[W2 black 20 AWG 1 m]-- b.-\n"
        "b.+ --[W3 red 6 auto-mm 1 m]-- capped\nb.- --[W4 black 6 mm2 1 m]-- capped\nb.- --[W5 black 1 m]-- capped\n"
    )
    job, _ = read("sizes.wnet", text=text)
    assert job is not None
    sizes = lay_out(study_of(job))[0].sizes
    assert sizes["W1"] == pytest.approx(33.63, abs=0.01) and sizes["W2"] == pytest.approx(0.5176, abs=1e-3)
    assert sizes["W3"] == pytest.approx(4.59, abs=0.02) and sizes["W4"] == 6.0 and "W5" not in sizes
