"""The findings document, `wiregen-findings/1` (design, contracts)."""

import json

from hypothesis import given
from hypothesis import strategies as st

from wiregen.findings import NOTICE, Acceptance, Finding, Mark, Source, Span, Use, mistake
from wiregen.findings.json import Checked, dumps, findings_json

SOURCE = Source("jobs/ünit.wnet", "# 電池\nfuse F1 30 A\n")
AT = Mark(Span(SOURCE, 10, 12))
KEYS = [
    "rule", "severity", "file", "line", "column", "end_line", "end_column", "subject", "related", "case", "message",
    "reason", "remedy", "basis", "values", "through", "accepted",
]  # fmt: skip


def document(*findings: Finding) -> dict[str, object]:
    return json.loads(findings_json([Checked("jobs/ünit.wnet", "A job", True)], findings))  # type: ignore[no-any-return]


def test_every_key_of_the_contract_is_there_in_order() -> None:
    whole = document(Finding("r", "danger", "m", AT))
    assert list(whole) == ["format", "files", "findings", "notice"]
    assert whole["format"] == "wiregen-findings/1"
    assert whole["files"] == [{"path": "jobs/ünit.wnet", "job": "A job", "readable": True}]
    assert whole["notice"] == NOTICE
    assert list(whole["findings"][0]) == KEYS  # type: ignore[index]


def test_columns_count_code_points_from_one_and_the_end_is_exclusive() -> None:
    (found,) = document(Finding("r", "danger", "m", AT))["findings"]  # type: ignore[misc]
    assert [found[k] for k in ("line", "column", "end_line", "end_column")] == [2, 6, 2, 8]


def test_a_file_without_text_has_null_for_its_place() -> None:
    (found,) = document(mistake("no such file", None, path="x.wnet"))["findings"]  # type: ignore[misc]
    assert found["file"] == "x.wnet"
    assert [found[k] for k in ("line", "column", "end_line", "end_column", "subject", "case")] == [None] * 6


def test_findings_are_sorted_by_file_line_column_and_rule() -> None:
    other = Source("a.wnet", "\n\n\n\nx y\n")
    made = [
        Finding("b", "danger", "1", AT),
        Finding("a", "advice", "2", AT),
        Finding("z", "danger", "3", Mark(Span(SOURCE, 5, 6))),
        Finding("c", "danger", "4", Mark(Span(other, 6, 7))),
        Finding("d", "danger", "5", Mark(Span(other, 4, 5))),
    ]
    assert [f["message"] for f in document(*made)["findings"]] == ["5", "4", "3", "2", "1"]  # type: ignore[attr-defined]
    assert document(*made) == document(*reversed(made))


def test_uses_of_kits_and_acceptances_are_carried() -> None:
    found = Finding(
        "r", "danger", "m", AT, through=(Use(AT.span, "T1"),), accepted=Acceptance("tested"), related=("a", "b")
    )
    (said,) = document(found)["findings"]  # type: ignore[misc]
    assert said["through"] == [{"file": "jobs/ünit.wnet", "line": 2, "column": 6, "name": "T1"}]
    assert said["accepted"] == {"because": "tested", "by": None, "until": None}
    assert said["related"] == ["a", "b"]


def test_numbers_have_nine_significant_digits_and_what_is_none_is_null() -> None:
    values = {"third": 1 / 3, "big": 123456789.123, "whole": 3, "no": float("nan"), "inf": float("inf"), "yes": True}
    (found,) = document(Finding("r", "danger", "m", AT, values=values))["findings"]  # type: ignore[misc]
    assert found["values"] == {
        "third": 0.333333333,
        "big": 123456789.0,
        "whole": 3,
        "no": None,
        "inf": None,
        "yes": True,
    }
    assert dumps({"minus_nothing": -0.0}) == '{\n  "minus_nothing": 0.0\n}\n'


def test_the_document_is_ascii_and_ends_with_a_line_end() -> None:
    text = findings_json([Checked("\udcff\u202e", None, False)], [Finding("r", "danger", "\x1b", AT)])
    assert text.isascii() and text.endswith("}\n") and "\x1b" not in text


@given(st.floats())
def test_rounding_is_stable(value: float) -> None:
    once = dumps([value])
    assert dumps(json.loads(once)) == once
