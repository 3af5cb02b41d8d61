"""What every format for other programs is made from."""

from __future__ import annotations

import os
from typing import NamedTuple

from wiregen.findings.finding import Finding


class Checked(NamedTuple):
    """One job that was looked at: its path as given, its title, whether all of it could be read, what was found."""

    path: str
    job: str | None
    readable: bool
    findings: tuple[Finding, ...] = ()


class Page(NamedTuple):
    """What a rule says about itself: name, severity, one line, the whole as text and as Markdown."""

    name: str
    severity: str
    short: str
    text: str
    markdown: str


def relative(path: str, folder: str) -> str:
    """A path with `/`, an absolute one as seen from a folder: no absolute path goes into a report."""
    if not os.path.isabs(path):
        return path.replace(os.sep, "/")
    try:
        return os.path.relpath(path, folder).replace(os.sep, "/")
    except ValueError:  # another drive
        return os.path.basename(path)


def told(finding: Finding) -> str:
    """The message with the case it holds in, the reason, the remedy and the basis, one a line."""
    rows = (("case", finding.case), ("why", finding.reason), ("fix", finding.remedy), ("basis", finding.basis))
    return "\n".join([finding.message, *(f"{label}: {words}" for label, words in rows if words)])
