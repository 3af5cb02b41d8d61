"""What several papers ask about the wiring: busiest case, protecting fuse, terminations, what a fuse feeds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from wiregen.circuit.cases import LOADS
from wiregen.circuit.network import Edge
from wiregen.circuit.study import CaseResult, Flow, Study
from wiregen.layout.words import quantity
from wiregen.model.job import Conductor, Job, Part

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


class End(NamedTuple):
    """What is crimped on a conductor's end: its kind (a key of the texts), the cavity, the sizes that the terminal
    takes where the netlist says them."""

    kind: str
    cavity: str = ""
    takes: str = ""


# What a conductor's end becomes at a part, by the part's kind (common practice, no source). Studs and blades have sizes
# that a netlist does not tell: they are measured, never made up.
_ENDS = {
    **dict.fromkeys(("battery", "busbar", "starter", "alternator", "earth", "isolator", "shunt", "inverter"), "lug"),
    **dict.fromkeys(("body", "fuse-block", "diode", "breaker", "voltage-relay", "low-voltage-disconnect"), "lug"),
    **dict.fromkeys(("charger", "solar-controller", "mains-charger"), "ferrule"),
    **dict.fromkeys(("relay", "switch"), "blade"),
    **dict.fromkeys(("load", "lamp", "sensor", "feed", "splice"), "butt"),
    **dict.fromkeys(("connector", "plug", "socket"), "cavity"),
    "panel": "panel",
}
UNCRIMPED = frozenset({"air", "stowed", "supplied"})


def termination(job: Job, conductor: Conductor, terminal: str) -> End:
    """What is crimped on a conductor's end at a terminal, by the kind of part it lands on."""
    if conductor.has("supplied"):
        return End("supplied")
    if terminal.startswith("loose:"):
        return End("air")
    if terminal.startswith("capped:"):
        return End("stowed")
    part = job.part_of(terminal)
    if part is None:
        return End("lug")  # a body
    name = terminal.removeprefix(f"{part.id}.")
    takes = _takes(part, name)
    if part.kind == "fuse":
        holder = "lug" if part.word("type") in BOLTED_FUSES else "blade" if part.block else "holder"
        return End(holder, takes=takes)
    kind = _ENDS.get(part.kind, "lug")
    return End(kind, name.rpartition(".")[2] if kind == "cavity" else "", takes)


def _takes(part: Part, name: str) -> str:
    """The sizes that a terminal takes, as the netlist says them; a pole's two sides are meant by its name."""
    side, _, pole = name.partition(".")
    names = [name, *([pole] if side in ("a", "b") and pole else [])]
    said = (part.fact(f"fits {each.lower()}") for each in names)
    return quantity(next((fact for fact in said if fact is not None), part.fact("fits")))


def way(study: Study, start: str) -> tuple[Edge, ...]:
    """The shortest way from a terminal to a battery's positive post, in that order; () where there is none."""
    found: dict[str, tuple[Edge, ...]] = {start: ()}
    todo = [start]
    for at in todo:
        if at != start and _is_battery(study.job, at):
            return found[at]
        for edge, other in study.network.around(at):
            if other not in found:
                found[other] = (*found[at], edge)
                todo.append(other)
    return ()


def battery_at(study: Study, start: str, edges: tuple[Edge, ...]) -> Part | None:
    """The battery that a way ends on."""
    at = start
    for edge in edges:
        at = edge.other(at)
    part = study.job.part_of(at)
    return part if part is not None and part.kind == "battery" else None


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
