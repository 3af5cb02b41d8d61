"""Places across: each column as far left as what stands at the same heights allows.

Expects heights and tracks; guarantees that of any two things that share a height the one that comes later in reading
order (column, lettering at its right, tracks in their order, lettering at the left of the next column, next column)
stands to the right of the other. So nothing overlaps, and no run meets a symbol or lettering between its ends.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor
from typing import NamedTuple

from wiregen.layout.geometry import Box
from wiregen.layout.items import EAST, GAP, STUB, TURN, WEST, Item, Layered, grid
from wiregen.layout.route import Channel, Track

SIDE = 1.0  # across, between two things at one height [mm]
AWAY = 1.0  # more than that between an upright run and a symbol [mm]
OVER = 1.0  # up and down, within which two things are at one height [mm]
STRIP = 0.5
HALVES = frozenset(("plug", "socket"))
OUTLINE = 2.0  # across, between a part with its name and what is beside it, where a place begins or ends [mm]


class Skyline:
    """How far right things reach, by strips of height."""

    def __init__(self, low: float, high: float) -> None:
        self.base = low - 10.0
        self.reach = [-1e9] * (ceil((high - low + 20.0) / STRIP) + 2)
        self.places: list[str | None] = [""] * len(self.reach)  # of the last part at each height, `` for none yet

    def _strips(self, low: float, high: float) -> tuple[int, int]:
        first = max(0, floor((low - OVER - self.base) / STRIP))
        return first, min(len(self.reach), max(first + 1, ceil((high + OVER - self.base) / STRIP)))

    def over(self, low: float, high: float) -> float:
        """The right edge of what stands between two heights."""
        first, last = self._strips(low, high)
        return max(self.reach[first:last], default=-1e9)

    def add(self, low: float, high: float, right: float) -> None:
        """Something reaches to there."""
        first, last = self._strips(low, high)
        for k in range(first, last):
            if self.reach[k] < right:
                self.reach[k] = right

    def begins(self, low: float, high: float, place: str | None) -> bool:
        """Whether a part in that place is the first of it between two heights; it is the last part there now."""
        first, last = self._strips(low, high)
        before = {p for p in self.places[first:last] if p != ""}
        self.places[first:last] = [place] * (last - first)
        return bool(before - {place, None}) and place is not None


@dataclass(slots=True)
class _Room:
    """An item with all that stands with it, relative to its middle line."""

    item: Item
    boxes: list[Box]
    symbol: list[Box]
    first: list[Box]
    wires: list[int]  # whose lettering is among the boxes


class Across(NamedTuple):
    """`middle` of each item, `track` places by channel and track, label boxes by wire."""

    middle: dict[int, float]
    track: list[dict[int, float]]
    label: dict[int, Box]


def spread(layered: Layered, heights: Sequence[float], channels: Sequence[Channel]) -> Across:
    """Places of columns, tracks and the lettering of conductors."""
    low = min((heights[i.index] + i.top for i in layered.items), default=0.0)
    high = max((heights[i.index] + i.bottom for i in layered.items), default=0.0)
    for channel in channels:
        for t in channel.tracks:
            low, high = min(low, t.low), max(high, t.high)
    skyline = Skyline(low, high)
    solid = Skyline(low, high)  # of symbols alone
    upright = Skyline(low, high)  # of tracks alone
    across = Across({}, [], {})
    by_column: list[dict[float, list[Item]]] = [{} for _ in range(layered.columns)]
    for item in layered.items:
        by_column[item.column].setdefault(item.band, []).append(item)
    spots: dict[tuple[int, int], list[int]] = {}
    for wire, spot in layered.spots.items():
        item = layered.items[spot.item if spot.item >= 0 else layered.pins[spot.pin].item]
        face = -1 if spot.item >= 0 else layered.pins[spot.pin].face
        spots.setdefault((item.index, face), []).append(wire)
    for c in range(layered.columns + 1):
        across.track.append(_tracks(skyline, solid, upright, channels[c].tracks))
        if c < layered.columns:
            for band in sorted(by_column[c]):
                _column(layered, heights, (skyline, solid, upright), across, by_column[c][band], spots)
    return across


def _tracks(skyline: Skyline, solid: Skyline, upright: Skyline, tracks: Sequence[Track]) -> dict[int, float]:
    """The tracks of one channel in the order of their slots."""
    found: dict[int, float] = {}
    done: list[tuple[Track, float]] = []
    for t in sorted(tracks, key=lambda t: (t.slot, t.index)):
        x = grid(max(0.0, skyline.over(t.low, t.high) + SIDE, solid.over(t.low, t.high) + SIDE + AWAY))
        for other, there in done:
            beside = other.low < t.high + STUB and t.low < other.high + STUB
            if other.slot < t.slot and (beside or t.index in other.bound):
                x = max(x, there + STUB)
        found[t.index] = x
        done.append((t, x))
    for t, x in done:
        skyline.add(t.low, t.high, x)
        upright.add(t.low, t.high, x)
    return found


def _contents(layered: Layered, item: Item, height: float) -> list[Box]:
    """Symbol and name of an item, relative to its column's middle; a passing place has a box without width."""
    if item.node == -1:
        return [Box(0.0, height, 0.0, 0.0)]
    if item.node == -2:
        return [Box(-1.0, height, 2.0, TURN)]
    shape = layered.shapes[item.node]
    top = min([0.0] + [layered.pins[p].y for f in item.pins for p in f])
    bottom = max([shape.height] + [layered.pins[p].y for f in item.pins for p in f])
    boxes = [Box(-shape.width / 2, height + top, shape.width, bottom - top)]
    label = layered.labels.get(item.node)
    if label:
        boxes.append(Box(label.x - shape.width / 2, height + label.y, label.width, label.height))
    return boxes


def _hull(boxes: Sequence[Box]) -> Box:
    x, y = min(b.x for b in boxes), min(b.y for b in boxes)
    return Box(x, y, max(b.right for b in boxes) - x, max(b.bottom for b in boxes) - y)


def _column(
    layered: Layered,
    heights: Sequence[float],
    skylines: tuple[Skyline, Skyline, Skyline],
    across: Across,
    items: Sequence[Item],
    spots: dict[tuple[int, int], list[int]],
) -> None:
    """The middle line of one column, or of its part in one band, with the lettering on both sides of it.

    One half of a mated pair stands closer to the other, where nothing else of the column is at its heights.
    """
    skyline, solid, upright = skylines
    places = layered.graph.job.places
    rooms: list[_Room] = []
    for item in items:
        height = heights[item.index]
        own = _contents(layered, item, height)
        first = last = False  # of its place: an outline is likely at its left, at its right
        if places and item.node >= 0:
            part = layered.graph.nodes[item.node].part
            whole = _hull(own)
            first = solid.begins(whole.y, whole.bottom, part.place if part else None)
            last = _leads_away(layered, item)
        room = _Room(item, list(own), own[:1] if item.node >= 0 else [], [], [])
        rooms.append(room)
        ahead = list(own)  # with the lettering at its left
        for face in (-1, WEST, EAST):
            for wire in spots.get((item.index, face), ()):
                spot = layered.spots[wire]
                y = height + (0.0 if face < 0 else layered.pins[spot.pin].y) - GAP - spot.height
                beside = [b for b in own if b.y < y + spot.height + OVER and y < b.bottom + GAP + OVER]
                if face < 0:
                    x = -spot.width / 2
                elif face == WEST:
                    x = min([-item.symbol[2]] + [b.x for b in beside]) - SIDE - spot.width
                else:
                    x = max([item.symbol[2]] + [b.right for b in beside]) + (OUTLINE if last else SIDE)
                box = Box(x, y, spot.width, spot.height)
                across.label[wire] = box
                room.wires.append(wire)
                ahead += [box] if face == WEST else []
                # the run below its lettering is at least as long
                room.boxes.append(Box(box.x, box.y, box.width, box.height + (GAP if face >= 0 else 0.0)))
        room.first = [_hull(ahead)] if first else []

    def least(room: _Room) -> float:
        left = [skyline.over(box.y, box.bottom) + SIDE - box.x for box in room.boxes]
        left += [skyline.over(box.y, box.bottom) + OUTLINE - box.x for box in room.first]
        left += [upright.over(box.y, box.bottom) + SIDE + AWAY - box.x for box in room.symbol]
        return grid(max(0.0, *left))

    middle = max((least(room) for room in rooms), default=0.0)
    for room in rooms:
        alone = _mated(layered, room.item) and not any(
            a.y < b.bottom and b.y < a.bottom
            for other in rooms for a in other.boxes for b in room.boxes if other is not room
        )  # fmt: skip
        across.middle[room.item.index] = least(room) if alone else middle
    for room in rooms:
        at = across.middle[room.item.index]
        for box in room.symbol:
            solid.add(box.y, box.bottom, at + box.right)
        for box in room.boxes:
            skyline.add(box.y, box.bottom, at + box.right)
        for wire in room.wires:
            across.label[wire] = across.label[wire].moved(at, 0.0)


def _leads_away(layered: Layered, item: Item) -> bool:
    """Whether all that leaves a fuse block to the east leads to parts of other places, or of none: the outline of its
    place is likely to run all along its ways."""
    graph = layered.graph
    part = graph.nodes[item.node].part
    if part is None or part.kind != "fuse-block" or not part.place:
        return False
    ends = [graph.wires[w] for p in item.pins[EAST] for w in layered.pins[p].wires]
    far = [graph.nodes[graph.node_of[t]] for wire in ends for t in (wire.a, wire.b)]
    others = [node.part for node in far if node.index != item.node]
    return bool(others) and all(other is None or other.place != part.place for other in others)


def _mated(layered: Layered, item: Item) -> bool:
    """Whether all that leads west from an item leads to the other half of its connector."""
    graph = layered.graph
    if item.node < 0 or graph.nodes[item.node].kind not in HALVES or not item.pins[WEST]:
        return False
    wires = [graph.wires[w] for p in item.pins[WEST] for w in layered.pins[p].wires]
    ends = [{graph.node_of[wire.a], graph.node_of[wire.b]} - {item.node} for wire in wires]
    return all(w.link for w in wires) and all(graph.nodes[n].kind in HALVES for end in ends for n in end)
