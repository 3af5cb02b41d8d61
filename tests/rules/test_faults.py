"""Faults planted one at a time in the text of sound jobs: the matching rule names the right subject, and no other."""

from __future__ import annotations

from functools import cache
from itertools import islice

import pytest
from faults import PLANTERS, Planted, Planter, Sheet, sheet
from planting import EXAMPLES
from sound_jobs import SHAPES, sound_text

from wiregen.circuit import study
from wiregen.findings import Finding
from wiregen.model import read
from wiregen.rules import check
from wiregen.rules.register import JUDGING

SEEDS = range(24)
"""Jobs of the fast run. Every planter finds a place in one of them."""
FIRST_LONG, PARTS, PER_PART = 1000, 8, 9
"""The long run: so many parts of so many jobs each, faults in all their places."""
WITHOUT_KITS = [path for path in EXAMPLES if "include" not in path.read_text(encoding="utf-8")]

ALL = [(rule, planter) for rule, planters in PLANTERS.items() for planter in planters]
every_planter = pytest.mark.parametrize(
    ("rule", "planter"), ALL, ids=[f"{rule}-{planter.__name__}" for rule, planter in ALL]
)


@cache
def job(seed: int) -> Sheet:
    return sheet(sound_text(seed))


def findings(text: str) -> list[Finding]:
    """What `check` says; a planted text has to read without mistakes."""
    made, mistakes = read("job.wnet", text=text)
    assert made is not None and not mistakes, [m.message for m in mistakes]
    return list(check(study(made)[0]))


def assert_found(rule: str, fault: Planted) -> None:
    said = findings(fault.text)
    words = [(f.rule, f.subject, f.message) for f in said]
    mine = [f.subject for f in said if f.rule == rule]
    assert mine, words
    assert set(mine) <= fault.subjects, (sorted(fault.subjects), words)
    assert {f.rule for f in said} <= {rule, *fault.also}, words


def test_every_rule_has_a_planter_and_every_planter_a_rule() -> None:
    assert set(PLANTERS) == set(JUDGING)


@pytest.mark.parametrize("shape", SHAPES)
def test_a_sound_job_is_silent(shape: str) -> None:
    for seed in range(4):
        assert [(f.rule, f.message) for f in findings(sound_text(seed, shape))] == []


def test_the_same_seed_gives_the_same_sound_job() -> None:
    assert [sound_text(seed) for seed in SEEDS] == [sound_text(seed) for seed in SEEDS]
    assert len({sound_text(seed) for seed in SEEDS}) == len(SEEDS)


@every_planter
def test_a_planted_fault_is_found_by_its_rule_and_by_no_other(rule: str, planter: Planter) -> None:
    fault = next(fault for seed in SEEDS for fault in planter(job(seed)))
    assert_found(rule, fault)


@pytest.mark.long
@pytest.mark.parametrize("part", range(PARTS))
def test_faults_in_many_sound_jobs(part: int) -> None:
    cases = 0
    for index in range(PER_PART):
        on = sheet(sound_text(FIRST_LONG + part * PER_PART + index))
        assert [(f.rule, f.message) for f in findings(on.text)] == []
        for rule, planter in ALL:
            for fault in islice(planter(on), 3):
                assert fault.text != on.text
                assert_found(rule, fault)
                cases += 1
        assert [(f.rule, f.message) for f in findings(on.text)] == []
    assert cases >= 1000 / PARTS


@pytest.mark.long
@pytest.mark.parametrize("path", WITHOUT_KITS, ids=lambda path: path.stem)
def test_faults_in_the_sound_examples(path: object) -> None:
    from pathlib import Path

    assert isinstance(path, Path)
    on = sheet(path.read_text(encoding="utf-8"), str(path))
    for rule, planter in ALL:
        for fault in islice(planter(on), 4):
            assert_found(rule, fault)
