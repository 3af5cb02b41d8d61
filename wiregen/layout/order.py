"""The order of the items in each column, from the top: few crossings, and the order of the file where it is free.

Expects a layered graph; returns for each column its items from the top, and orders the studs of bars to match. Sweeps
by the average place of neighbours, forwards and backwards; the best of all orders met is kept (Sugiyama, 1981).
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Sequence
from dataclasses import replace

from wiregen.layout.graph import BARS
from wiregen.layout.items import EAST, WEST, Exit, Layered

Order = list[list[int]]


CHOICE = 6  # orders that are looked at more closely
MORE = 3  # crossings that they may have above the least


def orders(layered: Layered, sweeps: int = 12) -> list[tuple[int, Order]]:
    """Orders with few crossings, and how many: items of each column from the top, at most `CHOICE` orders."""
    found: list[tuple[int, Order]] = []
    least = -1
    for start in (_by_file(layered), _by_walk(layered)):
        columns = [list(c) for c in start]
        places = _places(layered, columns)
        idle = 0
        for sweep in range(sweeps + 1):
            count = crossings(layered, places, columns)
            idle += 1
            if least < 0 or count < least:
                least, idle = count, 0
            if count <= least + MORE and all(columns != other for _, other in found):
                found.append((count, [list(c) for c in columns]))
            if idle > 4 or (count == 0 and sweep >= 3):
                break
            _sweep(layered, columns, places, forward=sweep % 2 == 0)
    best: list[tuple[int, Order]] = []
    for count, columns in sorted((f for f in found if f[0] <= least + MORE), key=lambda f: f[0])[:CHOICE]:
        switched = [list(c) for c in columns]
        variants = [(count, columns)]
        if _switch(layered, switched):
            variants.append((crossings(layered, _places(layered, switched), switched), switched))
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


def _by_walk(layered: Layered) -> Order:
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
            item = layered.items[i]
            columns[item.column].append(i)
            onward = []
            for face in (EAST, WEST):
                for p in item.pins[face]:
                    for s in layered.pins[p].segments:
                        seg = layered.segments[s]
                        other = layered.pins[seg.b if seg.a == p else seg.a].item
                        if not seen[other]:
                            onward.append(other)
            stack.extend(reversed(onward))
    for c in columns:
        c.sort(key=lambda i: layered.items[i].band)
    return columns


def _places(layered: Layered, columns: Order) -> list[float]:
    """Where each pin stands in its column: the item's rank, and a fraction for its place on the item's face."""
    places = [0.0] * len(layered.pins)
    for column in columns:
        _place(layered, column, places)
    return places


def _free(layered: Layered, item: int) -> bool:
    node = layered.items[item].node
    return node >= 0 and layered.graph.nodes[node].kind in BARS


def _place(layered: Layered, column: Sequence[int], places: list[float]) -> None:
    for rank, i in enumerate(column):
        item = layered.items[i]
        low = min((layered.pins[p].y for f in item.pins for p in f), default=0.0)
        span = max((layered.pins[p].y for f in item.pins for p in f), default=0.0) - low
        free = _free(layered, i)
        for face in item.pins:
            for p in face:
                part = 0.5 if free or span == 0 else 0.1 + 0.8 * (layered.pins[p].y - low) / span
                places[p] = rank + part


def _sweep(layered: Layered, columns: Order, places: list[float], *, forward: bool) -> None:
    face = WEST if forward else EAST
    for c in range(layered.columns) if forward else range(layered.columns - 1, -1, -1):
        column = columns[c]
        wanted: dict[int, float] = {}
        for rank, i in enumerate(column):
            total, count = 0.0, 0
            item = layered.items[i]
            for p in item.pins[face]:
                for s in layered.pins[p].segments:
                    seg = layered.segments[s]
                    q = seg.b if seg.a == p else seg.a
                    total += places[q] - (places[p] - rank - 0.5)
                    count += 1
            wanted[i] = total / count if count else -1.0
        _arrange(layered, column, wanted)
        _place(layered, column, places)


def _arrange(layered: Layered, column: list[int], wanted: dict[int, float]) -> None:
    """Sort by the wanted place; items without neighbours there keep the place that they have among the others."""
    held = [i for i in column if wanted[i] >= 0]
    rank = {i: r for r, i in enumerate(column)}
    held.sort(key=lambda i: (layered.items[i].band, round(wanted[i], 6), layered.items[i].tie, rank[i]))
    out: list[int] = []
    rest = iter(held)
    for i in column:
        out.append(i if wanted[i] < 0 else next(rest))
    out.sort(key=lambda i: layered.items[i].band)
    column[:] = out


def crossings(layered: Layered, places: Sequence[float], columns: Order) -> int:
    """Crossings in all channels, as straight lines between pins; two ends on one face count what they enclose."""
    across: list[list[tuple[float, float, int]]] = [[] for _ in range(layered.columns + 1)]
    bows: list[list[tuple[int, float, float]]] = [[] for _ in range(layered.columns + 1)]
    for seg in layered.segments:
        a, b = layered.pins[seg.a], layered.pins[seg.b]
        if a.face == b.face:
            low, high = sorted((places[seg.a], places[seg.b]))
            bows[seg.channel].append((a.face, low, high))
        elif a.face == EAST:
            across[seg.channel].append((places[seg.a], places[seg.b], seg.index))
        else:
            across[seg.channel].append((places[seg.b], places[seg.a], seg.index))
    total = 0
    for channel in range(layered.columns + 1):
        lines = sorted(across[channel])
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
        if bows[channel]:
            near = {EAST: sorted(x[0] for x in lines), WEST: sorted(x[1] for x in lines)}
            for face, low, high in bows[channel]:
                total += bisect_left(near[face], high) - bisect_left(near[face], low + 1e-9)
    return total


def _switch(layered: Layered, columns: Order) -> bool:
    """Exchange neighbours in a column as long as that saves crossings; returns whether it did."""
    places = _places(layered, columns)
    changed = False
    for _ in range(4):
        better = False
        for column in columns:
            for k in range(len(column) - 1):
                a, b = column[k], column[k + 1]
                if layered.items[a].band != layered.items[b].band:
                    continue
                if _between(layered, places, b, a) < _between(layered, places, a, b):
                    column[k], column[k + 1] = b, a
                    better = True
            _place(layered, column, places)
        changed = changed or better
        if not better:
            break
    return changed


def _between(layered: Layered, places: Sequence[float], upper: int, lower: int) -> int:
    """Crossings between the segments of two items if the one stands above the other."""
    total = 0
    for face in (WEST, EAST):
        first = _ends(layered, places, upper, face, lower)
        second = sorted(_ends(layered, places, lower, face, upper))
        total += sum(bisect_left(second, y) for y in first)
    return total


def _ends(layered: Layered, places: Sequence[float], item: int, face: int, without: int) -> list[float]:
    found = []
    for p in layered.items[item].pins[face]:
        for s in layered.pins[p].segments:
            seg = layered.segments[s]
            q = seg.b if seg.a == p else seg.a
            if layered.pins[q].face != face and layered.pins[q].item != without:
                found.append(places[q])
    return found


def studs(layered: Layered, columns: Order) -> None:
    """Give the studs of each bar the order of what they lead to."""
    for _ in range(2):
        places = _places(layered, columns)
        for item in layered.items:
            if not _free(layered, item.index):
                continue
            for face in (WEST, EAST):
                pins = item.pins[face]
                slots = sorted(layered.pins[p].y for p in pins)
                want = {p: _aim(layered, places, p) for p in pins}
                pins.sort(key=lambda p: (want[p], layered.pins[p].y))
                for p, y in zip(pins, slots, strict=True):
                    layered.pins[p].y = y
    for item in layered.items:
        if _free(layered, item.index):
            _move_studs(layered, item.node)


def _aim(layered: Layered, places: Sequence[float], pin: int) -> float:
    ends = []
    for s in layered.pins[pin].segments:
        seg = layered.segments[s]
        q = seg.b if seg.a == pin else seg.a
        here = layered.pins[q]
        ends.append(places[q] + (here.y * 1e-4 if _free(layered, here.item) else 0.0))
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
        ports.append(replace(p, y=y))
        layered.exits[(p.terminal, face)] = Exit(exit_.pin, ((p.x, y),))
    layered.shapes[node] = replace(shape, ports=tuple(ports))
