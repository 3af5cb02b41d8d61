"""One netlist taken through the rooms, as far as a command needs."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from wiregen.cli import streams
from wiregen.findings import Finding, Source
from wiregen.model import read

if TYPE_CHECKING:
    from wiregen.circuit.study import Study
    from wiregen.model.job import Job
    from wiregen.rules.engine import Judgement


class Looked(NamedTuple):
    """What came out of one netlist. `study` is None where the text could not be wholly read."""

    path: str  # as given, with `/`
    job: Job | None
    study: Study | None
    findings: tuple[Finding, ...]
    judgement: Judgement | None = None  # all that the rules said, where they were run

    @property
    def readable(self) -> bool:
        """Whether all of the text, and of what it includes, was understood."""
        return self.study is not None


def look(
    path: str,
    include: Sequence[str],
    *,
    rules: bool = True,
    remedies: bool = True,
    today: str | None = None,
    limits: str = "",
    text: str | None = None,
    data: bytes | None = None,
    more: Sequence[Source] = (),
) -> Looked:
    """Read, compute and (where `rules`) check one netlist; `-` is standard input.

    Without `remedies` sizes that pass are not sought (`wiregen.rules.judge`).
    `today` is the ISO date by which acceptances run out; without it none does. `limits` stand in where the job names
    none. `text` or `data` are taken in place of what the file holds, `more` are read as if they stood at its end.
    A text with mistakes that lost something is not computed: what is missing would show up again as false hazards.
    """
    if path == "-" and text is None and data is None:
        data = streams.read_bytes()
    job, found = read(path, text=text, data=data, include=tuple(include), more=more)
    findings = list(found)
    if job is None or not job.complete or any(f.lost for f in findings):
        return Looked(plain(path), job, None, tuple(findings))
    from wiregen.circuit import study

    instead = bool(limits) and "limits" not in job.facts
    computed, found = study(_with_limits(job, limits) if instead else job)
    if instead:
        computed = _assuming(computed, limits)
    findings += found
    if not rules:
        return Looked(plain(path), job, computed, tuple(findings))
    from wiregen.rules import judge

    judgement = judge(computed, earlier=findings, today=today, remedies=remedies)
    return Looked(plain(path), job, computed, judgement.findings, judgement)


def wanted(
    arguments: argparse.Namespace, so: str, *, rules: bool = True, remedies: bool = True, more: Sequence[Source] = ()
) -> tuple[Looked, Study]:
    """The netlist that a command names, with the settings of its repository, and its study.

    Where it could not be wholly read, its findings are told, and `so`, what was not done; the command then ends with 2.
    """
    from wiregen.cli.settings import settings

    chosen = settings()
    include = (*arguments.include, *chosen.include)
    looked = look(arguments.file, include, rules=rules, remedies=remedies, limits=chosen.limits, more=more)
    if looked.study is None:
        from wiregen.findings.text import findings_text

        streams.tell_ready(findings_text(looked.findings, streams.style(sys.stderr)))
        streams.tell(f"wiregen: {looked.path} could not be wholly read, so {so}")
        raise SystemExit(2)
    return looked, looked.study


def _with_limits(job: Job, limits: str) -> Job:
    """The job as if its job line named these limits."""
    from dataclasses import replace

    from wiregen.findings import Source, Span
    from wiregen.language.tree import Value
    from wiregen.model.job import Fact

    span = job.span or Span(Source(job.path, ""), 0, 0)
    return replace(job, facts={**job.facts, "limits": Fact("limits", (Value("name", limits, span),), span)})


def _assuming(computed: Study, limits: str) -> Study:
    """The study, with the limits that it did not take from the job among its assumptions."""
    from dataclasses import replace

    from wiregen.circuit.study import Assumption

    note = Assumption("job", "limits", limits, "", "the repository's settings; the job names none")
    return replace(computed, assumptions=(note, *computed.assumptions))


def plain(path: str) -> str:
    """The path as given, with `/` between folders, and as the findings spell it."""
    import os

    return path.replace(os.sep, "/").encode("utf-8", "surrogateescape").decode("utf-8", "replace")


def beside(path: str, suffix: str) -> str:
    """Where an output goes without `-o`: beside the input, under its name."""
    import os

    return os.path.splitext(path)[0] + suffix
