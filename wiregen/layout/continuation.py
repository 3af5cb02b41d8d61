"""Part of a graph as a graph of its own: what stands on one sheet, and a mark where a conductor goes on on another.

A conductor between two sheets keeps its name on both; its far end is a node of kind `continuation` whose one terminal
is `cut:` and the conductor's id. Metal-to-metal links are never cut: what they join stands on one sheet. An earth point
with nothing but leads to it is drawn again on every sheet where one of them ends, as is usual on vehicle diagrams.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

from wiregen.layout import text
from wiregen.layout.geometry import Port, Shape
from wiregen.layout.graph import Graph, Node, Sets, Wire

KIND = "continuation"
LOADS = frozenset(("load", "lamp", "sensor"))
HIGH = 4.5  # of the flag [mm]
TIP = 2.0  # of its point [mm]
FLAG = TIP + 2.0 + text.width("88/B8")  # its width, room for sheet and zone [mm]
GAP = 1.0  # between them [mm]
FAR = 24.0  # room for the name of the far terminal, at most [mm]


def cut_of(conductor: str) -> str:
    """The terminal at which a conductor leaves its sheet."""
    return f"cut:{conductor}"


def shape(terminal: str, far: str) -> Shape:
    """A flag with room for sheet and zone, then the far terminal's name; the run lands at its left."""
    width = FLAG + (GAP + text.width(fitted(far)) if far else 0.0)
    return Shape(terminal, KIND, round(width * 2 + 0.5) / 2, HIGH, (Port(terminal, 0.0, HIGH / 2, "left"),))


def fitted(far: str) -> str:
    """A far terminal's name, its end kept where it is too long."""
    if text.width(far) <= FAR:
        return far
    while far and text.width("…" + far) > FAR:
        far = far[1:]
    return "…" + far


def shared(graph: Graph) -> set[int]:
    """Earth points that may stand on several sheets: one terminal, and leads from other things than earths."""
    out = set()
    for node in graph.nodes:
        if node.kind != "earth" or len(node.terminals) != 1:
            continue
        wires = [graph.wires[w] for w in graph.wires_at[node.terminals[0]]]
        far = [graph.nodes[graph.node_of[t]] for w in wires for t in (w.a, w.b) if t != node.terminals[0]]
        if far and len(far) == len(wires) and all(n.kind != "earth" for n in far):
            out.add(node.index)
    return out


class Whole:
    """A graph that parts are taken out of, with what lies around each node looked up once.

    `column` is that of each node; `wires` and `terminals` are those of each node, way fuses' within their block too.
    """

    def __init__(self, graph: Graph, column: Sequence[int]) -> None:
        self.graph, self.column, self.earths = graph, column, shared(graph)
        self.wires: list[list[int]] = [[] for _ in graph.nodes]
        for wire in graph.wires:
            for n in {graph.node_of[wire.a], graph.node_of[wire.b]}:
                self.wires[n].append(wire.index)
        self.terminals: list[list[str]] = [[] for _ in graph.nodes]
        for terminal, n in graph.node_of.items():
            self.terminals[n].append(terminal)


def extract(whole: Whole, members: Collection[int]) -> Graph:
    """The graph of what stands on one sheet. `members` are nodes, shared earths left out.

    The sense of a continuation is that of the flow over the whole job: out to the right, in from the left.
    """
    graph = whole.graph
    inside = set(members)
    earths = whole.earths - inside
    taken: list[tuple[Wire, str]] = []  # and the terminal that is on another sheet, `` for none
    for index in sorted({w for n in inside for w in whole.wires[n]}):
        wire = graph.wires[index]
        a, b = graph.node_of[wire.a], graph.node_of[wire.b]
        if a in inside and b in inside:
            taken.append((wire, ""))
        elif a in inside or b in inside:
            far, end = (b, wire.b) if a in inside else (a, wire.a)
            if far in earths:
                inside.add(far)
                taken.append((wire, ""))
            elif far not in inside and (a not in earths and b not in earths):
                taken.append((wire, end))
    out = Graph(graph.job, [], [], {}, {}, set(), {}, graph.alike)
    for group in _by_part(graph, inside):
        _add(out, group)
    for n in sorted(inside):  # way fuses within their block
        for terminal in whole.terminals[n]:
            if terminal not in out.node_of:
                out.node_of[terminal] = out.node_of[graph.nodes[n].terminals[0]]
    for wire, far_end in taken:
        ends = [wire.a, wire.b]
        if far_end:
            side = ends.index(far_end)
            ends[side] = cut_of(wire.id)
            here = graph.node_of[ends[1 - side]]
            outward = _outward(graph, wire, here, graph.node_of[far_end], whole.column)
            _add(out, Node(0, ends[side], KIND, None, [ends[side]], far_end, outward))
        out.wires.append(Wire(len(out.wires), wire.id, ends[0], ends[1], 0, wire.inner))
    _nets(graph, out)
    return out


def _by_part(graph: Graph, inside: Collection[int]) -> list[Node]:
    """Those nodes, copied; of a part that was parted those that meet again here are one."""
    found: dict[str, Node] = {}
    for index in sorted(inside):
        node = graph.nodes[index]
        other = found.get(node.id)
        if other is None or other.part is None or node.part is None:
            found[node.id] = replace(node, terminals=list(node.terminals))
            continue
        whole = graph.job.parts[node.id].terminals
        terminals = [t for t in whole if t in other.terminals or t in node.terminals]
        found[node.id] = replace(
            other, part=replace(node.part, terminals=tuple(terminals)), terminals=terminals,
            elsewhere=other.elsewhere - 1,
        )  # fmt: skip
    return list(found.values())


def _add(graph: Graph, node: Node) -> None:
    node.index = len(graph.nodes)
    graph.nodes.append(node)
    for t in node.terminals:
        graph.node_of[t] = node.index


def _outward(graph: Graph, wire: Wire, here: int, far: int, column: Sequence[int]) -> bool:
    """Whether the conductor leaves to the right; a load's return does, and comes in from the left."""
    if wire.net in graph.negative:
        for n, sense in ((here, True), (far, False)):
            if graph.nodes[n].kind in LOADS:
                return sense
    if column[here] != column[far]:
        return column[here] < column[far]
    return graph.node_of[wire.a] == here


def _nets(graph: Graph, out: Graph) -> None:
    """What is joined on this sheet is one net of it, on the negative side where it is in the whole."""
    sets = Sets()
    for wire in out.wires:
        sets.join(wire.a, wire.b)
    numbers: dict[str, int] = {}
    for t in out.node_of:
        out.net_of[t] = numbers.setdefault(sets.top(t), len(numbers))
        out.wires_at[t] = []
        if graph.net_of.get(t) in graph.negative:
            out.negative.add(out.net_of[t])
    for wire in out.wires:
        wire.net = out.net_of[wire.a]
        if not wire.inner:
            for t in dict.fromkeys((wire.a, wire.b)):
                out.wires_at[t].append(wire.index)
