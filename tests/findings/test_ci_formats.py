"""SARIF, JUnit XML and workflow annotations: valid, escaped, without absolute paths, with the notice.

`sarif-2.1.0.schema.json` is the published schema of the standard.
"""

import json
import re
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import jsonschema
from hypothesis import given
from hypothesis import strategies as st

from wiregen.findings import NOTICE, Acceptance, Finding, Mark, Source, Span, Use
from wiregen.findings.annotations import findings_annotations
from wiregen.findings.junit import findings_junit
from wiregen.findings.report import Checked, Page
from wiregen.findings.sarif import findings_sarif

SCHEMA = jsonschema.Draft4Validator(
    json.loads((Path(__file__).parent / "sarif-2.1.0.schema.json").read_text(encoding="utf-8"))
)
FOLDER = "/there"
PAGES = [Page("a-rule", "danger", "short.", "text", "# markdown")]
SOURCE = Source("jobs/ünit 1.wnet", "# 😀\nfuse 😀😀F1 30 A\n")
F1 = Span(SOURCE, SOURCE.text.index("F1"), SOURCE.text.index("F1") + 2)


def finding(**more: Any) -> Finding:
    said: dict[str, Any] = {"rule": "a-rule", "severity": "danger", "message": "m", "at": Mark(F1), "subject": "F1"}
    return Finding(**said | more)


def checked(*findings: Finding, path: str = SOURCE.path, readable: bool = True) -> Checked:
    return Checked(path, "A job", readable, findings)


def run(*files: Checked) -> dict[str, Any]:
    document = json.loads(findings_sarif(files, PAGES, FOLDER))
    SCHEMA.validate(document)
    (only,) = document["runs"]
    return only  # type: ignore[no-any-return]


# ---- SARIF


def test_a_region_counts_utf16_code_units() -> None:
    only = run(checked(finding()))
    assert only["columnKind"] == "utf16CodeUnits"
    place = only["results"][0]["locations"][0]["physicalLocation"]
    assert place["region"] == {"startLine": 2, "startColumn": 10, "endLine": 2, "endColumn": 12}
    assert place["artifactLocation"] == {"uri": "jobs/%C3%BCnit%201.wnet"}


def test_levels_and_rules_with_their_help() -> None:
    found = [finding(), finding(severity="warning"), finding(severity="advice", rule="unknown-rule")]
    only = run(checked(*found))
    assert sorted(r["level"] for r in only["results"]) == ["error", "note", "warning"]
    rules = only["tool"]["driver"]["rules"]
    assert rules[0]["help"] == {"text": "text", "markdown": "# markdown"}
    assert all(rules[r["ruleIndex"]]["id"] == r["ruleId"] for r in only["results"])


def test_accepted_findings_are_suppressed_with_their_reason() -> None:
    why = Acceptance("tested", "JK", "2027-01-31")
    only = run(checked(finding(accepted=why), finding(accepted=Acceptance("old", known=True), message="n")))
    first, second = (r["suppressions"] for r in only["results"])
    assert first == [{"kind": "inSource", "status": "accepted", "justification": "tested (by JK) (until 2027-01-31)"}]
    assert second[0]["kind"] == "external"
    assert "suppressions" not in run(checked(finding()))["results"][0]


def test_fingerprints_do_not_move_with_the_lines() -> None:
    lower = Source(SOURCE.path, "\n\n" + SOURCE.text)
    moved = finding(at=Mark(Span(lower, F1.start + 2, F1.end + 2)))
    assert (
        run(checked(finding()))["results"][0]["partialFingerprints"]
        == run(checked(moved))["results"][0]["partialFingerprints"]
    )


def test_no_absolute_path_is_written() -> None:
    away = Source(f"{FOLDER}/jobs/a.wnet", "x\n")
    found = finding(at=Mark(Span(away, 0, 1)), through=(Use(Span(away, 0, 1), "K1"),), marks=(Mark(Span(away, 0, 1)),))
    files = [checked(found, path=away.path)]
    for text in (
        findings_sarif(files, PAGES, FOLDER),
        findings_junit(files, "warning", FOLDER),
        findings_annotations(files, FOLDER),
    ):
        assert FOLDER not in text and "jobs/a.wnet" in text


def test_what_could_not_be_read_is_said() -> None:
    only = run(checked(readable=False))
    (invocation,) = only["invocations"]
    assert invocation["executionSuccessful"] is False
    assert any(n["level"] == "error" for n in invocation["toolExecutionNotifications"])


# ---- JUnit


def cases(*files: Checked, fail_on: Any = "warning") -> list[ElementTree.Element]:
    return list(ElementTree.fromstring(findings_junit(files, fail_on, FOLDER)).iter("testcase"))


def test_one_case_for_the_reading_and_one_for_each_finding() -> None:
    found = [finding(), finding(severity="advice", message="n"), finding(accepted=Acceptance("tested"), message="o")]
    read, failed, passed, skipped = cases(checked(*found))
    assert read.get("name") == "reading" and not list(read)
    assert failed.find("failure") is not None and failed.get("name") == "a-rule F1" and failed.get("line") == "2"
    assert [child.tag for child in passed] == ["system-out"]
    assert skipped.find("skipped") is not None


def test_no_two_cases_of_a_file_have_one_name() -> None:
    names = [case.get("name") for case in cases(checked(finding(), finding(message="n"), finding(case="driving")))]
    assert names == ["reading", "a-rule F1", "a-rule F1 (2)", "a-rule F1 in driving"]


def test_the_threshold_decides_what_fails_and_the_counts_say_it() -> None:
    text = findings_junit([checked(finding(severity="advice")), checked(readable=False)], "advice", FOLDER)
    root = ElementTree.fromstring(text)
    assert [root.get(k) for k in ("tests", "failures", "errors", "skipped")] == ["3", "1", "1", "0"]
    assert [suite.get("failures") for suite in root] == ["1", "0"]
    text = findings_junit([checked(finding(severity="advice"))], "danger", FOLDER)
    assert ElementTree.fromstring(text).get("failures") == "0"


# ---- annotations


def test_an_annotation_names_its_place_and_escapes_what_would_end_it() -> None:
    source = Source("a,b:c%.wnet", "x\n")
    found = finding(at=Mark(Span(source, 0, 1)), severity="warning", message="50 %\nover", reason="why not")
    first, *_ = findings_annotations([checked(found)], FOLDER).splitlines()
    assert first == (
        "::warning file=a%2Cb%3Ac%25.wnet,line=1,col=1,endColumn=1,endLine=1,title=a-rule::50 %25%0Aover%0Awhy: why not"
    )


def test_accepted_findings_are_counted_and_not_annotated() -> None:
    lines = findings_annotations([checked(finding(accepted=Acceptance("tested")))], FOLDER).splitlines()
    assert lines[0] == "wiregen: jobs/ünit 1.wnet: 1 accepted" and len(lines) == 2


# ---- all of them


@given(st.text(), st.text(), st.text(min_size=1).filter(lambda t: not t.startswith("/")))
def test_any_text_stays_within_its_format(message: str, subject: str, path: str) -> None:
    source = Source(path, message + "\n")
    found = finding(message=message, subject=subject, at=Mark(Span(source, 0, 1)), accepted=None)
    files = [checked(found, path=path)]
    SCHEMA.validate(json.loads(findings_sarif(files, PAGES, FOLDER)))
    root = ElementTree.fromstring(findings_junit(files, "warning", FOLDER))
    assert len(list(root.iter("testcase"))) == 2
    lines = findings_annotations(files, FOLDER).split("\n")
    assert [bool(re.match(r"::(error|notice) ", line)) for line in lines] == [True, False, True, False]


def test_every_format_carries_the_notice_and_is_the_same_in_any_order() -> None:
    found = [finding(), finding(severity="warning", message="n"), finding(rule="b-rule")]
    for make in (
        lambda f: findings_sarif(f, PAGES, FOLDER),
        lambda f: findings_junit(f, "warning", FOLDER),
        lambda f: findings_annotations(f, FOLDER),
    ):
        text = make([checked(*found)])
        assert NOTICE in text
        assert text == make([checked(*reversed(found))])
