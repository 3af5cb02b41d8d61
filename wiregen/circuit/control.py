"""Leads that do nothing but switch a charger on."""

from __future__ import annotations

from wiregen.circuit.network import Network
from wiregen.circuit.questions import CARRIES_ON, DRIVEN
from wiregen.circuit.unprotected import passes
from wiregen.model.job import Conductor, Job


def triggers_behind(job: Job, network: Network, conductor: Conductor, terminal: str) -> tuple[str, ...]:
    """Triggers behind that end of a conductor, in the order met; () where anything else hangs there too.

    Contacts count as closed. Ends in the air count for nothing.
    """
    found: list[str] = []
    seen = {terminal}
    queue = [terminal]
    for here in queue:  # grows while it is walked
        part = job.part_of(here)
        if part is not None and here == f"{part.id}.trigger":
            found.append(here)
        elif part is not None:
            coil = part.kind in DRIVEN and not any(here in (c.a, c.b) for c in part.contacts)
            if coil or part.kind not in CARRIES_ON:
                return ()
        for edge, there in network.around(here):
            if edge.item is not conductor and there not in seen and passes(edge):
                seen.add(there)
                queue.append(there)
    return tuple(found)
