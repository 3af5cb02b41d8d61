"""unterminated-sense-lead: the sense lead of a charger does not reach a battery.

Hazard
    The charger senses nothing. It charges a hot battery as if it were cold, or raises its output for a drop that it
    guesses: the battery gasses, or never fills. A bare end may also touch something live.
Test
    From the sense terminal of every charger, solar controller and mains charger along its lead, through connectors,
    splices, fuses and switches: somewhere it has to end on a part. It does not where it ends bare or capped, in half
    a connector, at a cavity from which nothing leads on, or at a joint with nothing beyond. A charger that says
    `sense temperature` or `sense voltage` must have a lead at all.
Basis
    common practice; the maker says where it ends
Bad
    dcdc.sense --[S1 grey 0.5 mm2 1 m]-- loose
Good
    dcdc.sense --[S1 grey 0.5 mm2 1 m]-- aux.-
Limits
    Which battery and which post is for misplaced-sense-lead. A charger that does not say how it senses may do without.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from wiregen.circuit.network import Edge
from wiregen.circuit.study import Study
from wiregen.circuit.unprotected import passes
from wiregen.model.job import Conductor, Contact, Part
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, mark, rule
from wiregen.rules.words import listed

CARRIES_ON = frozenset(
    {
        "fuse",
        "breaker",
        "switch",
        "isolator",
        "shunt",
        "diode",
        "connector",
        "plug",
        "socket",
        "splice",
        "busbar",
        "relay",
    }
)
"""Kinds that only lead on; a lead that gets no farther than one of these ends nowhere."""


@rule("unterminated-sense-lead", severity="warning", basis="common practice; the maker says where it ends")
def check(study: Study) -> Iterator[Verdict]:
    """Each sense terminal with a lead that ends nowhere, or with none where the charger says that it senses."""
    for part in study.job.parts.values():
        for terminal in part.terminals:
            if study.job.terminals[terminal].name != "sense":
                continue
            if study.network.at.get(terminal):
                yield _judged(study, part, terminal)
            elif part.has("sense"):
                yield _absent(part, terminal)
            else:
                yield Content(part.id, "does not say that it senses by a lead of its own")


class _End(NamedTuple):
    """A dead end: the terminal, the edges that led there."""

    terminal: str
    path: tuple[Edge, ...]


def _judged(study: Study, part: Part, terminal: str) -> Verdict:
    ends, reached = _follow(study, terminal)
    if reached:
        return Content(part.id, "{} ends on {}", (terminal, listed(reached)))
    end = max(ends, key=lambda each: sum(isinstance(edge.item, Conductor) for edge in each.path))
    path = [edge for edge in end.path if edge.subject]
    last = next((edge for edge in reversed(path) if isinstance(edge.item, Conductor)), None)
    ids = tuple(dict.fromkeys(edge.subject for edge in path))
    senses = f"{part.word('sense')} sense" if part.has("sense") else "sense"
    where = _where(study, end.terminal)
    subject = last.subject if last else part.id
    item = last.item if last and isinstance(last.item, Conductor) else None
    via = f" by way of {listed(i for i in ids if i != subject)}" if len(ids) > 1 else ""
    return Bad(
        subject=subject,
        message=f"the {senses} lead of {part.id}{via} ends {where}",
        at=at_name(item, f"ends {where}") if item else at_name(part, f"its {senses} lead ends {where}"),
        related=tuple(dict.fromkeys((terminal, *(i for i in ids if i != subject), end.terminal))),
        marks=(mark(part, "sense", "senses nothing"),),
        reason=f"{part.id} senses nothing and charges by a guess",
        remedy=f"lead it on to the battery that {part.id} charges: {_post(part)}",
        values={"ends_at": end.terminal},
        through=item.through if item else part.through,
    )


def _absent(part: Part, terminal: str) -> Bad:
    how = part.word("sense")
    return Bad(
        subject=part.id,
        message=f"{part.id} has {how} sense, but nothing is connected to {terminal}",
        at=mark(part, "sense", "no lead"),
        related=(terminal,),
        reason=f"{part.id} senses nothing and charges by a guess",
        remedy=f"fit the sense lead from {terminal} to the battery that {part.id} charges: {_post(part)}",
        values={"ends_at": None},
        through=part.through,
    )


def _post(part: Part) -> str:
    if part.word("sense") == "voltage":
        return "its positive post, with a small fuse at the post"
    if part.word("sense") == "temperature":
        return "its negative post, or where the maker says"
    return "the post that the maker names"


def _follow(study: Study, start: str) -> tuple[list[_End], list[str]]:
    """Dead ends of the lead, the nearest first, and the terminals of parts that it reaches."""
    job, network = study.job, study.network
    ends: list[_End] = []
    reached: list[str] = []
    seen = {start}
    queue: list[_End] = [_End(start, ())]
    for here in queue:
        onward = [(edge, there) for edge, there in network.around(here.terminal) if passes(edge) and there not in seen]
        part = job.part_of(here.terminal)
        if here.terminal != start and part is not None and part.kind not in CARRIES_ON:
            reached.append(here.terminal)
            continue
        if not onward:
            ends.append(here)
        for edge, there in onward:
            seen.add(there)
            queue.append(_End(there, (*here.path, edge)))
    return ends, reached


def _where(study: Study, terminal: str) -> str:
    """Where a lead ends, in words."""
    if terminal.startswith("loose:"):
        return "bare in the air"
    if terminal.startswith("capped:"):
        return "capped, on nothing"
    part = study.job.part_of(terminal)
    if part is None:
        return f"at {terminal}"
    if part.kind in ("connector", "plug", "socket"):
        pulled = [
            edge for edge, _ in study.network.around(terminal)
            if isinstance(edge.item, Contact) and edge.item.kind == "pole" and not edge.item.closed
        ]  # fmt: skip
        halves = part.kind != "connector" and all(
            edge.kind == "conductor" for edge, _ in study.network.around(terminal)
        )
        if pulled or halves:
            return f"in the unmated connector {part.id}"
        return f"at {terminal}, a cavity from which nothing leads on"
    return f"at {terminal}, from which nothing leads on"
