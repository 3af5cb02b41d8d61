"""The pictures of one graph in several styles and folds, and the first of them that fits a sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wiregen.layout import text
from wiregen.layout.assemble import Picture
from wiregen.layout.continuation import KIND, Whole, extract
from wiregen.layout.folds import Fold, by_rows, flat, fold
from wiregen.layout.geometry import Box
from wiregen.layout.graph import Graph, build
from wiregen.layout.items import grid
from wiregen.layout.layers import Dress, arrange, dressed
from wiregen.layout.packing import pieces
from wiregen.layout.ranks import rank
from wiregen.layout.shapes import Style, shape_of
from wiregen.layout.sheet import Page
from wiregen.layout.shown import Notes
from wiregen.layout.trial import Trial
from wiregen.model.job import Job

STYLES = (  # in the order of preference
    Style(row=10.0, way=11.5, conductor_lines=2, part_lines=1),
    Style(row=10.0, way=15.0, conductor_lines=2, part_lines=3, name=24.0),
    Style(row=13.5, way=15.0, conductor_lines=3, part_lines=3, name=18.0),
)
EXTENT = ((1.0, 1.0), (0.95, 1.07), (0.74, 1.24))  # of pictures in each style, beside the first, in the mean
LEAST_EXTENT = ((1.0, 1.0), (0.8, 0.98), (0.6, 1.1))  # the same, at the least
FAR_BEYOND = 1.25  # times a page: as BEYOND, of one style and fold
BEYOND = 1.05  # times a page: what is foreseen to be larger in every style and fold is not tried on it
NOTE = 4.0  # what one more line of lettering adds to the pitch of rows [mm]
LINES = 2.9  # heights of larger lettering that two lines of it add to the pitch of rows
BANDS = 5  # at most
MANY = 120  # nodes; a larger job is drawn unbroken in the first style, no other is tried
ONE_PIECE = 0.8  # of the nodes: with so many in one piece it is no use to lay out the pieces by themselves
LEAST = 0.9  # a folded picture is hardly ever smaller than this part of what is foreseen: not tried on that paper


class Diagram:
    """The pictures of one graph in several styles and folds, each made when it is asked for."""

    def __init__(
        self,
        graph: Graph,
        marks: dict[str, int],
        notes: Notes,
        show: tuple[str, ...],
        letter: float = text.CAP_HEIGHT,
    ) -> None:
        self.marks, self.notes, self.show = marks, notes, show
        most = max((len(notes.get(wire.id, ())) for wire in graph.wires), default=0)
        line = grid(NOTE * most * letter / text.CAP_HEIGHT + LINES * (letter - text.CAP_HEIGHT))
        self.looks = [
            s._replace(row=s.row + line, way=s.way + line, noted=most, show=show, letter=letter) for s in STYLES
        ]
        self.graph = graph
        self.ranks = rank(graph)
        self.styles = range(len(STYLES) if len(self.graph.nodes) <= MANY else 1)
        self.parts: list[Diagram] | None = None
        self.made: dict[tuple[int, int], Trial | None] = {}
        self.folds: dict[tuple[int, int], Fold | None] = {}
        self.dresses: dict[int, Dress] = {}

    def pieces(self) -> list[Diagram]:
        """Diagrams of what no run joins; [] where nearly all of it is one piece, which they would not make smaller."""
        if self.parts is None:
            found = pieces(self.graph)
            lone = max((len(nodes) for nodes in found), default=0) > ONE_PIECE * len(self.graph.nodes)
            whole = Whole(self.graph, self.ranks.column)
            self.parts = [] if lone else [
                Diagram(extract(whole, nodes), self.marks, self.notes, self.show) for nodes in found
            ]  # fmt: skip
        return self.parts

    def picture(self, style: int, bands: int) -> Picture | None:
        """The picture in a style and so many bands (as the job's rows say with 0); None where it cannot be."""
        made = self._trial(style, bands)
        return made.picture() if made else None

    def within(self, style: int, bands: int, area: Box) -> Picture | None:
        """The same, None too where it is larger than an area."""
        made = self._trial(style, bands)
        return made.within(area) if made else None

    def _trial(self, style: int, bands: int) -> Trial | None:
        if (style, bands) not in self.made:
            self.made[style, bands] = self._make(style, bands)
        return self.made[style, bands]

    def _make(self, style: int, bands: int) -> Trial | None:
        folded = flat(self.ranks) if bands == 1 else self._fold(style, bands)
        if folded is None:
            return None
        look = self.looks[style]
        if style not in self.dresses:
            self.dresses[style] = dressed(self.graph, self.ranks, look, self.marks, self.notes)
        return Trial(arrange(self.graph, self.ranks, folded, look, self.marks, self.notes, self.dresses[style]))

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
        if bands == 1:
            whole = self.picture(style, 1)
            assert whole is not None
            return whole.box.width, whole.box.height
        boxes, folded = self._boxes(style), self._fold(style, bands)
        if folded is None:
            return float("inf"), float("inf")
        groups: dict[int, list[Box]] = {}
        for box, band in zip(boxes, folded.band, strict=True):
            groups.setdefault(band, []).append(box)
        width = max(max(b.right for b in g) - min(b.x for b in g) for g in groups.values())
        height = sum(max(b.bottom for b in g) - min(b.y for b in g) for g in groups.values())
        return width, height

    def beyond(self, area: Box) -> bool:
        """Whether no style and no fold is likely to fit, by what the first style is like.

        Of 730 trial sheets of jobs with 65 to 400 parts none fitted that was foreseen to be more than 1.0 times it.
        """
        for bands in range(1, BANDS + 1 if len(self.styles) > 1 else 2):
            width, height = self.foreseen(0, bands)
            for style in self.styles:
                wide, high = EXTENT[style]
                if width * wide <= area.width * BEYOND and height * high <= area.height * BEYOND:
                    return False
        return True

    def may_fit(self, style: int, bands: int, area: Box) -> bool:
        """Whether it is worth a try to make the picture in a style and fold for an area."""
        width, height = self.foreseen(0, bands)
        if bands == 1:
            wide, high = LEAST_EXTENT[style]
            return width * wide <= area.width and height * high <= area.height
        wide, high = EXTENT[style]
        if width * wide > area.width * FAR_BEYOND or height * high > area.height * FAR_BEYOND:
            return False
        width, height = self.foreseen(style, bands)
        return width * LEAST <= area.width and height * LEAST <= area.height

    def _boxes(self, style: int) -> list[Box]:
        """Symbol and name of each node in the unfolded picture."""
        whole = self._trial(style, 1)
        assert whole is not None
        return whole.bodies()

    def symbols(self) -> tuple[str, ...]:
        """Symbols in use, in the order of the parts."""
        kinds = {node.kind for node in self.graph.nodes}
        earths = [n for n in self.graph.nodes if n.kind == "earth"]
        bodies = {"frame" if n.part is None else shape_of(n.part, self.graph.job).symbol for n in earths}
        return (*sorted(kinds & {"loose", "capped", KIND}), *sorted(bodies))


def pictures(job: Job, notes: Notes, show: tuple[str, ...], letter: float) -> Iterator[tuple[Graph, Picture]]:
    """The whole job as one picture, in the rows of the job, unbroken, and in bands, for whoever has his own canvas.

    `notes` are lines more at parts and conductors, `show` what the conductors say of themselves; `letter` is the height
    of the labels' capitals. [mm]
    """
    diagram = Diagram(build(job), {}, notes, show, letter)
    for bands in range(BANDS + 1 if len(diagram.styles) > 1 else 2):
        if picture := diagram.picture(0, bands):
            yield diagram.graph, picture


def fitting(diagram: Diagram, chosen: Page) -> Picture | None:
    """The first picture that fits the page, in the order of preference."""
    area = chosen.area
    if len([h for h in diagram.graph.job.hints if h.kind == "row"]) > 1:
        for style in diagram.styles:
            if picture := diagram.within(style, 0, area):
                return picture
    if diagram.beyond(area):
        return None
    for bands in range(1, BANDS + 1 if len(diagram.styles) > 1 else 2):  # unbroken is best
        for style in diagram.styles:
            if diagram.may_fit(style, bands, area) and (picture := diagram.within(style, bands, area)):
                return picture
    return None


def folded_into(diagram: Diagram, style: int, area: Box) -> Picture | None:
    """The picture in as few bands as fit the area."""
    for bands in range(1, BANDS + 1):
        if diagram.may_fit(style, bands, area) and (picture := diagram.within(style, bands, area)):
            return picture
    return None


def all_folded(parts: Sequence[Diagram], style: int, area: Box) -> list[Picture]:
    """Each part folded as it fits the area; [] where one does not, or all together do not."""
    found: dict[int, Picture] = {}
    room = area.width * area.height
    for k in sorted(range(len(parts)), key=lambda k: -len(parts[k].graph.nodes)):  # the large ones tell soonest
        picture = folded_into(parts[k], style, area)
        room -= picture.box.width * picture.box.height if picture else 0.0
        if picture is None or room < 0:
            return []
        found[k] = picture
    return [found[k] for k in range(len(parts))]
