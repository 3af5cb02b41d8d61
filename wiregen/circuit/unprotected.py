"""How far current can run from a source before it meets a fuse or breaker, along every path."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from heapq import heappop, heappush
from typing import NamedTuple

from wiregen.circuit.network import Edge, Network
from wiregen.circuit.polarity import middles, nets, posts
from wiregen.model.job import Conductor, Contact, Job

ENGINE = frozenset({"starter", "alternator"})


class Run(NamedTuple):
    """One conductor that a source feeds with no protective device between.

    `start_m` and `end_m` are conductor lengths from the source to its two ends; None where one on the way is not
    given. `before` are the ids passed on the way. `enclosed` tells whether all of them and this one run in a conduit,
    sheath, sleeve or cable; `on_post` whether nothing but conductors and joints lies between it and the source.
    """

    conductor: Conductor
    source: str
    start_m: float | None
    end_m: float | None
    before: tuple[str, ...]
    enclosed: bool
    on_post: bool
    enters: str
    leaves: str

    @property
    def known_m(self) -> float:
        """From the source to its far end as far as lengths are given [m]."""
        return self.end_m if self.end_m is not None else (self.start_m or 0.0) + _length(self.conductor)


class Onward(NamedTuple):
    """What lies behind a terminal up to the protective devices: ids in order, the nearest device, how far it is."""

    ids: tuple[str, ...]
    protected_by: str | None
    length_m: float | None  # to that device; without one, to the farthest end; None where a length is not given


class _Step(NamedTuple):
    """A terminal to walk on from; ordered by length, then by when it was found."""

    length_m: float
    turn: int
    terminal: str
    known: bool
    before: tuple[str, ...]
    enclosed: bool
    on_post: bool


def live_posts(job: Job, network: Network) -> tuple[str, ...]:
    """Battery posts that a fuse has to stand beside: all but the earthed one, or the bottom of an unearthed chain.

    The positive posts; where the positive is earthed, the negative ones; between batteries in series both.
    """
    unfused = nets(job, Network(tuple(edge for edge in network.edges if not edge.protects), network.at))
    wired = nets(job, network)
    earths = [e for body in job.bodies.values() for e in body.earths if e in wired]
    earthed_straight, earthed = {unfused[e] for e in earths}, {wired[e] for e in earths}
    batteries = [p for part in job.parts.values() if part.kind == "battery" and (p := posts(part))]
    between = middles(job, wired)
    out = []
    for plus, minus in batteries:
        upside_down = unfused[plus] in earthed_straight and wired[minus] not in earthed
        if not upside_down:
            out.append(plus)
        if upside_down or wired[minus] in between:
            out.append(minus)
    return tuple(out)


def engine_leads(job: Job, network: Network, sources: Collection[str]) -> dict[str, str]:
    """Conductors between a starter or alternator and its nearest battery post, unfused: id -> the engine's part.

    Relays, diodes and voltage-sensing relays are not on a cranking path: what lies behind them is not a starter lead.
    """
    out: dict[str, str] = {}
    for part in job.parts.values():
        if part.kind not in ENGINE:
            continue
        for terminal in part.terminals:
            if terminal.endswith(".-"):
                continue
            for lead in _nearest(job, network, terminal, sources):
                out.setdefault(lead, part.id)
    return out


def _nearest(job: Job, network: Network, start: str, goals: Collection[str]) -> tuple[str, ...]:
    """Conductors on the shortest unprotected way from a terminal to one of the goals."""
    queue = [_Step(0.0, 0, start, True, (), True, True)]
    done: set[str] = set()
    count = 0
    while queue:
        step = heappop(queue)
        if step.terminal in done:
            continue
        done.add(step.terminal)
        if step.terminal in goals:
            return step.before
        for edge, there in network.around(step.terminal):
            if edge.protects or not passes(edge) or _not_for_cranking(job, edge):
                continue
            count += 1
            if isinstance(edge.item, Conductor):
                length = step.length_m + _length(edge.item)
                heappush(queue, step._replace(
                    length_m=length, turn=count, terminal=there, before=(*step.before, edge.subject)))  # fmt: skip
            else:
                heappush(queue, step._replace(turn=count, terminal=there))
    return ()


def _not_for_cranking(job: Job, edge: Edge) -> bool:
    item = edge.item
    if not isinstance(item, Contact):
        return False
    return item.kind in ("relay", "diode") or job.parts[item.part].kind in ("voltage-relay", "low-voltage-disconnect")


def bank_links(job: Job, network: Network) -> dict[str, tuple[str, str]]:
    """Conductors straight from post to post of two batteries in one place: id -> the two batteries.

    Side by side they are not of two capacities alone.
    """

    def post(terminal: str) -> str | None:
        seen, queue = {terminal}, [terminal]
        while queue:
            here = queue.pop()
            part = job.part_of(here)
            if part is not None and part.kind == "battery":
                return here
            for edge, there in network.around(here):
                if edge.kind == "link" and there not in seen:
                    seen.add(there)
                    queue.append(there)
        return None

    out = {}
    for conductor in job.conductors.values():
        one, other = post(conductor.from_), post(conductor.to)
        first, second = (job.part_of(each) if each else None for each in (one, other))
        if one and other and first is not None and second is not None and first is not second:
            differ = [f for f in ("capacity", "chemistry", "volts") if first.word(f) != second.word(f)]
            in_series = one[-1:] != other[-1:]
            like = not differ or differ[-1] != "capacity" or in_series  # what differs else has findings of its own
            if first.place is not None and first.place == second.place and like:
                out[conductor.id] = (first.id, second.id)
    return out


def reached(
    job: Job,
    network: Network,
    source: str,
    *,
    limit: Callable[[Run], float],
    stops: Collection[str] = (),
    free: Collection[str] = (),
) -> Iterator[tuple[Run, bool]]:
    """Every conductor that `source` feeds before a protective device, the nearest first, and whether it is within.

    It is within where its far end is at most `limit` [m] from the source. The walk does not go on behind one that
    is not, since what follows suffers from the same cause, nor past the terminals in `stops`. Conductors in `free`
    are taken as part of the source: no length, not reported.
    """
    done: set[str] = set()
    walked: set[int] = set()
    queue = [_Step(0.0, 0, source, True, (), True, True)]
    count = 0
    while queue:
        step = heappop(queue)
        if step.terminal in done:
            continue
        done.add(step.terminal)
        if step.terminal in stops and step.terminal != source:
            continue
        for edge, there in network.around(step.terminal):
            if edge.protects or id(edge) in walked or not passes(edge):
                continue
            walked.add(id(edge))
            count += 1
            item = edge.item
            if not isinstance(item, Conductor):
                before = (*step.before, edge.subject) if edge.subject else step.before
                on_post = step.on_post and edge.kind == "link"
                heappush(queue, step._replace(turn=count, terminal=there, before=before, on_post=on_post))
                continue
            before = (*step.before, item.id)
            if item.id in free:
                heappush(queue, step._replace(turn=count, terminal=there, before=before))
                continue
            known = step.known and item.has("length")
            far = step.length_m + _length(item)
            run = Run(
                item,
                source,
                step.length_m if step.known else None,
                far if known else None,
                step.before,
                step.enclosed and in_enclosure(job, item),
                step.on_post,
                step.terminal,
                there,
            )
            most = limit(run)
            within = not far > most + 1e-9 * max(far, most)
            yield run, within
            if within:
                heappush(queue, _Step(far, count, there, known, before, run.enclosed, step.on_post))


def onward(job: Job, network: Network, start: str, came: Conductor | None, stops: Collection[str] = ()) -> Onward:
    """What lies behind a terminal, without going back through the conductor by which it was reached."""
    ids: dict[str, None] = {}
    best: tuple[float, bool, str] | None = None
    farthest, all_known = 0.0, True
    done: set[str] = set()
    queue = [_Step(0.0, 0, start, True, (), True, True)]
    count = 0
    while queue:
        step = heappop(queue)
        if step.terminal in done:
            continue
        done.add(step.terminal)
        farthest, all_known = max(farthest, step.length_m), all_known and step.known
        part = job.part_of(step.terminal)
        if part is not None:
            ids.setdefault(part.id)
        if step.terminal in stops:
            continue
        for edge, there in network.around(step.terminal):
            if edge.item is came or there in done or not passes(edge):
                continue
            if edge.protects:
                ids.setdefault(edge.subject)
                if best is None:
                    best = (step.length_m, step.known, edge.subject)
                continue
            count += 1
            if isinstance(edge.item, Conductor):
                ids.setdefault(edge.subject)
                known = step.known and edge.item.has("length")
                heappush(queue, _Step(step.length_m + _length(edge.item), count, there, known, (), True, True))
            else:
                heappush(queue, step._replace(turn=count, terminal=there))
    if best is not None:
        return Onward(tuple(ids), best[2], best[0] if best[1] else None)
    return Onward(tuple(ids), None, farthest if all_known else None)


def passes(edge: Edge) -> bool:
    """Whether current may come through: not through pulled halves of a connector; an open switch may close."""
    item = edge.item
    return not (isinstance(item, Contact) and item.kind == "pole" and not item.closed)


def in_enclosure(job: Job, conductor: Conductor) -> bool:
    """Whether it is said to run in a conduit, sheath or sleeve: by itself, by its cable or by its bundle."""
    if conductor.cable is not None or conductor.has("in"):
        return True
    bundle = job.bundles.get(conductor.word("bundle"))
    return bundle is not None and any(bundle.has(word) for word in ("conduit", "sheath", "sleeve"))


def _length(conductor: Conductor) -> float:
    """The longest it may be [m]; 0 where it is not given."""
    length = conductor.measure("length")
    return length.high if length else 0.0
