"""A job with faults planted in it: what `fault A { ... }` does to the netlist, as a new job."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from wiregen.findings import Finding, mistake
from wiregen.model.job import Conductor, Fact, Job, Leg, Link, Part, Step, Terminal

CHANGING = ("change", "move", "swap", "leave-out", "break", "joint", "bridge")
"""The verbs that change the job; `expect` and `teaches` only tell."""

INSIDE = ("stud", "way", "dissolved")
"""Links that belong to a part as built: what lands on a terminal moves, these stay."""


def altered(job: Job, steps: Iterable[Step]) -> tuple[Job, tuple[Finding, ...]]:
    """The job after all steps, in their order, and the steps that could not be carried out as mistakes.

    `change` sets facts. `move` puts an end of a conductor elsewhere. `swap` crosses the two poles of a connector, what
    lands on the two posts of a part or port, or the far ends of two conductors. `leave-out` takes a conductor or part
    away; a two-sided part (fuse, switch) leaves its path joined. `bridge` puts metal in its place. `break` opens a
    conductor at its far end, or a fuse, switch or connector. `joint` adds a resistance to all that lands on a terminal,
    to a connector's pole, or to the far end of one conductor.
    """
    findings: list[Finding] = []
    for step in steps:
        if step.verb not in CHANGING or not step.targets:
            continue
        try:
            job = _VERBS[step.verb](job, step)
        except CannotAlter as problem:
            findings.append(mistake(str(problem), step.span, remedy=problem.remedy))
    return job, tuple(findings)


class CannotAlter(Exception):
    """A step that means nothing on what it names."""

    def __init__(self, message: str, remedy: str) -> None:
        super().__init__(message)
        self.remedy = remedy


# ---------------------------------------------------------------- facts


def _change(job: Job, step: Step) -> Job:
    id = step.targets[0]
    if id in job.conductors:
        old = job.conductors[id]
        new = replace(old, facts={**old.facts, **step.facts}, route=_route(old, step.facts.get("length")))
        return _with_conductor(job, new)
    if id in job.parts:
        part = job.parts[id]
        facts = {**part.facts, **step.facts}
        contacts = part.contacts
        if "state" in step.facts and part.kind not in ("feed", "body"):
            closed = step.facts["state"].word.lower() != "open"
            contacts = tuple(c._replace(closed=closed) for c in contacts)
        if "unmated" in step.facts:
            contacts = tuple(c._replace(closed=False) for c in contacts)
        return _with_part(job, replace(part, facts=facts, contacts=contacts))
    place = job.places[id]
    return replace(job, places={**job.places, id: replace(place, facts={**place.facts, **step.facts})})


def _route(conductor: Conductor, length: Fact | None) -> tuple[Leg, ...]:
    """The route of a conductor in another length: each place keeps its share."""
    old = conductor.number("length")
    if length is None or length.measure is None or not old:
        return conductor.route
    ratio = length.measure.value / old
    return tuple(leg._replace(length_m=leg.length_m * ratio if leg.length_m else None) for leg in conductor.route)


# ---------------------------------------------------------------- ends


def _move(job: Job, step: Step) -> Job:
    id, away, there = step.targets
    return _landing(job, job.conductors[id], away, f"loose:{id}" if there == "loose" else there)


def _landing(job: Job, conductor: Conductor, away: str, there: str) -> Job:
    """One end of a conductor on another terminal, made where it is not there yet."""
    if there not in job.terminals:
        job = replace(job, terminals={**job.terminals, there: Terminal(there, "", "", conductor.span)})
    else:
        job = replace(job, terminals={**job.terminals, there: job.terminals[there]._replace(used=True)})
    if conductor.from_ == away:
        moved = replace(conductor, from_=there)
    elif conductor.to == away:
        moved = replace(conductor, to=there)
    else:
        raise CannotAlter(f"{conductor.id} no longer ends on {away}", "an earlier step of the fault has moved it")
    return _with_conductor(job, moved)


def _swap(job: Job, step: Step) -> Job:
    targets = step.targets
    if len(targets) == 1:
        part = job.parts.get(targets[0])
        if part and part.kind == "connector":
            return _crossed(job, part)
        if part and part.kind in ("plug", "socket"):
            return _crossed_halves(job, part)
        pair = _pair(job, targets[0])
        if pair is None:
            remedy = "swap a connector, a part or port with + and -, two terminals, or two conductors"
            raise CannotAlter(f"{targets[0]} has no two ends to swap", remedy)
        return _exchanged(job, *pair)
    if len(targets) == 2 and all(target in job.conductors for target in targets):
        one, other = (job.conductors[target] for target in targets)
        return _landing(_landing(job, one, one.to, other.to), other, other.to, one.to)
    if len(targets) == 2 and all(target in job.terminals for target in targets):
        return _exchanged(job, *targets)
    raise CannotAlter(f"{' '.join(targets)} cannot be swapped", "name one part, two terminals, or two conductors")


def _pair(job: Job, id: str) -> tuple[str, str] | None:
    """The two ends of a part or port: + and -, else in and out."""
    for one, other in (("+", "-"), ("in", "out")):
        if f"{id}.{one}" in job.terminals and f"{id}.{other}" in job.terminals:
            return f"{id}.{one}", f"{id}.{other}"
    return None


def _exchanged(job: Job, one: str, other: str) -> Job:
    """What lands on each of two terminals lands on the other."""
    turn = {one: other, other: one}

    def moved(conductor: Conductor) -> Conductor:
        there = turn.get(conductor.from_, conductor.from_), turn.get(conductor.to, conductor.to)
        return (
            replace(conductor, from_=there[0], to=there[1]) if there != (conductor.from_, conductor.to) else conductor
        )

    def joined(link: Link) -> Link:
        return link if link.why in INSIDE else link._replace(a=turn.get(link.a, link.a), b=turn.get(link.b, link.b))

    terminals = {**job.terminals}
    for end, there in turn.items():
        terminals[end] = terminals[end]._replace(used=job.terminals[there].used)
    return replace(
        job,
        conductors={id: moved(conductor) for id, conductor in job.conductors.items()},
        links=tuple(joined(link) for link in job.links),
        terminals=terminals,
    )


def _crossed(job: Job, part: Part) -> Job:
    """A connector whose first two poles are crossed inside it."""
    if len(part.contacts) < 2:
        raise CannotAlter(f"{part.id} has one pole, and nothing to swap it with", "swap a connector with + and -")
    first, second, *rest = part.contacts
    return _with_part(job, replace(part, contacts=(first._replace(b=second.b), second._replace(b=first.b), *rest)))


def _crossed_halves(job: Job, part: Part) -> Job:
    """Two mated halves whose first two poles are crossed between them."""
    mated = [at for at, link in enumerate(job.links) if link.why == "mated" and _touches(link, part)]
    if len(mated) < 2:
        raise CannotAlter(f"{part.id} is not mated with two poles", "mate it first, or swap what lands on it")
    links = list(job.links)
    one, other = links[mated[0]], links[mated[1]]
    links[mated[0]], links[mated[1]] = one._replace(b=other.b), other._replace(b=one.b)
    return replace(job, links=tuple(links))


def _touches(link: Link, part: Part) -> bool:
    return link.a in part.terminals or link.b in part.terminals


# ---------------------------------------------------------------- away


def _leave_out(job: Job, step: Step) -> Job:
    for id in step.targets:
        if id in job.conductors:
            job = replace(job, conductors={name: c for name, c in job.conductors.items() if name != id})
        elif id in job.parts:
            part = job.parts[id]
            job = _bridged(job, part) if _two_sided(part) else _without(job, part)
        else:
            raise CannotAlter(f"{id} cannot be left out", "name a part or a conductor")
    return job


def _bridge(job: Job, step: Step) -> Job:
    for id in step.targets:
        part = job.parts.get(id)
        if part is None or not _two_sided(part):
            raise CannotAlter(f"{id} cannot be bridged", "name a fuse, breaker, switch or another part with two sides")
        job = _bridged(job, part)
    return job


def _two_sided(part: Part) -> bool:
    return part.kind != "connector" and len(part.contacts) == 1 and part.kind not in ("busbar", "splice", "charger")


def _bridged(job: Job, part: Part) -> Job:
    """A piece of metal in place of a fuse or switch."""
    contacts = tuple(contact._replace(kind="solid", closed=True) for contact in part.contacts)
    return _with_part(job, replace(part, kind="splice", contacts=contacts))


def _without(job: Job, part: Part) -> Job:
    """The job without a part; conductors that landed on it end in the air, links with it are gone."""
    if any(other.block == part.id for other in job.parts.values()):
        raise CannotAlter(f"{part.id} has fuses in it and cannot be left out", "leave out one of its fuses")
    gone = set(part.terminals)
    for conductor in list(job.conductors.values()):
        for end in (conductor.from_, conductor.to):
            if end in gone:
                job = _landing(job, job.conductors[conductor.id], end, f"loose:{conductor.id}")
    return replace(
        job,
        parts={id: each for id, each in job.parts.items() if id != part.id},
        terminals={id: each for id, each in job.terminals.items() if id not in gone},
        links=tuple(link for link in job.links if link.a not in gone and link.b not in gone),
        bodies={
            id: replace(body, earths=tuple(e for e in body.earths if e not in gone)) for id, body in job.bodies.items()
        },
    )


def _break(job: Job, step: Step) -> Job:
    for id in step.targets:
        if id in job.conductors:
            conductor = job.conductors[id]
            job = _landing(job, conductor, conductor.to, f"broken:{id}")
        elif id in job.parts and job.parts[id].contacts:
            part = job.parts[id]
            contacts = tuple(c if c.kind == "solid" else c._replace(closed=False) for c in part.contacts)
            job = _with_part(job, replace(part, contacts=contacts))
        else:
            raise CannotAlter(f"{id} cannot be broken", "name a conductor, a fuse, a switch or a connector")
    return job


# ---------------------------------------------------------------- resistance


def _joint(job: Job, step: Step) -> Job:
    value = next((value for value in step.values if value.measure and value.measure.dimension == "resistance"), None)
    if value is None or value.measure is None:
        return job
    id = step.targets[0]
    at = id if id in job.conductors else _worn(job, id)
    if at is None:
        remedy = f"name where: {id}.+ or {id}.in, a connector's pole, or a conductor"
        raise CannotAlter(f"{id} is no terminal, pole or conductor", remedy)
    return replace(job, joints={**job.joints, at: job.joints.get(at, 0.0) + value.measure.value})


def _worn(job: Job, id: str) -> str | None:
    """What a joint is at: a terminal, a connector's pole, the first end of a two-sided part."""
    part = job.parts.get(id)
    if part and _two_sided(part):
        return part.contacts[0].a
    owner, _, pole = id.rpartition(".")
    if f"{owner}.a.{pole}" in job.terminals:
        return id
    return id if id in job.terminals else None


def _with_part(job: Job, part: Part) -> Job:
    return replace(job, parts={**job.parts, part.id: part})


def _with_conductor(job: Job, conductor: Conductor) -> Job:
    return replace(job, conductors={**job.conductors, conductor.id: conductor})


_VERBS: dict[str, Callable[[Job, Step], Job]] = {
    "change": _change,
    "move": _move,
    "swap": _swap,
    "leave-out": _leave_out,
    "break": _break,
    "joint": _joint,
    "bridge": _bridge,
}
