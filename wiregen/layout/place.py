"""Heights: straight runs first, then close together.

Expects the order of the items in each column; guarantees that items of one column keep their order and their distance
(`gap`), so that nothing overlaps, and that as many segments as can are level. The system of distances is solved step
by step: each segment in turn, the most important first, ties its two ends together if the others can make way. The
studs of a busbar keep their order and their pitch at least: the bar grows with them.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from typing import NamedTuple

from wiregen.layout.items import EAST, WEST, Exit, Layered
from wiregen.layout.label import gap, stud_gap
from wiregen.layout.order import Order

PUSHED = 600  # items that may have to make way for one segment to be level; beyond that it is left bent


class Heights(NamedTuple):
    """Of the items' origins; of the studs of busbars by pin; and what could not be made level, by weight. [mm]"""

    items: list[float]
    studs: dict[int, float]
    bent: float


def weights(layered: Layered) -> list[float]:
    """How much each segment wants to be level."""
    return [_weight(layered, seg.index) for seg in layered.segments]


def place(layered: Layered, columns: Order, weight: Sequence[float]) -> Heights:
    """The height of each item's origin and of each stud, and the weight of what could not be made level."""
    solver = _Solver(layered, columns)
    for seg in sorted(layered.segments, key=lambda s: (-weight[s.index], s.index)):
        a, b = layered.pins[seg.a], layered.pins[seg.b]
        if a.face != b.face and a.item != b.item:
            solver.tie(*solver.spot[seg.a], *solver.spot[seg.b])
    solver.settle()
    bent = 0.0
    for seg in layered.segments:
        if solver.height(seg.a) != solver.height(seg.b):
            bent += weight[seg.index]
    return solver.found(bent)


def stretch(layered: Layered, heights: Heights) -> None:
    """Draw each busbar as long as its studs, which stand level with what they lead to, ask for."""
    for i in dict.fromkeys(layered.pins[p].item for p in heights.studs):
        item = layered.items[i]
        shape = layered.shapes[item.node]
        moved: list[list[tuple[float, float]]] = [[], []]  # by side: where studs were, and are
        for face in (WEST, EAST):
            for p in item.pins[face]:
                pin = layered.pins[p]
                was, pin.y = pin.y, heights.studs[p] - heights.items[i]
                moved[face].append((was, pin.y))
        ports = []
        for port in shape.ports:
            face = WEST if port.side == "left" else EAST
            port = port._replace(y=_shifted(port.y, moved[face]))
            exit_ = layered.exits.get((port.terminal, face))
            if exit_:
                layered.exits[port.terminal, face] = Exit(exit_.pin, ((port.x, port.y),))
            ports.append(port)
        longer = max(p.y for p in ports) - max(p.y for p in shape.ports)
        layered.shapes[item.node] = shape._replace(height=shape.height + longer, ports=tuple(ports))


def _shifted(y: float, moved: list[tuple[float, float]]) -> float:
    """Where a stud is that was at y: one that nothing is joined to keeps to the one above it, or else below."""
    above = [(was, now) for was, now in moved if was <= y] or moved[:1]
    return y - above[-1][0] + above[-1][1] if above else y


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


class _Solver:
    """Heights under distance constraints, with blocks of points that move as one.

    A point is an item's origin (numbered as the item), or a stud of a busbar (numbered on from there): the studs on
    either side of a bar keep their order and their pitch, and the bar grows with them.
    """

    def __init__(self, layered: Layered, columns: Order) -> None:
        self.layered = layered
        self.heights = [0.0] * len(layered.items)
        self.least = [0.0] * len(layered.items)  # for the first of a column: no higher than this
        self.below: list[list[tuple[int, float]]] = [[] for _ in layered.items]  # point, least distance to it
        self.above: list[list[tuple[int, float]]] = [[] for _ in layered.items]
        self.spot = [(pin.item, pin.y) for pin in layered.pins]  # of each pin: point, how far below it
        self.bars: dict[int, list[tuple[int, float]]] = {}  # item -> the upper stud on each side, from the bar's top
        for column in columns:
            before: list[tuple[int, float]] = []  # the lowest points of the item before, and where they are in it
            for k, i in enumerate(column):
                item = layered.items[i]
                upper = layered.items[column[k - 1]]
                room = gap(upper, item) if k else 0.0
                rooms = [
                    (j, max(room - down, stud_gap(upper, item)) if j >= len(layered.items) else room - down)
                    for j, down in before
                ]
                origin = max(self.heights[j] + far for j, far in rooms) if rooms else -item.top
                first, last = self._points(i, origin)
                for j, down in first:
                    if not rooms:
                        self.least[j] = origin + down
                    for other, far in rooms:
                        self._keep(other, j, far + down)
                before = last
        self.block = list(range(len(self.heights)))
        self.members = [[i] for i in range(len(self.heights))]

    def _points(self, i: int, origin: float) -> tuple[list[tuple[int, float]], list[tuple[int, float]]]:
        """The points of an item that bound it above and below, each with its place in the item."""
        item = self.layered.items[i]
        self.heights[i] = origin
        sides = [face for face in item.pins if face]
        if item.node < 0 or self.layered.graph.nodes[item.node].kind != "busbar" or max(map(len, sides), default=0) < 2:
            return [(i, 0.0)], [(i, 0.0)]
        pins, ports = self.layered.pins, self.layered.shapes[item.node].ports
        first, last = [], []
        for face in sides:
            for k, p in enumerate(face):
                self.spot[p] = (len(self.heights), 0.0)
                self.heights.append(origin + pins[p].y)
                self.least.append(0.0)
                self.below.append([])
                self.above.append([])
                if k:
                    self._keep(self.spot[face[k - 1]][0], self.spot[p][0], pins[p].y - pins[face[k - 1]].y)
            first.append((self.spot[face[0]][0], pins[face[0]].y))
            side = "left" if pins[face[0]].face == WEST else "right"
            over = max(p.y for p in ports) - max(p.y for p in ports if p.side == side)  # of the other side
            last.append((self.spot[face[-1]][0], pins[face[-1]].y + over))
        if len(sides) == 1:  # studs that nothing is joined to stand where they stood, on the other side
            last += first
        self.bars[i] = first
        return first, last

    def _keep(self, upper: int, lower: int, room: float) -> None:
        self.below[upper].append((lower, room))
        self.above[lower].append((upper, room))

    def height(self, pin: int) -> float:
        """Where runs land on a pin."""
        point, y = self.spot[pin]
        return self.heights[point] + y

    def found(self, bent: float) -> Heights:
        """The answer."""
        items = self.heights[: len(self.layered.items)]
        studs: dict[int, float] = {}
        for i, first in self.bars.items():
            items[i] = min(self.heights[j] - down for j, down in first)
            studs.update((p, self.height(p)) for face in self.layered.items[i].pins for p in face)
        return Heights(items, studs, bent)

    def tie(self, a: int, ya: float, b: int, yb: float) -> bool:
        """Bring two places to one height and keep them there, if nothing prevents it."""
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
        heights, below, block_of = self.heights, self.below, self.block
        left = PUSHED
        while todo:
            p = todo.popleft()
            waiting.discard(p)
            move = moves[p]
            left -= len(self.members[p])
            if left < 0:
                return False
            for i in self.members[p]:
                for j, room in below[i]:
                    q = block_of[j]
                    if q == p:
                        continue
                    need = heights[i] + move + room - heights[j]
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
        blocks = [m for m in self.members if m and m[0] not in self.bars]
        self._close_up(blocks)
        pulls = self._pulls()
        heights = self.heights.__getitem__
        for turn in range(6):
            by_height = sorted(blocks, key=lambda m: (min(map(heights, m)), m[0]), reverse=turn % 2 == 0)
            if not sum([self._relax(members, pulls) for members in by_height]):
                break  # all stand where they want to, or can

    def _close_up(self, blocks: list[list[int]]) -> None:
        """Every block as high as it can be."""
        heads = {self.block[m[0]]: m for m in blocks}
        waits = {p: sum(self.block[j] != p for i in m for j, _ in self.above[i]) for p, m in heads.items()}
        ready = [p for p in heads if waits[p] == 0]
        while ready:
            p = ready.pop()
            rise = min((slack for i in heads[p] if (slack := self._slack_above(i, p)) is not None), default=0.0)
            for i in heads[p]:
                self.heights[i] -= rise
            for i in heads[p]:
                for j, _ in self.below[i]:
                    q = self.block[j]
                    if q != p:
                        waits[q] -= 1
                        if waits[q] == 0:
                            ready.append(q)

    def _slack_above(self, i: int, own: int) -> float | None:
        """How far a point may rise; None where only its own block is above it."""
        here = self.heights[i]
        if not self.above[i]:
            return here - self.least[i]
        rooms = [here - self.heights[j] - room for j, room in self.above[i] if self.block[j] != own]
        return min(rooms) if rooms else None

    def _pulls(self) -> dict[int, list[tuple[int, float, int, float]]]:
        """For each block the segments that lead out of it: own point and offset, other point and offset."""
        pulls: dict[int, list[tuple[int, float, int, float]]] = {}
        for seg in self.layered.segments:
            (a, ya), (b, yb) = self.spot[seg.a], self.spot[seg.b]
            if self.block[a] == self.block[b]:
                continue
            pulls.setdefault(self.block[a], []).append((a, ya, b, yb))
            pulls.setdefault(self.block[b], []).append((b, yb, a, ya))
        return pulls

    def _relax(self, members: list[int], pulls: dict[int, list[tuple[int, float, int, float]]]) -> bool:
        """Move a block towards the middle of what it is joined to, as far as it is free; returns whether it moved."""
        heights, block = self.heights, self.block
        own = block[members[0]]
        wishes = sorted([heights[b] + yb - heights[a] - ya for a, ya, b, yb in pulls.get(own, ())])
        if not wishes:
            return False
        middle = len(wishes) // 2
        wish = wishes[middle] if len(wishes) % 2 else (
            0.0 if wishes[middle - 1] <= 0 <= wishes[middle]
            else min(wishes[middle - 1], wishes[middle], key=abs)
        )  # fmt: skip
        if wish == 0:
            return False
        step = abs(wish)
        for i in members:
            if wish > 0:
                for j, room in self.below[i]:
                    if (free := heights[j] - heights[i] - room) < step and block[j] != own:
                        step = free
            elif (slack := self._slack_above(i, own)) is not None and slack < step:
                step = slack
            if step <= 0:
                return False
        for i in members:
            heights[i] += step if wish > 0 else -step
        return True
