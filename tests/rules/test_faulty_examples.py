"""The faulty example jobs: each planted fault is found, once, on its line, and nothing else is said."""

from __future__ import annotations

from pathlib import Path

import pytest
from rule_cases import expectations, place_of

from wiregen.circuit import study
from wiregen.model import read
from wiregen.rules import check

FOLDER = Path(__file__).resolve().parents[2] / "examples" / "faulty"
FAULTY = sorted(FOLDER.glob("*.wnet"))
FIRST_FOUR = ("unfused-positive", "reversed-polarity", "undersized-conductor", "unterminated-sense-lead")


@pytest.mark.parametrize("path", FAULTY, ids=lambda path: path.stem)
def test_exactly_the_planted_fault_is_found(path: Path) -> None:
    job, mistakes = read(str(path))
    assert job is not None and not mistakes
    computed, earlier = study(job)
    findings = check(computed, earlier=earlier)
    expected = expectations(path.read_text(encoding="utf-8"))
    assert len(expected) == 1
    assert [(f.rule, f.subject, place_of(f)) for f in findings] == list(expected)


@pytest.mark.parametrize("rule", FIRST_FOUR)
def test_each_of_the_first_four_rules_has_two_faulty_jobs(rule: str) -> None:
    rules = [rule for path in FAULTY for rule, _, _ in expectations(path.read_text(encoding="utf-8"))]
    assert rules.count(rule) >= 2
