"""Where the numbers of meter points stand: at their terminals, clear of lettering, symbols and one another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import cos, hypot, pi, sin
from typing import NamedTuple

from wiregen.layout.geometry import Box, Point, Sheet

REACH = 1.15  # radius of a disc, in heights of its figure
AWAY = (1.7, 1.25, 2.2, 2.9, 3.7, 4.6)  # from the terminal to the disc's middle, in the same; the first is liked best
TURNS = 12  # directions that are tried
OUTWARD = {"left": pi, "right": 0.0, "top": -pi / 2, "bottom": pi / 2}


class Spot(NamedTuple):
    """A number beside its terminal. [mm]"""

    words: str
    terminal: str
    at: Point
    disc: Point


def spots(sheet: Sheet, points: Sequence[tuple[str, str]], size: float) -> Iterator[Spot]:
    """Each point that is on the sheet, in the order given; figures are `size` high. [mm]"""
    taken: list[Point] = []
    for words, terminal in points:
        at = next((part.terminals[terminal] for part in sheet.parts if terminal in part.terminals), None)
        if at is None:
            continue
        port = next((p for part in sheet.parts for p in part.shape.ports if p.terminal == terminal), None)
        first = OUTWARD[port.side] if port else 0.0
        places = [
            (at[0] + away * size * cos(first + turn), at[1] + away * size * sin(first + turn))
            for away in AWAY
            for turn in sorted((2 * pi * k / TURNS for k in range(-TURNS // 2 + 1, TURNS // 2 + 1)), key=abs)
        ]
        disc = min(places, key=lambda place: (_cost(sheet, terminal, at, place, taken, size), places.index(place)))
        taken.append(disc)
        yield Spot(words, terminal, at, disc)


def _cost(sheet: Sheet, terminal: str, at: Point, disc: Point, taken: Sequence[Point], size: float) -> float:
    """What a disc there would hide: it should be in the room of the diagram, off other discs and lettering, then off
    symbols, terminals, other conductors."""
    reach = REACH * size
    area = sheet.area
    out = min(disc[0] - area.x, area.right - disc[0], disc[1] - area.y, area.bottom - disc[1]) < 0.8 * reach
    cost = 50.0 * out
    cost += 40.0 * sum(hypot(disc[0] - x, disc[1] - y) < 2.1 * reach for x, y in taken)
    cost += 30.0 * sum(_over(label.box, disc, reach) for label in sheet.labels)
    for share in (0.2, 0.4, 0.6, 0.8):  # along the line from the terminal to the disc
        along = at[0] + share * (disc[0] - at[0]), at[1] + share * (disc[1] - at[1])
        cost += 8.0 * sum(_over(label.box, along, 0.1 * size) for label in sheet.labels)
    cost += 12.0 * sum(_over(part.box, disc, 0.9 * reach) for part in sheet.parts)
    for part in sheet.parts:
        for id, (x, y) in part.terminals.items():
            cost += 8.0 * (id != terminal and hypot(disc[0] - x, disc[1] - y) < 1.3 * reach)
    for run in sheet.runs:
        for a, b in pairwise(run.points):
            near = _over(Box(min(a[0], b[0]), min(a[1], b[1]), abs(a[0] - b[0]), abs(a[1] - b[1])), disc, reach)
            cost += (2.0 if terminal in (run.from_, run.to) else 6.0) * near
    return cost + 1.5 * max(0.0, hypot(disc[0] - at[0], disc[1] - at[1]) / size - AWAY[0])


def _over(box: Box, disc: Point, reach: float) -> bool:
    """Whether a disc reaches into a box."""
    x = min(max(disc[0], box.x), box.right)
    y = min(max(disc[1], box.y), box.bottom)
    return hypot(disc[0] - x, disc[1] - y) < reach
