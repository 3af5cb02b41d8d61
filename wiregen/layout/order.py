"""The order of the items in each column, from the top: few crossings, and the order of the file where it is free.

Expects a layered graph; returns for each column its items from the top, and orders the studs of bars to match. Sweeps
by the average place of neighbours, forwards and backwards; the best of all orders met is kept (Sugiyama, 1981).
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Sequence

from wiregen.layout.graph import BARS
from wiregen.layout.items import EAST, WEST, Exit, Layered

Order = list[list[int]]


CHOICE = 6  # orders that are looked at more closely
MORE = 3  # crossings that they may have above the least


class Mesh:
    """What is joined to what, looked up once for the many orders that are tried.

    `offset` of each pin: its place within its item, as a part of 1. `pins` of each item. `joined` of each item and
    face: own pin and the pin at the other end of each segment there. `facing`, the same: pin and item at the other end
    of what leads to the next column, which can be crossed by what leads there from a neighbour. `across` of each
    channel: the two pins of what leads through it; `bows`: face and the two pins of what comes back.
    """

    def __init__(self, layered: Layered) -> None:
        pins = layered.pins
        self.free = [item.node >= 0 and layered.graph.nodes[item.node].kind in BARS for item in layered.items]
        self.band = [item.band for item in layered.items]
        self.tie = [item.tie for item in layered.items]
        self.offset = [0.5] * len(pins)
        self.pins = [[p for face in item.pins for p in face] for item in layered.items]
        self.joined: list[tuple[list[tuple[int, int]], list[tuple[int, int]]]] = []
        self.facing: list[tuple[list[tuple[int, int]], list[tuple[int, int]]]] = []
        for item, own in zip(layered.items, self.pins, strict=True):
            ys = [pins[p].y for p in own]
            low = min(ys, default=0.0)
            span = max(ys, default=0.0) - low
            if span and not self.free[item.index]:
                for p, y in zip(own, ys, strict=True):
                    self.offset[p] = 0.1 + 0.8 * (y - low) / span
            joined: tuple[list[tuple[int, int]], list[tuple[int, int]]] = ([], [])
            facing: tuple[list[tuple[int, int]], list[tuple[int, int]]] = ([], [])
            for face in (WEST, EAST):
                for p in item.pins[face]:
                    for s in pins[p].segments:
                        seg = layered.segments[s]
                        q = seg.b if seg.a == p else seg.a
                        joined[face].append((p, q))
                        if pins[q].face != face:
                            facing[face].append((q, pins[q].item))
            self.joined.append(joined)
            self.facing.append(facing)
        self.across: list[list[tuple[int, int]]] = [[] for _ in range(layered.columns + 1)]
        self.bows: list[list[tuple[int, int, int]]] = [[] for _ in range(layered.columns + 1)]
        for seg in layered.segments:
            face = pins[seg.a].face
            if face == pins[seg.b].face:
                self.bows[seg.channel].append((face, seg.a, seg.b))
            else:
                self.across[seg.channel].append((seg.a, seg.b) if face == EAST else (seg.b, seg.a))


def orders(layered: Layered, mesh: Mesh, sweeps: int = 12) -> list[tuple[int, Order]]:
    """Orders with few crossings, and how many: items of each column from the top, at most `CHOICE` orders."""
    found: list[tuple[int, Order]] = []
    least = -1
    for start in (_by_file(layered), _by_walk(layered, mesh)):
        columns = [list(c) for c in start]
        places = _places(mesh, columns)
        by_channel = [_crossed(mesh, places, k) for k in range(len(mesh.across))]
        idle = still = 0
        for sweep in range(sweeps + 1):
            count = sum(by_channel)
            idle += 1
            if least < 0 or count < least:
                least, idle = count, 0
            if count <= least + MORE and all(columns != other for _, other in found):
                found.append((count, [list(c) for c in columns]))
            if idle > 4 or (count == 0 and sweep >= 3):
                break
            moved = _sweep(mesh, columns, places, forward=sweep % 2 == 0)
            still = 0 if moved else still + 1
            if still == 2:  # neither forwards nor backwards: it stays so
                break
            for k in {channel for column in moved for channel in (column, column + 1)}:
                by_channel[k] = _crossed(mesh, places, k)
    best: list[tuple[int, Order]] = []
    for count, columns in sorted((f for f in found if f[0] <= least + MORE), key=lambda f: f[0])[:CHOICE]:
        switched = [list(c) for c in columns]
        variants = [(count, columns)]
        if _switch(mesh, switched):
            variants.append((crossings(mesh, _places(mesh, switched)), switched))
        best += [v for v in variants if all(v[1] != other for _, other in best)]
    fewest = min(count for count, _ in best)
    return [b for b in best if b[0] <= fewest + MORE]


def _by_file(layered: Layered) -> Order:
    columns: Order = [[] for _ in range(layered.columns)]
    for item in layered.items:
        columns[item.column].append(item.index)
    for c in columns:
        c.sort(key=lambda i: (layered.items[i].band, i))
    return columns


def _by_walk(layered: Layered, mesh: Mesh) -> Order:
    """Items in the order in which a walk along the wires meets them, upper terminals first."""
    columns: Order = [[] for _ in range(layered.columns)]
    seen = [False] * len(layered.items)
    roots = sorted(layered.items, key=lambda i: (i.node < 0, i.column, i.index))
    for root in roots:
        stack = [root.index]
        while stack:
            i = stack.pop()
            if seen[i]:
                continue
            seen[i] = True
            columns[layered.items[i].column].append(i)
            onward = [layered.pins[q].item for face in (EAST, WEST) for _, q in mesh.joined[i][face]]
            stack.extend(other for other in reversed(onward) if not seen[other])
    for c in columns:
        c.sort(key=lambda i: layered.items[i].band)
    return columns


def _places(mesh: Mesh, columns: Order) -> list[float]:
    """Where each pin stands in its column: the item's rank, and a fraction for its place on the item's face."""
    places = [0.0] * len(mesh.offset)
    for column in columns:
        _place(mesh, column, places)
    return places


def _place(mesh: Mesh, column: Sequence[int], places: list[float]) -> None:
    pins, offset = mesh.pins, mesh.offset
    for rank, i in enumerate(column):
        for p in pins[i]:
            places[p] = rank + offset[p]


def _sweep(mesh: Mesh, columns: Order, places: list[float], *, forward: bool) -> list[int]:
    """Each column by the places of its neighbours in the one before; returns the columns whose order is another."""
    moved: list[int] = []
    face = WEST if forward else EAST
    joined = mesh.joined
    for k in range(len(columns)) if forward else range(len(columns) - 1, -1, -1):
        column = columns[k]
        wanted: dict[int, float] = {}
        for rank, i in enumerate(column):
            ends = joined[i][face]
            total = 0.0
            for p, q in ends:
                total += places[q] - (places[p] - rank - 0.5)
            wanted[i] = total / len(ends) if ends else -1.0
        if _arrange(mesh, column, wanted):
            _place(mesh, column, places)
            moved.append(k)
    return moved


def _arrange(mesh: Mesh, column: list[int], wanted: dict[int, float]) -> bool:
    """Sort by the wanted place; items without neighbours there keep the place that they have among the others.

    Returns whether the order is another one.
    """
    band, tie = mesh.band, mesh.tie
    held = [i for i in column if wanted[i] >= 0]  # of two that are alike in all the upper one stays above
    held.sort(key=lambda i: (band[i], round(wanted[i], 6), tie[i]))
    out: list[int] = []
    rest = iter(held)
    for i in column:
        out.append(i if wanted[i] < 0 else next(rest))
    out.sort(key=band.__getitem__)
    if out == column:
        return False
    column[:] = out
    return True


def crossings(mesh: Mesh, places: Sequence[float]) -> int:
    """Crossings in all channels, as straight lines between pins; two ends on one face count what they enclose."""
    return sum([_crossed(mesh, places, channel) for channel in range(len(mesh.across))])


def _crossed(mesh: Mesh, places: Sequence[float], channel: int) -> int:
    """The crossings in one channel."""
    total = 0
    lines = sorted([(places[a], places[b]) for a, b in mesh.across[channel]])
    ends: list[float] = []
    k = 0
    while k < len(lines):
        m = k
        while m < len(lines) and lines[m][0] == lines[k][0]:
            total += len(ends) - bisect_left(ends, lines[m][1] + 1e-9)
            m += 1
        for line in lines[k:m]:
            insort(ends, line[1])
        k = m
    if bows := mesh.bows[channel]:
        near = {EAST: [line[0] for line in lines], WEST: ends}
        for face, a, b in bows:
            low, high = sorted((places[a], places[b]))
            total += bisect_left(near[face], high) - bisect_left(near[face], low + 1e-9)
    return total


def _switch(mesh: Mesh, columns: Order) -> bool:
    """Exchange neighbours in a column as long as that saves crossings; returns whether it did."""
    places = _places(mesh, columns)
    changed = False
    for _ in range(4):
        better = False
        for column in columns:
            for k in range(len(column) - 1):
                a, b = column[k], column[k + 1]
                if mesh.band[a] != mesh.band[b]:
                    continue
                if _saves(mesh, places, a, b):
                    column[k], column[k + 1] = b, a
                    better = True
            _place(mesh, column, places)
        changed = changed or better
        if not better:
            break
    return changed


def _saves(mesh: Mesh, places: Sequence[float], upper: int, lower: int) -> bool:
    """Whether two neighbours' segments cross less with the lower one above."""
    now = then = 0
    for mine, others in zip(mesh.facing[upper], mesh.facing[lower], strict=True):
        first = [places[q] for q, item in mine if item != lower]
        if first and others:
            second = [places[q] for q, item in others if item != upper]
            for y in first:
                for z in second:
                    if z < y:
                        now += 1
                    elif y < z:
                        then += 1
    return then < now


def studs(layered: Layered, mesh: Mesh, columns: Order) -> None:
    """Give the studs of each bar the order of what they lead to."""
    bars = [item for item in layered.items if mesh.free[item.index]]
    places = _places(mesh, columns)
    for _ in range(2):
        for item in bars:
            for face in (WEST, EAST):
                pins = item.pins[face]
                slots = sorted(layered.pins[p].y for p in pins)
                want = {p: _aim(layered, mesh, places, p) for p in pins}
                pins.sort(key=lambda p: (want[p], layered.pins[p].y))
                for p, y in zip(pins, slots, strict=True):
                    layered.pins[p].y = y
    for item in bars:
        _move_studs(layered, item.node)


def _aim(layered: Layered, mesh: Mesh, places: Sequence[float], pin: int) -> float:
    ends = []
    for s in layered.pins[pin].segments:
        seg = layered.segments[s]
        q = seg.b if seg.a == pin else seg.a
        here = layered.pins[q]
        ends.append(places[q] + (here.y * 1e-4 if mesh.free[here.item] else 0.0))
    return sum(ends) / len(ends) if ends else 0.0


def _move_studs(layered: Layered, node: int) -> None:
    """Put the ports of a bar's shape where its pins now are."""
    shape = layered.shapes[node]
    ports = []
    for p in shape.ports:
        face = WEST if p.side == "left" else EAST
        exit_ = layered.exits.get((p.terminal, face))
        if exit_ is None:
            ports.append(p)
            continue
        y = layered.pins[exit_.pin].y
        ports.append(p._replace(y=y))
        layered.exits[(p.terminal, face)] = Exit(exit_.pin, ((p.x, y),))
    layered.shapes[node] = shape._replace(ports=tuple(ports))
