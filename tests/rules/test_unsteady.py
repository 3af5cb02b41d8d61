"""no-operating-point where a case without an answer cannot be laid to any part: no netlist does that reliably."""

from __future__ import annotations

from dataclasses import replace

from rule_cases import standard, studied

from wiregen.circuit.study import Study, Trouble
from wiregen.rules.no_operating_point import check
from wiregen.rules.verdict import Bad, Content

TEXT = standard("""
starter sm 120 A
start.+ --[R1 red 50 mm2 1 m]-- sm.+
sm.- --[B1 black 50 mm2 1 m]-- start.-
start.+ -- F1 --[W1 red 6 mm2 1 m]-- pump --[W2 black 6 mm2 1 m]-- start.-
case run "Pump runs", on pump
""")


def unsteady(part: str | None, case: str = "run", text: str = TEXT) -> Study:
    """A study of which one case has no answer, by this part or by none."""
    study = studied(text)
    trouble = (Trouble(part, "nothing converges"),)
    return replace(
        study, cases=tuple(c._replace(solved=False, troubles=trouble) if c.name == case else c for c in study.cases)
    )


def said(study: Study) -> list[Bad]:
    return [each for each in check.judge(study) if isinstance(each, Bad)]


def test_a_case_that_no_part_explains_is_named_itself() -> None:
    study = unsteady(None)
    (bad,) = said(study)
    assert (bad.subject, bad.message, bad.case, bad.related) == ("run", "run has no steady answer", "run", ("run",))
    assert (bad.at.span, bad.at.words) == (study.job.cases["run"].span, "no steady answer")
    assert bad.reason == "nothing converges" and bad.through == ()
    assert bad.remedy == "look for a part in this case that asks for more than its source can give"
    assert bad.values == {"cases": "run"}


def test_a_usual_case_has_no_words_of_its_own_in_the_text() -> None:
    study = unsteady(None, "parked-dark")
    (bad,) = said(study)
    assert bad.subject == "parked-dark"
    assert bad.at.span == study.job.span and bad.at.words == "no steady answer"


def test_a_part_is_named_with_all_cases_in_which_it_fails() -> None:
    study = studied(TEXT)
    trouble = (Trouble("pump", "pump sags"),)
    (bad,) = said(replace(study, cases=tuple(c._replace(solved=False, troubles=trouble) for c in study.cases)))
    assert bad.subject == "pump" and bad.at.words == "does not hold up"
    assert bad.reason == "it runs in fits and starts or not at all"
    assert set(bad.related) == {case.name for case in study.cases}


def test_a_starter_is_meant_to_let_the_voltage_fall() -> None:
    assert said(unsteady("sm")) == []


def test_what_a_thin_conductor_explains_is_not_said_again() -> None:
    thin = TEXT.replace("W1 red 6 mm2 1 m", "W1 red 0.22 mm2 1 m").replace("load pump 5 A", "load pump 15 A")
    assert said(unsteady(None, "parked-dark", thin)) == []
    long = TEXT.replace("W1 red 6 mm2 1 m", "W1 red 2.5 mm2 40 m")
    assert said(unsteady(None, "parked-dark", long)) == []
    assert [bad.subject for bad in said(unsteady("F1", "parked-dark", TEXT))] == ["F1"]
    assert said(unsteady("pump", "run", long)) == []


def test_cases_with_an_answer_are_content() -> None:
    content = [each.subject for each in check.judge(unsteady("pump")) if isinstance(each, Content)]
    assert "run" not in content and "parked-dark" in content
