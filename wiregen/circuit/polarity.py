"""Where positive meets negative: the fewest places that, put right, would leave every terminal its own polarity.

Terminals are marked by what they are (`aux.+`, `dcdc.in.-`), never by the colour of what lands on them. Fuses,
switches, connectors and splices hand polarity on, whatever their state. In each net that holds both marks, a minimum
cut between them finds the crossings: one conductor upstream rather than ten at the loads that suffer.
Reference: L. R. Ford, D. R. Fulkerson, Flows in Networks (1962), max-flow min-cut.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise
from typing import Literal, NamedTuple

from wiregen.circuit.network import Edge, Network
from wiregen.model.job import Contact, Job, Link, Part

SOURCES = frozenset({"battery", "panel", "alternator", "feed", "mains-charger"})
CHARGERS = frozenset({"charger", "solar-controller"})
SINKS = frozenset(
    {"load", "lamp", "sensor", "inverter", "starter", "voltage-relay", "low-voltage-disconnect"} | SOURCES | CHARGERS
)
MARKED = frozenset({"connector", "plug", "socket", "fuse-block"})  # marked poles that only hand polarity on
ENDLESS = 1 << 40  # capacity of what is never cut


class Joint(NamedTuple):
    """One edge of a crossing: the terminal on its positive and the one on its negative side."""

    edge: Edge
    plus: str
    minus: str


class Crossing(NamedTuple):
    """Positive and negative meet here. `joints` are what would have to change.

    kind: `reversed` where something gets its polarity the wrong way round, `short` where positive runs straight
    into negative, `marks` where a connector's marks are against what its poles carry and no device suffers.
    """

    kind: Literal["reversed", "short", "marks"]
    joints: tuple[Joint, ...]  # the one that carries the positive first
    part: str  # the part at which they cross, `` where there is none
    sufferers: tuple[str, ...]  # terminals that get the wrong polarity, in the order of the file
    source: str  # the nearest source behind the first joint, `` where there is none


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


def joined(job: Job, network: Network) -> tuple[Way, ...]:
    """Everything that hands polarity on: edges, and the body between its earths (edge None).

    Switches and relays count as closed; the pulled halves of a connector do not. A changeover relay between positive
    and negative hands on neither.
    """
    changeovers = {p.id for p in job.parts.values() if sum(c.kind == "relay" for c in p.contacts) > 1}
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
        net = _nets(network, sure)
        signs: dict[str, set[str]] = {}
        for terminal in job.terminals:
            its = sign(job, terminal)
            if its and _gives(job, terminal):
                signs.setdefault(net[terminal], set()).add(its)
        for edges in contacts.values():
            brought = set().union(*(signs.get(net[t], set()) for edge in edges for t in (edge.a, edge.b)))
            if len(brought) < 2:
                sure += [(edge, edge.a, edge.b) for edge in edges]
    return tuple(sure)


def without(network: Network, found: Iterable[Crossing]) -> Network:
    """The network with the crossings taken out: what is left is wired as it was meant, or not at all."""
    gone = {id(joint.edge) for crossing in found for joint in crossing.joints}
    if not gone:
        return network
    edges = tuple(edge for edge in network.edges if id(edge) not in gone)
    return Network(edges, {t: tuple(e for e in at if id(e) not in gone) for t, at in network.at.items()})


def crossings(job: Job, network: Network) -> tuple[Crossing, ...]:
    """All places where positive and negative meet, in the order of the file; () in a sound job."""
    ways = joined(job, network)
    net = _nets(network, ways)
    marks = {t: s for t in job.terminals if (s := sign(job, t))}
    middle = middles(job, net)
    signs: dict[str, set[str]] = {}
    fed: set[str] = set()
    for terminal, its in marks.items():
        signs.setdefault(net[terminal], set()).add(its)
        at = job.terminals[terminal]
        if is_source(job.parts[at.part], at.name):
            fed.add(net[terminal])
    mixed = {n for n, its in signs.items() if len(its) == 2 and n in fed and n not in middle}
    if not mixed:
        return ()
    cut: list[Edge] = []
    soft: list[str] = []
    for one in sorted(mixed):
        edges, unmarked = _cut(job, network, ways, {t for t, n in net.items() if n == one}, marks)
        cut += edges
        soft += unmarked
    return tuple(_groups(job, network, ways, cut, soft, marks))


def nets(job: Job, network: Network) -> dict[str, str]:
    """Terminal -> its net, named by the first terminal of the net in the order of the file."""
    return _nets(network, joined(job, network))


def _nets(network: Network, ways: Iterable[Way]) -> dict[str, str]:
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
        between = {plus for plus, _ in ends} & {minus for _, minus in ends}
        if not between or any(plus == minus for plus, minus in ends):
            continue
        height = _heights(ends)
        if height is None:
            continue
        against = set()
        for part in job.parts.values():
            for port in ("in", "out", "solar") if part.kind in CHARGERS | {"mains-charger"} else ():
                plus, minus = net.get(f"{part.id}.{port}.+"), net.get(f"{part.id}.{port}.-")
                if plus in height and minus in height and height[plus] <= height[minus]:
                    against |= {plus, minus}
        out |= between - earthed - against
    return frozenset(out)


def _heights(ends: list[tuple[str, str]]) -> dict[str, int] | None:
    """How many sources above the lowest each net is; None where they contradict each other."""
    around: dict[str, list[tuple[str, int]]] = {}
    for plus, minus in ends:
        around.setdefault(minus, []).append((plus, 1))
        around.setdefault(plus, []).append((minus, -1))
    height: dict[str, int] = {}
    for start in around:
        if start in height:
            continue
        height[start] = 0
        queue = deque([start])
        while queue:
            here = queue.popleft()
            for there, step in around[here]:
                if there not in height:
                    height[there] = height[here] + step
                    queue.append(there)
                elif (height[there] - height[here]) * step <= 0:
                    return None
    return height


def _cost(job: Job, edge: Edge | None, marks: Mapping[str, str]) -> int:
    """What it costs to cut an edge: conductors first, those that land on a device before those upstream."""
    if edge is None or (isinstance(edge.item, Contact) and edge.item.kind == "solid"):
        return ENDLESS
    if isinstance(edge.item, Link) and edge.item.why in ("stud", "way", "dissolved"):
        return ENDLESS
    crossed = {marks.get(edge.a), marks.get(edge.b)} >= {"+", "-"}
    base = 10_000 if edge.kind == "conductor" or (edge.kind == "contact" and crossed) else 15_000
    if edge.kind == "contact" and not crossed:
        base = 40_000
    return base + min(_rank(job, end) if end in marks else 4 for end in (edge.a, edge.b))


def _rank(job: Job, terminal: str) -> int:
    """The lower, the likelier that the mistake was made at this marked terminal."""
    at = job.terminals[terminal]
    part = job.parts[at.part]
    if part.kind in MARKED:
        return 1
    if not is_source(part, at.name):
        return 0
    return 3 if part.kind == "battery" else 2


def _cut(
    job: Job, network: Network, ways: tuple[Way, ...], members: set[str], marks: Mapping[str, str]
) -> tuple[list[Edge], list[str]]:
    """The cheapest edges to take out of one net so that no `+` reaches a `-`; and marks that had better go instead."""
    room: dict[str, dict[str, int]] = {t: {} for t in network.at if t in members}
    room["+"], room["-"] = {}, {}

    def pipe(a: str, b: str, forward: int, back: int) -> None:
        room[a][b] = room[a].get(b, 0) + forward
        room[b][a] = room[b].get(a, 0) + back

    kept: list[tuple[Edge, str, str]] = []
    for edge, a, b in ways:
        if a in members and a != b:
            cost = _cost(job, edge, marks)
            one_way = edge is not None and isinstance(edge.item, Contact) and edge.item.kind == "diode"
            pipe(a, b, cost, 0 if one_way else cost)
            if edge is not None:
                kept.append((edge, a, b))
    soft = []
    for terminal in room:
        its = marks.get(terminal)
        if its:
            part = job.part_of(terminal)
            gentle = part is not None and part.kind in MARKED
            if gentle:
                soft.append(terminal)
            strength = 9_000 if gentle else ENDLESS
            pipe("+", terminal, strength, 0) if its == "+" else pipe(terminal, "-", strength, 0)
    reached = _fill(room)
    cut = [edge for edge, a, b in kept if (a in reached) != (b in reached)]
    cut = [
        edge for edge in cut if not (isinstance(edge.item, Contact) and edge.item.kind == "diode" and edge.b in reached)
    ]
    wrong = [t for t in soft if (t in reached) != (marks[t] == "+")]
    return cut, wrong


def _fill(room: dict[str, dict[str, int]]) -> set[str]:
    """Maximum flow from `+` to `-` by shortest paths; what `+` still reaches when no more flows."""
    while True:
        back: dict[str, str] = {"+": ""}
        queue = deque(["+"])
        while queue and "-" not in back:
            here = queue.popleft()
            for there, free in room[here].items():
                if free > 0 and there not in back:
                    back[there] = here
                    queue.append(there)
        if "-" not in back:
            return set(back)
        path = ["-"]
        while path[-1] != "+":
            path.append(back[path[-1]])
        steps = [(b, a) for a, b in pairwise(path)]
        least = min(room[a][b] for a, b in steps)
        if least >= ENDLESS:
            # positive and negative inside one piece of metal: nothing to cut, so leave the two marks joined
            room["+"][steps[0][1]] = 0
            continue
        for a, b in steps:
            room[a][b] -= least
            room[b][a] = room[b].get(a, 0) + least


def _groups(
    job: Job, network: Network, ways: tuple[Way, ...], cut: list[Edge], soft: list[str], marks: Mapping[str, str]
) -> Iterator[Crossing]:
    """The cut edges that belong to one crossing, together."""
    gone = {id(edge) for edge in cut}
    piece, own = _pieces(network, ways, gone, marks, set(soft))
    sides = []
    for edge in cut:
        plus, minus = (edge.a, edge.b) if own.get(piece[edge.a], "+") == "+" else (edge.b, edge.a)
        sides.append(Joint(edge, plus, minus))
    side_of = _sides_by_part(job, piece)
    left = sides
    found: list[tuple[str, list[Joint]]] = []
    for kinds in (SINKS - SOURCES, MARKED, SOURCES):
        left, groups = _together(job, left, kinds)
        found += groups
    pairs: dict[frozenset[str], list[Joint]] = {}
    for one in left:
        pairs.setdefault(frozenset({side_of[piece[one.plus]], side_of[piece[one.minus]]}), []).append(one)
    found += [("", group) for group in pairs.values()]
    order = {id(edge): i for i, edge in enumerate(network.edges)}
    live = {piece[t] for t, s in marks.items() if s == "+" and _gives(job, t)}
    drained = {piece[t] for t, s in marks.items() if s == "-" and _gives(job, t)}
    drained |= {piece[e] for body in job.bodies.values() for e in body.earths if e in piece}
    for part, group in sorted(found, key=lambda each: min(order[id(one.edge)] for one in each[1])):
        group = sorted(group, key=lambda one: (piece[one.plus] not in live, order[id(one.edge)]))
        yield Crossing(
            _kind(group, part, job, piece, live, drained, side_of),
            tuple(group),
            part,
            _sufferers(job, group, marks, piece, live, drained),
            _source(job, network, ways, group[0], gone, marks),
        )
    for part_id in dict.fromkeys(job.terminals[t].part for t in soft):
        if job.parts[part_id].kind != "fuse-block" and not any(part_id in _parts(job, one.edge) for one in sides):
            wrong = tuple(t for t in soft if job.terminals[t].part == part_id)
            yield Crossing("marks", (), part_id, wrong, "")


def _pieces(
    network: Network, ways: tuple[Way, ...], gone: set[int], marks: Mapping[str, str], ignored: set[str]
) -> tuple[dict[str, str], dict[str, str]]:
    """Terminal -> piece of net once the cut edges are out; piece -> its polarity."""
    piece: dict[str, str] = {}
    around: dict[str, list[str]] = {t: [] for t in network.at}
    for edge, a, b in ways:
        if edge is None or id(edge) not in gone:
            around[a].append(b)
            around[b].append(a)
    for start in network.at:
        if start in piece:
            continue
        piece[start] = start
        queue = [start]
        while queue:
            for there in around[queue.pop()]:
                if there not in piece:
                    piece[there] = start
                    queue.append(there)
    own: dict[str, str] = {}
    for terminal, its in marks.items():
        if terminal not in ignored:
            own.setdefault(piece[terminal], its)
    return piece, own


def _sides_by_part(job: Job, piece: Mapping[str, str]) -> dict[str, str]:
    """Piece -> the group of pieces that devices hold together by their two polarities."""
    root = {p: p for p in piece.values()}

    def find(p: str) -> str:
        while root[p] != p:
            p = root[p]
        return p

    for part in job.parts.values():
        if part.kind in SINKS:
            mine = [piece[t] for t in part.terminals if t in piece and sign(job, t)]
            for other in mine[1:]:
                root[find(other)] = find(mine[0])
    return {p: find(p) for p in root}


def _parts(job: Job, edge: Edge) -> tuple[str, ...]:
    """Ids of the parts at the two ends."""
    return tuple(job.terminals[t].part for t in (edge.a, edge.b) if t in job.terminals)


def _together(job: Job, sides: list[Joint], kinds: frozenset[str]) -> tuple[list[Joint], list[tuple[str, list[Joint]]]]:
    """Edges that meet at one part of those kinds, two or more; and the rest."""
    at: dict[str, list[Joint]] = {}
    for one in sides:
        for part in dict.fromkeys(_parts(job, one.edge)):
            if part in job.parts and job.parts[part].kind in kinds:
                at.setdefault(part, []).append(one)
    groups: list[tuple[str, list[Joint]]] = []
    taken: set[int] = set()
    for part, group in at.items():
        free = [one for one in group if id(one.edge) not in taken]
        if len(free) > 1:
            taken |= {id(one.edge) for one in free}
            groups.append((part, free))
    return [one for one in sides if id(one.edge) not in taken], groups


def _gives(job: Job, terminal: str) -> bool:
    at = job.terminals[terminal]
    return is_source(job.parts[at.part], at.name)


def _kind(
    group: list[Joint],
    part: str,
    job: Job,
    piece: Mapping[str, str],
    live: set[str],
    drained: set[str],
    side_of: Mapping[str, str],
) -> Literal["reversed", "short"]:
    """Reversed where both polarities change places, or where the wrong one reaches a terminal that has no other."""
    if part:
        near = {("+" if job.terminals[one.plus].part == part else "-") for one in group}
        if len(near) == 2 or any(one.edge.kind == "contact" for one in group):
            return "reversed"
    else:
        ways = {(side_of[piece[one.plus]], side_of[piece[one.minus]]) for one in group}
        if any((b, a) in ways for a, b in ways if a != b):
            return "reversed"
        if len(group) > 1 and any(a == b for a, b in ways):
            return "reversed"
    straight = all(piece[one.plus] in live and piece[one.minus] in drained for one in group)
    return "short" if straight else "reversed"


def _sufferers(
    job: Job,
    group: list[Joint],
    marks: Mapping[str, str],
    piece: Mapping[str, str],
    live: set[str],
    drained: set[str],
) -> tuple[str, ...]:
    """Terminals of devices that get the wrong polarity through these edges."""
    wrong: dict[str, str] = {}
    for one in group:
        if piece[one.plus] in live and piece[one.minus] not in drained:
            wrong[piece[one.minus]] = "-"
        if piece[one.minus] in drained and piece[one.plus] not in live:
            wrong[piece[one.plus]] = "+"
    return tuple(
        t
        for t, its in marks.items()
        if wrong.get(piece[t]) == its
        and job.terminals[t].used
        and not _gives(job, t)
        and job.parts[job.terminals[t].part].kind not in MARKED
    )


def _source(
    job: Job, network: Network, ways: tuple[Way, ...], joint: Joint, gone: set[int], marks: Mapping[str, str]
) -> str:
    """The source nearest behind the positive side of a joint."""
    around: dict[str, list[str]] = {t: [] for t in network.at}
    for edge, a, b in ways:
        if edge is None or id(edge) not in gone:
            around[a].append(b)
            around[b].append(a)
    seen = {joint.plus}
    queue = deque([joint.plus])
    while queue:
        here = queue.popleft()
        if marks.get(here) == "+" and _gives(job, here):
            return job.terminals[here].part
        for there in around[here]:
            if there not in seen:
                seen.add(there)
                queue.append(there)
    return ""
