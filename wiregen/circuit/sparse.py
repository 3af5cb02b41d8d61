"""Sparse linear equations of a circuit in plain Python: order once, then factor and solve as often as needed.

The matrix has a symmetric pattern and pivots on its diagonal, as nodal equations do. The order is by least degree,
so that a network that is almost a tree (a vehicle's wiring is) fills in almost nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from heapq import heapify, heappop, heappush


class SingularError(ArithmeticError):
    """A pivot is zero: `node` cannot be solved for."""

    def __init__(self, node: int) -> None:
        super().__init__(f"node {node} has no path to a reference")
        self.node = node


class Plan:
    """The order of elimination of one pattern and where each value sits in a flat list.

    size : number of nodes, numbered from 0
    pairs : node pairs (i, j) that are coupled, in any order, repeats allowed
    """

    __slots__ = ("_below", "_lower", "_steps", "_turn", "_upper", "index", "length", "order", "size")

    def __init__(self, size: int, pairs: Iterable[tuple[int, int]]) -> None:
        self.size = size
        around: list[set[int]] = [set() for _ in range(size)]
        for i, j in pairs:
            if i != j:
                around[i].add(j)
                around[j].add(i)
        index: dict[tuple[int, int], int] = {(i, i): i for i in range(size)}
        at = size
        for i in range(size):
            for j in around[i]:
                index[i, j] = at
                at += 1
        heap = [(len(near), i) for i, near in enumerate(around)]
        heapify(heap)
        done = [False] * size
        order: list[int] = []
        steps: list[tuple[int, list[tuple[int, list[tuple[int, int]]]]]] = []
        lower: list[tuple[int, list[tuple[int, int]]]] = []
        upper: list[tuple[int, list[tuple[int, int]]]] = []
        while heap:
            degree, k = heappop(heap)
            near = around[k]
            if done[k] or degree != len(near):
                continue
            done[k] = True
            order.append(k)
            neighbours = sorted(near)
            rows: list[tuple[int, list[tuple[int, int]]]] = []
            for i in neighbours:
                mine = around[i]
                mine.discard(k)
                updates = []
                for j in neighbours:
                    place = index.get((i, j))
                    if place is None:
                        place = index[i, j] = at
                        at += 1
                        mine.add(j)
                    updates.append((index[k, j], place))
                rows.append((index[i, k], updates))
            for i in neighbours:
                heappush(heap, (len(around[i]), i))
            steps.append((k, rows))
            lower.append((k, [(i, index[i, k]) for i in neighbours]))
            upper.append((k, [(j, index[k, j]) for j in neighbours]))
        upper.reverse()
        self.order = order
        self.index = index
        self.length = at
        self._steps = steps
        self._below = dict(lower)
        self._turn = {k: turn for turn, k in enumerate(order)}
        self._lower = lower
        self._upper = upper

    def factor(
        self, values: list[float], floating: float = 0.0, replaced: list[int] | None = None
    ) -> list[float]:
        """Factor the matrix in place; `values` is laid out by `index`, its first `size` entries are the diagonal.

        Returns the same list. A pivot that all but cancels (1e-13 of its diagonal) belongs to nodes without a path to
        a reference: it becomes `floating`, so that a surplus moves them all a little, and is put on the list
        `replaced`. Raises SingularError where `floating` is 0.
        """
        diagonal = values[: self.size]
        for k, rows in self._steps:
            pivot = values[k]
            if not abs(pivot) > 1e-13 * abs(diagonal[k]):
                if not floating:
                    raise SingularError(k)
                pivot = values[k] = floating
                if replaced is not None:
                    replaced.append(k)
            for place, updates in rows:
                share = values[place]
                if share:
                    share /= pivot
                    values[place] = share
                    for source, target in updates:
                        values[target] -= share * values[source]
        return values

    def column(self, factors: list[float], node: int) -> dict[int, float]:
        """Forward elimination of a unit current at one node: what reaches each node on its way to the root.

        For a symmetric matrix the entry (s, t) of the inverse is the sum over the nodes k that both columns reach of
        column_s[k] * column_t[k] / pivot[k]. The way to the root is short, so that each entry is cheap (the selected
        inverse; cf. A. M. Erisman, W. F. Tinney, 1975, which computes the same entries from the top).
        """
        found = {node: 1.0}
        below, turn = self._below, self._turn
        at: int | None = node
        while at is not None:
            value = found[at]
            nearest = None
            for i, place in below[at]:
                found[i] = found.get(i, 0.0) - factors[place] * value
                if nearest is None or turn[i] < turn[nearest]:
                    nearest = i
            at = nearest
        return found

    def solve(self, factors: list[float], right: list[float]) -> list[float]:
        """The solution for one right-hand side (length `size`), which is left as it is."""
        x = list(right)
        for k, below in self._lower:
            value = x[k]
            if value:
                for i, place in below:
                    x[i] -= factors[place] * value
        for k, beyond in self._upper:
            value = x[k]
            for j, place in beyond:
                value -= factors[place] * x[j]
            x[k] = value / factors[k]
        return x
