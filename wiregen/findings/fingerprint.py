"""What a finding is known by from one run to the next: the rule, the subject and the words of its line, not the line's
number."""

from __future__ import annotations

from collections.abc import Iterable

from wiregen.findings.finding import Finding
from wiregen.findings.order import in_order


def fingerprint(finding: Finding) -> str:
    """16 hexadecimal digits of the rule, the subject and the words of the line that the finding points at.

    Lines that move, blanks and the order of findings do not change it. What is changed in the line does: then it is
    another finding. Where there is no text to point at, the message stands in.
    """
    from hashlib import sha256

    said = finding.message
    if finding.at:
        source = finding.at.span.source
        said = source.line(source.position(finding.at.span.start)[0])
    parts = (finding.rule, (finding.subject or "").lower(), " ".join(said.split()))
    return sha256("\0".join(parts).encode("utf-8", "backslashreplace")).hexdigest()[:16]


def numbered(findings: Iterable[Finding]) -> list[tuple[Finding, str]]:
    """The findings in order, each with its fingerprint; like ones are told apart by a number behind it (`:2`)."""
    seen: dict[tuple[str, str], int] = {}
    out = []
    for finding in in_order(findings):
        mark = fingerprint(finding)
        key = (finding.at.span.source.path if finding.at else finding.path, mark)
        seen[key] = seen.get(key, 0) + 1
        out.append((finding, mark if seen[key] == 1 else f"{mark}:{seen[key]}"))
    return out
