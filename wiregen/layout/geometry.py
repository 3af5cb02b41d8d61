"""The drawing as plain geometry: millimetres on paper, x to the right, y downwards. Knows no drawing library."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Literal, NamedTuple

Point = tuple[float, float]
Side = Literal["left", "right", "top", "bottom"]
_NOTHING: Mapping[str, Any] = MappingProxyType({})


class Box(NamedTuple):
    """A rectangle by its upper left corner, width and height. [mm]"""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        return self.x + self.width

    @property
    def bottom(self) -> float:
        return self.y + self.height

    def moved(self, dx: float, dy: float) -> Box:
        """The same rectangle elsewhere."""
        return Box(self.x + dx, self.y + dy, self.width, self.height)

    def grown(self, margin: float) -> Box:
        """The same rectangle with a margin on each side."""
        return Box(self.x - margin, self.y - margin, self.width + 2 * margin, self.height + 2 * margin)

    def overlaps(self, other: Box) -> bool:
        """Whether the two share more than an edge."""
        return self.x < other.right and other.x < self.right and self.y < other.bottom and other.y < self.bottom


class Port(NamedTuple):
    """A terminal on a shape: its place relative to the shape's upper left corner and the side it faces."""

    terminal: str  # full id
    x: float
    y: float
    side: Side
    name: str = ""  # what is printed beside it inside the shape, `` for nothing


class ShapeText(NamedTuple):
    """Text printed inside a symbol: start, middle or end of its baseline, relative to the shape's corner."""

    x: float
    y: float
    text: str
    anchor: Literal["start", "middle", "end"] = "middle"


class Shape(NamedTuple):
    """The room that a part's symbol takes and where its terminals sit. `symbol` names what the drawing room draws.

    `inside` are shapes within this one (way fuses in their block), with their offset. `texts` is printed within.
    `closed` names the contacts that are drawn closed (`` for the only one of a switch).
    """

    part: str
    symbol: str
    width: float
    height: float
    ports: tuple[Port, ...]
    mirrored: bool = False
    inside: tuple[tuple[float, float, Shape], ...] = ()
    texts: tuple[ShapeText, ...] = ()
    closed: tuple[str, ...] = ()


class PlacedPart(NamedTuple):
    """A part on a sheet: its box, and its terminals in sheet coordinates. Way fuses follow their block."""

    id: str
    kind: str
    shape: Shape
    box: Box
    terminals: Mapping[str, Point]


class Run(NamedTuple):
    """The drawn course of a conductor or a link: from its first terminal to its second, at right angles."""

    kind: Literal["conductor", "link"]
    id: str  # of the conductor; `` for a link
    from_: str
    to: str
    points: tuple[Point, ...]


class Label(NamedTuple):
    """Lines of text in a box of their own. `height` is that of a capital letter (ISO 3098). [mm]"""

    for_: str
    lines: tuple[str, ...]
    box: Box
    height: float
    anchor: Literal["start", "middle", "end"] = "start"
    strong: bool = False
    upright: bool = False  # turned to read from the right


class FindingMark(NamedTuple):
    """A numbered mark beside what a finding is about; `number` stands in the list below the drawing."""

    number: int
    rule: str
    for_: str
    severity: str
    box: Box


class Outline(NamedTuple):
    """The outline of a place with its name at the upper left. `corners` go round it clockwise, `box` is
    around it, `parts` are all that it holds, but for the fuses of a block."""

    place: str
    title: str
    box: Box
    label: Label
    corners: tuple[Point, ...]
    parts: tuple[str, ...]


class Continuation(NamedTuple):
    """A conductor's cut end: where its run ends (`at`), and where it goes on. `box` is the flag with its words.

    `outward` points the flag away from the run, else towards it; `mirrored` stands at the left of what it is joined to.
    """

    conductor: str
    at: Point
    box: Box
    far: str  # the terminal on the other sheet, shortened where it is long
    sheet: int  # the other sheet
    zone: str  # and the field of it where the other end of the cut is
    outward: bool
    mirrored: bool


class Furniture(NamedTuple):
    """Where the drawing room puts what is not diagram: `title` block, `legend`, `findings`, `cautions`."""

    kind: Literal["title", "legend", "findings", "cautions"]
    box: Box


class Sheet(NamedTuple):
    """One page. `area` is the room inside the frame that the diagram takes; `furniture` lies outside of it.

    `legend` and `finding_list` tell what is on this sheet. `title` is its own beside the drawing's, and `description`
    what is on it in words, both `` where it is the only sheet.
    """

    number: int
    of: int
    width: float
    height: float
    area: Box
    parts: tuple[PlacedPart, ...]
    runs: tuple[Run, ...]
    junctions: tuple[Point, ...]
    labels: tuple[Label, ...]
    marks: tuple[FindingMark, ...] = ()
    outlines: tuple[Outline, ...] = ()
    frame: Box = Box(0.0, 0.0, 0.0, 0.0)
    furniture: tuple[Furniture, ...] = ()
    continuations: tuple[Continuation, ...] = ()
    legend: tuple[tuple[str, str], ...] = ()  # mark or letters, meaning
    finding_list: tuple[tuple[int, str, str], ...] = ()  # number, severity, text
    title: str = ""
    description: str = ""


class Geometry(NamedTuple):
    """All sheets of a drawing and the words for frame, title block and legend."""

    title: str
    description: str  # the circuit in words, for a screen reader
    sheets: tuple[Sheet, ...]
    title_block: tuple[tuple[str, str], ...]  # field, text
    colours: Mapping[str, tuple[str, ...]] = _NOTHING  # conductor -> insulation colours
    sizes: Mapping[str, float] = _NOTHING  # conductor -> mm2, where known: drawn by weight
    cautions: tuple[str, ...] = ()
