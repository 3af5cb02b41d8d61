"""What rules ask of a study: what feeds, through what, how far, with which sign. Walks that no rule has to repeat.

All walks go over the job as built and take open contacts as passable: a switch may be closed tomorrow. They pass
conductors, links and contacts, earths of one body, never the inside of a load, charger or battery.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from heapq import heappop, heappush
from typing import NamedTuple

from wiregen.circuit.assemble import charger_minus, main_battery
from wiregen.circuit.network import Edge
from wiregen.circuit.study import Study
from wiregen.model.job import Contact, Job, Part


class Post(NamedTuple):
    """A terminal pair that can feed current into the wiring.

    kind : battery, alternator, charger (an output), panel, feed
    limit_a : greatest current it gives of itself [A], None where only resistance limits it (a battery, a feed)
    """

    part: str
    kind: str
    plus: str
    minus: str
    limit_a: float | None


class Step(NamedTuple):
    """One edge of a walk, passed from `start` to `end`. `subject` is a conductor's id, a part's, `` for a link."""

    edge: Edge | None
    subject: str
    start: str
    end: str
    length_m: float


class Run(NamedTuple):
    """A way from a source's post without a protective device.

    conductors : ids in order from the post
    length_m : their lengths added up; of the conductors that say no length nothing is counted (`unknown_length`)
    ends_at : the terminal where it ends
    device : the fuse or breaker that it ends on, None where it ends at a part or in the air unprotected
    sheathed : whether every conductor on it runs in conduit, sheath or sleeve
    """

    post: Post
    conductors: tuple[str, ...]
    length_m: float
    unknown_length: bool
    ends_at: str
    device: str | None
    sheathed: bool


class Fed(NamedTuple):
    """A terminal is joined to a source's post of this sign; `path` names conductors and parts from the post on."""

    source: str
    sign: str
    path: tuple[str, ...]


class Protection(NamedTuple):
    """What stands between a source and a conductor: the device with the lowest rating on the way with most of it.

    device, rating_a : None where nothing stands on one of the ways
    """

    conductor: str
    post: Post
    device: str | None
    rating_a: float | None


class Worst(NamedTuple):
    """The largest current of a conductor over the cases (its size, not its sign), and in which case."""

    current_a: float
    case: str


def sources(study: Study) -> tuple[Post, ...]:
    """Every post that can feed, in the order of the file."""
    job = study.job
    found = []
    for part in job.parts.values():
        found += list(_posts(job, part))
    return tuple(found)


def _posts(job: Job, part: Part) -> Iterable[Post]:
    plus, minus = f"{part.id}.+", f"{part.id}.-"
    if part.kind == "battery":
        yield Post(part.id, "battery", plus, minus, None)
    elif part.kind == "alternator" and plus in job.terminals:
        yield Post(part.id, "alternator", plus, minus, part.number("rating"))
    elif part.kind in ("charger", "solar-controller", "mains-charger"):
        yield Post(part.id, "charger", f"{part.id}.out.+", charger_minus(job, part, "out"), part.number("rating"))
    elif part.kind == "panel":
        amps = part.number("isc") or part.number("imp")
        amps = amps * (part.number("parallel") or 1.0) if amps else None
        yield Post(part.id, "panel", plus, minus, amps)
    elif part.kind == "feed":
        main = main_battery(job)
        yield Post(part.id, "feed", part.id, f"{main.id}.-" if main else "", part.number("fused"))


def walk(study: Study, start: str, *, through_protection: bool = True) -> dict[str, tuple[float, tuple[Step, ...]]]:
    """Every terminal that is joined to `start`, with the length of conductor to it and the steps on the shortest way.

    With `through_protection=False` a fuse or breaker is a wall: its near terminal is reached, its far one is not.
    """
    around = _edges(study)
    found: dict[str, tuple[float, tuple[Step, ...]]] = {}
    heap: list[tuple[float, int, str, tuple[Step, ...]]] = [(0.0, 0, start, ())]
    count = 0
    while heap:
        length, _, at, steps = heappop(heap)
        if at in found:
            continue
        found[at] = length, steps
        for step in around.get(at, ()):
            if step.end in found or (not through_protection and step.edge is not None and step.edge.protects):
                continue
            count += 1
            heappush(heap, (length + step.length_m, count, step.end, (*steps, step)))
    return found


def _edges(study: Study) -> Mapping[str, list[Step]]:
    """Steps that leave each terminal, in the order of the file; earths of one body are joined."""
    job = study.job
    found: dict[str, list[Step]] = {}
    for edge in study.network.edges:
        length = 0.0
        if edge.kind == "conductor":
            length = job.conductors[edge.subject].number("length") or 0.0
        found.setdefault(edge.a, []).append(Step(edge, edge.subject, edge.a, edge.b, length))
        if edge.a != edge.b:
            found.setdefault(edge.b, []).append(Step(edge, edge.subject, edge.b, edge.a, length))
    for body in job.bodies.values():
        for a in body.earths:
            found.setdefault(a, []).extend(Step(None, body.id, a, b, 0.0) for b in body.earths if b != a)
    return found


def unfused_runs(study: Study, posts: Iterable[Post] | None = None) -> tuple[Run, ...]:
    """From each source's positive post every way to the first fuse or breaker, or to where it ends without one.

    Ways that share their first conductors are told one by one; each terminal is reached by its shortest way, and a
    conductor that closes a loop ends a run of its own.
    """
    around = _edges(study)
    runs: list[Run] = []
    for post in sources(study) if posts is None else posts:
        reached = walk(study, post.plus, through_protection=False)
        passed: set[str] = set()  # terminals that a longer way goes through
        for _, steps in reached.values():
            passed.update(step.start for step in steps)
        for terminal, (length, steps) in reached.items():
            devices = [
                step.subject for step in around.get(terminal, ()) if step.edge is not None and step.edge.protects
            ]
            for device in dict.fromkeys(devices):
                runs.append(_run(study, post, steps, length, terminal, device))
            if not devices and terminal not in passed and steps:
                runs.append(_run(study, post, steps, length, terminal, None))
        tree = {step.subject for _, steps in reached.values() for step in steps if _is_conductor(step)}
        for terminal, (length, steps) in reached.items():
            for step in around.get(terminal, ()):
                loop = _is_conductor(step) and step.subject not in tree and step.end in reached
                if loop and length <= reached[step.end][0]:
                    tree.add(step.subject)
                    runs.append(_run(study, post, (*steps, step), length + step.length_m, step.end, None))
    return tuple(runs)


def _is_conductor(step: Step) -> bool:
    return step.edge is not None and step.edge.kind == "conductor"


def _run(study: Study, post: Post, steps: tuple[Step, ...], length: float, end: str, device: str | None) -> Run:
    ids = tuple(step.subject for step in steps if _is_conductor(step))
    conductors = [study.job.conductors[id] for id in ids]
    return Run(
        post=post,
        conductors=ids,
        length_m=length,
        unknown_length=any(c.number("length") is None for c in conductors),
        ends_at=end,
        device=device,
        sheathed=bool(conductors) and all(c.has("in") or c.cable is not None for c in conductors),
    )


def polarity(study: Study) -> dict[str, tuple[Fed, ...]]:
    """Terminal -> the sources whose positive or negative it is joined to, with the way from there."""
    found: dict[str, list[Fed]] = {terminal: [] for terminal in study.job.terminals}
    for post in sources(study):
        for sign, start in (("+", post.plus), ("-", post.minus)):
            if not start or (post.kind == "feed" and sign == "-"):
                continue
            for terminal, (_, steps) in walk(study, start).items():
                path = tuple(dict.fromkeys(step.subject for step in steps if step.subject))
                found.setdefault(terminal, []).append(Fed(post.part, sign, path))
    return {terminal: tuple(fed) for terminal, fed in found.items()}


def protections(study: Study) -> tuple[Protection, ...]:
    """For each source and each conductor that it can feed from its positive post: what protects the conductor.

    On each way the lowest rating counts; of several ways the one that lets most through. In the order of the file.
    """
    job = study.job
    around = _edges(study)
    found: list[Protection] = []
    for post in sources(study):
        best = _widest(job, around, post.plus)
        for conductor in job.conductors.values():
            ends = [best[t] for t in (conductor.from_, conductor.to) if t in best]
            if ends:
                rating, device = max(ends, key=lambda end: end[0])
                found.append(Protection(conductor.id, post, device, None if device is None else rating))
    return tuple(found)


def _widest(job: Job, around: Mapping[str, list[Step]], start: str) -> dict[str, tuple[float, str | None]]:
    """Terminal -> (lowest rating on the way with most of it, its device); infinite and None where nothing is on it."""
    best: dict[str, tuple[float, str | None]] = {}
    heap: list[tuple[float, int, str, str | None]] = [(float("-inf"), 0, start, None)]
    count = 0
    while heap:
        width, _, at, device = heappop(heap)
        if at in best:
            continue
        best[at] = -width, device
        for step in around.get(at, ()):
            if step.end in best:
                continue
            rating, by = -width, device
            if step.edge is not None and step.edge.protects:
                own = job.parts[step.subject].number("rating")
                if own is not None and own < rating:
                    rating, by = own, step.subject
                elif own is None and by is None:
                    rating, by = float("inf"), step.subject
            count += 1
            heappush(heap, (-rating, count, step.end, by))
    return best


def largest_currents(study: Study) -> dict[str, Worst | None]:
    """Conductor -> its largest working current over the solved cases; None where no case has an answer."""
    found: dict[str, Worst | None] = {}
    for id in study.job.conductors:
        worst = None
        for case in study.cases:
            current = case.flows[id].current_a
            if current is not None and (worst is None or abs(current) > worst.current_a):
                worst = Worst(abs(current), case.name)
        found[id] = worst
    return found


def contact_of(edge: Edge) -> Contact | None:
    """The contact that an edge is, None for a conductor or link."""
    return edge.item if isinstance(edge.item, Contact) else None
