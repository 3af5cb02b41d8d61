"""Pieces of one sheet that no run joins, side by side: each is laid out for itself."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate

from wiregen.layout.assemble import Picture
from wiregen.layout.geometry import Box, Label, PlacedPart, Point, Run
from wiregen.layout.graph import Graph, Sets

APART = (9.0, 7.0)  # between two pieces, across and down [mm]


def pieces(graph: Graph) -> list[list[int]]:
    """Nodes by piece, in the order of the first of each."""
    sets = Sets()
    for wire in graph.wires:
        a, b = sorted((graph.node_of[wire.a], graph.node_of[wire.b]))
        sets.join(str(a), str(b))
    found: dict[str, list[int]] = {}
    for node in graph.nodes:
        found.setdefault(sets.top(str(node.index)), []).append(node.index)
    return list(found.values())


def beside(pictures: Sequence[Picture], width: float, height: float) -> Picture | None:
    """The pictures in columns from the top, or in rows from the left; None where neither way is small enough."""
    sizes = [(p.box.width, p.box.height) for p in pictures]
    choice = []
    for turned in (False, True):
        places, size = _shelves(sizes, height if not turned else width, turned)
        if size[0] <= width and size[1] <= height:
            choice.append((size[0] * size[1], turned, places, size))
    if not choice:
        return None
    _, _, places, size = min(choice, key=lambda c: c[:2])
    whole = Picture([], [], [], [], {}, Box(0.0, 0.0, *size))
    for picture, at in zip(pictures, places, strict=True):
        _add(whole, picture, at[0] - picture.box.x, at[1] - picture.box.y)
    return whole


def _shelves(
    sizes: Sequence[tuple[float, float]], room: float, turned: bool
) -> tuple[list[tuple[float, float]], tuple[float, float]]:
    """Places in columns of at most that height, each piece in the middle of its column; `turned`, the same in rows."""
    along, away = (0, 1) if turned else (1, 0)  # along a shelf, and from shelf to shelf
    shelves: list[list[int]] = []
    reach = room
    for k, size in enumerate(sizes):
        if not shelves or reach + APART[along] + size[along] > room:
            shelves.append([])
            reach = -APART[along]
        reach += APART[along] + size[along]
        shelves[-1].append(k)
    depths = [max(sizes[k][away] for k in shelf) for shelf in shelves]
    lengths = [sum(sizes[k][along] for k in shelf) + APART[along] * (len(shelf) - 1) for shelf in shelves]
    starts = [0.0, *accumulate(depth + APART[away] for depth in depths)]
    places: list[tuple[float, float]] = [(0.0, 0.0)] * len(sizes)
    for shelf, start, depth, length in zip(shelves, starts, depths, lengths, strict=False):
        at = 0.0 if len(shelf) > 1 or turned else (max(lengths) - length) / 2
        for k in shelf:
            aside = start + (0.0 if turned else (depth - sizes[k][away]) / 2)
            places[k] = (at, aside) if turned else (aside, at)
            at += sizes[k][along] + APART[along]
    total = (max(lengths, default=0.0), sum(depths) + APART[away] * max(len(depths) - 1, 0))
    return places, total if turned else (total[1], total[0])


def _add(whole: Picture, picture: Picture, dx: float, dy: float) -> None:
    """A picture moved, into the whole."""

    def point(p: Point) -> Point:
        return p[0] + dx, p[1] + dy

    whole.parts += [
        PlacedPart(p.id, p.kind, p.shape, p.box.moved(dx, dy), {t: point(q) for t, q in p.terminals.items()})
        for p in picture.parts
    ]
    whole.runs += [Run(r.kind, r.id, r.from_, r.to, tuple(point(p) for p in r.points)) for r in picture.runs]
    whole.junctions += [point(p) for p in picture.junctions]
    whole.labels += [
        Label(x.for_, x.lines, x.box.moved(dx, dy), x.height, x.anchor, x.strong, x.upright) for x in picture.labels
    ]
    for owner, boxes in picture.marks.items():
        whole.marks[owner] = [box.moved(dx, dy) for box in boxes]
