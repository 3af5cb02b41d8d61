"""Sheets of labels as they are sold, and what stands on them: one for each conductor's end, one for each fuse."""

from __future__ import annotations

from typing import NamedTuple

from wiregen.circuit.study import Study
from wiregen.papers.document import Labels, Paper
from wiregen.papers.office import Office
from wiregen.papers.plain import rating, size
from wiregen.papers.texts import Texts


class Grid(NamedTuple):
    """A sheet of labels. [mm]"""

    paper: str
    width: float
    height: float
    columns: int
    rows: int
    left: float
    top: float
    gap_x: float
    gap_y: float


# common sizes of self-adhesive label sheets (common practice, no source): 3 by 8 on A4, 3 by 10 on US Letter
GRIDS = {
    "a4": Grid("a4", 70.0, 37.0, 3, 8, 0.0, 0.5, 0.0, 0.0),
    "letter": Grid("us-letter", 66.7, 25.4, 3, 10, 4.8, 12.7, 3.2, 0.0),
}


def label_pages(study: Study, office: Office, texts: Texts) -> Paper:
    """A label for each end of each conductor, to wrap around it, and one for each fuse."""
    say = texts.say
    job = study.job
    labels: list[tuple[str, ...]] = []
    for conductor in job.conductors.values():
        name = conductor.id if conductor.named else " ".join(conductor.colours)
        words = " ".join(word for word in (" ".join(conductor.colours), size(conductor)) if word)
        for here, there in ((conductor.from_, conductor.to), (conductor.to, conductor.from_)):
            if here.partition(":")[0] in ("loose", "capped"):
                continue
            far = there if there.partition(":")[0] not in ("loose", "capped") else say("labels.stowed")
            labels.append(_lines(name or here, say("labels.on", terminal=here), say("labels.to", terminal=far), words))
    for part in job.parts.values():
        if part.kind in ("fuse", "breaker"):
            labels.append(_lines(part.id, rating(part), part.title, say("labels.like-for-like")))
    return Paper("labels", say("labels.title"), (Labels(office.paper, tuple(labels)),))


def _lines(*lines: str) -> tuple[str, ...]:
    return tuple(line for line in lines if line)
