"""A planted fault carried out: the job with the fault in it, solved and checked, beside the sound one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from wiregen.circuit import study
from wiregen.circuit.study import Study
from wiregen.findings import Finding, Source
from wiregen.model.alter import altered
from wiregen.model.job import Lesson, Step
from wiregen.rules import check

COMMAND_LINE = "--fault"
"""The name of the text that a command line brings, as findings show it."""


class Expected(NamedTuple):
    """What a planted fault says that the rules find, and whether they did."""

    rule: str
    subject: str
    found: bool
    step: Step


class Planted(NamedTuple):
    """A fault carried out. `new` are the findings that the sound job does not have; `problems` are steps that could
    not be carried out."""

    name: str
    title: str
    teaches: tuple[str, ...]
    study: Study
    new: tuple[Finding, ...]
    expected: tuple[Expected, ...]
    problems: tuple[Finding, ...]


def given(words: Sequence[str]) -> tuple[Source, ...]:
    """`--fault "leave-out F1"` as texts to be read with the job: each is a fault of its own, named `given-1` and on."""
    return tuple(
        Source(COMMAND_LINE, f"fault given-{number} {{\n{text}\n}}\n") for number, text in enumerate(words, start=1)
    )


def planted(sound: Study, findings: Sequence[Finding], lesson: Lesson) -> Planted:
    """Carry a fault out on the job of a study. `findings` are those of the sound job."""
    job, problems = altered(sound.job, lesson.steps)
    changed, _ = study(job)
    before = {(f.rule, f.subject) for f in findings}
    found = check(changed)
    there = {(f.rule, f.subject) for f in found}
    return Planted(
        name=lesson.name,
        title=lesson.title,
        teaches=tuple(v.text for step in lesson.steps if step.verb == "teaches" for v in step.values),
        study=changed,
        new=tuple(f for f in found if (f.rule, f.subject) not in before and f.rule != "stale-acceptance"),
        expected=tuple(
            Expected(step.values[0].text, subject, (step.values[0].text.lower(), subject) in there, step)
            for step in lesson.steps
            if step.verb == "expect" and step.values
            for subject in step.targets
        ),
        problems=problems,
    )
