"""Where positive meets negative: the fewest places that, put right, would leave every terminal its own polarity.

In each net that holds both marks a minimum cut between them finds the mistake: one conductor upstream rather than ten
at the loads that suffer, or one battery put in backwards rather than everything that hangs on it.
Reference: L. R. Ford, D. R. Fulkerson, Flows in Networks (1962), max-flow min-cut.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise
from typing import Literal, NamedTuple

from wiregen.circuit.bridges import across_contacts
from wiregen.circuit.network import Edge, Network, once
from wiregen.circuit.polarity import (
    MARKED,
    SINKS,
    SOURCES,
    Way,
    gives,
    is_source,
    joined,
    middles,
    nets_of,
    posts,
    sign,
)
from wiregen.model.job import Contact, Job, Link

ENDLESS = 1 << 40  # capacity of what is never cut
CONDUCTOR, LINK, CONTACT = 10_000, 15_000, 40_000  # what it costs to suppose a mistake there
POST, POLE = 10_005, 9_000  # to suppose that a device, or a connector's mark, is the wrong way round itself


class Joint(NamedTuple):
    """One edge of a crossing: the terminal on its positive and the one on its negative side."""

    edge: Edge
    plus: str
    minus: str


class Crossing(NamedTuple):
    """Positive and negative meet here.

    kind: `reversed` where something gets its polarity the wrong way round, `short` where positive runs straight into
    negative, `marks` where a connector's marks are against what its poles carry and no device suffers.
    joints: what would have to move, the one that carries the positive first; () where a part is backwards as a whole.
    part: the part at which they cross, `` where there is none. source: the nearest behind the positive side.
    sufferers: terminals that get the wrong polarity, in the order of the file. edges: all that is wrongly connected.
    """

    kind: Literal["reversed", "short", "marks"]
    joints: tuple[Joint, ...]
    part: str
    sufferers: tuple[str, ...]
    source: str
    edges: tuple[Edge, ...]


class _Scene(NamedTuple):
    """What all steps look at: the job, its network, what hands polarity on, and the marks of terminals."""

    job: Job
    network: Network
    ways: tuple[Way, ...]
    marks: Mapping[str, str]


class _Cut(NamedTuple):
    """A minimum cut: the edges in it, the terminals whose own mark is on the wrong side, and those of the `+` side."""

    joints: list[Joint]
    contrary: list[str]


@once
def crossings(job: Job, network: Network) -> tuple[Crossing, ...]:
    """All places where positive and negative meet, in the order of the file; () in a sound job."""
    ways = joined(job, network)
    net = nets_of(network, ways)
    marks = {t: s for t in job.terminals if (s := sign(job, t))}
    mixed = _mixed(job, net, marks)
    if mixed and (across := across_contacts(job, network, ways)):
        marks = {t: s for t, s in marks.items() if job.terminals[t].part not in across}
        mixed = frozenset(n for n in mixed if {s for t, s in marks.items() if net[t] == n} == {"+", "-"})
    if not mixed:
        return ()
    scene = _Scene(job, network, ways, marks)
    joints: list[Joint] = []
    contrary: list[str] = []
    turned, cleared = _turned(job, network, net, marks, mixed)
    for one in sorted(mixed - cleared):
        cut = _cut(scene, {t for t, n in net.items() if n == one})
        joints += cut.joints
        contrary += cut.contrary
    return (*turned, *_crossings(scene, joints, contrary))


def _mixed(job: Job, net: Mapping[str, str], marks: Mapping[str, str]) -> frozenset[str]:
    """The nets that hold both marks, one of them of a source, and are not the middle of a chain."""
    signs: dict[str, set[str]] = {}
    for terminal, its in marks.items():
        signs.setdefault(net[terminal], set()).add(its)
    both = {n for n, its in signs.items() if len(its) == 2}
    mixed = both & {net[t] for t in marks if gives(job, t)} if both else both
    return frozenset(mixed - middles(job, net)) if mixed else frozenset()


def _turned(
    job: Job, network: Network, net: Mapping[str, str], marks: Mapping[str, str], mixed: frozenset[str]
) -> tuple[list[Crossing], frozenset[str]]:
    """Batteries and panels in chains that have only to be turned round, and the nets in which all is then right.

    Where one or another would do, nobody can say which it is.
    """
    found: dict[frozenset[str], list[tuple[str, tuple[str, str]]]] = {}
    for part in job.parts.values():
        ends = posts(part) if part.kind in ("battery", "panel") else None
        if ends is None or not any(_like(job, net, marks, post) for post in ends):
            continue
        left = _mixed(job, {**net, ends[0]: net[ends[1]], ends[1]: net[ends[0]]}, marks)
        if left < mixed and not {net[end] for end in ends} & left:
            found.setdefault(mixed - left, []).append((part.id, ends))
    turned = []
    cleared: frozenset[str] = frozenset()
    for nets, parts in found.items():
        if len(parts) == 1 and not nets & cleared:
            id, ends = parts[0]
            edges = tuple(edge for edge in network.edges if edge.a in ends or edge.b in ends)
            turned.append(Crossing("reversed", (), id, ends, "", edges))
            cleared |= nets
    return turned, cleared


def _like(job: Job, net: Mapping[str, str], marks: Mapping[str, str], post: str) -> bool:
    """Whether a post lies on a like post of another of its kind, and on nothing else that has a polarity."""
    kind = job.parts[job.terminals[post].part].kind
    others = [t for t, its in marks.items() if net[t] == net[post] and t != post]
    return bool(others) and all(
        job.parts[job.terminals[t].part].kind == kind and marks[t] == marks[post] for t in others
    )


def without(network: Network, found: Iterable[Crossing]) -> Network:
    """The network with the crossings taken out: what is left is wired as it was meant, or not at all."""
    gone = {id(edge) for crossing in found for edge in crossing.edges}
    if not gone:
        return network
    edges = tuple(edge for edge in network.edges if id(edge) not in gone)
    return Network(edges, {t: tuple(e for e in at if id(e) not in gone) for t, at in network.at.items()})


# ---------------------------------------------------------------- the cut


def _cost(scene: _Scene, edge: Edge | None) -> int:
    """What it costs to cut an edge: conductors first, those that land on a device before those upstream."""
    if edge is None or (isinstance(edge.item, Contact) and edge.item.kind == "solid"):
        return ENDLESS
    if isinstance(edge.item, Link) and edge.item.why in ("stud", "way", "dissolved"):
        return ENDLESS
    ends = (edge.a, edge.b)
    rank = min(_rank(scene.job, end) if end in scene.marks else 4 for end in ends)
    if edge.kind == "link":
        return LINK + rank
    crossed = {scene.marks.get(end) for end in ends} >= {"+", "-"}
    return (CONDUCTOR if edge.kind == "conductor" or crossed else CONTACT) + rank


def _rank(job: Job, terminal: str) -> int:
    """The lower, the likelier that the mistake was made at this marked terminal."""
    at = job.terminals[terminal]
    part = job.parts[at.part]
    if part.kind in MARKED:
        return 1
    if not is_source(part, at.name):
        return 0
    return 3 if part.kind == "battery" else 2


def _strength(scene: _Scene, terminal: str) -> int:
    """What it costs to suppose that a terminal's own mark is wrong."""
    kind = scene.job.parts[scene.job.terminals[terminal].part].kind
    return ENDLESS if kind == "feed" else POLE if kind in MARKED else POST


def _cut(scene: _Scene, members: set[str]) -> _Cut:
    """The cheapest set of mistakes that explains why `+` reaches `-` in one net."""
    room: dict[str, dict[str, int]] = {t: {} for t in scene.network.at if t in members}
    room["+"], room["-"] = {}, {}

    def pipe(a: str, b: str, forward: int, back: int) -> None:
        room[a][b] = room[a].get(b, 0) + forward
        room[b][a] = room[b].get(a, 0) + back

    inside = [(edge, a, b) for edge, a, b in scene.ways if a in members and a != b]
    for edge, a, b in inside:
        cost = _cost(scene, edge)
        pipe(a, b, cost, 0 if _one_way(edge) else cost)
    marked = [t for t in room if t in scene.marks]
    for terminal in marked:
        strength = _strength(scene, terminal)
        if scene.marks[terminal] == "+":
            pipe("+", terminal, strength, 0)
        else:
            pipe(terminal, "-", strength, 0)
    reached = _fill(room)
    joints = []
    for edge, a, b in inside:
        if edge is not None and (a in reached) != (b in reached) and not (_one_way(edge) and b in reached):
            joints.append(Joint(edge, a, b) if a in reached else Joint(edge, b, a))
    return _Cut(joints, [t for t in marked if (t in reached) != (scene.marks[t] == "+")])


def _one_way(edge: Edge | None) -> bool:
    """A diode hands positive on from `a` to `b` only."""
    return edge is not None and isinstance(edge.item, Contact) and edge.item.kind == "diode"


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
        for a, b in steps:
            room[a][b] -= least
            room[b][a] = room[b].get(a, 0) + least


# ---------------------------------------------------------------- from the cut to crossings


def _crossings(scene: _Scene, joints: list[Joint], contrary: list[str]) -> Iterator[Crossing]:
    """Cut edges and contrary marks that belong to one mistake, together."""
    job, marks = scene.job, scene.marks
    gone = {id(joint.edge) for joint in joints}
    piece = nets_of(scene.network, [way for way in scene.ways if way[0] is None or id(way[0]) not in gone])
    wrong = set(contrary)
    live = {piece[t] for t, its in marks.items() if its == "+" and gives(job, t) and t not in wrong}
    live |= _behind_changeovers(scene, piece, live)
    drained = {piece[t] for t, its in marks.items() if its == "-" and gives(job, t) and t not in wrong}
    drained |= {piece[earth] for body in job.bodies.values() for earth in body.earths if earth in piece}
    order = {id(edge): i for i, edge in enumerate(scene.network.edges)}
    sides = _sides(scene, piece)
    found: list[Crossing] = []
    backwards = _backwards(scene, contrary)
    for part, group in _grouped(scene, joints, piece, sides):
        group = sorted(group, key=lambda one: (piece[one.plus] not in live, order[id(one.edge)]))
        whole = next((ids for ids in backwards if all(set(ids) & set(_parts(job, one.edge)) for one in group)), None)
        if whole is not None and job.parts[whole[0]].kind not in MARKED:
            backwards.remove(whole)
            found.append(_whole(scene, whole, contrary, tuple(one.edge for one in group)))
            continue
        found.append(
            Crossing(
                _kind(scene, part, group, piece, live, drained, sides),
                tuple(group),
                part,
                _sufferers(scene, group, piece, live, drained),
                _source(scene, group[0].plus, piece),
                tuple(one.edge for one in group),
            )
        )
    at_joints = {end for joint in joints for end in _parts(job, joint.edge)}
    for ids in backwards:
        if job.parts[ids[0]].kind not in MARKED:
            found.append(_whole(scene, ids, contrary, ()))
        elif job.parts[ids[0]].kind != "fuse-block" and not at_joints & set(ids):
            terminals = tuple(t for t in contrary if job.terminals[t].part in ids)
            found.append(Crossing("marks", (), ids[0], terminals, "", ()))
    found.sort(key=lambda each: min((order[id(edge)] for edge in each.edges), default=len(order)))
    yield from found


def _behind_changeovers(scene: _Scene, piece: Mapping[str, str], live: set[str]) -> set[str]:
    """Pieces that a live one reaches by a changeover relay between positive and negative, which hands on neither."""
    known = {id(edge) for edge, _, _ in scene.ways}
    apart = [
        edge
        for edge in scene.network.edges
        if isinstance(edge.item, Contact) and edge.item.kind == "relay" and id(edge) not in known
    ]
    ends = [(piece[a], piece[b]) for edge in apart for a, b in ((edge.a, edge.b), (edge.b, edge.a))]
    return {b for a, b in ends if a in live}


def _whole(scene: _Scene, ids: list[str], contrary: list[str], edges: tuple[Edge, ...]) -> Crossing:
    """A part (and what is bolted to it) that is backwards as a whole; `edges` are joints that say so too."""
    job = scene.job
    wrong = {t for t in contrary if job.terminals[t].part in ids}
    wrong |= {t for edge in edges for t in (edge.a, edge.b) if job.terminals[t].part in ids}
    terminals = tuple(t for t in job.terminals if t in wrong)
    known = {id(edge) for edge in edges}
    more = [e for e in scene.network.edges if (e.a in wrong) != (e.b in wrong) and id(e) not in known]
    return Crossing("reversed", (), ids[0], terminals, "", (*edges, *more))


def _backwards(scene: _Scene, contrary: list[str]) -> list[list[str]]:
    """Parts whose own marks are on the wrong side; parts bolted to one another together."""
    groups: list[list[str]] = []
    for part in dict.fromkeys(scene.job.terminals[t].part for t in contrary):
        mine = [t for t in contrary if scene.job.terminals[t].part == part]
        bolted = {scene.job.terminals[there].part for t in mine for edge, there in scene.network.around(t)
                  if edge.kind == "link" and there in contrary}  # fmt: skip
        home = next((group for group in groups if bolted & set(group)), None)
        if home is None:
            groups.append([part])
        else:
            home.append(part)
    return groups


def _sides(scene: _Scene, piece: Mapping[str, str]) -> dict[str, str]:
    """Piece -> the group of pieces that devices hold together by their two polarities."""
    root = {p: p for p in piece.values()}

    def find(p: str) -> str:
        while root[p] != p:
            p = root[p]
        return p

    for part in scene.job.parts.values():
        if part.kind in SINKS:
            mine = [piece[t] for t in part.terminals if t in piece and t in scene.marks]
            for other in mine[1:]:
                root[find(other)] = find(mine[0])
    return {p: find(p) for p in root}


def _parts(job: Job, edge: Edge) -> tuple[str, ...]:
    """Ids of the parts at the two ends."""
    return tuple(dict.fromkeys(job.terminals[t].part for t in (edge.a, edge.b) if job.terminals[t].part))


def _grouped(
    scene: _Scene, joints: list[Joint], piece: Mapping[str, str], sides: Mapping[str, str]
) -> list[tuple[str, list[Joint]]]:
    """Joints that meet at one device, else at one connector, else at one source, else between the same two sides."""
    left = joints
    found: list[tuple[str, list[Joint]]] = []
    for kinds in (SINKS - SOURCES, MARKED, SOURCES):
        at: dict[str, list[Joint]] = {}
        for one in left:
            for part in _parts(scene.job, one.edge):
                if scene.job.parts[part].kind in kinds:
                    at.setdefault(part, []).append(one)
        taken: set[int] = set()
        for part in sorted(at, key=lambda id: _wires(scene, id)) if kinds is SOURCES else at:  # the least wired slipped
            group = at[part]
            free = [one for one in group if id(one.edge) not in taken]
            if len(free) > 1:
                taken |= {id(one.edge) for one in free}
                found.append((part, free))
        left = [one for one in left if id(one.edge) not in taken]
    pairs: dict[frozenset[str], list[Joint]] = {}
    for one in left:
        pairs.setdefault(frozenset({sides[piece[one.plus]], sides[piece[one.minus]]}), []).append(one)
    for group in pairs.values():
        crossed = [one.edge.subject for one in group if one.edge.kind == "contact"]
        found.append((crossed[0] if crossed else "", group))
    return found


def _wires(scene: _Scene, part: str) -> int:
    """How many edges lie at the terminals of a part."""
    return sum(len(scene.network.at.get(terminal, ())) for terminal in scene.job.parts[part].terminals)


def _kind(
    scene: _Scene,
    part: str,
    group: list[Joint],
    piece: Mapping[str, str],
    live: set[str],
    drained: set[str],
    sides: Mapping[str, str],
) -> Literal["reversed", "short"]:
    """Reversed where both polarities change places, or where the wrong one reaches a terminal that has no other."""
    if part:
        near = {scene.job.terminals[one.plus].part == part for one in group}
        inside = {scene.job.terminals[one.minus].part == part for one in group}
        if len(near) == 2 or (near == inside == {True} and len(group) > 1):
            return "reversed"
    else:
        ways = {(sides[piece[one.plus]], sides[piece[one.minus]]) for one in group}
        if any((b, a) in ways for a, b in ways if a != b) or (len(group) > 1 and any(a == b for a, b in ways)):
            return "reversed"
    straight = all(piece[one.plus] in live and piece[one.minus] in drained for one in group)
    return "short" if straight else "reversed"


def _sufferers(
    scene: _Scene, group: list[Joint], piece: Mapping[str, str], live: set[str], drained: set[str]
) -> tuple[str, ...]:
    """Terminals of devices that get the wrong polarity through these joints, and have no other."""
    wrong: dict[str, str] = {}
    for one in group:
        if piece[one.plus] in live and piece[one.minus] not in drained:
            wrong[piece[one.minus]] = "-"
        if piece[one.minus] in drained and piece[one.plus] not in live:
            wrong[piece[one.plus]] = "+"
    job = scene.job
    return tuple(
        t
        for t, its in scene.marks.items()
        if wrong.get(piece[t]) == its
        and job.terminals[t].used
        and not gives(job, t)
        and job.parts[job.terminals[t].part].kind not in MARKED
    )


def _source(scene: _Scene, plus: str, piece: Mapping[str, str]) -> str:
    """A source on the positive side of a joint: a battery where there is one, else the first in the file."""
    found = [
        scene.job.terminals[t].part
        for t, its in scene.marks.items()
        if its == "+" and piece[t] == piece[plus] and gives(scene.job, t)
    ]
    batteries = [part for part in found if scene.job.parts[part].kind == "battery"]
    return next(iter(batteries or found), "")
