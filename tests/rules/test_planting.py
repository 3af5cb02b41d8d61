"""Faults planted in the sound examples, one at a time: the matching rule names the right subject, no other speaks."""

from __future__ import annotations

import pytest
from planting import bridged, crossed_pole, lengthened, loosened, rewired, sound, swapped, thinned

from wiregen.circuit import study
from wiregen.circuit.polarity import SINKS, is_source
from wiregen.circuit.study import Study
from wiregen.circuit.unprotected import live_posts, onward
from wiregen.findings import Finding
from wiregen.rules import check
from wiregen.rules.currents import starter_turns
from wiregen.rules.engine import registered

SOUND = dict(sound())
FOLLOWING = registered(
    ("unfused-positive", "reversed-polarity", "unterminated-sense-lead", "short-circuit", "oversized-fuse")
)
"""Rules that follow conductors and take no currents from the solved cases."""

jobs = pytest.mark.parametrize("name", SOUND)


def follow(before: Study, job: object) -> list[Finding]:
    from wiregen.model.job import Job

    assert isinstance(job, Job)
    return [f for f in check(rewired(before, job), rules=FOLLOWING) if f.rule != "missing-data"]


def landing(before: Study, terminal: str) -> list[str]:
    return [c.id for c in before.job.conductors.values() if terminal in (c.from_, c.to)]


def ports(before: Study) -> list[tuple[str, str]]:
    """Pairs of a positive and a negative terminal of one port, both wired by conductors of their own."""
    pairs = []
    for part in before.job.parts.values():
        if part.kind not in SINKS or part.kind in ("feed", "alternator", "battery", "panel"):
            continue
        for terminal in part.terminals:
            minus = terminal[:-1] + "-"
            if (
                terminal.endswith("+")
                and minus in part.terminals
                and landing(before, terminal)
                and landing(before, minus)
            ):
                pairs.append((terminal, minus))
    return pairs


@jobs
def test_a_sound_job_is_silent(name: str) -> None:
    assert [f.message for f in check(SOUND[name])] == []


@jobs
def test_a_port_connected_backwards_is_one_reversed_polarity_at_its_own_conductors(name: str) -> None:
    before = SOUND[name]
    assert ports(before)
    for plus, minus in ports(before):
        findings = follow(before, swapped(before.job, plus, minus))
        assert [f.rule for f in findings] == ["reversed-polarity"], (plus, [f.message for f in findings])
        own = [*landing(before, plus), *landing(before, minus), before.job.terminals[plus].part]
        assert findings[0].subject in own, (plus, findings[0].message)


@jobs
def test_a_connector_crossed_inside_is_one_reversed_polarity_on_the_connector(name: str) -> None:
    before = SOUND[name]
    for part in before.job.parts.values():
        if part.kind == "connector" and {c.name for c in part.contacts} >= {"+", "-"}:
            findings = follow(before, crossed_pole(before.job, part.id))
            assert [(f.rule, f.subject) for f in findings] == [("reversed-polarity", part.id)]


@jobs
def test_the_first_fuse_behind_a_post_is_missed_when_it_is_left_out(name: str) -> None:
    before = SOUND[name]
    posts = live_posts(before.job, before.network)
    first = {onward(before.job, before.network, post, None, set(posts) - {post}).protected_by for post in posts} - {
        None
    }
    assert first
    for fuse in first:
        assert fuse is not None
        findings = follow(before, bridged(before.job, fuse))
        assert {f.rule for f in findings} == {"unfused-positive"}, (fuse, findings)


@jobs
def test_a_fuse_further_on_is_missed_only_where_the_one_before_it_is_too_large(name: str) -> None:
    before = SOUND[name]
    for part in before.job.parts.values():
        if part.kind in ("fuse", "breaker"):
            findings = follow(before, bridged(before.job, part.id))
            assert {f.rule for f in findings} <= {"unfused-positive", "oversized-fuse"}, (part.id, findings)


@jobs
def test_a_tail_that_is_too_long_is_named(name: str) -> None:
    before = SOUND[name]
    (unfused,) = registered(("unfused-positive",))
    from wiregen.rules.verdict import Content

    tails = [v.subject for v in unfused.judge(before) if isinstance(v, Content) and v.words.startswith("ends {} from")]
    assert tails
    for tail in tails:
        findings = follow(before, lengthened(before.job, tail, 2.5))
        assert [(f.rule, f.subject) for f in findings] == [("unfused-positive", tail)]


@jobs
def test_a_sense_lead_that_comes_off_is_named(name: str) -> None:
    before = SOUND[name]
    for part in before.job.parts.values():
        for terminal in part.terminals:
            if before.job.terminals[terminal].name == "sense":
                for lead in landing(before, terminal):
                    findings = follow(before, loosened(before.job, lead))
                    assert [(f.rule, f.subject) for f in findings] == [("unterminated-sense-lead", lead)]


@jobs
def test_a_battery_put_in_backwards_is_one_finding(name: str) -> None:
    before = SOUND[name]
    for part in before.job.parts.values():
        if part.kind == "battery":
            findings = follow(before, swapped(before.job, f"{part.id}.+", f"{part.id}.-"))
            assert [f.rule for f in findings if f.rule != "unfused-positive"] == ["reversed-polarity"], part.id


@pytest.mark.long
@jobs
def test_a_thin_conductor_that_carries_current_is_named(name: str) -> None:
    before = SOUND[name]
    for conductor in before.job.conductors.values():
        cases = [case for case in before.cases if case.solved and not starter_turns(before, case)]
        most = max(abs(case.flows[conductor.id].current_a or 0.0) for case in cases)
        if most < 4.0:
            continue
        again, _ = study(thinned(before.job, conductor.id, max(0.22, most / 30)))  # bears a third of it at best
        subjects = {(f.rule, f.subject) for f in check(again)}
        assert ("undersized-conductor", conductor.id) in subjects, conductor.id
        assert {rule for rule, _ in subjects} <= {"undersized-conductor", "oversized-fuse", "undersized-return"}, (
            conductor.id,
            subjects,
        )
        assert {subject for _, subject in subjects} == {conductor.id}, (conductor.id, subjects)


def test_what_gives_a_polarity_and_what_takes_it() -> None:
    job = SOUND["dual-battery"].job
    assert is_source(job.parts["start"], "+")
    assert is_source(job.parts["dcdc"], "out.+")
    assert not is_source(job.parts["dcdc"], "in.+")
