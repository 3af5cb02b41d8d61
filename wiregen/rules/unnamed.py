"""Conductors without a name, as findings speak of them and as `accept` and `note` take them: `fridge.- to FB.-`."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

from wiregen.findings import Finding
from wiregen.model.job import Conductor, Job


def spoken(conductor: Conductor) -> str:
    """Its name, or from where to where it runs; of several between the same terminals with their number."""
    if conductor.named:
        return conductor.id
    number = conductor.id.rpartition("~")[2] if "~" in conductor.id else ""
    return f"{conductor.from_} to {conductor.to} {number}".rstrip()


def name_in(conductor: Conductor) -> str:
    """Its name as it begins the words between `--[` and `]--`, where it has one."""
    return f"{conductor.id} " if conductor.named else ""


def readable(findings: Iterable[Finding], job: Job) -> list[Finding]:
    """The same findings with made-up ids (`fridge.---FB.-`) as words; subject, related and values keep the ids."""
    words = {c.id: spoken(c) for c in job.conductors.values() if not c.named}
    if not words:
        return list(findings)
    ids = re.compile("|".join(re.escape(id) for id in sorted(words, key=len, reverse=True)))

    def plain(text: str) -> str:
        return ids.sub(lambda found: words[found[0]], text) if "--" in text else text

    return [
        replace(
            f,
            message=plain(f.message),
            reason=plain(f.reason),
            remedy=plain(f.remedy),
            at=f.at and f.at._replace(words=plain(f.at.words)),
            marks=tuple(mark._replace(words=plain(mark.words)) for mark in f.marks),
        )
        for f in findings
    ]
