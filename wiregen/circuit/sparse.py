"""Sparse linear equations of a circuit in plain Python: order once, then factor and solve as often as needed.

The matrix has a symmetric pattern and pivots on its diagonal, as nodal equations do. The order is by least degree,
so that a network that is almost a tree (a vehicle's wiring is) fills in almost nothing.
"""

from __future__ import annotations

from collections.abc import Iterable


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

    __slots__ = ("_below", "_lower", "_place", "_rows", "_steps", "_turn", "_upper", "length", "order", "size")

    def __init__(self, size: int, pairs: Iterable[tuple[int, int]]) -> None:
        self.size = size
        place: list[dict[int, int]] = [{} for _ in range(size)]  # node -> other node -> where their value sits
        at = size
        for i, j in pairs:
            if i != j and j not in place[i]:
                place[i][j] = at
                place[j][i] = at + 1
                at += 2
        live = [set(near) for near in place]
        buckets: list[list[int]] = [[] for _ in range(8)]  # nodes by degree; entries go stale when a degree changes
        for k in range(size - 1, -1, -1):
            _into(buckets, len(live[k]), k)
        done = [False] * size
        order: list[int] = []
        # a node with one or two neighbours, as most of a vehicle's wiring is, in one flat tuple: itself, they, and
        # where the values sit that its elimination reads and changes; of the others only itself, their rows apart
        steps: list[tuple[int, ...]] = []
        rows_of: dict[int, list[tuple[int, list[tuple[int, int]]]]] = {}
        lower: list[tuple[int, list[tuple[int, int]]]] = []
        upper: list[tuple[int, list[tuple[int, int]]]] = []
        least = 0
        while least < len(buckets):
            bucket = buckets[least]
            if not bucket:
                least += 1
                continue
            k = bucket.pop()
            near = live[k]
            if done[k] or len(near) != least:
                continue
            done[k] = True
            order.append(k)
            of_k = place[k]
            if least == 1:
                (i,) = near
                live[i].discard(k)
                degree = len(live[i])
                _into(buckets, degree, i)
                least = min(least, degree)
                low, up = place[i][k], of_k[i]
                steps.append((k, i, low, up))
                lower.append((k, [(i, low)]))
                upper.append((k, [(i, up)]))
                continue
            if least == 2:
                i, j = sorted(near)
                live[i].discard(k)
                live[j].discard(k)
                of_i, of_j = place[i], place[j]
                spot = of_i.get(j)
                if spot is None:
                    spot = of_i[j] = at
                    of_j[i] = at + 1
                    at += 2
                live[i].add(j)
                live[j].add(i)
                for i_or_j in (i, j):
                    degree = len(live[i_or_j])
                    _into(buckets, degree, i_or_j)
                    least = min(least, degree)
                ik, jk, ki, kj = of_i[k], of_j[k], of_k[i], of_k[j]
                steps.append((k, i, j, ik, jk, ki, kj, spot, of_j[i]))
                lower.append((k, [(i, ik), (j, jk)]))
                upper.append((k, [(i, ki), (j, kj)]))
                continue
            neighbours = sorted(near)
            rows: list[tuple[int, list[tuple[int, int]]]] = []
            for i in neighbours:
                mine, of_i = live[i], place[i]
                mine.discard(k)
                updates = []
                for j in neighbours:
                    if i == j:
                        updates.append((of_k[i], i))
                        continue
                    spot = of_i.get(j)
                    if spot is None:
                        spot = of_i[j] = at
                        at += 1
                        mine.add(j)
                    updates.append((of_k[j], spot))
                rows.append((of_i[k], updates))
            for i in neighbours:
                degree = len(live[i])
                _into(buckets, degree, i)
                if degree < least:
                    least = degree
            steps.append((k,))
            rows_of[k] = rows
            lower.append((k, [(i, row[0]) for i, row in zip(neighbours, rows, strict=True)]))
            upper.append((k, [(j, of_k[j]) for j in neighbours]))
        upper.reverse()
        self.order = order
        self.length = at
        self._place = place
        self._steps = steps
        self._rows = rows_of
        self._below: dict[int, list[tuple[int, int]]] | None = None
        self._turn: dict[int, int] = {}
        self._lower = lower
        self._upper = upper

    def place(self, i: int, j: int) -> int:
        """Where the value of (i, j) sits in the flat list."""
        return i if i == j else self._place[i][j]

    def factor(self, values: list[float], floating: float = 0.0, replaced: list[int] | None = None) -> list[float]:
        """Factor the matrix in place; `values` is laid out by `place`, its first `size` entries are the diagonal.

        Returns the same list. A pivot that all but cancels (1e-13 of its diagonal) belongs to nodes without a path to
        a reference: it becomes `floating`, so that a surplus moves them all a little, and is put on the list
        `replaced`. Raises SingularError where `floating` is 0.
        """
        diagonal = values[: self.size]
        for step in self._steps:
            k = step[0]
            pivot = values[k]
            if not abs(pivot) > 1e-13 * abs(diagonal[k]):
                if not floating:
                    raise SingularError(k)
                pivot = values[k] = floating
                if replaced is not None:
                    replaced.append(k)
            kind = len(step)
            if kind == 4:
                _, i, ik, ki = step
                share = values[ik]
                if share:
                    values[ik] = share = share / pivot
                    values[i] -= share * values[ki]
                continue
            if kind == 9:
                _, i, j, ik, jk, ki, kj, ij, ji = step
                to_i, to_j = values[ki], values[kj]
                share = values[ik]
                if share:
                    values[ik] = share = share / pivot
                    values[i] -= share * to_i
                    values[ij] -= share * to_j
                share = values[jk]
                if share:
                    values[jk] = share = share / pivot
                    values[j] -= share * to_j
                    values[ji] -= share * to_i
                continue
            for place, updates in self._rows[k]:
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
        if self._below is None:
            self._below = dict(self._lower)
            self._turn = {k: turn for turn, k in enumerate(self.order)}
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

    def solve_transposed(self, factors: list[float], right: list[float]) -> list[float]:
        """The solution of the transposed equations for one right-hand side (length `size`): one adjoint."""
        x = list(right)
        for k, beyond in reversed(self._upper):
            value = x[k] = x[k] / factors[k]
            if value:
                for j, place in beyond:
                    x[j] -= factors[place] * value
        for k, below in reversed(self._lower):
            value = x[k]
            for i, place in below:
                value -= factors[place] * x[i]
            x[k] = value
        return x


def _into(buckets: list[list[int]], degree: int, node: int) -> None:
    while degree >= len(buckets):
        buckets.append([])
    buckets[degree].append(node)
