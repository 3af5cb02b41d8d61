"""The layered graph as data: items in columns, segments in channels, and the distances that all drawing keeps.

Column k lies between channel k at its left and channel k + 1 at its right. A wire is a row of segments, one in each
channel that it touches; between two channels it passes a column at an item of its own, or shares one with the other
wires of the same terminal.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import ceil
from typing import NamedTuple

from wiregen.layout.geometry import Point, Shape
from wiregen.layout.graph import Graph
from wiregen.layout.shapes import Style
from wiregen.layout.shown import Notes

WEST, EAST = 0, 1
GAP = 0.75  # between a run or symbol and the lettering that names it [mm]
CLEAR = 1.0  # between things that have nothing to do with each other [mm]
TURN = 4.0  # height of the bow of a wire that comes back to its own terminal [mm]
APART = 1.5  # more than that between two parts, so that a name is never in doubt [mm]
BETWEEN = 3.0  # between two bands [mm]
STUB = 2.5  # between two runs side by side [mm]


@dataclass(slots=True)
class Pin:
    """Where segments land on an item: at its west or east face, `y` below the item's origin."""

    index: int
    item: int
    face: int
    y: float
    segments: list[int] = field(default_factory=list)
    wires: list[int] = field(default_factory=list)


class Exit(NamedTuple):
    """How a run gets from a terminal to the face of its part: points relative to the shape's corner."""

    pin: int
    lead: tuple[Point, ...]


@dataclass(slots=True)
class Item:
    """A part (`node` >= 0), a place where a wire passes (`node` -1), or the turn of a wire that comes back (-2).

    All heights are from the item's origin, which for a part is its symbol's upper edge; all widths from the middle line
    of its column. `symbol`: from, to, half its width. `name`: the same of the part's name (or lettering across the
    item), None where there is none. `runs`: from, to; they and their lettering begin beside the symbol.
    """

    index: int
    column: int
    node: int
    pins: tuple[list[int], list[int]]
    symbol: tuple[float, float, float] = (0.0, 0.0, 0.0)
    runs: tuple[float, float] = (-STUB / 2, STUB / 2)
    name: tuple[float, float, float] | None = None
    wires: list[int] = field(default_factory=list)
    band: float = 0.0  # from the top; between two for what leads from one to the other
    tie: float = 0.0  # which of two that are wanted at one height stands above: the smaller

    @property
    def top(self) -> float:
        """The upper edge of all of it."""
        return min(self.symbol[0], self.runs[0], self.name[0] if self.name else 0.0)

    @property
    def bottom(self) -> float:
        """The lower edge of all of it."""
        return max(self.symbol[1], self.runs[1], self.name[1] if self.name else 0.0)


@dataclass(slots=True)
class Segment:
    """A stretch of wires (all of one net) through one channel, between two pins."""

    index: int
    channel: int
    a: int
    b: int
    wires: list[int]


class Lettering(NamedTuple):
    """Lines, and the width and height of their box, room for finding marks at the left of them included."""

    lines: tuple[str, ...]
    width: float
    height: float
    marks: float


class PartLabel(NamedTuple):
    """The lines that name a part and where their box sits relative to the shape's corner."""

    lines: tuple[str, ...]
    x: float
    y: float
    width: float
    height: float
    marks: float = 0.0  # room for finding marks, at the left of the lines


@dataclass(slots=True)
class Layered:
    """All of it. `steps` are the pins of each wire in order, two for each of its segments."""

    graph: Graph
    style: Style
    columns: int
    items: list[Item]
    pins: list[Pin]
    segments: list[Segment]
    shapes: dict[int, Shape]  # node -> its shape
    item_of: list[int]  # node -> item
    exits: dict[tuple[str, int], Exit]
    steps: dict[int, list[int]]  # wire -> pins
    labels: dict[int, PartLabel]  # node -> its label
    spots: dict[int, Spot]  # wire -> where its label stands
    reach: list[int]  # of each wire: how many columns the flow goes on for beyond it
    marks: Mapping[str, int]  # part or conductor -> how many finding marks stand before its lettering
    notes: Notes  # lines below what a part or conductor has of its own
    names: dict[int, Lettering] = field(default_factory=dict)  # node -> what it is called
    letterings: dict[tuple[str, int], Lettering] = field(default_factory=dict)  # conductor, lines -> what it says


class Spot(NamedTuple):
    """Where a conductor's label stands: above the run at a pin (in the channel beside it) or across an item."""

    lines: tuple[str, ...]
    width: float
    height: float
    pin: int = -1
    item: int = -1
    marks: float = 0.0  # room for finding marks, at the left of the lines, within the width


MARK = 3.5  # diameter of a finding mark [mm]


def marks_room(count: int, lines: int) -> float:
    """The width that finding marks take beside so many lines of lettering: one row of marks for each line."""
    return -(-count // max(lines, 1)) * (MARK + 0.5)


def grid(length: float) -> float:
    """The next quarter millimetre: lengths on a grid of quarters add up exactly."""
    return ceil(length * 4 - 1e-9) / 4
