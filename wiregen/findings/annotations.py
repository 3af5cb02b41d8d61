"""Findings as workflow commands of a CI service, which shows each of them beside its line."""

from __future__ import annotations

from collections.abc import Sequence

from wiregen.findings.cells import visible, visible_lines
from wiregen.findings.finding import NOTICE, Finding
from wiregen.findings.order import in_order, place
from wiregen.findings.report import Checked, relative, told
from wiregen.findings.text import summary

LEVELS = {"danger": "error", "warning": "warning", "advice": "notice"}


def findings_annotations(files: Sequence[Checked], folder: str) -> str:
    """One line for each finding that is not accepted, then a line that counts them, and the notice.

    `folder` is the one that absolute paths are written from.
    """
    findings = in_order(finding for each in files for finding in each.findings)
    lines = [_line(finding, folder) for finding in findings if finding.accepted is None]
    unread = [each.path for each in files if not each.readable]
    counted = summary([relative(each.path, folder) for each in files], findings, unread)
    if unread:
        counted += f"; could not be wholly read: {', '.join(visible(relative(path, folder)) for path in unread)}"
    lines += [f"wiregen: {counted}", f"::notice title=wiregen::{_data(NOTICE)}"]
    return "\n".join(lines) + "\n"


def _line(finding: Finding, folder: str) -> str:
    file, line, column, end_line, end_column = place(finding.at.span if finding.at else None, finding.path)
    where: dict[str, object] = {"file": visible(relative(file, folder)), "line": line}
    if line == end_line and column and end_column:  # columns mean something within one line only
        where |= {"col": column, "endColumn": max(column, end_column - 1)}
    where |= {"endLine": end_line, "title": visible(finding.rule)}
    said = ",".join(f"{key}={_property(str(value))}" for key, value in where.items() if value is not None)
    return f"::{LEVELS[finding.severity]} {said}::{_data(visible_lines(told(finding)))}"


def _data(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")
