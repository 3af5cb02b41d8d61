"""Heights: straight runs first, then close together.

Expects the order of the items in each column; guarantees that items of one column keep their order and their distance
(`gap`), so that nothing overlaps, and that as many segments as can are level. The system of distances is solved step
by step: each segment in turn, the most important first, ties its two items together if the others can make way.
"""

from __future__ import annotations

from collections import deque

from wiregen.layout.items import Layered
from wiregen.layout.label import gap
from wiregen.layout.order import Order

PUSHED = 600  # items that may have to make way for one segment to be level; beyond that it is left bent


def place(layered: Layered, columns: Order) -> tuple[list[float], float]:
    """The height of each item's origin [mm], and the weight of what could not be made level."""
    solver = _Heights(layered, columns)
    for seg in sorted(layered.segments, key=lambda s: (-_weight(layered, s.index), s.index)):
        a, b = layered.pins[seg.a], layered.pins[seg.b]
        if a.face != b.face and a.item != b.item:
            solver.tie(a.item, a.y, b.item, b.y)
    solver.settle()
    bent = 0.0
    for seg in layered.segments:
        a, b = layered.pins[seg.a], layered.pins[seg.b]
        if solver.heights[a.item] + a.y != solver.heights[b.item] + b.y:
            bent += _weight(layered, seg.index)
    return solver.heights, bent


def _weight(layered: Layered, segment: int) -> float:
    """How much a segment wants to be level: thick conductors that lead on far, and places passed by, most."""
    seg = layered.segments[segment]
    total = 0.0
    for w in seg.wires:
        wire = layered.graph.wires[w]
        size = 10.0
        if wire.id:
            fact = layered.graph.job.conductors[wire.id].fact("size")
            if fact and fact.measure:
                size = max(0.1, fact.measure.value)
        weight = (5.0 + min(size, 30.0)) * (1.0 + 0.5 * min(layered.reach[w], 8))
        total += weight * (1.0 if wire.net in layered.graph.negative else 1.6)
    if layered.items[layered.pins[seg.a].item].band != layered.items[layered.pins[seg.b].item].band:
        total *= 0.01  # what leads from one band to the other must not bend the bands
    passes = sum(layered.items[layered.pins[p].item].node < 0 for p in (seg.a, seg.b))
    return total * (1.0 + 0.4 * passes)


class _Heights:
    """Heights under distance constraints, with blocks of items that move as one."""

    def __init__(self, layered: Layered, columns: Order) -> None:
        self.layered = layered
        self.columns = columns
        count = len(layered.items)
        self.heights = [0.0] * count
        self.block = list(range(count))
        self.members = [[i] for i in range(count)]
        self.below: list[int] = [-1] * count
        self.above: list[int] = [-1] * count
        self.room: list[float] = [0.0] * count  # least distance to the item below
        for column in columns:
            y = 0.0
            for k, i in enumerate(column):
                if k:
                    j = column[k - 1]
                    self.below[j], self.above[i] = i, j
                    self.room[j] = gap(layered.items[j], layered.items[i])
                    y += self.room[j]
                else:
                    y = -layered.items[i].top
                self.heights[i] = y

    def tie(self, a: int, ya: float, b: int, yb: float) -> bool:
        """Bring two points to one height and keep them there, if nothing prevents it."""
        apart = (self.heights[a] + ya) - (self.heights[b] + yb)
        p, q = self.block[a], self.block[b]
        if p == q:
            return apart == 0
        if apart > 0 and not self._push(q, apart, p):
            return False
        if apart < 0 and not self._push(p, -apart, q):
            return False
        if len(self.members[p]) < len(self.members[q]):
            p, q = q, p
        for i in self.members[q]:
            self.block[i] = p
        self.members[p] += self.members[q]
        self.members[q] = []
        return True

    def _push(self, block: int, far: float, anchor: int) -> bool:
        """Move a block down, and what is in its way, unless the anchor is, or all too much."""
        moves = {block: far}
        todo = deque((block,))
        waiting = {block}
        heights, below, room, block_of = self.heights, self.below, self.room, self.block
        left = PUSHED
        while todo:
            p = todo.popleft()
            waiting.discard(p)
            move = moves[p]
            left -= len(self.members[p])
            if left < 0:
                return False
            for i in self.members[p]:
                j = below[i]
                if j < 0:
                    continue
                q = block_of[j]
                if q == p:
                    continue
                need = heights[i] + move + room[i] - heights[j]
                if need > moves.get(q, 0.0):
                    if q in (anchor, block):
                        return False
                    moves[q] = need
                    if q not in waiting:
                        waiting.add(q)
                        todo.append(q)
        for p, move in moves.items():
            for i in self.members[p]:
                heights[i] += move
        return True

    def settle(self) -> None:
        """Close up towards the top, then let each block find the middle of what it is joined to."""
        blocks = [m for m in self.members if m]
        self._close_up(blocks)
        pulls = self._pulls()
        for turn in range(6):
            by_height = sorted(blocks, key=lambda m: (min(self.heights[i] for i in m), m[0]), reverse=turn % 2 == 0)
            for members in by_height:
                self._relax(members, pulls)

    def _close_up(self, blocks: list[list[int]]) -> None:
        """Every block as high as it can be."""
        heads = {self.block[m[0]]: m for m in blocks}
        waits = dict.fromkeys(heads, 0)
        for p, members in heads.items():
            waits[p] = sum(1 for i in members if self.above[i] >= 0 and self.block[self.above[i]] != p)
        base = {p: min(self.heights[i] for i in m) for p, m in heads.items()}
        ready = [p for p in heads if waits[p] == 0]
        while ready:
            p = ready.pop()
            rise: float | None = None
            for i in heads[p]:
                j = self.above[i]
                if j >= 0 and self.block[j] == p:
                    continue
                limit = self.heights[j] + self.room[j] if j >= 0 else -self.layered.items[i].top
                slack = self.heights[i] - limit
                rise = slack if rise is None else min(rise, slack)
            for i in heads[p]:
                self.heights[i] -= rise or 0.0
            for i in heads[p]:
                j = self.below[i]
                if j >= 0 and self.block[j] != p:
                    q = self.block[j]
                    waits[q] -= 1
                    if waits[q] == 0:
                        ready.append(q)
        del base

    def _pulls(self) -> dict[int, list[tuple[int, float, int, float]]]:
        """For each block the segments that lead out of it: own item and offset, other item and offset."""
        pulls: dict[int, list[tuple[int, float, int, float]]] = {}
        for seg in self.layered.segments:
            a, b = self.layered.pins[seg.a], self.layered.pins[seg.b]
            if self.block[a.item] == self.block[b.item]:
                continue
            pulls.setdefault(self.block[a.item], []).append((a.item, a.y, b.item, b.y))
            pulls.setdefault(self.block[b.item], []).append((b.item, b.y, a.item, a.y))
        return pulls

    def _relax(self, members: list[int], pulls: dict[int, list[tuple[int, float, int, float]]]) -> None:
        own = self.block[members[0]]
        wishes = sorted(self.heights[b] + yb - self.heights[a] - ya for a, ya, b, yb in pulls.get(own, ()))
        if not wishes:
            return
        middle = len(wishes) // 2
        wish = wishes[middle] if len(wishes) % 2 else (
            0.0 if wishes[middle - 1] <= 0 <= wishes[middle]
            else min(wishes[middle - 1], wishes[middle], key=abs)
        )  # fmt: skip
        if wish == 0:
            return
        slack: float | None = None
        for i in members:
            if wish > 0:
                j = self.below[i]
                if j < 0 or self.block[j] == own:
                    continue
                free = self.heights[j] - self.heights[i] - self.room[i]
            else:
                j = self.above[i]
                if j >= 0 and self.block[j] == own:
                    continue
                free = self.heights[i] - (self.heights[j] + self.room[j] if j >= 0 else -self.layered.items[i].top)
            slack = free if slack is None else min(slack, free)
        step = abs(wish) if slack is None else min(abs(wish), slack)
        if step > 0:
            for i in members:
                self.heights[i] += step if wish > 0 else -step
