"""What every symbol is: strokes in the frame of its shape, x to the right and y downwards from its upper left corner.

A symbol never computes where its terminals are: it asks the shape (`self.port`), and draws its leads to there.
A mirrored shape is drawn by the same code: `x` is turned about the middle on the way out, letters stay readable.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple, cast

from wiregen.drawing.alone import Linestyle, Segment, SegmentArc, SegmentCircle, SegmentPoly, SegmentType
from wiregen.layout.geometry import Point, Port, Shape

THIN, LINE, BOLD, BAR = 0.25, 0.35, 0.7, 1.4  # ISO 128-2 widths; BAR is a piece of copper [mm]
INK = "black"


class Words(NamedTuple):
    """A few letters that belong to a symbol, on their baseline. Lengths in mm."""

    at: Point
    text: str
    height: float
    anchor: str
    strong: bool


class Symbol:
    """Base of all symbols. A subclass draws itself in `lay`, in millimetres of its shape's frame."""

    def __init__(self, shape: Shape) -> None:
        self.shape = shape
        self.width, self.height = shape.width, shape.height
        self.middle = (shape.width / 2, shape.height / 2)
        self.segments: list[SegmentType] = []  # schemdraw's, in its frame
        self.words: list[Words] = []
        self.lay()

    def lay(self) -> None:
        """Add the strokes and letters of this symbol."""
        raise NotImplementedError

    # ports

    def port(self, name: str) -> Point:
        """Where the terminal of that name within the part sits, the side the shape faces taken back."""
        for port in self.shape.ports:
            if port_name(self.shape, port) == name:
                return self._out((port.x, port.y))
        raise KeyError(f"{self.shape.symbol} {self.shape.part} has no port {name!r}")

    def ports(self, side: str = "") -> list[tuple[Port, Point]]:
        """All ports, or those of one side (as the symbol is written, not mirrored), with their places."""
        turned = {"left": "right", "right": "left"} if self.shape.mirrored else {}
        return [
            (port, self._out((port.x, port.y)))
            for port in self.shape.ports
            if not side or turned.get(port.side, port.side) == side
        ]

    # strokes

    def line(self, *points: Point, lw: float = LINE, dash: str = "") -> None:
        """Straight strokes through points. `dash` as in SVG, in mm."""
        self.segments.append(Segment(self._all(points), lw=lw, ls=_dash(dash), zorder=1))

    def poly(self, *points: Point, lw: float = LINE, fill: str | None = None, dash: str = "") -> None:
        """A closed outline."""
        self.segments.append(SegmentPoly(self._all(points), lw=lw, fill=fill, ls=_dash(dash), zorder=1))

    def rect(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        *,
        lw: float = LINE,
        fill: str | None = None,
        dash: str = "",
    ) -> None:
        """A rectangle by its upper left corner."""
        self.poly((x, y), (x + width, y), (x + width, y + height), (x, y + height), lw=lw, fill=fill, dash=dash)

    def circle(self, centre: Point, radius: float, *, lw: float = LINE, fill: str | None = None) -> None:
        """A circle."""
        self.segments.append(SegmentCircle(self._put(centre), radius, lw=lw, fill=fill, zorder=1))

    def dot(self, centre: Point, radius: float = 0.6) -> None:
        """A filled dot, where strokes join."""
        self.circle(centre, radius, lw=THIN, fill=INK)

    def arc(self, centre: Point, radius: float, start: float, end: float, *, lw: float = LINE) -> None:
        """Part of a circle, degrees counter-clockwise from the right as the reader sees it."""
        if self.shape.mirrored:
            start, end = 180 - end, 180 - start
        at, size = self._put(centre), 2 * radius
        self.segments.append(SegmentArc(at, size, size, theta1=start, theta2=end, lw=lw, zorder=1))

    def arrow(self, tail: Point, tip: Point, *, lw: float = LINE, head: float = 1.4) -> None:
        """A stroke with a filled head at its tip."""
        dx, dy = tip[0] - tail[0], tip[1] - tail[1]
        length = (dx * dx + dy * dy) ** 0.5
        ux, uy = dx / length, dy / length
        neck = (tip[0] - head * ux, tip[1] - head * uy)
        self.line(tail, neck, lw=lw)
        wide = 0.35 * head
        self.poly(tip, (neck[0] - wide * uy, neck[1] + wide * ux), (neck[0] + wide * uy, neck[1] - wide * ux),
                  lw=0.1, fill=INK)  # fmt: skip

    def letters(self, at: Point, text: str, height: float = 2.5, anchor: str = "middle", strong: bool = False) -> None:
        """Letters centred in height on a point."""
        x, y = self._out(at)
        if self.shape.mirrored:
            anchor = {"start": "end", "end": "start"}.get(anchor, anchor)
        self.words.append(Words((x, y + height / 2), text, height, anchor, strong))

    def sign(self, name: str, at: Point) -> None:
        """A pole's plus or minus as strokes, centred on a point."""
        x, y = at
        self.line((x - 0.6, y), (x + 0.6, y), lw=THIN)
        if name == "+":
            self.line((x, y - 0.6), (x, y + 0.6), lw=THIN)

    # frames

    def _out(self, point: Point) -> Point:
        """Between the shape's frame and the symbol's own, which is not mirrored."""
        return (self.width - point[0], point[1]) if self.shape.mirrored else point

    def _put(self, point: Point) -> Point:
        """In schemdraw's frame: y upwards, to a thousandth of a millimetre."""
        x, y = self._out(point)
        return round(x, 3) + 0.0, round(-y, 3) + 0.0

    def _all(self, points: Iterable[Point]) -> list[Point]:
        return [self._put(point) for point in points]


def _dash(pattern: str) -> Linestyle | None:
    """A dash pattern as schemdraw's SVG canvas passes it on."""
    return cast(Linestyle, pattern) if pattern else None


def port_name(shape: Shape, port: Port) -> str:
    """Name of a port's terminal within its part: `in.+` of `dcdc.in.+`, `` for a part that is its own terminal."""
    return port.terminal[len(shape.part) + 1 :] if port.terminal.startswith(f"{shape.part}.") else ""


Symbols = Mapping[str, type[Symbol]]
