"""The engine: acceptance, missing data, a rule that fails, order, and what it leaves alone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from wiregen.circuit.network import Network
from wiregen.circuit.study import Study
from wiregen.findings import Finding, Mark, Source, Span
from wiregen.model.job import Accept, Job
from wiregen.rules import check, judge
from wiregen.rules.register import JUDGING, NAMES
from wiregen.rules.verdict import Bad, Content, Rule, Unjudged, Verdict

SOURCE = Source("job.wnet", "first W1\nsecond W2\nthird\n")


def span(word: str) -> Span:
    start = SOURCE.text.index(word)
    return Span(SOURCE, start, start + len(word))


def bad(subject: str) -> Bad:
    return Bad(subject, f"{subject} is bad", Mark(span(subject)), reason="it burns", remedy="mend it")


def lacking(subject: str, missing: str = "the length of W2") -> Unjudged:
    return Unjudged(subject, missing, "write it", Mark(span(subject)))


def made(name: str, *verdicts: Verdict, fails: bool = False) -> Rule:
    def look(study: Study) -> Iterator[Verdict]:
        yield from verdicts
        if fails:
            raise ZeroDivisionError("secret")

    return Rule(name, "danger", "common practice", look)


def a_study(*accepts: Accept) -> Study:
    job = Job("job.wnet", "Job", span("first"), accepts=accepts)
    return Study(job, Network((), {}), (), (), (), {}, ())


def accept(rule: str, subject: str, until: str | None = None) -> Accept:
    return Accept(rule, subject, "there is a reason", "JK", until, span("third"))


def said(findings: tuple[Finding, ...]) -> list[tuple[str, str | None, bool]]:
    return [(f.rule, f.subject, f.accepted is not None) for f in findings]


def test_findings_stand_in_the_order_of_the_text_whatever_the_order_of_the_rules() -> None:
    rules = [made("reversed-polarity", bad("W2")), made("unfused-positive", bad("W1"))]
    assert [f.subject for f in check(a_study(), rules=rules)] == ["W1", "W2"]
    assert check(a_study(), rules=rules) == check(a_study(), rules=rules[::-1])


def test_an_acceptance_is_for_one_rule_on_one_subject() -> None:
    rules = [made("unfused-positive", bad("W1"), bad("W2")), made("reversed-polarity", bad("W1"))]
    findings = check(a_study(accept("unfused-positive", "W1")), rules=rules)
    assert said(findings) == [
        ("reversed-polarity", "W1", False),
        ("unfused-positive", "W1", True),
        ("unfused-positive", "W2", False),
    ]
    assert findings[1].accepted is not None
    assert (findings[1].accepted.because, findings[1].accepted.by) == ("there is a reason", "JK")


def test_capitals_do_not_distinguish_what_is_accepted() -> None:
    findings = check(a_study(accept("Unfused-Positive", "w1")), rules=[made("unfused-positive", bad("W1"))])
    assert said(findings) == [("unfused-positive", "W1", True)]


@pytest.mark.parametrize(
    "today, accepted", [(None, True), ("2027-02-28", True), ("2027-03-01", True), ("2027-03-02", False)]
)
def test_an_acceptance_counts_to_the_end_of_its_last_day(today: str | None, accepted: bool) -> None:
    study = a_study(accept("unfused-positive", "W1", until="2027-03-01"))
    findings = check(study, today=today, rules=[made("unfused-positive", bad("W1"))])
    assert said(findings) == [("unfused-positive", "W1", accepted)]
    assert any("2027-03-01" in mark.words for mark in findings[0].marks) is not accepted


def test_of_two_acceptances_the_one_that_still_stands_counts() -> None:
    study = a_study(accept("unfused-positive", "W1", "2020-01-01"), accept("unfused-positive", "W1", "2030-01-01"))
    findings = check(study, today="2027-01-01", rules=[made("unfused-positive", bad("W1"))])
    assert said(findings) == [("unfused-positive", "W1", True)]


def test_an_acceptance_that_matches_nothing_is_a_finding() -> None:
    findings = check(a_study(accept("unfused-positive", "W2")), rules=[made("unfused-positive", bad("W1"))])
    assert said(findings) == [("unfused-positive", "W1", False), ("stale-acceptance", "W2", False)]
    assert "finds nothing on W2" in findings[1].message


def test_an_acceptance_of_an_unknown_rule_gets_the_likely_name() -> None:
    (finding,) = check(a_study(accept("unfused-postive", "W1")), rules=[])
    assert finding.rule == "stale-acceptance"
    assert "did you mean unfused-positive?" in finding.message


@pytest.mark.parametrize("rule", ["rule-failure", "stale-acceptance", "netlist-mistake"])
def test_what_says_that_nothing_was_judged_cannot_be_accepted(rule: str) -> None:
    earlier = [Finding(rule, "danger", "x", at=Mark(span("W1")), subject="W1")]
    findings = check(a_study(accept(rule, "W1")), rules=[], earlier=earlier)
    assert (rule, "W1", False) in said(findings)
    assert ("stale-acceptance", "W1", False) in said(findings)


def test_findings_of_earlier_stages_can_be_accepted_too() -> None:
    earlier = [Finding("no-operating-point", "danger", "x", at=Mark(span("W1")), subject="W1")]
    assert said(check(a_study(accept("no-operating-point", "W1")), rules=[], earlier=earlier)) == [
        ("no-operating-point", "W1", True)
    ]


def test_a_rule_that_fails_is_named_and_the_others_go_on() -> None:
    rules = [made("unfused-positive", bad("W1"), fails=True), made("reversed-polarity", bad("W2"))]
    findings = check(a_study(), rules=rules)
    assert {f.rule for f in findings} == {"rule-failure", "unfused-positive", "reversed-polarity"}
    (failure,) = [f for f in findings if f.rule == "rule-failure"]
    assert failure.severity == "danger"
    assert "unfused-positive" in failure.message and "ZeroDivisionError" in failure.message
    assert "secret" not in failure.message, "what an exception says may hold paths or addresses"


def test_a_fact_that_several_rules_miss_is_said_once() -> None:
    rules = [made("unfused-positive", lacking("W2"), lacking("W2")), made("undersized-conductor", lacking("W2"))]
    (finding,) = check(a_study(), rules=rules)
    assert (finding.rule, finding.severity, finding.subject) == ("missing-data", "advice", "W2")
    assert "unfused-positive and undersized-conductor" in finding.message


def test_two_missing_facts_are_two_findings() -> None:
    rules = [made("unfused-positive", lacking("W2"), lacking("W2", "the size of W2"))]
    assert len(check(a_study(), rules=rules)) == 2


def test_a_content_rule_adds_no_finding_and_can_say_why() -> None:
    judged = judge(a_study(), rules=[made("unfused-positive", Content("W1", "ends {} from {}", ("150 mm", "start.+")))])
    assert judged.findings == ()
    assert [(rule, c.subject, c.why) for rule, c in judged.content] == [
        ("unfused-positive", "W1", "ends 150 mm from start.+")
    ]


def test_a_rule_may_be_milder_in_one_case() -> None:
    mild = bad("W1")._replace(severity="advice", basis="a table")
    (finding,) = check(a_study(), rules=[made("unfused-positive", mild)])
    assert (finding.severity, finding.basis) == ("advice", "a table")


def test_accepting_changes_nothing_else() -> None:
    rules = [made("unfused-positive", bad("W1"))]
    (plain,) = check(a_study(), rules=rules)
    (accepted,) = check(a_study(accept("unfused-positive", "W1")), rules=rules)
    assert replace(accepted, accepted=None) == plain


def test_rule_names_are_unique() -> None:
    assert len(set(NAMES)) == len(NAMES)
    assert set(JUDGING) < set(NAMES)
