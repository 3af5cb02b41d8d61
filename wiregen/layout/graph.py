"""What has to be drawn, as a graph: nodes with terminals, and wires (conductors and links) between terminals."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from wiregen.model.job import Job, Part

PASSES = frozenset(("fuse", "breaker", "switch", "isolator", "shunt", "diode"))
BARS = frozenset(("busbar", "splice"))
CONVERTERS = frozenset(("charger", "solar-controller", "mains-charger"))
SINKS = frozenset(("load", "lamp", "sensor", "inverter", "starter"))
SOURCES = frozenset(("alternator", "panel", "mains-charger", "feed"))


@dataclass(slots=True)
class Wire:
    """A conductor or link: `a` and `b` are terminals, `net` numbers what is at one potential when nothing flows."""

    index: int
    id: str  # `` for a link
    a: str
    b: str
    net: int
    inner: bool = False  # within one fuse block

    @property
    def link(self) -> bool:
        return not self.id


@dataclass(slots=True)
class Node:
    """One thing to place: a part (way fuses belong to their block), or an end that is on no part."""

    index: int
    id: str
    kind: str
    part: Part | None
    terminals: list[str] = field(default_factory=list)
    far: str = ""  # of a conductor's cut end: the terminal on another sheet that it leads to
    outward: bool = True  # of a cut end: the current leaves the sheet
    elsewhere: int = 0  # of a part that is parted: on how many other sheets it may stand too


@dataclass(slots=True)
class Graph:
    """Nodes and wires in the order of the file."""

    job: Job
    nodes: list[Node]
    wires: list[Wire]
    node_of: dict[str, int]  # terminal -> node
    wires_at: dict[str, list[int]]  # terminal -> wires, inner ones left out
    negative: set[int]  # nets on the negative side
    net_of: dict[str, int]
    alike: frozenset[str] = frozenset()  # titles that several parts of the job have, in small letters


class Sets:
    """Disjoint sets of names, each known by its first member."""

    def __init__(self) -> None:
        self.parent: dict[str, str] = {}

    def top(self, name: str) -> str:
        parent = self.parent
        parent.setdefault(name, name)
        while parent[name] != name:
            parent[name] = parent[parent[name]]
            name = parent[name]
        return name

    def join(self, a: str, b: str) -> None:
        self.parent[self.top(b)] = self.top(a)


def local_name(part: Part | None, terminal: str) -> str:
    """`in.+` of `dcdc.in.+`; `` for a part that is its own terminal."""
    return terminal[len(part.id) + 1 :] if part and terminal.startswith(part.id + ".") else ""


def build(job: Job) -> Graph:
    """The graph of a job. Ends in the air and terminals that land on a body directly become nodes of their own."""
    nodes: list[Node] = []
    node_of: dict[str, int] = {}
    blocks: dict[str, int] = {}
    for part in job.parts.values():
        if part.block and part.block in job.parts:
            continue
        node = Node(len(nodes), part.id, part.kind, part, list(part.terminals))
        nodes.append(node)
        if part.kind == "fuse-block":
            blocks[part.id] = node.index
        for t in part.terminals:
            node_of[t] = node.index
    for part in job.parts.values():
        if part.block in blocks:
            for t in part.terminals:
                node_of[t] = blocks[part.block]
    sets = Sets()
    wires: list[Wire] = []
    ends = [(c.id, c.from_, c.to) for c in job.conductors.values()] + [("", k.a, k.b) for k in job.links]
    for name, a, b in ends:
        for t in (a, b):
            if t not in node_of:
                kind = t.split(":")[0] if t.startswith(("loose:", "capped:")) else "earth"
                node_of[t] = len(nodes)
                nodes.append(Node(len(nodes), t, kind, None, [t]))
        sets.join(a, b)
        wires.append(Wire(len(wires), name, a, b, 0))
    numbers: dict[str, int] = {}
    net_of: dict[str, int] = {}
    for t in node_of:
        net_of[t] = numbers.setdefault(sets.top(t), len(numbers))
    wires_at: dict[str, list[int]] = {t: [] for t in node_of}
    for w in wires:
        w.net = net_of[w.a]
        block = nodes[node_of[w.a]]
        w.inner = w.link and node_of[w.a] == node_of[w.b] and block.kind == "fuse-block" and _within(block, w)
        if not w.inner:
            for t in (w.a, w.b) if w.a != w.b else (w.a,):
                wires_at[t].append(w.index)
    titles = Counter(part.title.lower() for part in job.parts.values())
    alike = frozenset(title for title, count in titles.items() if count > 1)
    return Graph(job, nodes, wires, node_of, wires_at, _negative(job, nodes, net_of), net_of, alike)


def _within(block: Node, wire: Wire) -> bool:
    """Whether a link is between a block's edge terminal and one of its way fuses."""
    edge = set(block.terminals)
    return (wire.a in edge) != (wire.b in edge)


def _negative(job: Job, nodes: Iterable[Node], net_of: dict[str, int]) -> set[int]:
    """Nets that return current: reached from negative posts and earths through contacts, and from no positive one."""
    sets = Sets()
    for part in job.parts.values():
        for c in part.contacts:
            if c.a in net_of and c.b in net_of:
                sets.join(str(net_of[c.a]), str(net_of[c.b]))
    plus: set[str] = set()
    minus: set[str] = set()
    for node in nodes:
        for t in node.terminals:
            name = local_name(node.part, t).rsplit(".", 1)[-1]
            here = sets.top(str(net_of[t]))
            if name == "-" or node.kind == "earth":
                minus.add(here)
            elif (
                node.kind == "fuse-block"
                or node.kind == "feed"
                or (name == "+" and node.kind not in ("connector", "plug", "socket"))
            ):
                plus.add(here)
    return {n for n in set(net_of.values()) if sets.top(str(n)) in minus and sets.top(str(n)) not in plus}
