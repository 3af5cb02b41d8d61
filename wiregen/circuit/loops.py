"""Second ways between two points of one negative: what leads around a switch or a plug, and what flows there then."""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace
from typing import NamedTuple

from wiregen.circuit.case_result import solved_case
from wiregen.circuit.cases import operating_cases
from wiregen.circuit.figures import Figures
from wiregen.circuit.polarity import Way, gives, joined, nets_of, sign
from wiregen.circuit.study import CaseResult, Study
from wiregen.model.job import Body, Conductor, Contact, Link, Part

SWITCHING = frozenset({"switch", "relay", "breaker", "fuse"})


class Around(NamedTuple):
    """A part between two terminals of one negative, and the ids on a way that leads around it."""

    part: Part
    a: str
    b: str
    ids: tuple[str, ...]


class Overload(NamedTuple):
    """A conductor that carries more than it bears once a way is lost: the case, its current and ampacity [A]."""

    conductor: Conductor
    case: str
    current: float
    ampacity: float


def way_around(ways: Iterable[Way], start: str, goals: Collection[str]) -> tuple[str, ...]:
    """Ids of conductors and parts on a shortest way from a terminal to the nearest of others; () if there is none."""
    around: dict[str, list[tuple[str, str]]] = {}
    for edge, a, b in ways:
        id = edge.subject if edge is not None else ""
        around.setdefault(a, []).append((b, id))
        around.setdefault(b, []).append((a, id))
    came: dict[str, tuple[str, str]] = {start: ("", "")}
    queue = deque([start])
    while queue:
        here = queue.popleft()
        if here in goals:
            ids: list[str] = []
            while here != start:
                here, id = came[here]
                ids += [id] if id else []
            return tuple(dict.fromkeys(reversed(ids)))
        for there, id in around.get(here, ()):
            if there not in came:
                came[there] = here, id
                queue.append(there)
    return ()


def negatives(study: Study, ways: Iterable[Way]) -> frozenset[str]:
    """The terminals of nets that a source gives its negative, and none its positive."""
    net = nets_of(study.network, ways)
    signs: dict[str, set[str]] = {}
    for terminal in study.job.terminals:
        its = sign(study.job, terminal)
        if its and gives(study.job, terminal):
            signs.setdefault(net[terminal], set()).add(its)
    return frozenset(t for t, n in net.items() if signs.get(n) == {"-"})


def switches_passed_by(study: Study) -> Iterator[Around]:
    """Switches, relays, fuses and breakers in a negative whose two sides plain metal joins by another way."""
    ways = joined(study.job, study.network)
    there = [w[0].item for w in ways if w[0] is not None and _opens(w[0].item)]
    if not there:
        return
    low = negatives(study, ways)
    rest = [way for way in ways if way[0] is None or not _opens(way[0].item)]
    net = nets_of(study.network, rest)
    for contact in there:
        if isinstance(contact, Contact) and contact.a in low and net[contact.a] == net[contact.b]:
            part = study.job.parts[contact.part]
            yield Around(part, contact.a, contact.b, way_around(rest, contact.a, {contact.b}))


def _opens(item: object) -> bool:
    return isinstance(item, Contact) and item.kind in SWITCHING


def plugs_passed_by(study: Study) -> Iterator[Around]:
    """Negative poles of connectors whose two sides are still joined when the connector is apart."""
    ways = joined(study.job, study.network)
    pairs: dict[tuple[str, ...], list[Way]] = {}
    for way in ways:
        item = way[0].item if way[0] is not None else None
        if isinstance(item, Contact) and item.kind == "pole":
            pairs.setdefault((item.part,), []).append(way)
        elif isinstance(item, Link) and item.why == "mated":
            halves = (study.job.terminals[item.a].part, study.job.terminals[item.b].part)
            pairs.setdefault(halves, []).append(way)
    if not pairs:
        return
    low = negatives(study, ways)
    for ids, poles in pairs.items():
        if not any(a in low for _, a, _ in poles):
            continue
        own = {id(way[0]) for way in poles}
        rest = [way for way in ways if id(way[0]) not in own]
        net = nets_of(study.network, rest)
        for _, a, b in poles:
            if a in low and net[a] == net[b]:
                yield Around(study.job.parts[ids[0]], a, b, way_around(rest, a, {b}))


def bonded_twice(study: Study, body: Body) -> tuple[str, ...]:
    """Earths of a body that are joined with each other without it, two or more; () where there are none."""
    own = set(body.earths)
    rest = [way for way in joined(study.job, study.network) if not (way[0] is None and way[1] in own)]
    net = nets_of(study.network, rest)
    sides: dict[str, list[str]] = {}
    for earth in body.earths:
        if earth in net:
            sides.setdefault(net[earth], []).append(earth)
    return next((tuple(earths) for earths in sides.values() if len(earths) > 1), ())


def overload_without(study: Study, one: Around, cases: Collection[str]) -> Overload | None:
    """What carries too much, and did not before, when the pole opens: in the case in which most flows through it."""
    broken = [edge.subject for edge, _ in study.network.around(one.a) if edge.kind == "conductor"]
    worst: tuple[float, CaseResult] | None = None
    for case in study.cases:
        if not case.solved or case.name not in cases:
            continue
        through = abs(sum((case.flows[id].current_a or 0.0) * _out(study, id, one.a) for id in broken))
        if through > 1e-3 and (worst is None or through > worst[0] * (1 + 1e-6)):
            worst = through, case
    if worst is None:
        return None
    before = worst[1]
    state = next(state for state in operating_cases(study.job) if state.name == before.name)
    after, _ = solved_case(study.job, Figures(study.job), replace(state, broken=state.broken | set(broken)))
    if not after.solved:
        return None
    most: Overload | None = None
    for id, flow in after.flows.items():
        if flow.current_a is None or not flow.ampacity_a or abs(flow.current_a) <= flow.ampacity_a * (1 + 1e-9):
            continue
        found = Overload(study.job.conductors[id], after.name, abs(flow.current_a), flow.ampacity_a)
        if abs(before.flows[id].current_a or 0.0) > flow.ampacity_a:
            continue
        if most is None or found.current / found.ampacity > most.current / most.ampacity * (1 + 1e-6):
            most = found
    return most


def _out(study: Study, conductor: str, terminal: str) -> float:
    return 1.0 if study.job.conductors[conductor].from_ == terminal else -1.0
