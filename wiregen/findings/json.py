"""Findings as JSON, `wiregen-findings/1`: for machines, stable to the byte."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from wiregen.findings.finding import NOTICE, Finding, Use
from wiregen.findings.order import in_order, place
from wiregen.findings.report import Checked


def findings_json(files: Sequence[Checked], findings: Iterable[Finding], silence: object = None) -> str:
    """The whole document, in ASCII (other characters as `\\uXXXX`), ended by a line end.

    `silence` is what the rules were content with (`check --explain-silence`), plain data; left out where it is None.
    """
    extra = {} if silence is None else {"silence": silence}
    return dumps(
        {
            "format": "wiregen-findings/1",
            "files": [{"path": f.path, "job": f.job, "readable": f.readable} for f in files],
            "findings": [_finding(f) for f in in_order(findings)],
            **extra,
            "notice": NOTICE,
        }
    )


def dumps(document: object) -> str:
    """Any of wiregen's documents as text: two spaces a level, keys in the order given, `significant` numbers."""
    import json

    return json.dumps(significant(document), indent=2, allow_nan=False) + "\n"


def significant(value: object) -> object:
    """The same plain data with every number at 9 significant digits; what is no finite number becomes None."""
    if isinstance(value, float):
        if value != value or value in (float("inf"), float("-inf")):
            return None
        return float(f"{value:.9g}") + 0.0  # never -0.0
    if isinstance(value, dict):
        return {str(k): significant(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [significant(v) for v in value]
    return value


def _finding(finding: Finding) -> dict[str, object]:
    file, line, column, end_line, end_column = place(finding.at.span if finding.at else None, finding.path)
    accepted = finding.accepted
    return {
        "rule": finding.rule,
        "severity": finding.severity,
        "file": file,
        "line": line,
        "column": column,
        "end_line": end_line,
        "end_column": end_column,
        "subject": finding.subject,
        "related": list(finding.related),
        "case": finding.case,
        "message": finding.message,
        "reason": finding.reason,
        "remedy": finding.remedy,
        "basis": finding.basis,
        "values": dict(finding.values),
        "through": [_use(use) for use in finding.through],
        "accepted": {"because": accepted.because, "by": accepted.by, "until": accepted.until} if accepted else None,
    }


def _use(use: Use) -> dict[str, object]:
    file, line, column, _, _ = place(use.span)
    return {"file": file, "line": line, "column": column, "name": use.name}
