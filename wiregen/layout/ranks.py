"""Which column each node stands in: sources left, loads right.

Expects a graph; guarantees a column of 0 or more for every node, every column in use. Any columns would give a valid
drawing (routing does not need them to be acyclic): these make it read from source to load.
"""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

from wiregen.layout.graph import BARS, CONVERTERS, PASSES, SINKS, SOURCES, Graph, local_name
from wiregen.layout.shapes import can_stand


class Ranks(NamedTuple):
    """`column` of each node; `upright` loads stand between the rails, all others lie along the run.

    `reach` is how many columns the flow goes on for beyond each node: what reaches furthest is the trunk.
    """

    column: list[int]
    upright: set[int]
    reach: list[int]


def rank(graph: Graph) -> Ranks:
    """Columns by the longest path of the flow of current, negative-side nodes beside what they serve."""
    count = len(graph.nodes)
    combs = _combs(graph)
    upright = _upright(graph, combs)
    arcs = _arcs(graph, combs, upright)
    column, reach = _longest(count, arcs)
    placed = {n for arc in arcs for n in arc}
    _place_rest(graph, column, placed)
    used = sorted(set(column))
    place = {c: i for i, c in enumerate(used)}
    return Ranks([place[c] for c in column], upright, reach)


def _other(graph: Graph, wire: int, node: int) -> int:
    w = graph.wires[wire]
    a, b = graph.node_of[w.a], graph.node_of[w.b]
    return b if a == node else a


def _combs(graph: Graph) -> set[int]:
    """Bars on the negative side that mostly collect returns of loads: they stand to the right of the loads."""
    combs = set()
    for node in graph.nodes:
        if node.kind not in BARS:
            continue
        ends = [(w, t) for t in node.terminals for w in graph.wires_at[t]]
        if not ends or not all(graph.wires[w].net in graph.negative for w, _ in ends):
            continue
        loads = sum(graph.nodes[_other(graph, w, node.index)].kind in ("load", "lamp", "sensor") for w, _ in ends)
        if 2 * loads > len(ends):
            combs.add(node.index)
    return combs


def _upright(graph: Graph, combs: set[int]) -> set[int]:
    """Loads whose return runs back beside their feed; the others lie along the run and end in an earth or a comb."""
    stand = set()
    for node in graph.nodes:
        if node.part is None or not can_stand(node.part):
            continue
        minus = node.terminals[1]
        ends = {_other(graph, w, node.index) for w in graph.wires_at[minus]}
        ends |= {_other(graph, w, e) for e in ends if graph.nodes[e].kind in PASSES
                 for t in graph.nodes[e].terminals for w in graph.wires_at[t]} - {node.index}  # fmt: skip
        through = not ends or any(
            graph.nodes[e].kind in ("earth", "fuse-block", "loose", "capped", "continuation")
            or e in combs
            or e == node.index
            for e in ends
        )
        if not through and graph.wires_at[node.terminals[0]]:
            stand.add(node.index)
    return stand


def _role(graph: Graph, terminal: str) -> str:
    """Whether current leaves a part at a terminal (`out`), enters it (`in`), or may do either (``)."""
    node = graph.nodes[graph.node_of[terminal]]
    name = local_name(node.part, terminal)
    if graph.net_of[terminal] in graph.negative and node.kind == "battery":
        return "out"
    if node.kind == "alternator":
        return "out"
    if node.kind in SOURCES and name not in ("-", "out.-", "sense"):
        return "out"
    if node.kind in SINKS:
        return "in"
    if node.kind in CONVERTERS:
        if name.startswith(("in", "solar")) or name == "trigger":
            return "in"
        if name.startswith("out") or name == "indicator":
            return "out"
    if node.kind == "fuse-block":
        return "in" if name in ("in", "-") else "out"
    if node.kind in ("loose", "capped", "continuation"):
        return "in" if node.outward else "out"
    if node.kind == "relay":
        return "in" if name in ("86", "85") else ("out" if name in ("87", "87a") else "in")
    if node.kind in ("voltage-relay", "low-voltage-disconnect"):
        return "in" if name == "in" else "out" if name == "out" else ""
    return ""


def _arcs(graph: Graph, combs: set[int], upright: set[int]) -> list[tuple[int, int]]:
    """From node to node in the sense of the flow, over the positive side and the trunk of the negative one."""
    chains = _chains(graph, combs, upright)
    ways: list[list[tuple[int, bool]]] = [[] for _ in graph.nodes]  # node -> (chain, from its start)
    facing: list[int] = []  # +1: along the chain, -1: against it, 0: not known
    for i, chain in enumerate(chains):
        a, b = _role(graph, chain.first), _role(graph, chain.last)
        if a == b:
            facing.append(0)
        else:
            facing.append(1 if a == "out" or b == "in" else -1)
        ways[chain.nodes[0]].append((i, True))
        ways[chain.nodes[-1]].append((i, False))
    _lone_batteries(graph, chains, ways, facing)
    # what is still open runs away from where the search comes from
    seen = [False] * len(graph.nodes)
    starts = [n.index for n in graph.nodes if n.kind == "battery"]
    starts = starts[:1] + [n.index for n in graph.nodes if n.kind in SOURCES] + starts[1:]
    starts += [n.index for n in graph.nodes]
    for start in starts:
        if seen[start]:
            continue
        seen[start] = True
        queue = [start]
        for node in queue:
            for i, forward in ways[node]:
                sense = 1 if forward else -1
                if facing[i] == 0:
                    facing[i] = sense
                other = chains[i].nodes[-1 if forward else 0]
                if not seen[other] and (facing[i] == sense or graph.nodes[other].kind not in CONVERTERS):
                    seen[other] = True
                    queue.append(other)
    arcs = []
    for chain, sense in zip(chains, facing, strict=True):
        nodes = chain.nodes if sense >= 0 else chain.nodes[::-1]
        arcs += [(a, b) for a, b in pairwise(nodes) if a != b]
    for comb in sorted(combs):
        for t in graph.nodes[comb].terminals:
            for w in graph.wires_at[t]:
                other = _other(graph, w, comb)
                if graph.nodes[other].kind in SINKS:
                    arcs.append((other, comb))
    return _hinted(graph, arcs)


def _hinted(graph: Graph, arcs: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """The arcs, the job's own rows first; of two that speak against each other the first holds."""
    index = {node.id: node.index for node in graph.nodes}
    wished: list[tuple[int, int]] = []
    for hint in graph.job.hints:
        if hint.kind == "row":
            wished += pairwise([index[m] for m in hint.members if m in index])
    kept: dict[tuple[int, int], None] = {}
    for a, b in [*wished, *arcs]:
        if (b, a) not in kept:
            kept[a, b] = None
    return list(kept)


class _Chain(NamedTuple):
    """Nodes in a row that pass current through, between two that do more."""

    first: str  # terminal on the first node
    last: str
    nodes: list[int]


def _trunk(graph: Graph, chain: _Chain, combs: set[int], upright: set[int]) -> bool:
    """Whether a chain of the negative side has something on it, and leads from neither an earth nor a load's end."""
    ends = [chain.nodes[0], chain.nodes[-1]]
    for n in ends:
        kind = graph.nodes[n].kind
        if kind in ("earth", "loose", "capped", "continuation") or n in combs:
            return False
        if kind in ("load", "lamp", "sensor") and n not in upright:
            return False
    return len(chain.nodes) > 2 or any(graph.nodes[n].kind in BARS for n in ends)


def _chains(graph: Graph, combs: set[int], upright: set[int]) -> list[_Chain]:
    """Every positive-side wire belongs to one chain, and one of the negative side that leads over bars or shunts."""
    chains: list[_Chain] = []
    used: set[int] = set()

    def through(terminal: str) -> str | None:
        """The far terminal of a pass-through part in a row, else None."""
        node = graph.nodes[graph.node_of[terminal]]
        if node.kind in PASSES and len(node.terminals) == 2:
            far = node.terminals[1] if node.terminals[0] == terminal else node.terminals[0]
        elif node.kind == "connector":
            name = local_name(node.part, terminal)
            swapped = ("b" if name[:1] == "a" else "a") + name[1:]
            far = terminal[: len(terminal) - len(name)] + swapped
            if far not in graph.node_of:
                return None
        elif node.kind in ("plug", "socket"):
            far = terminal
            return far if len(graph.wires_at[far]) == 2 else None
        else:
            return None
        return far if len(graph.wires_at[far]) == 1 and len(graph.wires_at[terminal]) == 1 else None

    def walk(wire: int, terminal: str) -> tuple[list[int], str]:
        """Nodes from a wire's end onwards, and the terminal where the row ends."""
        nodes = [graph.node_of[terminal]]
        while True:
            far = through(terminal)
            onward = [w for w in graph.wires_at[far] if w != wire and w not in used] if far is not None else []
            if far is None or not onward:
                return nodes, terminal
            wire = onward[0]
            used.add(wire)
            w = graph.wires[wire]
            terminal = w.b if w.a == far else w.a
            nodes.append(graph.node_of[terminal])

    for wire in graph.wires:
        if wire.inner or wire.index in used:
            continue
        used.add(wire.index)
        onward, last = walk(wire.index, wire.b)
        back, first = walk(wire.index, wire.a)
        chain = _Chain(first, last, back[::-1] + onward)
        if wire.net not in graph.negative or _trunk(graph, chain, combs, upright):
            chains.append(chain)
    return chains


def _lone_batteries(graph: Graph, chains: list[_Chain], ways: list[list[tuple[int, bool]]], facing: list[int]) -> None:
    """A battery with one way out that no charger feeds is a source of it."""
    for node in graph.nodes:
        if node.kind != "battery":
            continue
        opened = [(i, forward) for i, forward in ways[node.index] if facing[i] == 0]
        fed = any(facing[i] == (-1 if forward else 1) for i, forward in ways[node.index])
        if len(opened) == 1 and not fed:
            i, forward = opened[0]
            facing[i] = 1 if forward else -1


def _longest(count: int, arcs: list[tuple[int, int]]) -> tuple[list[int], list[int]]:
    """Columns by the longest path, arcs that close a ring left out, then sources drawn up to what they feed; and how
    far the flow goes on beyond each node."""
    out: list[list[int]] = [[] for _ in range(count)]
    for a, b in arcs:
        out[a].append(b)
    state = [0] * count
    order: list[int] = []
    forward: set[tuple[int, int]] = set()
    fed = {b for _, b in arcs}
    for root in sorted(range(count), key=lambda n: (n in fed, n)):
        if state[root]:
            continue
        stack = [(root, iter(out[root]))]
        state[root] = 1
        while stack:
            node, rest = stack[-1]
            for b in rest:
                if state[b] != 1:
                    forward.add((node, b))
                if state[b] == 0:
                    state[b] = 1
                    stack.append((b, iter(out[b])))
                    break
            else:
                state[node] = 2
                order.append(node)
                stack.pop()
    order.reverse()
    before: list[list[int]] = [[] for _ in range(count)]
    after: list[list[int]] = [[] for _ in range(count)]
    for a, b in arcs:
        if (a, b) in forward:
            after[a].append(b)
            before[b].append(a)
    column = [0] * count
    for n in order:
        column[n] = max((column[a] + 1 for a in before[n]), default=0)
    for _ in range(3):  # what feeds more than it is fed by moves up to what it feeds
        for n in reversed(order):
            if after[n] and len(after[n]) >= len(before[n]):
                column[n] = max(column[n], min(column[b] for b in after[n]) - 1)
    reach = [0] * count
    for n in reversed(order):
        reach[n] = max((reach[b] + 1 for b in after[n]), default=0)
    return column, reach


def _place_rest(graph: Graph, column: list[int], placed: set[int]) -> None:
    """Negative-side nodes, earths and islands: beside what they are joined to."""
    waiting = [n.index for n in graph.nodes if n.index not in placed]
    if not placed and waiting:
        placed.add(waiting[0])
        column[waiting[0]] = 0
    while waiting:
        left = []
        for n in waiting:
            if n in placed:
                continue
            node = graph.nodes[n]
            near = [
                (o, t)
                for t in node.terminals
                for w in graph.wires_at[t]
                if (o := _other(graph, w, n)) in placed and o != n
            ]
            if not near:
                left.append(n)
                continue
            columns = sorted(column[o] for o, _ in near)
            if node.kind == "continuation" and not node.outward:
                column[n] = columns[0] - 1
            elif node.kind in ("earth", "loose", "capped"):
                column[n] = columns[0] + 1
            elif node.kind in BARS:
                column[n] = columns[len(columns) // 2]
            else:
                column[n] = columns[0] + 1
            placed.add(n)
        if len(left) == len(waiting):
            n = left[0]
            placed.add(n)
            column[n] = 0
        waiting = [n for n in left if n not in placed]
