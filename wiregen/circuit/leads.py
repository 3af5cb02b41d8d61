"""Where a control lead goes: a sense, trigger or indicator lead followed to the devices at its other ends."""

from __future__ import annotations

from typing import NamedTuple

from wiregen.circuit.network import Edge
from wiregen.circuit.questions import CARRIES_ON, DRIVEN
from wiregen.circuit.study import Study
from wiregen.circuit.unprotected import passes


class Lead(NamedTuple):
    """A lead to one of its ends: the terminal of a device, a source, an earth or a fuse block, and the way there."""

    terminal: str
    path: tuple[Edge, ...]


def ends_of_lead(study: Study, start: str) -> tuple[Lead, ...]:
    """Where the lead from a terminal arrives at something that does not merely lead on, the nearest first.

    The coil of a relay is an end; a dead end (in the air, in an empty cavity) is none.
    """
    found: list[Lead] = []
    seen = {start}
    queue = [Lead(start, ())]
    for here in queue:
        part = study.job.part_of(here.terminal)
        if here.terminal != start and part is not None and not _leads_on(study, here.terminal, part.kind):
            found.append(here)
            continue
        for edge, there in study.network.around(here.terminal):
            if there not in seen and passes(edge):
                seen.add(there)
                queue.append(Lead(there, (*here.path, edge)))
    return tuple(found)


def _leads_on(study: Study, terminal: str, kind: str) -> bool:
    if kind not in CARRIES_ON or kind == "fuse-block":
        return False
    return kind not in DRIVEN or any(edge.kind == "contact" for edge in study.network.at.get(terminal, ()))
