"""Lettering has its room from the start: what names a part, where a conductor's label stands, how far items reach.

Expects a layered graph; guarantees that items of one column that keep `gap` overlap in nothing, lettering included.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from wiregen.layout import text
from wiregen.layout.geometry import Shape
from wiregen.layout.graph import Graph
from wiregen.layout.items import (
    APART,
    BETWEEN,
    CLEAR,
    EAST,
    GAP,
    MARK,
    STUB,
    WEST,
    Item,
    Layered,
    Lettering,
    PartLabel,
    Spot,
    grid,
    marks_room,
)  # fmt: skip
from wiregen.layout.shapes import Style
from wiregen.layout.shown import Notes
from wiregen.layout.words import conductor_words, part_words
from wiregen.model.job import Conductor

_BELOW = frozenset(("battery", "alternator", "panel", "starter", "connector", "plug", "socket", "busbar", "splice"))
_CLOSE = 4.0  # a name that is no wider than this beyond its symbol stands close to it [mm]


def names(graph: Graph, style: Style, marked: Mapping[str, int], notes: Notes) -> dict[int, Lettering]:
    """The lines that name each part, and the room that they take with the marks beside them."""
    found = {}
    for node in graph.nodes:
        if node.part is None or node.kind in ("loose", "capped"):
            continue
        most = style.part_lines if node.kind in ("load", "lamp", "sensor") else 3
        lines = part_words(node.part, most, style.name, node.part.title.lower() in graph.alike)
        if node.elsewhere:
            lines = (*lines, *elsewhere_lines([ANY_FIELD] * node.elsewhere))
        lines = (*lines, *notes.get(node.id, ()))
        marks = marked.get(node.id, 0)
        room = marks_room(marks, len(lines))
        width = grid(max(text.width(line, style.letter, strong=True) for line in lines) + room)
        height = grid(max(text.height(len(lines), style.letter), MARK if marks else 0.0))
        found[node.index] = Lettering(lines, width, height, room)
    return found


def part_label(
    kind: str,
    name: Lettering,
    shape: Shape,
    style: Style,
    top: float,
    busy: tuple[bool, bool],
    lettered: tuple[bool, bool],
) -> PartLabel:
    """Where a part's name stands. `top` is the height of its highest run, or 0. `busy` tells whether runs leave it to
    the west and to the east, `lettered` whether their lettering stands there.

    At the right of an earth and of a load between the rails; below what stands between the rails; above all others,
    wide names above the lettering of the runs so that they may reach over it, or over the side without lettering.
    """
    lines, width, height, room = name
    if shape.symbol in ("earth", "frame"):
        return PartLabel(lines, shape.width + GAP, 1.0, width, height, room)
    if shape.symbol.endswith("-upright") and not busy[EAST] and height <= shape.height - 1.0:
        return PartLabel(lines, shape.width + GAP, (shape.height - height) / 2, width, height, room)
    middle = (shape.width - width) / 2
    if shape.symbol in _BELOW:
        return PartLabel(lines, middle, shape.height + GAP, width, height, room)
    bottom = min(0.0, top) - GAP
    if width > shape.width + _CLOSE and kind not in ("load", "lamp", "sensor"):
        if all(lettered):
            bottom = min(bottom, top - 2 * GAP - grid(text.height(style.conductor_lines + style.noted, style.letter)))
        elif any(lettered):
            middle = -_CLOSE / 2 if lettered[WEST] else shape.width + _CLOSE / 2 - width
    return PartLabel(lines, middle, bottom - height, width, height, room)


ANY_FIELD = "88/B8"  # as wide as what takes its place once all sheets are laid out


def elsewhere_lines(fields: Sequence[str]) -> tuple[str, ...]:
    """Where else a parted part stands, two to a line."""
    pairs = [" ".join(fields[k : k + 2]) for k in range(0, len(fields), 2)]
    return (f"also {pairs[0]}", *pairs[1:]) if pairs else ()


def spots(layered: Layered) -> set[int]:
    """A spot for each conductor's label; returns the conductors that have no stretch of their own (then no spots)."""
    graph, style = layered.graph, layered.style
    crowded: set[int] = set()
    zones: dict[tuple[int, int], float] = {}
    columns = _column_widths(layered)
    choices: list[tuple[int, list[tuple[int, int]]]] = []
    for w in graph.wires:
        if w.inner or w.link:
            continue
        steps = layered.steps[w.index]
        options: list[tuple[int, int]] = []  # pin, item
        for pin in dict.fromkeys(steps):
            p = layered.pins[pin]
            if len(p.wires) != 1 or (layered.items[p.item].node == -2 and p.y > 0):
                continue
            passing = layered.items[p.item].node < 0
            options.append((pin, -1))
            if passing and p.face == WEST and layered.items[p.item].node == -1:
                options.append((-1, p.item))
        if not options:
            crowded.add(w.index)
            continue
        choices.append((w.index, options))
    if crowded:
        return crowded
    for wire, options in sorted(choices, key=lambda c: (len(c[1]) > 1, c[0])):
        conductor = graph.job.conductors[graph.wires[wire].id]
        best: tuple[float, Spot] | None = None
        most = style.conductor_lines
        fewest = 1 if any(item >= 0 for _, item in options) else most
        lettering = {count: _lettering(layered, conductor, count) for count in range(most, fewest - 1, -1)}
        for pin, item in options:
            for count in lettering if item >= 0 else (most,):
                lines, width, height, room = lettering[count]
                if item >= 0:
                    have = columns[layered.items[item].column]
                    cost = max(0.0, width - have) + 0.5 * height
                else:
                    p = layered.pins[pin]
                    i = layered.items[p.item]
                    have = zones.get((i.column + p.face, p.face), 0.0)
                    cost = max(0.0, width - have) + (0.5 * height if i.node < 0 else 0.0)
                if best is None or cost < best[0] - 1e-9:
                    best = cost, Spot(lines, width, height, pin, item, room)
        assert best is not None
        spot = best[1]
        layered.spots[wire] = spot
        if spot.item >= 0:
            column = layered.items[spot.item].column
            columns[column] = max(columns[column], spot.width)
        else:
            p = layered.pins[spot.pin]
            zone = (layered.items[p.item].column + p.face, p.face)
            zones[zone] = max(zones.get(zone, 0.0), spot.width)
    return set()


def _lettering(layered: Layered, conductor: Conductor, count: int) -> Lettering:
    """A conductor's own words in so many lines, its notes below them."""
    if known := layered.letterings.get((conductor.id, count)):
        return known
    style = layered.style
    lines = (*conductor_words(conductor, count, style.show), *layered.notes.get(conductor.id, ())) or ("",)
    marks = layered.marks.get(conductor.id, 0)
    room = marks_room(marks, len(lines))
    width = grid(max(text.width(line, style.letter) for line in lines) + room)
    height = grid(max(text.height(len(lines), style.letter), MARK if marks else 0.0))
    found = layered.letterings[conductor.id, count] = Lettering(lines, width, height, room)
    return found


def _column_widths(layered: Layered) -> list[float]:
    widths = [0.0] * layered.columns
    for node in layered.graph.nodes:
        item = layered.items[layered.item_of[node.index]]
        widths[item.column] = max(widths[item.column], layered.shapes[node.index].width)
    return widths


def measure(layered: Layered) -> None:
    """How far each item reaches, with its name and the lettering of the wires that have their spot on it.

    Expects studs in their order.
    """
    pins = [layered.pins[spot.pin] for spot in layered.spots.values() if spot.item < 0]
    sides = {(pin.item, pin.face) for pin in pins}
    for node in layered.graph.nodes:
        shape, item = layered.shapes[node.index], layered.items[layered.item_of[node.index]]
        ys = [layered.pins[p].y for face in item.pins for p in face] or [0.0]
        top, low = min(ys), max(ys)
        item.symbol = (min(0.0, top), max(shape.height, low), shape.width / 2)
        item.runs = (min(0.0, top - STUB / 2), max(0.0, low + STUB / 2)) if any(item.pins) else (0.0, 0.0)
        name = layered.names.get(node.index)
        if name:
            busy = bool(item.pins[WEST]), bool(item.pins[EAST])
            lettered = (item.index, WEST) in sides, (item.index, EAST) in sides
            label = part_label(node.kind, name, shape, layered.style, top, busy, lettered)
            layered.labels[node.index] = label
            reach = max(shape.width / 2 - label.x, label.x + label.width - shape.width / 2)
            item.name = (label.y, label.y + label.height, reach)
    for spot in layered.spots.values():
        if spot.item >= 0:
            layered.items[spot.item].name = (-GAP - spot.height, 0.0, spot.width / 2)
        else:
            pin = layered.pins[spot.pin]
            item = layered.items[pin.item]
            item.runs = (min(item.runs[0], pin.y - GAP - spot.height), item.runs[1])


def gap(upper: Item, lower: Item) -> float:
    """The least distance between the origins of two neighbours in a column."""
    first, last = lower.runs[0], upper.runs[1]
    apart = APART if upper.node >= 0 and lower.node >= 0 else 0.0
    need = last - first
    under = (lower.symbol, lower.name) if lower.name else (lower.symbol,)
    for _, bottom, reach in (upper.symbol, upper.name) if upper.name else (upper.symbol,):
        for top, _, _ in under:
            if (far := bottom - top + apart) > need:
                need = far
        if reach > lower.symbol[2] and bottom - first > need:
            need = bottom - first
    for top, _, reach in under:
        if reach > upper.symbol[2] and last - top > need:
            need = last - top
    return need + (CLEAR / 2 if upper.band == lower.band else BETWEEN)


def stud_gap(upper: Item, lower: Item) -> float:
    """The least distance from a stud of the upper of two neighbours, and the run that leaves it, to the lower's origin.

    A bar may be longer on its other side than where the stud stands in the beginning, and its studs go down.
    """
    tops = [lower.runs[0]] + [
        top for top, _, reach in filter(None, (lower.symbol, lower.name)) if reach > upper.symbol[2]
    ]
    return STUB / 2 - min(tops) + (CLEAR / 2 if upper.band == lower.band else BETWEEN)
