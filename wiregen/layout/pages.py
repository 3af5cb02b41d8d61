"""Pictures put on their pages, and what is cut told where it goes on.

Expects a picture that fits its page; guarantees that each cut conductor has one continuation on each of its two sheets,
and that each names the other's sheet and field.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil, floor
from typing import NamedTuple, Protocol

from wiregen.layout import continuation
from wiregen.layout.assemble import Picture
from wiregen.layout.geometry import Box, Continuation, FindingMark, Label, PlacedPart, Point, Run, Sheet
from wiregen.layout.graph import Graph
from wiregen.layout.label import ANY_FIELD, elsewhere_lines
from wiregen.layout.sheet import Page, Words, field_of

STEP = 12.5  # of a picture's place on its page [mm]
FREE = (80.0, 25.0), (40.0, 12.5)  # where more than so much is spare, what is left free before a picture [mm]


class Remark(Protocol):
    """What is marked by a number in the drawing and told in the list beside it: a finding, or a change."""

    @property
    def rule(self) -> str: ...
    @property
    def severity(self) -> str: ...
    @property
    def subject(self) -> str | None: ...
    @property
    def message(self) -> str: ...


Marked = Mapping[str, Sequence[tuple[int, Remark]]]


class Laid(NamedTuple):
    """What is to stand on one sheet: its graph, the picture of it, the page that it fits, what is said around it."""

    graph: Graph
    picture: Picture
    page: Page
    words: Words
    marked: Marked
    title: str = ""


def on_page(laid: Laid, number: int, of: int) -> Sheet:
    """A picture on its page, near the upper left corner; continuations do not know yet where they go on."""
    picture, chosen = laid.picture, laid.page
    x, y = _anchor(laid)
    dx = chosen.area.x - x + _place(x - picture.box.x, chosen.area.width - picture.box.width)
    dy = chosen.area.y - y + _place(y - picture.box.y, chosen.area.height - picture.box.height)

    def move(box: Box) -> Box:
        return Box(round(box.x + dx, 3), round(box.y + dy, 3), box.width, box.height)

    def point(p: Point) -> Point:
        return round(p[0] + dx, 3), round(p[1] + dy, 3)

    parts = []
    cuts = []
    for p in picture.parts:
        if p.kind != continuation.KIND:
            at = {t: point(q) for t, q in p.terminals.items()}
            parts.append(PlacedPart(p.id, p.kind, p.shape, move(p.box), at))
            continue
        node = laid.graph.nodes[laid.graph.node_of[p.id]]
        wire = laid.graph.wires[laid.graph.wires_at[p.id][0]]
        far, mirrored = continuation.fitted(node.far), p.shape.mirrored
        cuts.append(
            Continuation(wire.id, point(p.terminals[p.id]), move(p.box), far, 0, "", node.outward, mirrored)
        )  # fmt: skip
    conductors = laid.graph.job.conductors
    runs = []
    for r in picture.runs:
        a, b = (conductors[r.id].from_, conductors[r.id].to) if r.id else (r.from_, r.to)
        runs.append(Run(r.kind, r.id, a, b, tuple(point(p) for p in r.points)))
    labels = tuple(Label(x.for_, x.lines, move(x.box), x.height, x.anchor, x.strong, x.upright) for x in picture.labels)
    marks = tuple(
        FindingMark(n, finding.rule, owner, finding.severity, move(box))
        for owner, found in laid.marked.items()
        for (n, finding), box in zip(found, picture.marks.get(owner, ()), strict=False)
    )
    return Sheet(
        number, of, chosen.width, chosen.height, chosen.area, tuple(parts), tuple(runs),
        tuple(point(p) for p in picture.junctions), labels, marks,
        frame=chosen.frame, furniture=chosen.furniture, continuations=tuple(cuts),
        legend=laid.words.legend, finding_list=laid.words.findings, title=laid.title,
    )  # fmt: skip


def _anchor(laid: Laid) -> Point:
    """What the picture is placed by: the first battery on the sheet, or else the first part."""
    nodes = sorted(laid.graph.nodes, key=lambda node: node.kind != "battery")
    at = {part.id: (part.box.x, part.box.y) for part in laid.picture.parts}
    return next((at[node.id] for node in nodes if node.id in at), (laid.picture.box.x, laid.picture.box.y))


def _place(before: float, spare: float) -> float:
    """Where the anchor stands from the edge of the room, `before` of the picture being before it: on a grid where that
    can be, and some way from the edge where much is spare. So what is added around it seldom moves it, and a revision
    is easily laid beside the one before."""
    free = next((left for much, left in FREE if spare > much), 0.0)
    wanted = ceil((before + free) / STEP - 1e-9) * STEP
    if wanted - before > spare:
        wanted = floor((before + spare) / STEP + 1e-9) * STEP
    return max(wanted, before)


def referred(sheets: Sequence[Sheet]) -> tuple[Sheet, ...]:
    """The sheets with each continuation told where its other end is."""
    ends: dict[str, list[tuple[int, str]]] = {}
    places: dict[str, list[tuple[int, str]]] = {}
    for sheet in sheets:
        for c in sheet.continuations:
            ends.setdefault(c.conductor, []).append((sheet.number, field_of(sheet.frame, c.at)))
        for p in sheet.parts:
            places.setdefault(p.id, []).append((sheet.number, field_of(sheet.frame, (p.box.x, p.box.y))))
    out = []
    for sheet in sheets:
        told = []
        for c in sheet.continuations:
            number, zone = next(end for end in ends[c.conductor] if end[0] != sheet.number)
            told.append(c._replace(sheet=number, zone=zone))
        labels = tuple(_also(label, sheet.number, places.get(label.for_, ())) for label in sheet.labels)
        out.append(sheet._replace(continuations=tuple(told), labels=labels))
    return tuple(out)


def _also(label: Label, here: int, places: Sequence[tuple[int, str]]) -> Label:
    """The name of a parted part with the other sheets where it stands."""
    at = next((k for k, line in enumerate(label.lines) if line.startswith(f"also {ANY_FIELD}")), None)
    if at is None or not label.strong:
        return label
    others = [f"{number}/{field}" for number, field in places if number != here]
    return label._replace(lines=(*label.lines[:at], *elsewhere_lines(others)))
