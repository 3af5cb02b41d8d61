"""Planted joints: what they add and where, what the rules make of it, and that the reference solver agrees."""

from dataclasses import replace

import pytest
import test_spice
from by_ngspice import needs_ngspice

from wiregen.circuit import study
from wiregen.circuit.study import CaseResult
from wiregen.exchange.spice import spice_deck
from wiregen.model import read
from wiregen.model.job import Job
from wiregen.rules import check

JOB = """job "Lift" { system 12 V, limits iso13297, each insulation 105 degC, limit 10 % }
battery start 70 Ah flooded, vented, resistance 10 mohm, open-circuit 12.5 V
fuse F1 40 A strip, volts 58 V, breaks 10 kA, resistance 1 mohm
connector X1 50 A, poles + -, resistance 1 mohm
load lift 1 ohm
load fan 2 ohm
splice S1
plug P 30 A, poles + -, resistance 2 mohm
socket Q 30 A, poles + -, resistance 2 mohm
body shell bonded, 1 mohm
earth E1 on shell
earth E2 on shell
start.+ --[R1 red 10 mm2 0.2 m]-- F1 --[R2 red 6 mm2 3 m]-- X1.+ --[R3 red 6 mm2 1 m]-- S1
S1 --[R4 red 6 mm2 1 m]-- lift.+
S1 --[R5 red 2.5 mm2 1 m]-- P.+ -- Q.+ --[R6 red 2.5 mm2 1 m]-- fan.+
fan.- --[B6 black 2.5 mm2 1 m]-- Q.- -- P.- --[B5 black 2.5 mm2 2 m]-- E2
lift.- --[B3 black 6 mm2 1 m]-- X1.- --[B2 black 6 mm2 3 m]-- start.-
start.- --[B0 black 25 mm2 0.4 m]-- E1
"""
PLACES = ["start_p", "start_m", "F1_out", "X1_p", "X1_m", "R4", "P_p", "Q_m", "S1_3", "E1", "E2", "fan_m"]


def worn(**ohms: float) -> Job:
    """The job with joints planted in it; `_` stands for the dot before a `p` (+), `m` (-) or name."""
    job, said = read("lift.wnet", text=JOB)
    assert job is not None, said
    joints = {at.replace("_p", ".+").replace("_m", ".-").replace("_", "."): ohm for at, ohm in ohms.items()}
    return replace(job, joints=joints)


def solved(job: Job) -> CaseResult:
    return study(job)[0].cases[0]


@pytest.mark.parametrize(
    ("at", "through"),
    [
        ("start_p", {"R1"}),
        ("start_m", {"B0", "B2"}),
        ("F1_in", {"R1"}),
        ("X1_p", {"R3"}),
        ("R4", {"R4"}),
        ("lift_m", {"B3"}),
        ("P_p", {"R5"}),
        ("Q_m", {"B6"}),
        ("S1_2", {"R4"}),
        ("E2", {"B5"}),
    ],
)
def test_a_joint_carries_what_lands_on_it(at, through):
    """Its voltage is its resistance times the current of the conductors behind it; nothing else is between."""
    job = worn(**{at: 0.05})
    case = solved(job)
    sound = solved(worn())
    amps = sum(abs(case.flows[id].current_a) for id in through)
    before = sum(abs(sound.flows[id].current_a) for id in through)
    assert 1.0 < amps < before
    own = next(iter(job.joints))
    drops = {id: abs(flow.drop_v) - abs(flow.current_a) * flow.resistance_ohm for id, flow in case.flows.items()}
    gaps = {id: gap for id, gap in drops.items() if gap > 1e-6}
    if own == "X1.+":
        lost = abs(case.voltages["X1.a.+"] - case.voltages["X1.b.+"])
        assert lost == pytest.approx(0.051 * amps) and not gaps
    elif own in ("P.+", "Q.-"):  # a pole of a mated pair has nothing inside: what is mated comes through the joint
        one, other = own, own.replace("P", "Q") if own[0] == "P" else own.replace("Q", "P")
        assert abs(case.voltages[one] - case.voltages[other]) == pytest.approx(0.05 * amps) and not gaps
    elif own == "start.-":
        assert set(gaps) == through and list(gaps.values()) == pytest.approx([0.05 * amps] * 2)
    else:
        assert set(gaps) == through and list(gaps.values()) == pytest.approx([0.05 * amps])


@needs_ngspice
@pytest.mark.parametrize("at", PLACES)
def test_the_reference_solver_agrees(at):
    job = worn(**{at: 0.07, "lift_p": 0.02, "R6": 0.03})
    assert test_spice.compare(job, at)[0] > 0
    assert f"joint {next(iter(job.joints))}" in spice_deck(job)


def test_several_joints_at_one_place_add_up():
    one, all = solved(worn(R4=0.06)), solved(worn(R4=0.03, lift_p=0.03))
    assert all.parts["lift"]["voltage_v"] == pytest.approx(one.parts["lift"]["voltage_v"], abs=1e-9)


def test_a_joint_of_nothing_changes_nothing():
    assert solved(worn(X1_p=0.0, start_m=0.0, R4=0.0)).parts["lift"] == pytest.approx(solved(worn()).parts["lift"])


@pytest.mark.parametrize(("at", "subject"), [("X1_p", "X1"), ("start_p", "start"), ("R4", "R4"), ("S1_1", "S1")])
def test_a_joint_that_takes_too_much_is_named_and_no_conductor(at, subject):
    """Half of the allowed drop goes into copper: the joint is to blame all the same."""
    said = check(study(worn(**{at: 0.09}))[0])
    drops = [f for f in said if f.rule in ("voltage-drop", "undersized-conductor")]
    assert drops, [f.rule for f in said]
    assert all(f.rule == "voltage-drop" for f in drops)
    assert subject in [f.subject for f in drops]
    assert "make the joint at" in drops[0].remedy
    assert not [f for f in check(study(worn())[0]) if f.rule in ("voltage-drop", "undersized-conductor")]
