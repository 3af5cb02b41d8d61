"""The answers of worksheets and reading practice, solved again by the reference solver, for every lesson."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import test_spice
from by_ngspice import needs_ngspice, run

from wiregen.circuit import study
from wiregen.circuit.cases import operating_cases
from wiregen.circuit.fault_study import Net
from wiregen.circuit.figures import Figures
from wiregen.circuit.joints import Merged
from wiregen.circuit.settle import settle
from wiregen.exchange.spice import circuit_deck, node_names
from wiregen.model import read
from wiregen.model.alter import altered
from wiregen.model.job import Job
from wiregen.rules import check
from wiregen.teaching.readings import exercise
from wiregen.teaching.sum import Sum
from wiregen.teaching.sums import sums
from wiregen.teaching.worksheets import worksheets

pytestmark = needs_ngspice
LESSONS = sorted((Path(__file__).resolve().parents[2] / "examples" / "lessons").glob("*.wnet"))
PREFIX = {"m": 1e-3, "k": 1e3}


def by_spice(job: Job, case: str) -> dict[str, float]:
    """Terminal -> voltage, by ngspice alone."""
    state = next(s for s in operating_cases(job) if s.name == case)
    rest = settle(job, Figures(job), state)
    assert rest.solution is not None
    found = run(circuit_deck(rest.circuit, rest.solution.references, case, rest.solution.voltages))
    assert found
    return {t: found[node] for t, node in node_names(rest.circuit, Merged(rest.circuit)).items() if node in found}


def told(s: Sum) -> float:
    number, _, unit = s.answer.partition(" ")
    return float(number.replace("−", "-")) * (PREFIX[unit[0]] if unit[:1] in PREFIX and len(unit) > 1 else 1.0)


def near(s: Sum, value: float) -> None:
    """Within half a step of the last figure that the answer states."""
    assert told(s) == pytest.approx(value, rel=0.51 * 10.0 ** (1 - s.figures)), s.asked


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_drops_currents_and_powers_of_the_sums(path: Path) -> None:
    job, _ = read(str(path))
    assert job is not None
    made, _ = study(job)
    count = 0
    for case in made.cases:
        if not case.solved or case.ranged:
            continue
        volts = by_spice(job, case.name)
        for s in sums(made, case):
            conductor, part = job.conductors.get(s.subject), job.parts.get(s.subject)
            if conductor is not None and s.quantity in ("drop", "current", "power"):
                ohm = case.flows[s.subject].resistance_ohm
                drop = abs(volts[conductor.from_] - volts[conductor.to])
                assert ohm
                near(s, {"drop": drop, "current": drop / ohm, "power": drop * drop / ohm}[s.quantity])
                count += 1
            elif part is not None and part.contacts and s.quantity == "drop":
                contact = part.contacts[0]
                near(s, abs(volts[contact.a] - volts[contact.b]))
                count += 1
            elif part is not None and s.quantity == "voltage":
                near(s, volts[f"{s.subject}.+"] - volts[f"{s.subject}.-"])
                count += 1
            elif s.subject in job.circuits and s.quantity == "drop":
                ends = re.fullmatch(r"drop, (\S+) to (\S+), there and back", s.asked)
                assert ends
                one, other = ends.groups()
                lost = volts[f"{one}.+"] - volts[f"{one}.-"] - (volts[f"{other}.+"] - volts[f"{other}.-"])
                near(s, lost)
                count += 1
    assert count >= 4


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_short_circuit_currents_of_the_sums(path: Path) -> None:
    job, _ = read(str(path))
    assert job is not None
    made, _ = study(job)
    net = Net(job, Figures(job), weak=True)
    case = next(c for c in made.cases if c.solved)
    for s in (s for s in sums(made, case) if s.quantity == "fault"):
        terminal = job.conductors[s.subject].to
        fault = net.fault(terminal)
        assert fault is not None
        near(s, run(test_spice.shorted(net, terminal, fault.minus))["vfault#branch"])


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_meter_readings_of_every_fault_that_a_sheet_names(path: Path) -> None:
    job, _ = read(str(path))
    assert job is not None
    made, _ = study(job)
    done = set()
    for seed in (None, 1, 2, 3):
        found = exercise(made, seed)
        assert found is not None
        sound = by_spice(job, found.case.name)
        for terminal in found.points:
            assert found.sound[terminal] == pytest.approx(sound[terminal] - sound[found.black], abs=1e-5)
        for measured in found.choice:
            if measured.suspect.key in done:
                continue
            done.add(measured.suspect.key)
            changed, problems = altered(job, measured.suspect.steps)
            assert not problems
            volts = by_spice(changed, found.case.name)
            for terminal in found.points:
                ours = measured.volts[terminal]
                if ours is not None:
                    assert ours == pytest.approx(volts[terminal] - volts[found.black], abs=1e-5), measured.suspect.words
    assert len(done) >= 3


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_a_worksheet_of_every_lesson_has_its_sums(path: Path) -> None:
    job, _ = read(str(path))
    assert job is not None
    made, _ = study(job)
    sheets = worksheets(made, check(made))
    assert sheets.sheets and not sheets.problems and not sheets.missed
