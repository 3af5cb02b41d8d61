"""Every rule can be accepted, on the subject that its finding names, and on no other."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from rule_cases import Case, cases, found

from wiregen.rules.register import JUDGING

CASES = list(cases(Path(__file__).parent))
SPEAKING = {rule: [c for c in CASES if any(r == rule for r, _, _ in c.expected)] for rule in JUDGING}


def accepting(case: Case, rule: str, subject: str) -> str:
    return case.text + f'\naccept {rule} on {subject} because "judged on the vehicle", by "JK"\n'


NAMED = [rule for rule in JUDGING if rule != "unnamed-conductor"]
"""An acceptance names its subject: who would accept that a conductor has no name has to name it."""


@pytest.mark.parametrize("rule", NAMED)
def test_a_finding_of_a_rule_is_accepted_by_its_subject(rule: str) -> None:
    for case in SPEAKING[rule][:4]:
        subject = next(s for r, s, _ in case.expected if r == rule)
        assert subject is not None
        before = [f for f in found(case.text) if f.rule == rule and f.subject == subject]
        after = found(accepting(case, rule, subject))
        mine = [f for f in after if f.rule == rule and f.subject == subject]
        assert len(mine) == len(before) and all(f.accepted is not None for f in mine), case
        assert not [f for f in after if f.rule == "stale-acceptance"], case
        others = [(f.rule, f.subject) for f in after if f.accepted is None]
        was = [(f.rule, f.subject) for f in found(case.text) if (f.rule, f.subject) != (rule, subject)]
        assert sorted(map(str, others)) == sorted(map(str, was)), case


@pytest.mark.parametrize("rule", JUDGING)
def test_an_acceptance_of_a_rule_that_is_silent_is_itself_a_finding(rule: str) -> None:
    case = next(c for c in CASES if c.rule == rule and not c.expected)
    battery = re.search(r"(?m)^battery (\S+)", case.text)
    subject = battery[1] if battery else "start"
    speaks = any(f.rule == rule and f.subject == subject for f in found(case.text))
    stale = [f for f in found(accepting(case, rule, subject)) if f.rule == "stale-acceptance"]
    assert len(stale) == (0 if speaks else 1)
