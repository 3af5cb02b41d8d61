"""Long drawings folded into bands, one below the other, as a long text is broken into lines.

A fold only changes which column a node stands in and which band it belongs to: runs between bands are routed like any
others, in the room between the bands.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from wiregen.layout.graph import Graph
from wiregen.layout.ranks import Ranks


class Fold(NamedTuple):
    """`column` on paper and `band` (0 at the top) of each node."""

    column: tuple[int, ...]
    band: tuple[int, ...]


def flat(ranks: Ranks) -> Fold:
    """Everything in one band."""
    return Fold(tuple(ranks.column), (0,) * len(ranks.column))


Extent = tuple[float, float]  # from, to

BREAK = 14.0  # what a broken run costs, beside the width of the widest band [mm]


def fold(graph: Graph, ranks: Ranks, extents: Sequence[Extent], bands: int) -> Fold | None:
    """The columns broken into that many bands, none much wider than it must be, where few runs are broken.

    `extents` are from where to where each column reaches in the unfolded drawing. None where there are too few columns.
    """
    count = len(extents)
    if count < bands or bands < 2:
        return None
    broken = _broken(graph, ranks, count)
    # least[k][c]: the best cost of columns 0..c-1 in k bands, as (cost, widest, breaks, last start)
    least: list[list[tuple[float, float, float, int]]] = [[(0.0, 0.0, 0.0, 0)]]
    for k in range(1, bands + 1):
        row: list[tuple[float, float, float, int]] = []
        for c in range(count + 1):
            best = (float("inf"), 0.0, 0.0, 0)
            for start in range(k - 1, c) if k > 1 else range(min(1, c)):
                before = least[k - 1][start if k > 1 else 0]
                widest = max(before[1], extents[c - 1][1] - extents[start][0])
                breaks = before[2] + (broken[start] if start else 0.0)
                option = (widest + BREAK * breaks, widest, breaks, start)
                best = min(best, option)
            row.append(best)
        least.append(row)
    starts: list[int] = []
    c = count
    for k in range(bands, 0, -1):
        starts.append(least[k][c][3])
        c = starts[-1]
    starts.reverse()
    band = [max(k for k in range(bands) if starts[k] <= c) for c in ranks.column]
    _keep(graph, ranks, extents, starts, band)
    return Fold(tuple(c - starts[b] for c, b in zip(ranks.column, band, strict=True)), tuple(band))


WIDER = 1.35  # what hangs on a band by few columns stays there, if the widest band grows to this at most


def _keep(graph: Graph, ranks: Ranks, extents: Sequence[Extent], starts: Sequence[int], band: list[int]) -> None:
    """Leave in its band what a break cuts off from it alone and has room beside it."""
    ends = [*starts[1:], len(extents)]
    widest = max(extents[end - 1][1] - extents[start][0] for start, end in zip(starts, ends, strict=True))
    near: list[list[int]] = [[] for _ in graph.nodes]
    for w in graph.wires:
        a, b = graph.node_of[w.a], graph.node_of[w.b]
        near[a].append(b)
        near[b].append(a)
    for k in range(len(starts) - 1):
        seen = [b <= k for b in band]
        for node in graph.nodes:
            if seen[node.index]:
                continue
            seen[node.index] = True
            piece = [node.index]
            for n in piece:
                for other in near[n]:
                    if not seen[other]:
                        seen[other] = True
                        piece.append(other)
            right = max(extents[ranks.column[n]][1] for n in piece)
            hangs = any(band[other] == k for n in piece for other in near[n])
            if hangs and right - extents[starts[k]][0] <= WIDER * widest:
                for n in piece:
                    band[n] = k


def _broken(graph: Graph, ranks: Ranks, count: int) -> list[int]:
    """For each column, how many runs would be broken between it and the one before; shared trunks count once."""
    crossing: list[set[str]] = [set() for _ in range(count + 1)]
    for w in graph.wires:
        a, b = ranks.column[graph.node_of[w.a]], ranks.column[graph.node_of[w.b]]
        hub = max((w.a, w.b), key=lambda t: (len(graph.wires_at[t]), t))
        for c in range(min(a, b) + 1, max(a, b) + 1):
            crossing[c].add(hub)
    return [len(c) for c in crossing]


def by_rows(graph: Graph, ranks: Ranks) -> Fold | None:
    """The bands that the job asks for with two or more `row` hints; None where it does not."""
    index = {node.id: node.index for node in graph.nodes}
    rows = [h.members for h in graph.job.hints if h.kind == "row" and any(m in index for m in h.members)]
    if len(rows) < 2:
        return None
    band: dict[int, int] = {}
    for k, members in enumerate(rows):
        for member in members:
            if member in index:
                band.setdefault(index[member], k)
    near: list[list[int]] = [[] for _ in graph.nodes]
    for w in graph.wires:
        a, b = graph.node_of[w.a], graph.node_of[w.b]
        near[a].append(b)
        near[b].append(a)
    queue = list(band)
    for n in queue:
        for other in near[n]:
            if other not in band:
                band[other] = band[n]
                queue.append(other)
    bands = [band.get(n, len(rows) - 1) for n in range(len(graph.nodes))]
    first = {b: min(c for c, x in zip(ranks.column, bands, strict=True) if x == b) for b in set(bands)}
    return Fold(tuple(c - first[b] for c, b in zip(ranks.column, bands, strict=True)), tuple(bands))
