"""One geometry for a whole set of figures: 16 to 9, letters that can be read from the back of a room.

Labels say the name alone, and keep room below it for the widest line that any figure of the set has there.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import NamedTuple

from wiregen.circuit.study import Study
from wiregen.circuit.wires import copper_area
from wiregen.layout import text
from wiregen.layout.assemble import Picture
from wiregen.layout.diagram import pictures
from wiregen.layout.geometry import Box, Geometry
from wiregen.layout.graph import Graph
from wiregen.layout.invariants import broken
from wiregen.layout.pages import Laid, on_page
from wiregen.layout.sheet import Page, Words
from wiregen.layout.telling import describe
from wiregen.layout.words import job_title
from wiregen.model.job import Job, Part
from wiregen.teaching.draft import Draft

ASPECT = 16 / 9
READABLE = 1 / 40  # height of a capital in that of the picture, for the words of the panel
ENOUGH = 1 / 50  # of the labels: their letters, from the top of an l to the foot of a g, then take 1/36 of it
LETTERS = (2.5, 3.5, 5.0)  # ISO 3098 [mm]
LEAST = 70.0  # height of a picture, so that a small circuit is not blown up [mm]
TITLE, MARGIN = 0.075, 0.02  # of the height: the line of the title, the rim
BESIDE, BELOW = 0.33, 0.34  # what the panel takes: of the width at the right, of the height at the bottom
TOLD = frozenset(("rating", "volts", "capacity", "chemistry", "draws"))  # facts that a label would print


class Base(NamedTuple):
    """Where everything stands in every figure of a set. `panel` takes the words; `letter` is the labels' capital, and
    `wording` that of the panel. [mm]"""

    geometry: Geometry
    width: float
    height: float
    panel: Box
    below: bool  # the panel is under the diagram, not beside it
    letter: float
    wording: float
    own: dict[str, int]  # label -> how many of its lines are its own


class Unfit(Exception):
    """The geometry breaks the drawing's own rules; the figures may not be written."""


class _Fit(NamedTuple):
    height: float
    below: bool
    graph: Graph
    picture: Picture
    letter: float


def base(study: Study, drafts: Iterable[Draft]) -> Base:
    """The geometry that all drafts are drawn on. Raises Unfit."""
    job = study.job
    bare = replace(job, parts={id: _bare(part) for id, part in job.parts.items()})
    kept = _kept(job, drafts)
    fits: list[_Fit] = []
    for letter in LETTERS:
        for graph, picture in pictures(bare, kept, ("number",), letter):
            fits += [_Fit(_height(picture, below), below, graph, picture, letter) for below in (False, True)]
        if max(fit.letter / fit.height for fit in fits) >= ENOUGH:
            break
    wrong: list[str] = []
    for fit in sorted(fits, key=lambda fit: -fit.letter / fit.height):
        made = _on_canvas(study, fit, kept)
        found = broken(made.geometry)
        if not found:
            return made
        wrong = wrong or found
    raise Unfit("; ".join(wrong))


def _bare(part: Part) -> Part:
    """The part without what its label would say beside its name."""
    facts = {name: fact for name, fact in part.facts.items() if name not in TOLD}
    return replace(part, title="", facts=facts)


def _kept(job: Job, drafts: Iterable[Draft]) -> dict[str, tuple[str, ...]]:
    """The widest of each line below a name, over all figures."""
    out: dict[str, list[str]] = {}
    for said in (said for draft in drafts for said in (draft.lines, draft.room)):
        for id, lines in said.items():
            have = out.setdefault(id, [])
            for at, line in enumerate(lines):
                if at == len(have):
                    have.append(line)
                elif text.width(line, strong=id in job.parts) > text.width(have[at], strong=id in job.parts):
                    have[at] = line
    return {id: tuple(lines) for id, lines in out.items()}


def _height(picture: Picture, below: bool) -> float:
    """The height of the canvas on which a picture has room."""
    wide = ASPECT * (1.0 if below else 1.0 - BESIDE) - 2 * MARGIN
    high = 1.0 - TITLE - 2 * MARGIN - (BELOW if below else 0.0)
    return max(LEAST, picture.box.width / wide, picture.box.height / high)


def _on_canvas(study: Study, fit: _Fit, kept: dict[str, tuple[str, ...]]) -> Base:
    job = study.job
    height = round(fit.height + 0.5)
    width = round(height * ASPECT, 3)
    rim, top = MARGIN * height, (TITLE + MARGIN) * height
    if fit.below:
        split = min(height * (1.0 - BELOW), top + fit.picture.box.height + rim)  # the panel takes what is left
        area = Box(rim, top, width - 2 * rim, split - top)
        panel = Box(rim, split, width - 2 * rim, height - split - rim)
    else:
        split = width * (1.0 - BESIDE)
        sunk = max(0.0, height - top - rim - fit.picture.box.height) / 3  # what is low stands near the middle
        area = Box(rim, top + sunk, split - rim, height - top - rim - sunk)
        panel = Box(split + rim, top, width - split - 2 * rim, height - top - rim)
    page = Page("", width, height, Box(0.0, 0.0, 0.0, 0.0), area, ())
    sheet = on_page(Laid(fit.graph, fit.picture, page, Words(), {}), 1, 1)
    geometry = Geometry(
        job_title(job),
        describe(job),
        (sheet,),
        (),
        colours={c.id: c.colours for c in job.conductors.values()},
        sizes={c.id: copper for c in job.conductors.values() if (copper := copper_area(c))},
    )
    own = {label.for_: len(label.lines) - len(kept.get(label.for_, ())) for label in sheet.labels}
    return Base(geometry, width, float(height), panel, fit.below, fit.letter, height * READABLE, own)
