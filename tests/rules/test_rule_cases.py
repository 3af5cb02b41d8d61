"""Each rule speaks where its case file says so, on that line, and nowhere else."""

from __future__ import annotations

from pathlib import Path

import pytest
from rule_cases import Case, cases, found, short

from wiregen.rules.register import JUDGING

CASES = list(cases(Path(__file__).parent))


@pytest.mark.parametrize("case", CASES, ids=str)
def test_a_rule_speaks_where_its_case_file_says_and_nowhere_else(case: Case) -> None:
    rules = {case.rule, *(rule for rule, _, _ in case.expected)}
    assert sorted(short(found(case.text), rules)) == sorted(case.expected)


@pytest.mark.parametrize("rule", JUDGING)
def test_a_rule_has_cases_where_it_speaks_and_near_misses(rule: str) -> None:
    mine = [case for case in CASES if case.rule == rule]
    speaks = [case for case in mine if any(r == rule for r, _, _ in case.expected)]
    assert len(speaks) >= 2
    assert len(mine) - len(speaks) >= 2
