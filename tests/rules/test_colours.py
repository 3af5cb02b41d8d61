"""Polarity is never taken from a colour: other colours change what colour-convention says, and nothing else."""

from __future__ import annotations

from dataclasses import replace

import pytest
from planting import sound

from wiregen.circuit import study
from wiregen.language.tree import Value
from wiregen.model.job import Conductor, Fact, Job
from wiregen.rules import check

SOUND = dict(sound())
COLOURS = ("red", "black", "green/yellow", "blue", "brown", "white")


def painted(job: Job, first: int) -> Job:
    """The job with the colours dealt out anew, one after another."""

    def other(conductor: Conductor, i: int) -> Conductor:
        span = conductor.where("colour")
        fact = Fact("colour", (Value("name", COLOURS[(first + i) % len(COLOURS)], span),), span)
        return replace(conductor, facts={**conductor.facts, "colour": fact})

    return replace(job, conductors={c.id: other(c, i) for i, c in enumerate(job.conductors.values())})


@pytest.mark.parametrize("name", SOUND)
def test_only_colour_convention_looks_at_colours(name: str) -> None:
    said = set()
    for first in (0, 1):
        again, _ = study(painted(SOUND[name].job, first))
        said |= {finding.rule for finding in check(again)}
    assert said == {"colour-convention"}
