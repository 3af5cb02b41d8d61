"""Planted faults: a job with one thing changed, and what the change does and leaves alone."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import random_netlist

from wiregen.circuit import study
from wiregen.model import read
from wiregen.model.alter import CHANGING, altered
from wiregen.model.job import Job
from wiregen.rules import check

JOB = """job "Second battery" { system 12 V, limits iso13297, each insulation 105 degC }
place bay, ambient 60 degC
battery start 70 Ah flooded, vented, resistance 6 mohm
battery aux 100 Ah agm, vented, resistance 5 mohm
charger dcdc 18 A, profile agm, efficiency 90 %, negative common, sense temperature
fuse F1 40 A strip, volts 58 V, breaks 10 kA
fuse F2 40 A strip, volts 58 V, breaks 10 kA
connector X1 50 A, poles + -, resistance 0.2 mohm
switch S1 20 A
lamp ind 1 W led
diode V1 10 A
body shell bonded
earth E1 on shell
start.- --[B0 black 25 mm2 0.4 m]-- E1
start.+ --[R1 red 10 mm2 150 mm]-- F1 --[R2 red 10 mm2 4 m via bay 1 m, rear 3 m]-- X1.+
    --[R3 red 10 mm2 0.3 m]-- dcdc.in.+
limit 8 % start to dcdc.in
start.- --[B1 black 10 mm2 4 m]-- X1.- --[B2 black 10 mm2 0.3 m]-- dcdc.in.-
aux.+ --[R4 red 10 mm2 150 mm]-- F2 --[R5 red 10 mm2 0.4 m]-- dcdc.out.+
aux.- --[B3 black 10 mm2 0.5 m]-- dcdc.out.-
dcdc.sense --[S9 grey 0.5 mm2 0.5 m, supplied]-- aux.-
dcdc.indicator --[G1 green 0.5 mm2 1 m]-- V1 -- S1 -- ind --[G2 black 0.5 mm2 1 m]-- E1
place rear
"""


def planted(words: str, text: str = JOB) -> tuple[Job, Job, list[str]]:
    """The job, the job with `fault Z { words }` in it, and what was said about the fault."""
    job, mistakes = read("job.wnet", text=f"{text}\nfault Z {{ {words} }}\n")
    assert job is not None
    (lesson,) = job.lessons
    new, problems = altered(job, lesson.steps)
    return job, new, [each.message for each in (*mistakes, *problems)]


@pytest.mark.parametrize(
    ("words", "rule", "subject"),
    [
        ("leave-out F1", "unfused-positive", "R2"),
        ("bridge F2", "unfused-positive", "R5"),
        ("swap X1", "reversed-polarity", "X1"),
        ("swap dcdc.in", "reversed-polarity", "R3"),
        ("swap R3 B2", "reversed-polarity", "R3"),
        ("change R2 1.5 mm2", "undersized-conductor", "R2"),
        ("change R1 5.2 m", "unfused-positive", "R1"),
        ("move S9 from aux.- to start.-", "misplaced-sense-lead", "S9"),
        ("move S9 from aux.- to loose", "unterminated-sense-lead", "S9"),
        ("change aux lifepo4", "profile-mismatch", "dcdc"),
        ("change X1 unmated", "unmated-connector", "X1"),
        ("leave-out ind", "loose-end", "G1"),
    ],
)
def test_a_planted_fault_is_what_the_rules_find(words: str, rule: str, subject: str) -> None:
    job, new, problems = planted(words)
    assert problems == []
    sound = {(f.rule, f.subject) for f in check(study(job)[0])}
    found = {(f.rule, f.subject) for f in check(study(new)[0])}
    assert (rule, subject) in found - sound, sorted(found - sound)


def test_the_job_itself_stays_as_it_was() -> None:
    job, _, _ = planted("change R2 1.5 mm2, leave-out F1, swap X1, break R3")
    again, _ = read("job.wnet", text=f"{JOB}\nfault Z {{ change R2 1.5 mm2, leave-out F1, swap X1, break R3 }}\n")
    assert job == again


def test_a_changed_length_keeps_the_shares_of_its_places() -> None:
    _, new, _ = planted("change R2 8 m")
    assert [leg.length_m for leg in new.conductors["R2"].route] == pytest.approx([2.0, 6.0])


def test_a_broken_conductor_carries_nothing_and_ends_on_nothing() -> None:
    _, new, _ = planted("break R2")
    assert new.conductors["R2"].to == "broken:R2"
    assert all(abs(case.flows["R2"].current_a or 0.0) < 1e-9 for case in study(new)[0].cases)


def test_a_blown_fuse_and_an_opened_switch_conduct_no_more() -> None:
    _, new, _ = planted("break F1, change S1 open")
    assert not new.parts["F1"].contacts[0].closed
    assert not new.parts["S1"].contacts[0].closed


@pytest.mark.parametrize(
    ("words", "at"), [("X1.+", "X1.+"), ("F1", "F1.in"), ("F1.out", "F1.out"), ("aux.+", "aux.+"), ("R2", "R2")]
)
def test_a_bad_joint_is_kept_where_it_is(words: str, at: str) -> None:
    _, new, problems = planted(f"joint {words} 90 mohm")
    assert problems == []
    assert new.joints == {at: pytest.approx(0.09)}


def test_a_diode_the_wrong_way_round() -> None:
    job, new, _ = planted("swap V1")
    assert job.conductors["G1"].to == "V1.in"
    assert new.conductors["G1"].to == "V1.out"


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("swap E1", "E1 has no two ends to swap"),
        ("break aux", "aux cannot be broken"),
        ("bridge X1", "X1 cannot be bridged"),
        ("leave-out bay", "bay cannot be left out"),
        ("joint aux 9 mohm", "aux is no terminal, pole or conductor"),
        ("joint X1.+", "joint X1.+ does not say its resistance"),
        ("move S9 from start.- to aux.+", "S9 does not end on start.-"),
        ("move S9 aux.+", "this move does not say what goes where"),
        ("move aux from aux.- to start.-", "aux is no conductor and cannot be moved"),
        ("move S9 from aux.- to aux", "aux is no terminal"),
        ("change R2", "change R2 does not say to what"),
        ("expect unfused-positive", "expect does not say on what"),
        ("swap R1 aux", "R1 aux cannot be swapped"),
    ],
)
def test_what_means_nothing_is_said_in_words(words: str, message: str) -> None:
    _, _, problems = planted(words)
    assert message in problems


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10_000), parts=st.integers(2, 30), picks=st.lists(st.integers(0, 10_000), max_size=4))
def test_any_fault_in_any_job_gives_a_whole_job(seed: int, parts: int, picks: list[int]) -> None:
    """Every end of every conductor and link is a terminal of the new job, whatever was planted."""
    text = random_netlist(seed, parts)
    job, _ = read("job.wnet", text=text)
    assert job is not None
    names = [*job.parts, *job.conductors]
    verbs = [verb for verb in CHANGING if verb not in ("change", "move")]
    words = [
        f"{verbs[p % len(verbs)]} {names[p % len(names)]}{' 9 mohm' * (verbs[p % len(verbs)] == 'joint')}"
        for p in picks
    ]
    _, new, _ = planted(", ".join(words) or 'teaches "nothing"', text)
    for item in new.conductors.values():
        assert item.from_ in new.terminals and item.to in new.terminals
    for link in new.links:
        assert link.a in new.terminals and link.b in new.terminals
    assert set(new.joints) <= {
        *new.terminals,
        *new.conductors,
        *(f"{p.id}.{c.name}" for p in new.parts.values() for c in p.contacts),
    }
