"""What the engine itself says, word for word: what failed, what could not be judged, acceptances that match nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict

import pytest

from wiregen.circuit.network import Network
from wiregen.circuit.study import Study
from wiregen.findings import Edit, Finding, Mark, Source, Span, Use
from wiregen.model.job import Accept, Conductor, Job
from wiregen.rules import check, engine, judge
from wiregen.rules.register import JUDGING
from wiregen.rules.unnamed import readable
from wiregen.rules.verdict import Bad, Content, Rule, Unjudged, Verdict

SOURCE = Source("job.wnet", "job W1 W2 accept use\n")


def span(word: str) -> Span:
    start = SOURCE.text.index(word)
    return Span(SOURCE, start, start + len(word))


def told(rules: list[Rule], *accepts: Accept, job_span: bool = True) -> tuple[Finding, ...]:
    job = Job("job.wnet", "Job", span("job") if job_span else None, accepts=accepts)
    return check(Study(job, Network((), {}), (), (), (), {}, ()), rules=rules, today="2027-01-01")


def a_rule(name: str, *said: Verdict, error: Exception | None = None) -> Rule:
    def look(study: Study) -> Iterator[Verdict]:
        yield from said
        if error is not None:
            raise error

    return Rule(name, "danger", "the rule's basis", look)


def plain(finding: Finding) -> dict[str, object]:
    """What a finding says that differs from a finding that says nothing."""
    empty = asdict(Finding(rule="", severity="advice", message=""))
    return {k: getattr(finding, k) for k, v in asdict(finding).items() if v != empty[k] or k == "severity"}


@pytest.mark.parametrize(
    ("rule", "message", "remedy"),
    [
        ("loose-ends", "there is no rule loose-ends; did you mean loose-end?", "name the rule as the finding names it"),
        ("zzzz", "there is no rule zzzz", "name the rule as the finding names it"),
        ("solar-over", "there is no rule solar-over; did you mean solar-overvoltage or solar-overcurrent?",
         "name the rule as the finding names it"),
        ("Rule-Failure", "rule-failure cannot be accepted", "take the acceptance out"),
        ("Loose-End", "nothing to accept: loose-end finds nothing on W1",
         "take the acceptance out, or name the subject as the finding names it"),
    ],
)  # fmt: skip
def test_an_acceptance_that_accepts_nothing(rule: str, message: str, remedy: str) -> None:
    (finding,) = told([], Accept(rule, "W1", "a reason", "JK", None, span("accept")))
    assert plain(finding) == {
        "rule": "stale-acceptance",
        "severity": "warning",
        "message": message,
        "at": Mark(span("accept"), "accepts nothing"),
        "subject": "W1",
        "reason": "if the finding comes back it would be accepted unseen",
        "remedy": remedy,
        "basis": "common practice: a deviation is recorded with what it deviates from",
        "values": {"accepted_rule": rule},
    }


@pytest.mark.parametrize("placed", [True, False])
def test_a_rule_that_fails(placed: bool) -> None:
    (finding,) = told([a_rule("loose-end", error=KeyError("secret"))], job_span=placed)
    message = str(plain(finding).pop("message"))
    assert message.startswith("the rule loose-end failed (KeyError in test_record line ")
    assert message.endswith(") and did not finish")
    expected = {
        "rule": "rule-failure",
        "severity": "danger",
        "message": message,
        "at": Mark(span("job")),
        "reason": "what loose-end looks for may be present and unseen",
        "remedy": "report it with the netlist, and check this point by hand until it is mended",
        "basis": "common practice: a check that did not run is not a check that passed",
        "values": {"failed_rule": "loose-end", "error": "KeyError"},
        "path": "job.wnet",
    }
    assert plain(finding) == (expected if placed else {k: v for k, v in expected.items() if k != "at"})


def test_a_rule_that_fails_deep_inside_names_the_innermost_line() -> None:
    def deep() -> None:
        raise ValueError

    def look(study: Study) -> Iterator[Verdict]:
        deep()
        yield Content("job", "")

    (finding,) = told([Rule("loose-end", "danger", "", look)])
    assert f"(ValueError in test_record line {deep.__code__.co_firstlineno + 1})" in finding.message


def test_what_could_not_be_judged() -> None:
    use = (Use(span("use"), "U"),)
    said = Unjudged("W1", "the size of W1", "write it", Mark(span("W1"), "no size"), use)
    rules = [a_rule("loose-end", said), a_rule("wet-place", said, said._replace(add="write it otherwise"))]
    (finding,) = told(rules)
    assert plain(finding) == {
        "rule": "missing-data",
        "severity": "advice",
        "message": "the size of W1 is not given, so loose-end and wet-place could not be judged",
        "at": Mark(span("W1"), "no size"),
        "subject": "W1",
        "reason": "what a rule could not judge has not been checked",
        "remedy": "write it",
        "basis": "common practice: what is not written down is not checked",
        "values": {"missing": "the size of W1", "rules": "loose-end, wet-place"},
        "through": use,
    }


def test_what_is_bad_becomes_a_finding_whole() -> None:
    use = (Use(span("use"), "U"),)
    at = Mark(span("W1"), "here")
    bad = Bad("W1", "message", at, ("W2",), (Mark(span("W2"), "there"),), "driving", "reason", "remedy", {"a": 1}, use)
    bad = bad._replace(fix=(Edit(span("W1"), "W3"),))
    (finding,) = told([a_rule("loose-end", bad)])
    assert plain(finding) == {
        "rule": "loose-end",
        "severity": "danger",
        "message": "message",
        "at": at,
        "subject": "W1",
        "related": ("W2",),
        "marks": (Mark(span("W2"), "there"),),
        "case": "driving",
        "reason": "reason",
        "remedy": "remedy",
        "basis": "the rule's basis",
        "values": {"a": 1},
        "through": use,
        "fix": (Edit(span("W1"), "W3"),),
    }


def test_an_acceptance_that_has_run_out_is_shown_beside_the_finding() -> None:
    rules = [a_rule("loose-end", Bad("W1", "message", Mark(span("W1"), "here")))]
    (finding,) = told(rules, Accept("LOOSE-END", "w1", "a reason", "JK", "2026-12-31", span("accept")))
    assert finding.accepted is None
    assert finding.marks == (Mark(span("accept"), "accepted only until 2026-12-31"),)
    (finding,) = told(rules, Accept("loose-end", "W1", "a reason", "JK", "2027-01-01", span("accept")))
    assert finding.accepted is not None and finding.marks == ()
    assert (finding.accepted.because, finding.accepted.by, finding.accepted.until) == ("a reason", "JK", "2027-01-01")
    assert not finding.accepted.known


def test_rules_are_given_the_study_with_remedies_unless_they_are_not_wanted() -> None:
    seen: list[bool] = []

    def look(study: Study) -> Iterator[Verdict]:
        seen.append(study.remedies)
        yield Unjudged("W1", "the size of W1", "write it", Mark(span("W1")))

    job = Job("job.wnet", "Job", span("job"))
    study = Study(job, Network((), {}), (), (), (), {}, ())
    rules = [Rule("loose-end", "danger", "", look)]
    judged = [judge(study, rules=rules), judge(study, rules=rules, remedies=False)]
    assert seen == [True, False]
    assert [[name for name, _ in each.unjudged] for each in judged] == [["loose-end"], ["loose-end"]]


def test_all_rules_run_where_none_are_named() -> None:
    assert [rule.name for rule in engine.registered()] == list(JUDGING)
    assert [rule.name for rule in engine.registered(["loose-end"])] == ["loose-end"]


def test_where_unsolved_cases_cannot_be_insisted_on_the_rules_go_on(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(study: Study) -> Study:
        raise ZeroDivisionError

    monkeypatch.setattr(engine, "insisted", fails)
    bad = Bad("W1", "message", Mark(span("W1"), "here"))
    failure, finding = told([a_rule("loose-end", bad)])
    assert failure.message.startswith("the rule no-operating-point failed (ZeroDivisionError in test_record line ")
    assert (failure.rule, finding.rule) == ("rule-failure", "loose-end")


def test_made_up_names_of_conductors_are_said_as_from_where_to_where() -> None:
    ends = {"A--B": ("A", "B"), "A--B~2": ("A", "B"), "W1": ("C", "D")}
    wires = {id: Conductor(id, span("W1"), named=id == "W1", from_=a, to=b) for id, (a, b) in ends.items()}
    job = Job("job.wnet", "Job", span("job"), conductors=wires)
    finding = Finding(
        "r",
        "danger",
        "A--B~2 and A--B",
        at=Mark(span("W1"), "A--B"),
        subject="A--B",
        related=("A--B~2",),
        marks=(Mark(span("W2"), "A--B~2"),),
        reason="A--B and W1",
        remedy="W1--A--B",
        values={"id": "A--B"},
    )
    (said,) = readable([finding], job)
    assert (said.message, said.reason, said.remedy) == ("A to B 2 and A to B", "A to B and W1", "W1--A to B")
    assert (said.at, said.marks) == (Mark(span("W1"), "A to B"), (Mark(span("W2"), "A to B 2"),))
    assert (said.subject, said.related, said.values) == ("A--B", ("A--B~2",), {"id": "A--B"})
    assert readable([finding], Job("job.wnet", "Job", span("job"))) == [finding]
    assert readable([Finding("r", "danger", "A--B")], job)[0].at is None
