"""A short circuit phase by phase, and the answers of textbooks, against ngspice as the reference solver."""

from __future__ import annotations

from pathlib import Path

import pytest
import test_spice
from by_ngspice import needs_ngspice, run

from wiregen.circuit import study as solve
from wiregen.circuit.fault_study import Net
from wiregen.circuit.figures import Figures
from wiregen.circuit.joints import Merged
from wiregen.circuit.short import short
from wiregen.exchange.spice import node_names, spice_deck
from wiregen.model import read
from wiregen.model.alter import altered
from wiregen.model.job import Job

LESSONS = Path(__file__).resolve().parents[2] / "examples" / "lessons"


BOTH = """job "Two batteries on one bar" { system 12 V, limits iso13297, each insulation 105 degC }
battery one 90 Ah agm { resistance 5 mohm, vented }
battery two 90 Ah agm { resistance 8 mohm, vented }
fuse F1 100 A strip
fuse F2 40 A strip
busbar BP 200 A
load pump 10 A
one.+ --[W1 red 16 mm2 150 mm]-- F1 --[W2 red 16 mm2 1 m]-- BP
two.+ --[W3 red 10 mm2 150 mm]-- F2 --[W4 red 10 mm2 2 m]-- BP
BP --[W5 red 10 mm2 1 m]-- pump.+
one.- --[B1 black 16 mm2 1 m]-- pump.-
two.- --[B2 black 16 mm2 2 m]-- pump.-
"""


def lesson(name: str) -> Job:
    job, said = read(str(LESSONS / f"{name}.wnet")) if name else read("both.wnet", text=BOTH)
    assert job is not None and not said
    return job


@needs_ngspice
@pytest.mark.parametrize(
    "name, terminal, minus",
    [
        ("voltage-drop", "pump.+", "pump.-"),
        ("voltage-drop", "lamps.+", "lamps.-"),
        ("four-steps", "dcdc.in.+", None),
        ("jump-start", "motor.+", None),
        ("jump-start", "motor.+", "motor.-"),
        ("", "pump.+", "pump.-"),
    ],
)
def test_each_phase_of_a_short_agrees(name: str, terminal: str, minus: str | None) -> None:
    """Currents of all conductors before and after each device that opens."""
    job = lesson(name)
    figures = Figures(job)
    made = short(job, figures, terminal, minus)
    assert made is not None
    assert len(made.phases) == {"": 3, "jump-start": 1}.get(name, 2)
    opened: tuple[str, ...] = ()
    for phase in made.phases:
        opened += phase.opened
        if phase.amps == 0.0:  # cleared: nothing drives a current to compare
            assert phase is made.phases[-1] and not phase.currents
            continue
        net = Net(job, figures, weak=True, opened=opened)
        names = node_names(net.circuit, Merged(net.circuit))
        found = run(test_spice.shorted(net, terminal, made.minus))
        assert phase.amps == pytest.approx(found["vfault#branch"], rel=1e-6, abs=1e-6)
        for id in job.conductors:
            branch = net.branches["conductor", id]
            a, b = (found.get(names[end], 0.0) for end in (branch.a, branch.b))
            assert phase.currents.get(id, 0.0) == pytest.approx((a - b) / branch.ohm, rel=1e-4, abs=1.0), id


Answer = tuple[str, str, str | None, dict[str, float], dict[str, tuple[float, float]]]
NEAR = 5e-4  # of the published figures, which have three or four digits; 1 mm of wire takes less
# Lesson, fault, case; what each source gives [A]; voltage [V] and power [W] of the others. Published answers: reference
# values, section 13; the sources stand in the netlists themselves.
ANSWERS: list[Answer] = [
    # S3: OpenStax, College Physics (read in a reprint); S4: with corroded joints
    ("starter-joints", "", "cranking", {"bat": 200.0}, {"motor": (10.0, 2000.0)}),
    ("starter-joints", "A", "cranking", {"bat": 80.0}, {"motor": (4.00, 320.0)}),
    # S5: a university physics text, printed to three figures (171 A, 0.283 A); these are of section 13's own check
    ("jump-start", "", "cranking", {"good": 171.67, "flat": -0.2833}, {"motor": (10.2833, 10.2833 * 171.388)}),
    # S6: an open physics text, example 34.56 (read itself)
    ("two-loops", "", "on", {"V1": 1 / 22, "V2": 6 / 22}, {"R3": (210 / 22, 30 * (7 / 22) ** 2)}),
    # S1: DOE-HDBK-1011 vol. 1 (read itself); printed 0.3458 and 0.0772, exactly 0.34571 and 0.07714
    ("opposed-loops", "", None, {"E1": 0.2686, "E2": 0.3458, "E3": 0.0772}, {}),
]


def planted(name: str, fault: str) -> Job:
    job = lesson(name)
    if not fault:
        return job
    changed, problems = altered(job, next(each.steps for each in job.lessons if each.name == fault))
    assert not problems
    return changed


@pytest.mark.parametrize("name, fault, case, gives, parts", ANSWERS)
def test_published_answers_are_reproduced(
    name: str, fault: str, case: str | None, gives: dict[str, float], parts: dict[str, tuple[float, float]]
) -> None:
    computed, _ = solve(planted(name, fault))
    found = next(c for c in computed.cases if case is None or c.name == case)
    for id, wanted in gives.items():
        assert -(found.parts[id]["current_a"] or 0.0) == pytest.approx(wanted, rel=NEAR, abs=1e-4), id
    for id, (volts, watts) in parts.items():
        assert found.parts[id]["voltage_v"] == pytest.approx(volts, rel=NEAR)
        assert found.parts[id]["power_w"] == pytest.approx(watts, rel=NEAR)


@needs_ngspice
@pytest.mark.parametrize("name, fault, case, gives, parts", ANSWERS)
def test_published_answers_are_those_of_the_reference_solver_too(
    name: str, fault: str, case: str | None, gives: dict[str, float], parts: dict[str, tuple[float, float]]
) -> None:
    """Voltages by ngspice; a source's current by what it loses in its own resistance."""
    job = planted(name, fault)
    deck = spice_deck(job, case)
    node = {line.split(" is ")[1]: line.split()[1] for line in deck.splitlines() if line.startswith("* n_")}
    found = run(deck)

    def across(id: str) -> float:
        return found.get(node[f"{id}.+"], 0.0) - found.get(node[f"{id}.-"], 0.0)

    for id, wanted in gives.items():
        source = job.parts[id]
        volts, ohm = source.number("open-circuit"), source.number("resistance")
        assert volts is not None and ohm is not None
        assert (volts - across(id)) / ohm == pytest.approx(wanted, rel=NEAR, abs=1e-4), id
    for id, (wanted, _) in parts.items():
        assert across(id) == pytest.approx(wanted, rel=NEAR)


@pytest.mark.parametrize("name", ["starter-joints", "jump-start", "two-loops", "opposed-loops"])
def test_the_answers_on_the_sheets_are_the_published_ones(name: str) -> None:
    """What a lesson tells as answers in its own words has the figures that its head quotes as published."""
    job = lesson(name)
    answers = " ".join(s.values[2].text for each in job.lessons for s in each.steps if s.verb == "ask")
    head = (LESSONS / f"{name}.wnet").read_text(encoding="utf-8").split("job ")[0]
    quoted = {
        "starter-joints": ("200 A", "10.0 V", "2.00 kW", "80 A", "4.00 V", "320 W"),
        "jump-start": ("171 A", "0.283 A"),
        "two-loops": ("1/22", "6/22", "7/22"),
        "opposed-loops": ("0.2686 A", "0.3458 A", "0.0772 A"),
    }[name]
    for figure in quoted:
        assert figure in head and figure in answers
