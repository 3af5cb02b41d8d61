"""Which parts share a sheet where a job does not fit on one.

A sheet is a set of nodes that is laid out by the same stages as a whole job (`continuation.extract`), so dividing comes
before any layout and knows only the graph:

1. What is joined metal to metal is one unit, for links are never cut, and so are loads with the one thing that they
   hang on: a block that fits with its loads on no such sheet had better stand on a larger one than be torn from them.
   The job's own `sheet` hints come first of all.
2. Units grow together along what binds them most (a load to the block that feeds it, short leads before long ones,
   the two sides of a connector and the feeds of bars and blocks last), as long as they are likely to fit on the paper.
3. Each group is laid out. One that does not fit after all is divided again with less room; then small groups are put
   together wherever the two still fit, so that no sheet is nearly empty.
4. Sheets are numbered in the order of the flow, from sources to loads.

Earth points stand wherever a lead to them ends, so they bind nothing.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from wiregen.layout.continuation import LOADS, shared
from wiregen.layout.graph import BARS, SOURCES, Graph, Node, Sets
from wiregen.layout.shapes import Style, shape_of

LETTERING = (28.0, 8.0)  # what the lettering beside and between parts adds to each [mm]
LONG, SHORT = 2.5, 0.5  # conductors that are cut rather than others, and rather not [m]
PITCH, NAMED = 12.0, 20.0  # what a stud with a load takes of a bar's height, and what its name and ends do [mm]
AGAIN = 0.8  # the room that is tried next where a group did not fit after all
STUB = 400.0  # what a cut conductor takes of a sheet [mm2]
TRIES = 3  # partners that a small group is tried with
MOST = 0.7  # of the units, that grow together beyond the room at most
FULL = 0.95  # of a sheet, that two groups must not take more of to be tried together

Fits = Callable[[Sequence[int]], float | None]  # the part of the sheet that nodes take, None where they do not fit


class Wished(NamedTuple):
    """What a `sheet` hint asks for: the number it is to have (0: none said), its title, the nodes on it."""

    number: int
    title: str
    nodes: tuple[int, ...]


def wished(graph: Graph) -> tuple[Graph, list[Wished]]:
    """What the job's `sheet` hints ask for. A box of which only some leads are named is parted: those terminals stand
    on the sheet of their own, the others where they would; the graph that comes back has a node for each."""
    taken: set[int] = set()
    out: list[Wished] = []
    for hint in graph.job.hints:
        if hint.kind != "sheet":
            continue
        graph, nodes = _named(graph, set(hint.members), taken)
        taken |= nodes
        if nodes:
            out.append(Wished(int(hint.number) if hint.number.isdigit() else 0, hint.title, tuple(sorted(nodes))))
    return graph, out


def _named(graph: Graph, members: set[str], taken: set[int]) -> tuple[Graph, set[int]]:
    """The nodes that a hint's members put on its sheet; a part whose leads are all elsewhere's stays there."""
    earths = shared(graph)
    nodes: set[int] = set()
    for node in list(graph.nodes):
        part = node.part
        if node.index in earths or node.index in taken:
            continue
        if node.id not in members and not (part and any(f in members for f in _fuses(graph, node))):
            if part is None and any(graph.wires[w].id in members for t in node.terminals for w in graph.wires_at[t]):
                nodes.add(node.index)
            continue
        wires = {t: [graph.wires[w].id for w in graph.wires_at[t]] for t in node.terminals}
        ours = [t for t in node.terminals if wires[t] and all(w in members for w in wires[t])]
        others = [t for t in node.terminals if wires[t] and t not in ours]
        if not others or not any(w in members for found in wires.values() for w in found):
            nodes.add(node.index)
        elif ours and part and shape_of(part, graph.job).symbol in ("box", "busbar"):
            graph = parted(graph, node.index, ours)
            nodes.add(len(graph.nodes) - 1)
    return graph, nodes


def _fuses(graph: Graph, node: Node) -> list[str]:
    return [p.id for p in graph.job.parts.values() if p.block == node.id] if node.kind == "fuse-block" else []


def parted(graph: Graph, index: int, terminals: Sequence[str]) -> Graph:
    """The graph with some terminals of a part on a node of their own, the last one."""
    node = graph.nodes[index]
    assert node.part is not None
    kept = [t for t in node.terminals if t not in terminals]
    more = node.elsewhere + 1
    nodes = [replace(n, elsewhere=more) if n.id == node.id else n for n in graph.nodes]
    nodes[index] = replace(nodes[index], part=replace(node.part, terminals=tuple(kept)), terminals=kept)
    part = replace(node.part, terminals=tuple(terminals))
    nodes.append(Node(len(nodes), node.id, node.kind, part, list(terminals), elsewhere=more))
    node_of = {t: len(nodes) - 1 if t in terminals else n for t, n in graph.node_of.items()}
    return replace(graph, nodes=nodes, node_of=node_of)


def short_bars(graph: Graph, height: float) -> Graph:
    """The graph with every bar parted that is higher than a sheet, its studs in the order of their mention."""
    most = max(int((height - NAMED) / PITCH), 2)
    for node in list(graph.nodes):
        wired = [t for t in node.terminals if graph.wires_at[t]]
        if node.kind != "busbar" or len(wired) <= most:
            continue
        count = -(-len(wired) // most)
        each = -(-len(wired) // count)
        for start in range(each, len(wired), each):
            graph = parted(graph, node.index, wired[start : start + each])
    return graph


def divide(graph: Graph, among: Iterable[int], room: float, fits: Fits) -> list[list[int]]:
    """Groups of nodes, each for one sheet; only a group that cannot be cut any more may not fit.

    `room` is what a sheet has for its diagram, in the rough measure of `_size` [mm2].
    """
    groups = _divided(_Units(graph, sorted(set(among) - shared(graph))), room, fits)
    return _packed(_Units(graph, sorted(n for g in groups for n in g)), groups, fits)


def _divided(units: _Units, room: float, fits: Fits) -> list[list[int]]:
    out = []
    for group in units.groups(room):
        nodes = units.nodes(group)
        if len(group) == 1 or fits(nodes) is not None:
            out.append(nodes)
        else:
            less = min(room, units.area(group)) * AGAIN
            out += _divided(_Units(units.graph, nodes), less, fits)
    return out


class _Units:
    """Nodes that cannot be parted, how large each is, and what binds them."""

    def __init__(self, graph: Graph, nodes: Sequence[int]) -> None:
        self.graph = graph
        sets = Sets()
        inside = set(nodes)
        for wire in graph.wires:
            a, b = graph.node_of[wire.a], graph.node_of[wire.b]
            if wire.link and a in inside and b in inside:
                sets.join(str(min(a, b)), str(max(a, b)))
        earths = shared(graph)
        for n in nodes:
            if graph.nodes[n].kind in LOADS:
                near = {m for m in _near(graph, n) if m not in earths}
                hubs = {sets.top(str(m)) for m in near}
                if len(hubs) == 1 and near <= inside:
                    sets.join(hubs.pop(), str(n))
        found: dict[str, list[int]] = {}
        for n in nodes:
            found.setdefault(sets.top(str(n)), []).append(n)
        self.units = list(found.values())
        self.unit_of = {n: u for u, unit in enumerate(self.units) for n in unit}
        self.size = [sum(_size(graph, n) for n in unit) for unit in self.units]
        self.tie: list[dict[int, float]] = [{} for _ in self.units]
        self.wires: list[dict[int, int]] = [{} for _ in self.units]
        self.out = [0] * len(self.units)  # conductors to anything else
        for wire in graph.wires:
            ends = graph.node_of[wire.a], graph.node_of[wire.b]
            if earths & set(ends):
                continue
            a, b = (self.unit_of.get(n, -1) for n in ends)
            if a == b:
                continue
            for one, other in ((a, b), (b, a)):
                if one >= 0:
                    self.out[one] += 1
                    if other >= 0:
                        self.tie[one][other] = self.tie[one].get(other, 0.0) + _strength(graph, wire.index)
                        self.wires[one][other] = self.wires[one].get(other, 0) + 1

    def nodes(self, group: Iterable[int]) -> list[int]:
        """The nodes of a group of units, in the order of the file."""
        return sorted(n for u in group for n in self.units[u])

    def area(self, group: Iterable[int]) -> float:
        """Roughly what a group takes of a sheet. [mm2]"""
        members = set(group)
        cut = sum(self.out[u] - sum(k for v, k in self.wires[u].items() if v in members) for u in members)
        return sum(self.size[u] for u in members) + STUB * cut

    def groups(self, room: float) -> list[list[int]]:
        """Units grown together: what is bound most first, small before large, none beyond the room.

        A block and its many loads are together smaller than the block with all its leads cut, so that they may be
        beyond it, yet not all of the units at once: they are divided because they do not fit.
        """
        most = MOST * len(self.units)
        members = {u: [u] for u in range(len(self.units))}
        size, out = dict(enumerate(self.size)), dict(enumerate(self.out))
        tie = {u: dict(t) for u, t in enumerate(self.tie)}
        count = {u: dict(t) for u, t in enumerate(self.wires)}
        heap: list[tuple[float, int, int]] = []

        def offer(a: int, b: int) -> None:
            heapq.heappush(heap, (-tie[a][b] / (size[a] * size[b]) ** 0.5, min(a, b), max(a, b)))

        for u, ties in tie.items():
            for v in ties:
                if u < v:
                    offer(u, v)
        new = len(self.units)
        while heap:
            _, a, b = heapq.heappop(heap)
            if a not in members or b not in members:
                continue
            left = out[a] + out[b] - 2 * count[a][b]
            whole = size[a] + size[b] + STUB * left
            smaller = whole <= max(size[k] + STUB * out[k] for k in (a, b))  # what is cut less takes less
            if whole > room and not (smaller and len(members[a]) + len(members[b]) <= most):
                continue
            members[new] = members.pop(a) + members.pop(b)
            size[new], out[new] = size[a] + size[b], left
            tie[new], count[new] = {}, {}
            for old in (a, b):
                for v, strength in tie.pop(old).items():
                    if v not in (a, b):
                        tie[new][v] = tie[new].get(v, 0.0) + strength
                        count[new][v] = count[new].get(v, 0) + count[old][v]
            for v in tie[new]:
                tie[v].pop(a, None), tie[v].pop(b, None)
                tie[v][new], count[v][new] = tie[new][v], count[new][v]
                offer(v, new)
            new += 1
        return [sorted(group) for group in members.values()]


def _near(graph: Graph, index: int) -> Iterator[int]:
    """The nodes that a node's wires lead to."""
    for t in graph.nodes[index].terminals:
        for w in graph.wires_at[t]:
            yield from (graph.node_of[end] for end in (graph.wires[w].a, graph.wires[w].b) if end != t)


def _packed(units: _Units, groups: list[list[int]], fits: Fits) -> list[list[int]]:
    """Small groups put together, with those that they are joined to first."""
    found = {k: sorted({units.unit_of[n] for n in group}) for k, group in enumerate(groups)}
    taken = {k: fits(group) or 1.0 for k, group in enumerate(groups)}
    settled: set[int] = set()
    while True:
        open_ = [k for k in found if k not in settled]
        if not open_:
            return [units.nodes(group) for group in found.values()]
        small = min(open_, key=lambda k: (taken[k], k))
        inside = set(found[small])
        choice = []
        for k, group in found.items():
            if k != small and taken[k] + taken[small] <= FULL:
                bound = sum(tie for u in group for v, tie in units.tie[u].items() if v in inside)
                choice.append((-bound, taken[k], k))
        for _, _, k in sorted(choice)[:TRIES]:
            both = sorted(found[k] + found[small])
            share = fits(units.nodes(both))
            if share is not None:
                found[k], taken[k] = both, share
                del found[small], taken[small]
                settled.discard(k)
                break
        else:
            settled.add(small)


def _size(graph: Graph, index: int) -> float:
    """Roughly what a node takes of a sheet, its lettering and half of each run included. [mm2]"""
    node = graph.nodes[index]
    if node.part is None:
        return 200.0
    if node.kind in BARS:
        return 35.0 * max(Style().row * sum(len(graph.wires_at[t]) > 0 for t in node.terminals), 10.0) / 2
    shape = shape_of(node.part, graph.job)
    return (shape.width + LETTERING[0]) * (shape.height + LETTERING[1])


def _strength(graph: Graph, index: int) -> float:
    """What a conductor binds: natural places to cut bind less."""
    wire = graph.wires[index]
    conductor = graph.job.conductors[wire.id]
    kinds = {graph.nodes[graph.node_of[t]].kind for t in (wire.a, wire.b)}
    length = conductor.number("length")
    strength = 1.0
    if kinds & LOADS:
        strength *= 2.0
    elif kinds & {"connector", "plug", "socket", "busbar", "fuse-block"}:
        strength *= 0.6
    if length is not None:
        strength *= 0.7 if length >= LONG else 1.4 if length <= SHORT else 1.0
    return strength


def in_order(graph: Graph, groups: Sequence[Sequence[int]], column: Sequence[int]) -> list[int]:
    """The groups by number: the one with the job's first source, then in the order of the flow."""
    sources = [n.index for n in graph.nodes if n.kind == "battery"] or [
        n.index for n in graph.nodes if n.kind in SOURCES
    ]

    def place(k: int) -> tuple[bool, float, int]:
        group = groups[k]
        return not set(sources[:1]) & set(group), sum(column[n] for n in group) / len(group), min(group)

    return sorted(range(len(groups)), key=place)
