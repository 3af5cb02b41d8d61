"""Long drawings folded into bands, one below the other, as a long text is broken into lines.

A fold only changes which column a node stands in and which band it belongs to: runs between bands are routed like any
others, in the room between the bands.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wiregen.layout.graph import Graph
from wiregen.layout.ranks import Ranks


@dataclass(frozen=True, slots=True)
class Fold:
    """`column` on paper and `band` (0 at the top) of each node."""

    column: tuple[int, ...]
    band: tuple[int, ...]


def flat(ranks: Ranks) -> Fold:
    """Everything in one band."""
    return Fold(tuple(ranks.column), (0,) * len(ranks.column))


def fold(graph: Graph, ranks: Ranks, middles: Sequence[float], bands: int) -> Fold | None:
    """The columns broken into that many bands of about one width, where few runs are broken; None if it cannot be.

    `middles` are the places of the columns in the unfolded drawing. [mm]
    """
    count = max(ranks.column, default=0) + 1
    if count < bands or bands < 2 or len(middles) < count:
        return None
    broken = [0.0] * (count + 1)
    for w in graph.wires:
        a, b = sorted((ranks.column[graph.node_of[w.a]], ranks.column[graph.node_of[w.b]]))
        for c in range(a + 1, b + 1):
            broken[c] += 1.0
    width = middles[count - 1] - middles[0] + 30.0
    starts = [0]
    for k in range(1, bands):
        aim = middles[0] + width * k / bands
        window = width / bands * 0.25
        every = range(starts[-1] + 1, count - (bands - 1 - k))
        free = [c for c in every if abs(middles[c] - aim) <= window] or list(every)
        if not free:
            return None
        starts.append(min(free, key=lambda c: (broken[c] + 4.0 * abs(middles[c] - aim) / window, c)))
    band = [max(k for k in range(bands) if starts[k] <= c) for c in ranks.column]
    return Fold(tuple(c - starts[b] for c, b in zip(ranks.column, band, strict=True)), tuple(band))


def by_rows(graph: Graph, ranks: Ranks) -> Fold | None:
    """The bands that the job asks for with two or more `row` hints; None where it does not."""
    rows = [hint.members for hint in graph.job.hints if hint.kind == "row"]
    if len(rows) < 2:
        return None
    index = {node.id: node.index for node in graph.nodes}
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
