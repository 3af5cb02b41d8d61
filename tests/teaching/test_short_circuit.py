"""A short in slow motion: each current and time is the study's, and the figures show no other."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
from jobs import random_netlist

from wiregen.catalogue import catalogue
from wiregen.circuit import study as solve
from wiregen.circuit.fault_study import Net
from wiregen.circuit.figures import Figures
from wiregen.circuit.short import Short, opening_times, short
from wiregen.circuit.study import Study
from wiregen.cli import main
from wiregen.cli.jobs import look
from wiregen.model import read
from wiregen.model.job import Job
from wiregen.teaching import figure_set
from wiregen.teaching.captions import amps
from wiregen.teaching.plant import given
from wiregen.teaching.short_circuit import main_feed
from wiregen.teaching.time_current import Race, race_plot

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
JOBS = [*sorted(EXAMPLES.glob("*.wnet")), *sorted((EXAMPLES / "lessons").glob("*.wnet"))]
SVG = "{http://www.w3.org/2000/svg}"
TWO = """job "Two batteries on one bar" { system 12 V, limits iso13297, each insulation 105 degC }
battery one 90 Ah agm { resistance 5 mohm, vented }
battery two 90 Ah agm { resistance 8 mohm, vented }
fuse F1 100 A strip, volts 58 V, breaks 3 kA
fuse F2 40 A strip, volts 58 V, breaks 3 kA
busbar BP 200 A
busbar BN 200 A
load pump 10 A
one.+ --[W1 red 16 mm2 150 mm]-- F1 --[W2 red 16 mm2 1 m]-- BP
two.+ --[W3 red 10 mm2 150 mm]-- F2 --[W4 red 10 mm2 2 m]-- BP
BP --[W5 red 10 mm2 1 m]-- pump.+
one.- --[B1 black 16 mm2 1 m]-- BN
two.- --[B2 black 16 mm2 2 m]-- BN
BN --[B3 black 10 mm2 1 m]-- pump.-
"""


def job_of(text: str) -> Job:
    job, said = read("short.wnet", text=text)
    assert job is not None and not said, [f.message for f in said]
    return job


def shorted(job: Job, terminal: str, minus: str | None = None) -> Short:
    made = short(job, Figures(job), terminal, minus)
    assert made is not None
    return made


@pytest.mark.parametrize("path", JOBS, ids=lambda p: p.stem)
def test_every_short_begins_and_ends_as_the_study_says(path: Path) -> None:
    job, _ = read(str(path))
    assert job is not None
    figures = Figures(job)
    compared = 0
    for fault in solve(job)[0].faults:
        if not fault.min_current_a:
            continue
        made = short(job, figures, fault.terminal)
        assert made is not None
        first = made.phases[0]
        assert first.amps == pytest.approx(fault.min_current_a, rel=1e-9)
        assert made.highest_a == pytest.approx(fault.max_current_a, rel=1e-9)
        fed = [id for id, current in first.sources.items() if current > 0]
        if fault.clearing_s is not None:  # of several sources the study takes the slowest, at their first currents
            assert made.cleared_s is not None and made.cleared_s <= fault.clearing_s * (1 + 1e-9)
        if len(fed) == 1:
            assert made.cleared_s == pytest.approx(fault.clearing_s, rel=1e-9)
            assert len(made.phases) == (1 if fault.clearing_s is None else 2)
        if fault.withstand_s and len(fed) == 1 and fault.clearing_s is not None:
            taken = made.phases[-1].heat[fault.conductor]
            assert taken == pytest.approx(fault.clearing_s / fault.withstand_s, rel=1e-9)
        compared += 1
    assert compared or path.stem == "opposed-loops"


def phases_hold(job: Job) -> int:
    """Of every fault: the first phase is the study's, time goes on, what opens stays open, heat only grows."""
    figures, count = Figures(job), 0
    for fault in solve(job)[0].faults:
        made = short(job, figures, fault.terminal)
        assert (made is None) == (not fault.min_current_a), fault
        if made is None:
            continue
        assert made.phases[0].amps == pytest.approx(fault.min_current_a, rel=1e-9)
        assert (made.cleared_s is None) == (fault.clearing_s is None), fault
        if made.cleared_s is not None and fault.clearing_s is not None:
            assert made.cleared_s <= fault.clearing_s * (1 + 1e-9)
        for before, after in pairwise(made.phases):
            assert after.start_s > before.start_s and after.opened
            assert set(after.opened) <= set(before.guards) and not set(after.opened) & set(after.guards)
            assert all(after.heat.get(id, 0.0) >= share for id, share in before.heat.items())
        assert all(at >= 0.0 for at, _ in made.burns)
        count += 1
    return count


def test_the_phases_of_random_jobs_hold() -> None:
    jobs_ = [read("random.wnet", text=random_netlist(seed, 5 + seed)) for seed in range(6)]
    assert sum(phases_hold(job) for job, _ in jobs_ if job is not None) > 30


@pytest.mark.long
def test_the_phases_of_many_random_jobs_hold() -> None:
    jobs_ = [read("random.wnet", text=random_netlist(seed, 4 + seed % 20)) for seed in range(3000, 3060)]
    assert sum(phases_hold(job) for job, _ in jobs_ if job is not None) > 300


def test_of_two_sources_the_faster_fuse_opens_first_and_the_other_after_it() -> None:
    job = job_of(TWO)
    made = shorted(job, "pump.+", "pump.-")
    assert [phase.opened for phase in made.phases] == [(), ("F2",), ("F1",)]
    before, between, after = made.phases
    assert before.amps is not None and between.amps is not None and after.amps == 0.0
    assert before.amps == pytest.approx(before.currents["W2"] + before.currents["W4"], rel=1e-9)
    assert before.currents["W5"] == pytest.approx(-before.currents["B3"], rel=1e-9)
    # the other source gives more once the first no longer lifts the voltage at the bar
    assert between.currents["W2"] > before.currents["W2"] and "W4" not in between.currents
    # F1: what it has used up at the first current, then the rest at the second
    times = [opening_times(job, Figures(job), {"F1": phase.currents["W2"]})["F1"] for phase in (before, between)]
    used = between.start_s / times[0]
    assert after.start_s == pytest.approx(between.start_s + (1 - used) * times[1], rel=1e-9)
    assert between.start_s < after.start_s < times[0]
    # heat by I2t of both stretches of time, k from the catalogue's temperatures
    wire = Figures(job).wire(job.conductors["W5"])
    assert wire.area is not None
    heat = before.amps**2 * between.start_s + between.amps**2 * (after.start_s - between.start_s)
    assert after.heat["W5"] == pytest.approx(heat / (Figures(job).withstand_k(wire) * wire.area) ** 2, rel=1e-9)


def test_a_conductor_burns_where_it_takes_more_than_it_stands_before_the_fuse_opens() -> None:
    thin = job_of(TWO.replace("[W5 red 10 mm2 1 m]", "[W5 red 0.75 mm2 1 m]"))
    made = shorted(thin, "pump.+")
    assert made.burns and made.burns[0][1] == "W5" and made.cleared_s is not None
    assert made.burns[0][0] < made.cleared_s
    fault = next(f for f in solve(thin)[0].faults if f.terminal == "pump.+")
    assert made.burns[0][0] == pytest.approx(fault.withstand_s, rel=1e-9)
    assert not shorted(job_of(TWO), "pump.+").burns


def test_what_carries_the_current_for_good_does_not_burn() -> None:
    made = shorted(read(str(EXAMPLES / "lessons" / "jump-start.wnet"))[0], "motor.+")  # type: ignore[arg-type]
    assert made.cleared_s is None
    assert {id for _, id in made.burns} == {"J1", "W1"} and made.phases[0].currents["J2"] == pytest.approx(5, abs=0.1)


def test_no_voltage_no_short() -> None:
    job = job_of(TWO)
    assert short(job, Figures(job), "pump.-") is None
    assert short(job, Figures(job), "pump.-", "one.-") is None


def test_an_opened_device_is_gone_from_the_network() -> None:
    job = job_of(TWO)
    net = Net(job, Figures(job), weak=True, opened=("F1", "F2"))
    assert net.fault("pump.+") is None and net.fault("F1.in") is not None


# ---------------------------------------------------------------- the words of a fault


@pytest.mark.parametrize(
    "words, targets",
    [
        ("short X1.+", ("X1.a.+",)),
        ("short dcdc.in.+", ("dcdc.in.+",)),
        ("short light.+ to light.-", ("light.+", "light.-")),
    ],
)
def test_a_short_names_terminals(words: str, targets: tuple[str, ...]) -> None:
    job, said = read(str(EXAMPLES / "lessons" / "four-steps.wnet"), more=given([words]))
    assert job is not None and not said
    assert job.lessons[-1].steps[0].targets == targets


@pytest.mark.parametrize(
    "words, message",
    [
        ("short R2", "R2 is no terminal"),
        ("short light", "light is no terminal"),
        ("short light.+ and light.-", "this short does not say from where to where"),
        ("short nothing", "no part or conductor is called nothing"),
        ("short", "short does not say what"),
    ],
)
def test_a_slip_in_a_short_is_told(words: str, message: str) -> None:
    _, said = read(str(EXAMPLES / "lessons" / "four-steps.wnet"), more=given([words]))
    assert [f.message for f in said] == [message]
    assert said[0].remedy


# ---------------------------------------------------------------- figures


def computed(path: Path, *faults: str) -> tuple[Study, tuple]:
    looked = look(str(path), (), more=given(faults))
    assert looked.study is not None
    return looked.study, looked.findings


def labels(svg: str) -> dict[str, list[str]]:
    groups = (g for g in ElementTree.fromstring(svg).iter(f"{SVG}g") if g.attrib.get("class") == "label")
    return {g.attrib["data-for"]: [t.text or "" for t in g.iter(f"{SVG}text")] for g in groups}


def words(svg: str) -> str:
    return " ".join(t.text or "" for t in ElementTree.fromstring(svg).iter(f"{SVG}text"))


def test_the_frames_show_the_studys_currents_times_and_heat() -> None:
    study, findings = computed(EXAMPLES / "lessons" / "voltage-drop.wnet")
    figures = {f.name[3:]: f for f in figure_set(study, findings, only=("shorts",)).figures}
    made = shorted(study.job, "pump.+", "pump.-")
    instant, cleared = figures["short-e-2-flows"], figures["short-e-3-opens"]
    said = labels(instant.svg)
    for id in study.job.conductors:
        current = made.phases[0].currents.get(id)
        assert said[id] == ([id, amps(current)] if current is not None else [id]), id
    assert made.phases[0].amps is not None and made.highest_a is not None and made.cleared_s is not None
    assert f"at least {amps(made.phases[0].amps)}" in instant.caption and amps(made.highest_a) in instant.caption
    assert f"F1 opens after {1000 * made.cleared_s:.3g} ms" in cleared.caption
    for id, share in made.phases[1].heat.items():
        assert f"{id} {100 * share:.2g} %" in words(cleared.svg)
    root = ElementTree.fromstring(cleared.svg)
    assert [g.attrib["data-for"] for g in root.iter(f"{SVG}g") if g.attrib.get("class") == "opened"] == ["F1"]
    stars = [g.attrib["data-terminal"] for g in root.iter(f"{SVG}g") if g.attrib.get("class") == "short"]
    assert stars == ["pump.+", "pump.-"]
    ways = {p.attrib["data-for"] for p in ElementTree.fromstring(instant.svg).iter(f"{SVG}polygon")
            if p.attrib.get("class") == "flow"}  # fmt: skip
    assert ways == set(made.phases[0].currents)


def test_a_short_behind_a_bridged_fuse_is_cleared_too_late() -> None:
    study, findings = computed(EXAMPLES / "lessons" / "voltage-drop.wnet")
    figures = {f.name[3:]: f for f in figure_set(study, findings, only=("shorts",)).figures}
    assert figures["short-f-3-opens"].title.endswith("cleared too late")
    assert "F2 is bridged by a piece of metal" in figures["short-f-1-before"].caption
    assert "The cable burns before the fuse has to open" in figures["short-f-race-f1"].caption
    assert figures["short-e-3-opens"].title.endswith(": cleared")
    assert "The fuse wins" in figures["short-e-race-f1"].caption


def test_two_sources_make_a_frame_and_a_race_for_each_fuse() -> None:
    job = job_of(TWO + 'fault A "Both feed it" { short pump.+ to pump.- }\n')
    figures = figure_set(solve(job)[0], (), only=("shorts",)).figures
    assert [f.name[11:] for f in figures] == ["1-before", "2-flows", "3-opens", "4-opens", "race-f2", "race-f1"]
    made = shorted(job, "pump.+", "pump.-")
    assert made.phases[1].amps is not None and made.cleared_s is not None
    assert f"{amps(made.phases[1].amps)} still flows" in figures[2].caption
    assert labels(figures[2].svg)["W4"] == ["W4", "0 A"]
    assert f"F1 opens {made.cleared_s:.3g} s after the beginning" in figures[5].caption
    assert "The fuse wins" in figures[5].caption and "Both have had" not in figures[4].caption


def test_without_a_fuse_the_frames_say_so() -> None:
    study, findings = computed(EXAMPLES / "lessons" / "four-steps.wnet", "bridge F1, short dcdc.in.+")
    figures = figure_set(study, findings, only=("shorts",)).figures
    assert [re.sub(r"^\d\d-short-given-1-", "", f.name) for f in figures] == [
        "1-before",
        "2-flows",
        "3-never",
        "race-cable",
    ]
    assert "No fuse is in its way" in figures[2].caption and "burn" in figures[2].caption


def test_a_job_that_says_no_short_gets_one_at_the_far_end_of_its_main_feed() -> None:
    study, findings = computed(EXAMPLES / "lessons" / "four-steps.wnet")
    place = main_feed(study)
    assert place is not None and place.terminal == "dcdc.in.+"
    behind = [f for f in study.faults if f.cleared_by == "F1" and f.min_current_a]
    here = next(f for f in study.faults if f.terminal == place.terminal)
    assert here.min_current_a == min(f.min_current_a or 0.0 for f in behind)
    assert figure_set(study, findings, only=("shorts",)).figures[1].title == "A short at dcdc.in.+: the first instant"


def test_a_short_that_a_cable_carries_for_good_is_not_shown_unasked() -> None:
    study, findings = computed(EXAMPLES / "lessons" / "two-loops.wnet")
    assert main_feed(study) is None
    assert not figure_set(study, findings, only=("shorts",)).figures


def test_a_fault_with_a_short_is_loud_where_its_finding_does_not_come(tmp_path: Path) -> None:
    path = str(EXAMPLES / "lessons" / "four-steps.wnet")
    fault = "bridge F3, short light.+, expect oversized-fuse on R1"
    assert main(["figures", path, "-o", str(tmp_path / "set"), "--only", "shorts", "--fault", fault]) == 1
    assert not (tmp_path / "set").exists()


# ---------------------------------------------------------------- time and current


RACE = Race("fuse F1 40 A", 40.0, Figures(job_of(TWO)).gates(job_of(TWO).parts["F1"]), True, "W1 10 mm2", 10.0, 88.0,
            60.0, 500.0, 800.0, 0.2)  # fmt: skip


def test_the_band_passes_through_the_gates_of_the_catalogue() -> None:
    edges = RACE.edges()
    rows = [r for r in catalogue().rows("gate") if r["gates"] == "strip"]
    assert [(round(a / 0.4), least, most) for a, least, most in edges[: len(rows)]] == [
        (r["percent"], r["least_s"], r["most_s"]) for r in rows
    ]
    for (a, least, most), (b, less, later) in zip(edges[len(rows) - 1 :], edges[len(rows) :], strict=False):
        assert least * a**2 == pytest.approx(less * b**2) and most * a**2 == pytest.approx(later * b**2)
    assert edges[-1][0] > 800


def test_the_cable_stands_what_the_study_says() -> None:
    assert RACE.stands(500.0) == pytest.approx((88 * 10 / 500) ** 2)


def test_the_plot_is_lettered_large_enough_and_has_the_same_bytes_again() -> None:
    drawn = race_plot(RACE)
    assert drawn == race_plot(RACE)
    sizes = [float(size) for size in re.findall(r"font(?:-size)?: (\d+(?:\.\d+)?)px", drawn)]
    box = re.search(r'viewBox="0 0 \S+ (\S+)"', drawn)
    assert box is not None and sizes
    assert min(sizes) >= float(box.group(1)) / 0.885 / 40  # the plot takes that share of a picture's height
    for told in ("fuse F1 40 A opens", "W1 10 mm2 stands", "the short, 500 A", "at most, 800 A", "time [s]"):
        assert told in drawn
