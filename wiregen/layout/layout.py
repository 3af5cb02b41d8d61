"""From a study and its findings to the geometry of the drawing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from wiregen.circuit.wires import copper_area
from wiregen.findings import Finding
from wiregen.layout import invariants, words
from wiregen.layout.assemble import Picture, assemble
from wiregen.layout.folds import Fold, by_rows, flat, fold
from wiregen.layout.geometry import Box, FindingMark, Geometry, Label, PlacedPart, Run, Sheet
from wiregen.layout.graph import Graph, build
from wiregen.layout.items import Layered
from wiregen.layout.label import measure
from wiregen.layout.layers import arrange
from wiregen.layout.order import orders, studs
from wiregen.layout.place import place
from wiregen.layout.ranks import rank
from wiregen.layout.route import route
from wiregen.layout.shapes import Style, shape_of
from wiregen.layout.sheet import Page, Words, page
from wiregen.model.job import Job

if TYPE_CHECKING:
    from wiregen.circuit.study import Study


@dataclass(frozen=True, slots=True)
class Options:
    """How the drawing is wished.

    `paper` and `orientation` None: the smallest that the diagram fits. `case` adds its currents and drops.
    """

    paper: Literal["a4", "a3", "letter", "tabloid"] | None = None
    orientation: Literal["landscape", "portrait"] | None = None
    case: str | None = None


STYLES = (  # in the order of preference
    Style(row=10.0, way=11.5, conductor_lines=2, part_lines=1),
    Style(row=10.0, way=15.0, conductor_lines=2, part_lines=3, name=24.0),
    Style(row=13.5, way=15.0, conductor_lines=3, part_lines=3, name=18.0),
)
NOTE = 4.0  # what one more line of lettering adds to the pitch of rows [mm]
SIZES = ("a4", "a3", "a2", "a1", "a0")
BANDS = 5  # at most
MANY = 120  # nodes; a larger job is drawn unbroken in the first style, no other is tried
LEAST = 0.9  # a folded picture is hardly ever smaller than this part of what is foreseen: not tried on that paper


def lay_out(
    study: Study, findings: Sequence[Finding] = (), options: Options | None = None
) -> tuple[Geometry, tuple[Finding, ...]]:
    """The geometry of a job's drawing, and what is to be said of it (`drawing-failure` where it breaks its rules)."""
    options = options or Options()
    job = study.job
    numbered = [(k, f) for k, f in enumerate((f for f in findings if f.accepted is None), 1)]
    case = next((c for c in study.cases if c.name == options.case), None) if options.case else None
    notes = {c: words.flow_words(f.current_a, f.drop_v) for c, f in case.flows.items()} if case else {}
    diagram = _Diagram(job, {}, {c: note for c, note in notes.items() if note})
    marked: dict[str, list[tuple[int, Finding]]] = {}
    for number, finding in numbered:
        owner = _owner(diagram.graph, finding.subject)
        if owner:
            marked.setdefault(owner, []).append((number, finding))
    diagram.marks = {owner: len(found) for owner, found in marked.items()}
    texts = Words(
        words.legend(job, diagram.symbols()),
        tuple((number, f.severity, f.message) for number, f in numbered),
        words.CAUTIONS,
    )
    picture, chosen, said = _fit(diagram, options, texts)
    sheet = _on_page(picture, chosen, marked)
    geometry = Geometry(
        words.job_title(job),
        words.describe(job),
        (sheet,),
        words.title_block(job, 1, 1) + ((("case", case.title or case.name),) if case else ()),
        colours={c.id: c.colours for c in job.conductors.values()},
        legend=texts.legend,
        sizes={c.id: area for c in job.conductors.values() if (area := copper_area(c))},
        finding_list=texts.findings,
        cautions=texts.cautions,
    )
    return geometry, (*_failures(job, geometry), *said)


def _owner(graph: Graph, subject: str | None) -> str:
    """The part or conductor whose lettering a finding's mark stands before; `` where nothing drawn is its subject."""
    if not subject:
        return ""
    if subject in graph.job.conductors:
        return subject
    if subject in graph.job.parts:
        return graph.job.parts[subject].block or subject
    if subject in graph.node_of:
        node = graph.nodes[graph.node_of[subject]]
        if node.part is not None:
            return node.id
        return next((graph.wires[w].id for w in graph.wires_at[subject]), "")
    return ""


class _Diagram:
    """The pictures of one job in several styles and folds, each made when it is asked for."""

    def __init__(self, job: Job, marks: dict[str, int], notes: dict[str, str]) -> None:
        self.marks, self.notes = marks, notes
        line = NOTE if notes else 0.0
        self.looks = [replace(s, row=s.row + line, way=s.way + line, noted=1 if notes else 0) for s in STYLES]
        self.graph = build(job)
        self.ranks = rank(self.graph)
        self.styles = range(len(STYLES) if len(self.graph.nodes) <= MANY else 1)
        self.made: dict[tuple[int, int], Picture | None] = {}
        self.folds: dict[tuple[int, int], Fold | None] = {}

    def picture(self, style: int, bands: int) -> Picture | None:
        """The picture in a style and so many bands (as the job's rows say with 0); None where it cannot be."""
        if (style, bands) not in self.made:
            self.made[style, bands] = self._make(style, bands)
        return self.made[style, bands]

    def _make(self, style: int, bands: int) -> Picture | None:
        folded = flat(self.ranks) if bands == 1 else self._fold(style, bands)
        if folded is None:
            return None
        layered = arrange(self.graph, self.ranks, folded, self.looks[style], self.marks, self.notes)
        heights = _heights(layered)
        return assemble(layered, heights, route(layered, heights))

    def _fold(self, style: int, bands: int) -> Fold | None:
        if (style, bands) not in self.folds:
            self.folds[style, bands] = self._folded(style, bands)
        return self.folds[style, bands]

    def _folded(self, style: int, bands: int) -> Fold | None:
        if bands == 0:
            return by_rows(self.graph, self.ranks)
        boxes = self._boxes(style)
        extents = []
        for k in range(max(self.ranks.column, default=-1) + 1):
            found = [b for b, c in zip(boxes, self.ranks.column, strict=True) if c == k]
            extents.append((min(b.x for b in found), max(b.right for b in found)))
        return fold(self.graph, self.ranks, extents, bands)

    def foreseen(self, style: int, bands: int) -> tuple[float, float]:
        """Roughly the width and height of a folded picture, from the parts of the unfolded one. [mm]"""
        boxes, folded = self._boxes(style), self._fold(style, bands)
        if folded is None:
            return float("inf"), float("inf")
        groups: dict[int, list[Box]] = {}
        for box, band in zip(boxes, folded.band, strict=True):
            groups.setdefault(band, []).append(box)
        width = max(max(b.right for b in g) - min(b.x for b in g) for g in groups.values())
        height = sum(max(b.bottom for b in g) - min(b.y for b in g) for g in groups.values())
        return width, height

    def _boxes(self, style: int) -> list[Box]:
        """Symbol and name of each node in the unfolded picture."""
        whole = self.picture(style, 1)
        assert whole is not None
        boxes = {p.id: p.box for p in whole.parts}
        for label in whole.labels:
            if label.for_ in boxes and label.strong:
                a, b = boxes[label.for_], label.box
                x, y = min(a.x, b.x), min(a.y, b.y)
                boxes[label.for_] = Box(x, y, max(a.right, b.right) - x, max(a.bottom, b.bottom) - y)
        return [boxes[node.id] for node in self.graph.nodes]

    def symbols(self) -> tuple[str, ...]:
        """Symbols in use, in the order of the parts."""
        kinds = {node.kind for node in self.graph.nodes}
        earths = [n for n in self.graph.nodes if n.kind == "earth"]
        bodies = {"frame" if n.part is None else shape_of(n.part, self.graph.job).symbol for n in earths}
        return (*sorted(kinds & {"loose", "capped"}), *sorted(bodies))


CROSSING = 40.0  # what a crossing costs, in the measure of `place` for runs that are not level


def _heights(layered: Layered) -> list[float]:
    """Heights in the order that crosses least and leaves the trunk straightest."""
    choice = orders(layered)
    costs: list[float] = []
    heights: list[float] = []
    for count, columns in choice:
        studs(layered, columns)
        measure(layered)
        heights, bent = place(layered, columns)
        costs.append(bent + CROSSING * count)
    best = min(range(len(choice)), key=costs.__getitem__)
    if best != len(choice) - 1:
        studs(layered, choice[best][1])
        measure(layered)
        heights, _ = place(layered, choice[best][1])
    return heights


def _fit(diagram: _Diagram, options: Options, texts: Words) -> tuple[Picture, Page, tuple[Finding, ...]]:
    """The smallest paper that the diagram fits in some style and fold; larger than asked for where it must be."""
    names = [options.paper] if options.paper else ["a4", "a3"]
    turns = [options.orientation == "landscape"] if options.orientation else [True, False]
    tried = [(name, turn) for name in names for turn in turns]
    larger = [(name, turn) for name in SIZES[2:] for turn in turns] if options.paper != "a3" else []
    if options.paper in ("a4", "letter", "tabloid", "a3"):
        larger = [(n, t) for n in SIZES[1 if options.paper in ("a4", "letter") else 2 :] for t in turns]
    for name, turn in [*tried, *larger]:
        chosen = page(name, turn, texts)
        found = _in(diagram, chosen)
        if found:
            return found, chosen, () if (name, turn) in tried else (_grown(diagram.graph.job, name, options),)
    picture = diagram.picture(0, 1)
    assert picture is not None
    base = page("a0", True, texts)
    extra = (max(0.0, picture.box.width - base.area.width), max(0.0, picture.box.height - base.area.height))
    chosen = page("a0", True, texts, extra)
    return picture, chosen, (_grown(diagram.graph.job, "a0 and more", options),)


def _in(diagram: _Diagram, chosen: Page) -> Picture | None:
    """The first picture that fits the page, in the order of preference."""
    area = chosen.area
    if len([h for h in diagram.graph.job.hints if h.kind == "row"]) > 1:
        for style in diagram.styles:
            picture = diagram.picture(style, 0)
            if picture and _fits(picture, area):
                return picture
    for style in diagram.styles:  # unbroken is best
        whole = diagram.picture(style, 1)
        if whole and _fits(whole, area):
            return whole
    for bands in range(2, BANDS + 1 if len(diagram.styles) > 1 else 2):
        for style in diagram.styles:
            width, height = diagram.foreseen(style, bands)
            if width * LEAST <= area.width and height * LEAST <= area.height:
                picture = diagram.picture(style, bands)
                if picture and _fits(picture, area):
                    return picture
    return None


def _fits(picture: Picture, area: Box) -> bool:
    return picture.box.width <= area.width and picture.box.height <= area.height


def _grown(job: Job, name: str, options: Options) -> Finding:
    asked = options.paper.upper() if options.paper else "A3"
    return Finding(
        rule="drawing-size",
        severity="advice",
        message=f"the diagram does not fit {asked} with lettering of 2.5 mm: the sheet is {name.upper()}",
        path=job.path,
        reason="smaller lettering could not be read on paper",
        remedy="print it at its own size, or name a larger paper",
        basis="common practice, no source",
    )


def _on_page(picture: Picture, chosen: Page, marked: Mapping[str, Sequence[tuple[int, Finding]]]) -> Sheet:
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
    marks = tuple(
        FindingMark(number, finding.rule, owner, finding.severity, move(box))
        for owner, found in marked.items()
        for (number, finding), box in zip(found, picture.marks.get(owner, ()), strict=False)
    )
    return Sheet(
        1, 1, chosen.width, chosen.height, chosen.area, parts, runs,
        tuple(point(p) for p in picture.junctions), labels, marks,
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
