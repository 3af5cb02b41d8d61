"""Readings and symptoms from words, faults as data, likelihoods and proposals on their own."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from wiregen.circuit import study
from wiregen.circuit.cases import operating_cases
from wiregen.circuit.figures import Figures
from wiregen.diagnosis import symptoms
from wiregen.diagnosis.dictionary import Dictionary
from wiregen.diagnosis.faults import faults, planted
from wiregen.diagnosis.likelihood import believe
from wiregen.diagnosis.next_reading import proposals
from wiregen.diagnosis.points import Probe, probes
from wiregen.diagnosis.readings import NotUnderstood, Reading, answer, reading
from wiregen.diagnosis.symptoms import factor, symptom
from wiregen.diagnosis.table import table
from wiregen.model import read
from wiregen.model.job import Job

EXAMPLES = Path(__file__).parents[2] / "examples"
KINDS = {"dead", "weak", "rests", "hunts", "blown", "hot", "uncharged", "high", "idle"}


@cache
def job(name: str = "dual-battery") -> Job:
    found, _ = read(str(EXAMPLES / f"{name}.wnet"))
    assert found is not None
    return found


@cache
def dictionary(case: str = "night") -> Dictionary:
    return Dictionary(job(), next(state for state in operating_cases(job()) if state.name == case))


@pytest.mark.parametrize(
    ("words", "value", "step"),
    [
        ("0", 0.0, 1.0),
        ("12.6", 12.6, 0.1),
        ("-0,02 V", -0.02, 0.01),
        ("\u2212300 mV", -0.3, 0.001),
        ("12 A", None, 0),
        ("x", None, 0),
    ],
)
def test_an_answer_is_as_good_as_its_last_digit(words, value, step):
    probe = Probe("V", "aux.+", "aux.-", 0.0)
    found = answer(probe, words)
    assert found is None if value is None else found == Reading(probe, pytest.approx(value), pytest.approx(step))
    if found is not None and words[-1].isdigit():
        words += " V"
    assert found is None or reading(job(), f"aux {words}")[1:] == found[1:]


def test_no_volts_without_decimals_may_be_a_few_tenths():
    """Behind an open fuse the far plus shows what the way back loses: 0 V on the page may be 0.2 V on the meter."""
    open_fuse = next(k for k, fault in enumerate(dictionary().faults) if fault.words == "Fuse F3 is open")
    rough = believe(dictionary(), [reading(job(), "X2.b.+ to start.- 0 V")]).faults[open_fuse]
    exact = believe(dictionary(), [reading(job(), "X2.b.+ to start.- 0.30 V")]).faults[open_fuse]
    assert rough > 0.1 > exact


@pytest.mark.parametrize(
    "words",
    [
        "aux does not charge",
        "the second battery isn't charging",
        "Aux won't charge",
        "aux is always flat",
        "aux not charging",
    ],
)
def test_a_battery_that_is_not_charged_is_said_in_many_ways(words):
    assert (symptom(job(), words).parts, symptom(job(), words).means) == (("aux",), "uncharged")


@pytest.mark.parametrize(
    ("words", "probe", "value"),
    [
        ("X1.a.+ to X1.a.- 11.2 V", ("V", "X1.a.+", "X1.a.-"), 11.2),
        ("x1.A.+ against X1.a.- 11,2V", ("V", "X1.a.+", "X1.a.-"), 11.2),
        ("F1 200 mV", ("V", "F1.in", "F1.out"), 0.2),
        ("dcdc.in = 12.9 V", ("V", "dcdc.in.+", "dcdc.in.-"), 12.9),
        ("aux.+ 12.7 V", ("V", "aux.+", "start.-"), 12.7),
        ("fridge -3 V", ("V", "fridge.+", "fridge.-"), -3.0),
        ("R2 to nothing 28 A", None, 0.0),
        ("R2 28 A", ("A", "R2", ""), 28.0),
        ("F3 4000 mA", ("A", "F3", ""), 4.0),
        ("R2 0.3 V", ("V", "F1.out", "X1.a.+"), 0.3),
    ],
)
def test_a_reading_from_words(words, probe, value):
    if probe is None:
        with pytest.raises(NotUnderstood):
            reading(job(), words)
        return
    found = reading(job(), words)
    assert (found.probe.kind, found.probe.red, found.probe.black) == probe
    assert found.value == pytest.approx(value)


def test_a_bar_needs_no_stud_for_a_lead():
    """Its studs are one piece of metal, and the netlist need not number them."""
    van = job("camper-van")
    probe = reading(van, "bp to BN 12.6 V").probe
    assert (probe.red, probe.black) == (van.parts["BP"].terminals[0], van.parts["BN"].terminals[0])
    assert reading(van, "BP 12.6 V").probe.red == probe.red


def test_every_fault_is_unlike_the_others_and_speaks():
    found = faults(job("camper-van"), Figures(job("camper-van")))
    assert len({fault.id for fault in found}) == len(found) > 300
    for fault in found:
        assert fault.words and fault.remedy and fault.weight > 0 and not fault.words.endswith(".")
    kinds = {fault.kind for fault in found}
    assert kinds == {"open", "joint", "swapped", "wrong post", "dead", "set wrong"}
    ids = {fault.id for fault in found}
    assert {"open F1", "open R2", "joint X1.+", "joint SH", "dead alt", "dead ign", "cut off house"} <= ids
    assert {"battery flat start", "battery cell start", "profile dcdc", "panel regulated sun-a", "swapped X1"} <= ids


def test_a_planted_fault_changes_the_job_or_the_case_and_nothing_else():
    state = operating_cases(job())[0]
    before = repr(job())
    for fault in faults(job(), Figures(job())):
        changed, case = planted(job(), state, fault, 0.1)
        assert changed != job() or case != state, fault.id
    assert repr(job()) == before


# ---------------------------------------------------------------- symptoms


def test_the_catalogue_of_symptoms_is_sound():
    rows = symptoms.rows()
    assert len({row["id"] for row in rows}) == len(rows)
    for row in rows:
        assert row["means"] in KINDS and row["says"] and row["kinds"]
        assert 0.0 < row["otherwise"] < row["seen"] < 1.0
    assert KINDS == set(symptoms.MEANINGS) == {row["means"] for row in rows}


@pytest.mark.parametrize(
    ("words", "id", "parts"),
    [
        ("charger starts and stops", "starts-and-stops", ("dcdc",)),
        ("Battery charger starts and stops.", "starts-and-stops", ("dcdc",)),
        ("fuse F1 blown again", "blown", ("F1",)),
        ("the fridge does not work", "does-not-work", ("fridge",)),
        ("X2 gets warm", "hot", ("X2",)),
        ("aux goes flat", "flat", ("aux",)),
    ],
)
def test_a_symptom_from_words(words, id, parts):
    found = symptom(job(), words)
    assert (found.id, found.parts) == (id, parts)


def test_an_indicator_that_never_lights_is_that_of_the_charger():
    assert symptom(job("camper-van"), "indicator never lights").parts == ("charge-lamp",)


@pytest.mark.parametrize(
    ("words", "fault"),
    [("fridge does not work", "open F3"), ("fuse F3 blown", "open F3"), ("X2 is hot", "joint X2.+")],
)
def test_a_symptom_speaks_for_what_makes_it(words, fault):
    made = dictionary()
    factors = factor(made, [symptom(job(), words)])
    number = next(k for k, each in enumerate(made.faults) if each.id == fault)
    first, count = made.grid[number]
    assert factors[first : first + count].max() > 10.0 * factors[0]


def test_a_fridge_at_a_low_voltage_does_not_work():
    """It guards the battery: the symptom and 10.6 V at its terminals do not contradict each other."""
    made = dictionary()
    readings = [reading(job(), "fridge 10.6 V")]
    belief = believe(made, readings, factor(made, [symptom(job(), "fridge does not work")]))
    assert belief.other < 0.1
    assert made.faults[belief.best()[0]].id == "battery cell aux"


# ---------------------------------------------------------------- belief and the next reading


def test_beliefs_add_up_and_a_reading_moves_them():
    made = dictionary()
    before = believe(made, ())
    after = believe(made, [Reading(Probe("V", "F3.in", "F3.out", 1.0), 12.6)])
    for belief in (before, after):
        assert belief.faults.sum() + belief.nothing + belief.other == pytest.approx(1.0)
        assert (belief.faults >= 0).all()
    number = next(k for k, fault in enumerate(made.faults) if fault.id == "open F3")
    assert after.faults[number] > 0.9 > before.faults[number]


def test_a_battery_that_is_a_little_low_is_no_poor_joint():
    """All readings low together by what a state of charge makes: the common part explains it."""
    made = dictionary()
    low = [("aux.+ to aux.- 12.7 V"), ("F3.in to start.- 12.6 V"), ("X2.a.+ to X2.a.- 12.5 V"), ("F3 0.03 V")]
    belief = believe(made, [reading(job(), words) for words in low])
    joints = sum(belief.faults[k] for k, fault in enumerate(made.faults) if fault.kind == "joint")
    assert belief.nothing > 0.5 * joints / 10.0
    assert belief.other < 0.05


def test_the_next_reading_tells_the_two_that_are_left_apart():
    made = dictionary()
    taken = [reading(job(), "X2.a.+ to X2.a.- 0 V"), reading(job(), "F3.in to start.- 12.7 V")]
    all_ = probes(job())
    columns = made.columns(all_)
    best = proposals(made, believe(made, taken), all_, columns, taken)[0]
    assert best.bits > 0.3
    k = all_.index(best.probe)
    left = [made.grid[number][0] for number in believe(made, taken).best()[:6]]
    means = columns.means[left, k]
    assert float(np.ptp(means)) > 0.5


def test_points_that_lie_open_come_before_hidden_ones():
    reach = {probe.red: probe.reach for probe in probes(job()) if probe.kind == "V"}
    assert reach["X1.a.+"] < reach["fridge.+"]


def test_the_table_of_the_folder_tells_causes_with_readings():
    for name in ("dual-battery", "truck-24v"):
        rows = table(study(job(name))[0])
        assert len(rows) >= 10
        assert sum(row.probe is not None for row in rows) >= 0.8 * len(rows)
        for row in rows:
            if row.probe is not None and not row.swing:
                assert abs(row.expected - row.sound) > 0.01
