"""Findings as the XML that test reports are read from: a suite for each file, a case for the reading and each finding.

A finding at or above the threshold is a failure, one below it passes with its words, an accepted one is skipped.
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

from wiregen.findings.cells import visible, visible_lines
from wiregen.findings.finding import NOTICE, SEVERITIES, Finding, Severity
from wiregen.findings.order import in_order, place
from wiregen.findings.report import Checked, relative, told


def findings_junit(files: Sequence[Checked], fail_on: Severity, folder: str) -> str:
    """The whole document. `folder` is the one that absolute paths are written from."""
    counted = SEVERITIES[: SEVERITIES.index(fail_on) + 1]
    suites = [_suite(each, counted, folder) for each in files]
    tests, failures, errors, skipped = (sum(suite[1][i] for suite in suites) for i in range(4))
    head = f'<testsuites name="wiregen" tests="{tests}" failures="{failures}" errors="{errors}" skipped="{skipped}">'
    lines = ['<?xml version="1.0" encoding="UTF-8"?>', head, *(line for suite in suites for line in suite[0])]
    return "\n".join([*lines, "</testsuites>"]) + "\n"


def _suite(checked: Checked, counted: Sequence[str], folder: str) -> tuple[list[str], tuple[int, int, int, int]]:
    path = visible(relative(checked.path, folder))
    findings = in_order(checked.findings)
    fails = [f for f in findings if f.accepted is None and f.severity in counted]
    skips = [f for f in findings if f.accepted is not None]
    totals = (1 + len(findings), len(fails), 0 if checked.readable else 1, len(skips))
    counts = 'tests="{}" failures="{}" errors="{}" skipped="{}"'.format(*totals)
    lines = [f"  <testsuite name={_attribute(path)} {counts}>"]
    lines += ["    <properties>", f'      <property name="notice" value={_attribute(NOTICE)}/>', "    </properties>"]
    said = ""
    if not checked.readable:
        said = '<error type="netlist-mistake" message="could not be wholly read, so the rules were not run on it"/>'
    lines.append(f'    <testcase classname={_attribute(path)} name="reading"{_closed(said)}')
    names: dict[str, int] = {}
    for finding in findings:
        name = " ".join(filter(None, (finding.rule, finding.subject, finding.case and f"in {finding.case}")))
        names[name] = names.get(name, 0) + 1
        name += f" ({names[name]})" if names[name] > 1 else ""
        lines.append(_case(finding, name, path, finding in fails, folder))
    return [*lines, "  </testsuite>"], totals


def _closed(inside: str) -> str:
    return f">{inside}</testcase>" if inside else "/>"


def _case(finding: Finding, name: str, path: str, failed: bool, folder: str) -> str:
    file, line, column, _, _ = place(finding.at.span if finding.at else None, finding.path)
    where = relative(file, folder) + (f" {line}:{column}" if line else "")
    at = f" file={_attribute(relative(file, folder))}" + (f' line="{line}"' if line else "")
    words = escape(visible_lines(f"{where}: {finding.severity}: {told(finding)}"))
    if finding.accepted:
        inside = f"<skipped message={_attribute('accepted: ' + finding.accepted.because)}/>"
    elif failed:
        kind, message = _attribute(finding.rule), _attribute(f"{finding.severity}: {finding.message}")
        inside = f"<failure type={kind} message={message}>{words}</failure>"
    else:
        inside = f"<system-out>{words}</system-out>"
    return f"    <testcase classname={_attribute(path)} name={_attribute(name)}{at}{_closed(inside)}"


def _attribute(text: str) -> str:
    return quoteattr(visible(text))
