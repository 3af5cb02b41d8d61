"""Accepted findings: `accept RULE on ID because "..."` is for one rule on one subject, for as long as it says."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from wiregen.findings import Acceptance, Finding, Mark
from wiregen.model.job import Accept

NEVER = frozenset({"netlist-mistake", "rule-failure", "stale-acceptance"})
"""Findings that nobody can accept: they say that something could not be read or judged at all."""


def key(rule: str, subject: str) -> tuple[str, str]:
    """What an acceptance and a finding must share. Capitals do not distinguish."""
    return rule.lower(), subject.lower()


def lapsed(accept: Accept, today: str | None) -> bool:
    """Whether the acceptance has run out. On its last day it still counts."""
    return bool(today and accept.until and accept.until < today)


def accepted(
    findings: Iterable[Finding], accepts: Sequence[Accept], today: str | None
) -> tuple[list[Finding], list[Accept]]:
    """The findings with their acceptances, and the acceptances that match nothing.

    A finding whose acceptance has run out stays unaccepted, and shows where the acceptance stands.
    """
    by_key: dict[tuple[str, str], list[Accept]] = {}
    for accept in accepts:
        by_key.setdefault(key(accept.rule, accept.subject), []).append(accept)
    used: set[tuple[str, str]] = set()
    out = []
    for finding in findings:
        found: list[Accept] = []
        if finding.subject is not None and finding.rule not in NEVER:
            found = by_key.get(key(finding.rule, finding.subject), [])
        if found:
            used.add(key(found[0].rule, found[0].subject))
            standing = [accept for accept in found if not lapsed(accept, today)]
            if standing:
                why = standing[0]
                finding = replace(finding, accepted=Acceptance(why.because, why.by, why.until))
            else:
                over = tuple(Mark(accept.span, f"accepted only until {accept.until}") for accept in found)
                finding = replace(finding, marks=finding.marks + over)
        out.append(finding)
    return out, [accept for accept in accepts if key(accept.rule, accept.subject) not in used]
