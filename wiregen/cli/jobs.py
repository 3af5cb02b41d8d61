"""One netlist taken through the rooms, as far as a command needs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from wiregen.cli import streams
from wiregen.findings import Finding
from wiregen.model import read

if TYPE_CHECKING:
    from wiregen.circuit.study import Study
    from wiregen.model.job import Job


class Looked(NamedTuple):
    """What came out of one netlist. `study` is None where the text could not be wholly read."""

    path: str  # as given, with `/`
    job: Job | None
    study: Study | None
    findings: tuple[Finding, ...]

    @property
    def readable(self) -> bool:
        """Whether all of the text, and of what it includes, was understood."""
        return self.study is not None


def look(path: str, include: Sequence[str], *, rules: bool = True, today: str | None = None) -> Looked:
    """Read, compute and (where `rules`) check one netlist; `-` is standard input.

    `today` is the ISO date by which acceptances run out; without it none does.
    A text with mistakes that lost something is not computed: what is missing would show up again as false hazards.
    """
    job, found = read_job(path, include)
    findings = list(found)
    if job is None or not job.complete or any(f.lost for f in findings):
        return Looked(plain(path), job, None, tuple(findings))
    from wiregen.circuit import study

    computed, found = study(job)
    findings += found
    if rules:
        from wiregen.rules import check

        findings = list(check(computed, earlier=findings, today=today))
    return Looked(plain(path), job, computed, tuple(findings))


def read_job(path: str, include: Sequence[str]) -> tuple[Job | None, Sequence[Finding]]:
    """The job in a file, or on standard input."""
    if path == "-":
        return read("-", data=streams.read_bytes(), include=tuple(include))
    return read(path, include=tuple(include))


def plain(path: str) -> str:
    """The path as given, with `/` between folders, and as the findings spell it."""
    import os

    return path.replace(os.sep, "/").encode("utf-8", "surrogateescape").decode("utf-8", "replace")


def beside(path: str, suffix: str) -> str:
    """Where an output goes without `-o`: beside the input, under its name."""
    import os

    return os.path.splitext(path)[0] + suffix
