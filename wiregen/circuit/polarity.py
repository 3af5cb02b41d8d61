"""Which terminals are positive and which negative by what they are, and what hands polarity on from one to another.

The marks are those of terminals (`aux.+`, `dcdc.in.-`), never the colour of what lands on them. Fuses, switches,
connectors and splices hand polarity on, whatever their state.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping

from wiregen.circuit.network import Edge, Network, once
from wiregen.model.job import Contact, Job, Part

SOURCES = frozenset({"battery", "panel", "alternator", "feed", "mains-charger"})
CHARGERS = frozenset({"charger", "solar-controller"})
SINKS = frozenset(
    {"load", "lamp", "sensor", "inverter", "starter", "voltage-relay", "low-voltage-disconnect"} | SOURCES | CHARGERS
)
MARKED = frozenset({"connector", "plug", "socket", "fuse-block"})  # marked poles that only hand polarity on


def sign(job: Job, terminal: str) -> str:
    """`+`, `-` or `` : what the terminal is by its own name and its part's kind."""
    at = job.terminals.get(terminal)
    part = job.parts.get(at.part) if at else None
    if at is None or part is None:
        return ""
    if part.kind == "feed":
        return "+"
    if part.kind == "fuse-block":
        return "-" if at.name.endswith("-") else "+"
    last = at.name.rpartition(".")[2]
    return last if last in ("+", "-") and (part.kind in SINKS or part.kind in MARKED) else ""


def is_source(part: Part, name: str) -> bool:
    """Whether a terminal of that name gives its net a polarity, rather than asking for one."""
    return part.kind in SOURCES or (part.kind in CHARGERS and name.startswith("out."))


Way = tuple[Edge | None, str, str]  # what hands polarity on from terminal to terminal; None is a body


def gives(job: Job, terminal: str) -> bool:
    """Whether a terminal gives its net a polarity."""
    at = job.terminals[terminal]
    return at.part in job.parts and is_source(job.parts[at.part], at.name)


@once
def joined(job: Job, network: Network) -> tuple[Way, ...]:
    """Everything that hands polarity on: edges, and the body between its earths (edge None).

    Switches and relays count as closed; the pulled halves of a connector do not. A changeover relay between positive
    and negative hands on neither.
    """
    changeovers = {
        p.id for p in job.parts.values() if sum(c.kind == "relay" and _used(network, c) for c in p.contacts) > 1
    }
    sure: list[Way] = []
    contacts: dict[str, list[Edge]] = {}
    for edge in network.edges:
        item = edge.item
        if isinstance(item, Contact):
            if item.kind == "pole" and not item.closed:
                continue
            if item.kind == "relay" and item.part in changeovers:
                contacts.setdefault(item.part, []).append(edge)
                continue
        sure.append((edge, edge.a, edge.b))
    for body in job.bodies.values():
        sure += [(None, body.earths[0], earth) for earth in body.earths[1:]]
    if contacts:
        net = nets_of(network, sure)
        signs: dict[str, set[str]] = {}
        for terminal in job.terminals:
            its = sign(job, terminal)
            if its and gives(job, terminal):
                signs.setdefault(net[terminal], set()).add(its)
        for edges in contacts.values():
            brought = set().union(*(signs.get(net[t], set()) for edge in edges for t in (edge.a, edge.b)))
            if len(brought) < 2:
                sure += [(edge, edge.a, edge.b) for edge in edges]
    return tuple(sure)


def _used(network: Network, contact: Contact) -> bool:
    """Whether something is wired to both ends of a contact."""
    return all(any(edge.kind != "contact" for edge in network.at.get(end, ())) for end in (contact.a, contact.b))


@once
def nets(job: Job, network: Network) -> Mapping[str, str]:
    """Terminal -> its net, named by the first terminal of the net in the order of the file."""
    return nets_of(network, joined(job, network))


def nets_of(network: Network, ways: Iterable[Way]) -> dict[str, str]:
    """As `nets`, for given ways."""
    root = {t: t for t in network.at}

    def find(t: str) -> str:
        while root[t] != t:
            root[t] = root[root[t]]
            t = root[t]
        return t

    order = {t: i for i, t in enumerate(network.at)}
    for _, a, b in ways:
        first, second = find(a), find(b)
        if order[first] > order[second]:
            first, second = second, first
        root[second] = first
    return {t: find(t) for t in root}


def posts(part: Part) -> tuple[str, str] | None:
    """The positive and the negative terminal of a battery, panel or alternator; None where it lacks one."""
    plus, minus = f"{part.id}.+", f"{part.id}.-"
    return (plus, minus) if plus in part.terminals and minus in part.terminals else None


def middles(job: Job, net: Mapping[str, str]) -> frozenset[str]:
    """Nets between two batteries (or panels) in series, where positive meets negative rightly.

    The chain must be open at its ends, must not be earthed there, and no charger may sit against it.
    """
    earthed = {net[e] for body in job.bodies.values() for e in body.earths[:1] if e in net}
    out: set[str] = set()
    for kind in ("battery", "panel"):
        ends = [(net[p[0]], net[p[1]]) for part in job.parts.values() if part.kind == kind and (p := posts(part))]
        height = _heights(ends)
        between = {plus for plus, _ in ends} & {minus for _, minus in ends} & height.keys()
        against = set()
        for part in job.parts.values():
            for port in ("in", "out", "solar") if part.kind in CHARGERS | {"mains-charger"} else ():
                stud = net.get(f"{part.id}.-")
                plus, minus = net.get(f"{part.id}.{port}.+"), net.get(f"{part.id}.{port}.-", stud)
                if plus in height and minus in height and height[plus] <= height[minus]:
                    against |= {plus, minus}
        out |= between - earthed - against
    return frozenset(out)


def _heights(ends: list[tuple[str, str]]) -> dict[str, int]:
    """How many sources above the lowest of its chain each net is; left out are chains that contradict themselves."""
    around: dict[str, list[tuple[str, int]]] = {}
    for plus, minus in ends:
        around.setdefault(minus, []).append((plus, 1))
        around.setdefault(plus, []).append((minus, -1))
    height: dict[str, int] = {}
    seen: set[str] = set()
    for start in around:
        if start in seen:
            continue
        chain, sound = {start: 0}, True
        queue = deque([start])
        while queue:
            here = queue.popleft()
            for there, step in around[here]:
                if there not in chain:
                    chain[there] = chain[here] + step
                    queue.append(there)
                elif (chain[there] - chain[here]) * step <= 0:
                    sound = False
        seen |= chain.keys()
        if sound:
            height |= chain
    return height
