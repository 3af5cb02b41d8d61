"""From a study and its findings to the geometry of the drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from wiregen.findings import Finding
from wiregen.layout import invariants, words
from wiregen.layout.assemble import Picture, assemble
from wiregen.layout.geometry import Box, Geometry, Label, PlacedPart, Run, Sheet
from wiregen.layout.graph import Graph, build
from wiregen.layout.layers import arrange, measure
from wiregen.layout.order import order
from wiregen.layout.place import place
from wiregen.layout.ranks import Ranks, rank
from wiregen.layout.route import route
from wiregen.layout.shapes import Style
from wiregen.layout.sheet import Page, page
from wiregen.model.job import Job

if TYPE_CHECKING:
    from wiregen.circuit.study import Study


@dataclass(frozen=True, slots=True)
class Options:
    """How the drawing is wished. `paper` and `orientation` None: the smallest that the diagram fits."""

    paper: Literal["a4", "a3", "letter", "tabloid"] | None = None
    orientation: Literal["landscape", "portrait"] | None = None
    case: str | None = None


STYLES = (
    Style(row=10.0, way=10.0, conductor_lines=2, part_lines=1),
    Style(row=10.0, way=13.5, conductor_lines=2, part_lines=3),
    Style(row=12.5, way=12.5, conductor_lines=3, part_lines=2),
)


def lay_out(
    study: Study, findings: Sequence[Finding] = (), options: Options | None = None
) -> tuple[Geometry, tuple[Finding, ...]]:
    """The geometry of a job's drawing, and what is to be said of it (`drawing-failure` where it breaks its rules)."""
    options = options or Options()
    job = study.job
    graph = build(job)
    ranks = rank(graph)
    picture = _picture(graph, ranks, STYLES[0])
    chosen = page("a0", True, 0, (), ())
    for name in ("a4", "a3", "a2", "a1", "a0"):
        chosen = page(name, True, len(words.legend(job, ())), (), ())
        if picture.box.width <= chosen.area.width and picture.box.height <= chosen.area.height:
            break
    sheet = _on_page(picture, chosen)
    geometry = Geometry(
        words.job_title(job),
        words.describe(job),
        (sheet,),
        words.title_block(job, 1, 1),
        colours={c.id: c.colours for c in job.conductors.values()},
        legend=words.legend(job, tuple(dict.fromkeys(p.shape.symbol for p in picture.parts))),
        sizes={c.id: size for c in job.conductors.values() if (size := c.number("size"))},
    )
    return geometry, _failures(job, geometry)


def _picture(graph: Graph, ranks: Ranks, style: Style) -> Picture:
    layered = arrange(graph, ranks, style)
    columns = order(layered)
    measure(layered)
    heights = place(layered, columns)
    return assemble(layered, heights, route(layered, heights))


def _on_page(picture: Picture, chosen: Page) -> Sheet:
    dx = chosen.area.x - picture.box.x + max(0.0, (chosen.area.width - picture.box.width) / 2)
    dy = chosen.area.y - picture.box.y + max(0.0, (chosen.area.height - picture.box.height) / 2)

    def move(box: Box) -> Box:
        return Box(round(box.x + dx, 3), round(box.y + dy, 3), box.width, box.height)

    def point(p: tuple[float, float]) -> tuple[float, float]:
        return round(p[0] + dx, 3), round(p[1] + dy, 3)

    parts = tuple(
        PlacedPart(p.id, p.kind, p.shape, move(p.box), {t: point(at) for t, at in p.terminals.items()})
        for p in picture.parts
    )
    runs = tuple(Run(r.kind, r.id, r.from_, r.to, tuple(point(p) for p in r.points)) for r in picture.runs)
    labels = tuple(Label(x.for_, x.lines, move(x.box), x.height, x.anchor, x.strong, x.upright) for x in picture.labels)
    return Sheet(
        1, 1, chosen.width, chosen.height, chosen.area, parts, runs,
        tuple(point(p) for p in picture.junctions), labels,
        frame=chosen.frame, furniture=chosen.furniture,
    )  # fmt: skip


def _failures(job: Job, geometry: Geometry) -> tuple[Finding, ...]:
    return tuple(
        Finding(
            rule="drawing-failure",
            severity="danger",
            message=trouble,
            path=job.path,
            reason="a drawing that breaks the rules of drawing misleads whoever wires by it, so it is not written",
            remedy="report the netlist to the makers of wiregen; nothing in it need be wrong",
            basis="the drawing's own rules (layout/invariants.py)",
        )
        for trouble in invariants.broken(geometry)
    )


__all__ = ["Options", "lay_out"]
