"""Findings as data, positions in the source, and one renderer for each output."""

from wiregen.findings.finding import NOTICE, SEVERITIES, Acceptance, Edit, Finding, Mark, Severity, Use, mistake
from wiregen.findings.source import Source, Span

__all__ = [
    "NOTICE", "SEVERITIES", "Acceptance", "Edit", "Finding", "Mark", "Severity", "Source", "Span", "Use", "mistake",
]  # fmt: skip
