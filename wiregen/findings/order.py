"""Where a finding stands, and the one order in which every output lists findings."""

from __future__ import annotations

from collections.abc import Iterable

from wiregen.findings.finding import SEVERITIES, Finding, Severity
from wiregen.findings.source import Span


def place(span: Span | None, path: str = "") -> tuple[str, int | None, int | None, int | None, int | None]:
    """File, line, column, end line, end column (from 1, code points, end exclusive); None where there is no text."""
    if span is None:
        return path, None, None, None, None
    line, column = span.source.position(span.start)
    end_line, end_column = span.source.position(max(span.start, span.end))
    return span.source.path, line, column, end_line, end_column


def in_order(findings: Iterable[Finding]) -> list[Finding]:
    """By file, line, column and rule; what then still ties, by subject, case and message."""

    def key(finding: Finding) -> tuple[str, int, int, str, str, str, str]:
        file, line, column, _, _ = place(finding.at.span if finding.at else None, finding.path)
        return file, line or 0, column or 0, finding.rule, finding.subject or "", finding.case or "", finding.message

    return sorted(findings, key=key)


def reaches(findings: Iterable[Finding], threshold: Severity) -> bool:
    """Whether any finding that was not accepted is at or above the threshold."""
    counted = SEVERITIES[: SEVERITIES.index(threshold) + 1]
    return any(f.accepted is None and f.severity in counted for f in findings)
