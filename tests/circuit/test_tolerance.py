"""Ranges: sensitivities against differences, the worst drop against every corner."""

from __future__ import annotations

from itertools import product

import pytest

from wiregen.circuit import study
from wiregen.circuit.cases import operating_cases
from wiregen.circuit.figures import Figures
from wiregen.circuit.settle import settle
from wiregen.circuit.solve import Solver
from wiregen.model import read
from wiregen.model.job import Job

TEXT = """job "Ranges" {{ system 12 V, limits iso13297 }}
battery start 70 Ah agm, open-circuit 12.6 V, resistance 6 mohm
battery aux 100 Ah agm, open-circuit 12.8 V, resistance 5 mohm
charger dcdc 25 A, profile agm, efficiency 90 %, negative common
load fan 8 A
load pump 60 W
start.+ --[W1 red 10 mm2 {a}]-- dcdc.in.+
start.- --[W2 black 10 mm2 {b}]-- dcdc.in.-
dcdc.out.+ --[W3 red 10 mm2 {c}]-- aux.+
aux.- --[W4 black 10 mm2 1 m]-- dcdc.out.-
aux.+ --[W5 red 2.5 mm2 {d}]-- fan --[W6 black 2.5 mm2 3 m]-- aux.-
aux.+ --[W7 red 2.5 mm2 2 m]-- pump --[W8 black 2.5 mm2 2 m]-- aux.-
case test, start {v}, dcdc on
"""
FIXED = {"a": "4 m", "b": "5 m", "c": "1 m", "d": "3 m", "v": "12.5 V"}
RANGED = {"a": "4 m +- 0.5 m", "b": "4..6 m", "c": "0.8..1.5 m", "d": "3 m +- 10 %", "v": "12.2..12.8 V"}
ENDS = {"a": ("3.5 m", "4.5 m"), "b": ("4 m", "6 m"), "c": ("0.8 m", "1.5 m"), "d": ("2.7 m", "3.3 m"),
        "v": ("12.2 V", "12.8 V")}  # fmt: skip


def job(values: dict[str, str]) -> Job:
    made, findings = read("ranges.wnet", text=TEXT.format(**values))
    assert made is not None and not findings, [f.message for f in findings]
    return made


def drops(values: dict[str, str]) -> dict[tuple[str, str], float]:
    done, _ = study(job(values))
    return {(s.from_, s.to): s.drop_v for s in done.supplies if s.case == "test"}


def test_sensitivities_are_the_slopes_of_differences():
    made = job(FIXED)
    state = next(s for s in operating_cases(made) if s.name == "test")
    rest = settle(made, Figures(made), state)
    solver = Solver(rest.circuit)
    solver.run()
    weights = {"start.+": 1.0, "dcdc.in.+": -1.0, "dcdc.in.-": 1.0, "start.-": -1.0}
    moves = solver.sensitivities(weights)

    def drop() -> float:
        found, _ = Solver(rest.circuit).run()
        assert found is not None
        return sum(weight * (found.voltages[t] or 0.0) for t, weight in weights.items())

    for branch in rest.circuit.branches:
        kept, step = branch.ohm, 1e-4 * branch.ohm
        branch.ohm = kept + step
        higher = drop()
        branch.ohm = kept - step
        lower = drop()
        branch.ohm = kept
        assert moves[branch.key] == pytest.approx((higher - lower) / (2 * step), rel=1e-4, abs=1e-6), branch.key


def test_the_worst_drop_is_that_of_the_worst_corner():
    worst: dict[tuple[str, str], float] = {}
    for ends in product(*ENDS.values()):
        for key, drop in drops(dict(zip(ENDS, ends, strict=True))).items():
            worst[key] = max(worst.get(key, 0.0), drop)
    found = drops(RANGED)
    assert found.keys() == worst.keys()
    for key, drop in worst.items():
        # temperatures are those of the lengths as written: some millikelvin of the conductor
        assert found[key] == pytest.approx(drop, rel=2e-3), key


def test_without_ranges_nothing_is_worse_than_written():
    done, _ = study(job(FIXED))
    assert all(s.nominal_drop_v is None for s in done.supplies)


def test_faults_take_the_short_end_for_the_highest_and_the_long_end_for_the_lowest():
    def end(values: dict[str, str]) -> tuple[float, float]:
        done, _ = study(job(values))
        (fault,) = [f for f in done.faults if f.terminal == "fan.+"]
        return fault.max_current_a, fault.min_current_a

    high, low = end({**FIXED, "d": "2..4 m"})
    assert high == pytest.approx(end({**FIXED, "d": "2 m"})[0])
    assert low == pytest.approx(end({**FIXED, "d": "4 m"})[1])
