"""Millimetres from the layered graph: columns and channels side by side, then parts, runs, junctions and labels.

Expects ordered, placed and routed items; guarantees that each run begins and ends exactly at its two terminals.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from wiregen.layout import text
from wiregen.layout.across import Across
from wiregen.layout.geometry import Box, Label, PlacedPart, Point, Run, Shape
from wiregen.layout.items import EAST, MARK, WEST, Item, Layered, PartLabel
from wiregen.layout.route import Channel, pin_height
from wiregen.layout.shapes import BLOCK_BUS


@dataclass(slots=True)
class Picture:
    """A diagram with its upper left corner near (0, 0), not yet on a sheet."""

    parts: list[PlacedPart]
    runs: list[Run]
    junctions: list[Point]
    labels: list[Label]
    marks: dict[str, list[Box]]  # part or conductor -> room for its finding marks, in order
    box: Box


def symbol_box(layered: Layered, heights: Sequence[float], across: Across, node: int) -> Box:
    """Where a node's symbol stands."""
    shape, item = layered.shapes[node], layered.item_of[node]
    return Box(across.middle[item] - shape.width / 2, heights[item], shape.width, shape.height)


def name_box(label: PartLabel, symbol: Box) -> Box:
    """Where a part's name stands beside its symbol, without the room for its marks."""
    return Box(symbol.x + label.x + label.marks, symbol.y + label.y, label.width - label.marks, label.height)


def assemble(layered: Layered, heights: Sequence[float], channels: Sequence[Channel], across: Across) -> Picture:
    """The diagram in millimetres."""
    parts: list[PlacedPart] = []
    labels: list[Label] = []
    at: dict[str, Point] = {}
    marks: dict[str, list[Box]] = {}
    for node in layered.graph.nodes:
        shape, symbol = layered.shapes[node.index], symbol_box(layered, heights, across, node.index)
        placed = _place(layered, node.id, node.kind, shape, symbol.x, symbol.y)
        parts += placed
        for p in placed:
            at.update(p.terminals)
        label = layered.labels.get(node.index)
        if label:
            box = name_box(label, symbol)
            beside = label.x >= shape.width
            letter, side = layered.style.letter, "start" if beside else "middle"
            labels.append(Label(node.id, label.lines, box, letter, side, strong=True))  # type: ignore[arg-type]
            marks[node.id] = _marks(layered.marks.get(node.id, 0), labels[-1])
    runs = [_run(layered, heights, channels, across, at, w) for w in range(len(layered.graph.wires))]
    for wire, spot in layered.spots.items():
        whole, anchor = across.label[wire], "middle"
        box = Box(whole.x + spot.marks, whole.y, whole.width - spot.marks, whole.height)
        name = layered.graph.wires[wire].id
        if spot.item < 0:
            anchor = "end" if layered.pins[spot.pin].face == WEST else "start"
        labels.append(Label(name, spot.lines, box, layered.style.letter, anchor))  # type: ignore[arg-type]
        marks[name] = _marks(layered.marks.get(name, 0), labels[-1])
    box = _bounds(parts, runs, labels, [b for boxes in marks.values() for b in boxes])
    return Picture(parts, runs, junctions(layered, runs), labels, marks, box)


def _place(layered: Layered, id_: str, kind: str, shape: Shape, x: float, y: float) -> list[PlacedPart]:
    terminals = {p.terminal: (x + p.x, y + p.y) for p in shape.ports}
    out = [PlacedPart(id_, kind, shape, Box(x, y, shape.width, shape.height), terminals)]
    for dx, dy, inner in shape.inside:
        part = layered.graph.job.parts[inner.part]
        out += _place(layered, inner.part, part.kind, inner, x + dx, y + dy)
    return out


def _face_x(layered: Layered, across: Across, item: Item, face: int) -> float:
    """Where runs leave an item: at the symbol's side, or at the edge of the column."""
    if item.node >= 0:
        half = layered.shapes[item.node].width / 2
        return across.middle[item.index] + (half if face == EAST else -half)
    return across.middle[item.index]


def _run(
    layered: Layered,
    heights: Sequence[float],
    channels: Sequence[Channel],
    across: Across,
    at: dict[str, Point],
    index: int,
) -> Run:
    wire = layered.graph.wires[index]
    kind = "link" if wire.link else "conductor"
    if wire.inner:
        return Run("link", "", wire.a, wire.b, _inner(layered, at, wire.a, wire.b))
    points: list[Point] = []
    steps = layered.steps[index]
    points += _lead(layered, across, heights, wire.a, steps[0])
    for p, q in zip(steps[::2], steps[1::2], strict=True):
        points += _stretch(layered, heights, channels, across, p, q)
    points += _lead(layered, across, heights, wire.b, steps[-1])[::-1]
    return Run(kind, wire.id, wire.a, wire.b, _plain(points))  # type: ignore[arg-type]


def _lead(layered: Layered, across: Across, heights: Sequence[float], terminal: str, pin: int) -> list[Point]:
    """From a terminal to the face of its part."""
    item = layered.items[layered.pins[pin].item]
    exit_ = layered.exits[(terminal, layered.pins[pin].face)]
    x = across.middle[item.index] - layered.shapes[item.node].width / 2
    return [(x + dx, heights[item.index] + dy) for dx, dy in exit_.lead]


def _stretch(
    layered: Layered, heights: Sequence[float], channels: Sequence[Channel], across: Across, p: int, q: int
) -> list[Point]:
    """Through one channel from pin to pin."""
    segment = next(s for s in layered.pins[p].segments if {layered.segments[s].a, layered.segments[s].b} == {p, q})
    channel = layered.segments[segment].channel
    found = [channels[channel].tracks[t] for t in channels[channel].track_of.get(segment, ())]
    a, b = layered.pins[p], layered.pins[q]
    ya, yb = pin_height(layered, heights, p), pin_height(layered, heights, q)
    xa = _face_x(layered, across, layered.items[a.item], a.face)
    xb = _face_x(layered, across, layered.items[b.item], b.face)
    points = [(xa, ya)]
    if (found and ya != yb) or a.face == b.face:
        xs = [across.track[channel][t.index] for t in found]
        if len(found) == 1 or a.face == b.face:
            x = xs[0] if a.face == EAST or len(found) == 1 else xs[-1]
            points += [(x, ya), (x, yb)]
        else:
            detour = found[0].detour
            assert detour is not None
            first, second = (xs[0], xs[1]) if a.face == EAST else (xs[1], xs[0])
            points += [(first, ya), (first, detour.y), (second, detour.y), (second, yb)]
    points.append((xb, yb))
    return points


def _inner(layered: Layered, at: dict[str, Point], a: str, b: str) -> tuple[Point, ...]:
    """A link within a fuse block: from the bus bar to a fuse, or from a fuse to the edge."""
    (xa, ya), (xb, yb) = at[a], at[b]
    if ya == yb:
        return ((xa, ya), (xb, yb))
    node = layered.graph.node_of[a]
    port = layered.shapes[node].ports[0]
    x = at[port.terminal][0] - port.x + BLOCK_BUS
    return _plain([(xa, ya), (x, ya), (x, yb), (xb, yb)])


def _plain(points: Sequence[Point]) -> tuple[Point, ...]:
    """Without repeated points and without points in the middle of a straight stretch."""
    out: list[Point] = []
    for p in points:
        if out and out[-1] == p:
            continue
        while len(out) >= 2 and _onward(out[-2], out[-1], p):
            out.pop()
        out.append(p)
    if len(out) == 1:
        out.append(out[0])
    return tuple(out)


def _onward(a: Point, b: Point, c: Point) -> bool:
    """Whether b lies on the way straight from a to c."""
    if a[0] == b[0] == c[0]:
        return (a[1] < b[1]) == (b[1] < c[1])
    return a[1] == b[1] == c[1] and (a[0] < b[0]) == (b[0] < c[0])


def junctions(layered: Layered, runs: Sequence[Run]) -> list[Point]:
    """Points where runs of one net come together from three or four directions, terminals left out."""
    by_net: dict[int, list[Run]] = {}
    for run in runs:
        by_net.setdefault(layered.graph.net_of[run.from_], []).append(run)
    out: set[Point] = set()
    terminals = {p for run in runs for p in (run.points[0], run.points[-1])}
    for group in by_net.values():
        if len(group) < 2 and len(group[0].points) < 5:
            continue
        level: dict[float, list[tuple[float, float]]] = {}
        upright: dict[float, list[tuple[float, float]]] = {}
        for run in group:
            for a, b in pairwise(run.points):
                if a[1] == b[1]:
                    level.setdefault(a[1], []).append((min(a[0], b[0]), max(a[0], b[0])))
                else:
                    upright.setdefault(a[0], []).append((min(a[1], b[1]), max(a[1], b[1])))
        for x, y in {p for run in group for p in run.points}:
            arms = _arms(level.get(y, ()), x) + _arms(upright.get(x, ()), y)
            if arms >= 3 and (x, y) not in terminals:
                out.add((x, y))
    return sorted(out)


def _arms(spans: Sequence[tuple[float, float]], at: float) -> int:
    return any(low < at <= high for low, high in spans) + any(low <= at < high for low, high in spans)


def _marks(count: int, label: Label) -> list[Box]:
    """Places of finding marks in the room before a label: beside its widest line first, then in the next column."""
    rows = max(len(label.lines), 1)
    pitch = label.box.height / rows
    order = sorted(range(len(label.lines)), key=lambda k: -text.width(label.lines[k], label.height, label.strong)) or [
        0
    ]
    out = []
    for k in range(count):
        x = label.box.x - (k // rows + 1) * (MARK + 0.5)
        out.append(Box(x, label.box.y + order[k % rows] * pitch + (pitch - MARK) / 2, MARK, MARK))
    if count <= rows:  # read from the top where all stand in one column
        out.sort(key=lambda box: box.y)
    return out


def _bounds(parts: Sequence[PlacedPart], runs: Sequence[Run], labels: Sequence[Label], marks: Sequence[Box]) -> Box:
    xs: list[float] = []
    ys: list[float] = []
    for box in [p.box for p in parts] + [x.box for x in labels] + [*marks]:
        xs += [box.x, box.right]
        ys += [box.y, box.bottom]
    for run in runs:
        xs += [p[0] for p in run.points]
        ys += [p[1] for p in run.points]
    if not xs:
        return Box(0.0, 0.0, 0.0, 0.0)
    return Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


__all__ = ["Picture", "assemble", "junctions"]
