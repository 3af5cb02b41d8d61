"""Findings in the interchange format of static analysis, SARIF 2.1.0 (an open standard of OASIS)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from wiregen import __version__
from wiregen.findings.finding import NOTICE, Finding
from wiregen.findings.fingerprint import numbered
from wiregen.findings.json import dumps
from wiregen.findings.report import Checked, Page, relative, told
from wiregen.findings.source import Span

LEVELS = {"danger": "error", "warning": "warning", "advice": "note"}
Plain = dict[str, object]


def findings_sarif(files: Sequence[Checked], pages: Iterable[Page], folder: str) -> str:
    """The whole document in ASCII, ended by a line end. `folder` is the one that absolute paths are written from.

    Columns count UTF-16 code units, as `columnKind` says. `pages` are the rules' own; what is found by name only has
    a rule without help.
    """
    rules = {page.name: _rule(page) for page in pages}
    found = numbered(finding for each in files for finding in each.findings)
    for finding, _ in found:
        if finding.rule not in rules:
            rules[finding.rule] = {
                "id": finding.rule,
                "shortDescription": {"text": finding.basis or finding.rule},
                "defaultConfiguration": {"level": LEVELS[finding.severity]},
            }
    index = {name: i for i, name in enumerate(rules)}
    run: Plain = {
        "tool": {
            "driver": {
                "name": "wiregen",
                "version": __version__,
                "semanticVersion": __version__,
                "fullDescription": {"text": NOTICE},
                "rules": list(rules.values()),
            }
        },
        "columnKind": "utf16CodeUnits",
        "invocations": [
            {
                "executionSuccessful": all(each.readable for each in files),
                "toolExecutionNotifications": [
                    {"level": "note", "message": {"text": NOTICE}},
                    *(_unread(each, folder) for each in files if not each.readable),
                ],
            }
        ],
        "artifacts": [{"location": _location(each.path, folder), "roles": ["analysisTarget"]} for each in files],
        "results": [_result(finding, mark, index, folder) for finding, mark in found],
        "properties": {"notice": NOTICE},
    }
    return dumps({"version": "2.1.0", "runs": [run]})


def _rule(page: Page) -> Plain:
    return {
        "id": page.name,
        "shortDescription": {"text": page.short},
        "fullDescription": {"text": page.short},
        "help": {"text": page.text, "markdown": page.markdown},
        "defaultConfiguration": {"level": LEVELS[page.severity]},
    }


def _unread(checked: Checked, folder: str) -> Plain:
    words = "could not be wholly read, so the rules were not run on it"
    where = {"physicalLocation": {"artifactLocation": _location(checked.path, folder)}}
    return {"level": "error", "message": {"text": words}, "locations": [where]}


def _result(finding: Finding, mark: str, index: Mapping[str, int], folder: str) -> Plain:
    place: Plain = {}
    if finding.at:
        place["physicalLocation"] = _physical(finding.at.span, folder)
    elif finding.path:
        place["physicalLocation"] = {"artifactLocation": _location(finding.path, folder)}
    if finding.subject:
        place["logicalLocations"] = [{"fullyQualifiedName": finding.subject}]
    marks = [(each.span, each.words) for each in finding.marks] + [
        (use.span, f"kit {use.name} is used here") for use in finding.through
    ]
    result: Plain = {
        "ruleId": finding.rule,
        "ruleIndex": index[finding.rule],
        "kind": "fail",
        "level": LEVELS[finding.severity],
        "message": {"text": told(finding)},
        "locations": [place] if place else [],
        "partialFingerprints": {"wiregen/1": mark},
        "properties": {
            "severity": finding.severity,
            "case": finding.case,
            "related": list(finding.related),
            "values": dict(finding.values),
        },
    }
    if marks:
        result["relatedLocations"] = [
            {"id": i, "physicalLocation": _physical(span, folder)} | ({"message": {"text": words}} if words else {})
            for i, (span, words) in enumerate(marks, 1)
        ]
    if finding.accepted:
        why = finding.accepted
        said = why.because + (f" (by {why.by})" if why.by else "") + (f" (until {why.until})" if why.until else "")
        kind = "external" if why.known else "inSource"
        result["suppressions"] = [{"kind": kind, "status": "accepted", "justification": said}]
    return result


def _location(path: str, folder: str) -> Plain:
    from urllib.parse import quote

    return {"uri": quote(relative(path, folder).encode("utf-8", "backslashreplace"))}


def _physical(span: Span, folder: str) -> Plain:
    line, column = _units(span, span.start)
    end_line, end_column = _units(span, max(span.start, span.end))
    region = {"startLine": line, "startColumn": column, "endLine": end_line, "endColumn": end_column}
    return {"artifactLocation": _location(span.source.path, folder), "region": region}


def _units(span: Span, offset: int) -> tuple[int, int]:
    """Line and column from 1, the column in UTF-16 code units."""
    line, column = span.source.position(offset)
    before = span.source.text[offset - column + 1 : offset]
    return line, column + sum(ord(c) > 0xFFFF for c in before)
