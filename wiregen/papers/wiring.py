"""What several papers ask about the wiring: busiest case, protecting fuse, terminations, what a fuse feeds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from wiregen.circuit.cases import LOADS
from wiregen.circuit.study import CaseResult, Flow, Study
from wiregen.model.job import Conductor, Job, Part

STUDDED = frozenset({"battery", "busbar", "starter", "alternator", "earth", "isolator", "shunt", "inverter", "body"})
BOLTED_FUSES = frozenset({"strip", "bolted", "class-t"})
SOURCES = frozenset({"battery", "alternator", "charger", "mains-charger", "solar-controller", "panel", "feed"})


class Busy(NamedTuple):
    """A conductor in the case in which it carries most while no starter turns, and that case's place in the study."""

    case: CaseResult
    flow: Flow


def busiest(study: Study, conductor: str) -> Busy | None:
    """The case in which a conductor carries most; None where no case with an answer tells."""
    found: Busy | None = None
    for case in study.cases:
        flow = case.flows.get(conductor)
        if not case.solved or flow is None or flow.current_a is None or _cranks(study, case):
            continue
        if found is None or abs(flow.current_a) > abs(found.flow.current_a or 0.0) + 1e-9:
            found = Busy(case, flow)
    return found


def _cranks(study: Study, case: CaseResult) -> bool:
    starters = [part.id for part in study.job.parts.values() if part.kind == "starter"]
    return any(abs(case.parts.get(id, {}).get("current_a") or 0.0) > 0 for id in starters)


def protecting(study: Study) -> dict[str, tuple[str, ...]]:
    """The fuses and breakers that open on a fault at a conductor: one for each end that is fed."""
    found: dict[str, dict[str, None]] = {}
    for fault in study.faults:
        if fault.cleared_by:
            found.setdefault(fault.conductor, {})[fault.cleared_by] = None
    return {conductor: tuple(fuses) for conductor, fuses in found.items()}


def termination(job: Job, terminal: str, lug: str, cavity: str, blade: str, entry: str, air: str, stowed: str) -> str:
    """What is crimped on a conductor's end there: a ring for a stud, a contact for a cavity, a receptacle for a blade.

    The words are given, so that they can be in any language. What nobody says (a stud's size) is not made up.
    """
    if terminal.startswith("loose:"):
        return air
    if terminal.startswith("capped:"):
        return stowed
    part = job.part_of(terminal)
    if part is None:
        return entry
    if part.kind in ("connector", "plug", "socket"):
        return f"{cavity} {terminal.rpartition('.')[2]}"
    if part.kind in ("fuse", "breaker"):
        return lug if part.word("type") in BOLTED_FUSES or part.kind == "breaker" else blade
    if part.kind == "splice":
        return part.word("type") or entry
    return lug if part.kind in STUDDED else entry


def fed_by(study: Study, fuse: Part) -> tuple[str, ...]:
    """The loads and chargers that lie behind a fuse, seen from the battery: what stops when it opens."""
    job = study.job
    cut = {(contact.a, contact.b) for contact in fuse.contacts}
    for contact in fuse.contacts:
        sides = [set(_reached(study, end, cut)) for end in (contact.a, contact.b)]
        live = [any(_is_battery(job, terminal) for terminal in side) for side in sides]
        if live == [True, True]:  # a battery on both sides: it joins two circuits, and both lose the other
            return tuple(dict.fromkeys(_users(job, sides[0] ^ sides[1])))
        behind = sides[1] if live[0] else sides[0]
        return tuple(dict.fromkeys(_users(job, behind)))
    return ()


def _is_battery(job: Job, terminal: str) -> bool:
    part = job.part_of(terminal)
    return part is not None and part.kind == "battery"


def _users(job: Job, terminals: set[str]) -> Iterator[str]:
    for terminal in job.terminals:
        if terminal in terminals and terminal.endswith((".+", ".in.+", ".trigger")):
            part = job.part_of(terminal)
            if part and (part.kind in LOADS or part.kind in ("charger", "starter")):
                yield part.id


def _reached(study: Study, start: str, cut: set[tuple[str, str]]) -> Iterator[str]:
    """The terminals in one piece with this one while a fuse is out: through conductors, links and contacts."""
    seen, todo = {start}, [start]
    while todo:
        at = todo.pop()
        yield at
        for edge, other in study.network.around(at):
            if other not in seen and (edge.a, edge.b) not in cut:
                seen.add(other)
                todo.append(other)


def length(conductor: Conductor) -> float | None:
    """The length to cut from, the longest where a range is given. [m]"""
    measure = conductor.measure("length")
    return measure.high if measure else None
