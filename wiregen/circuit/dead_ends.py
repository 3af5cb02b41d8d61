"""Where conductors end: bare in the air, or at a joint, fuse, switch or connector from which nothing leads on."""

from __future__ import annotations

from collections.abc import Mapping

from wiregen.circuit.network import Network, once
from wiregen.circuit.polarity import nets, sign
from wiregen.circuit.questions import CARRIES_ON, DRIVEN
from wiregen.circuit.unprotected import passes
from wiregen.model.job import Conductor, Contact, Job


@once
def dead_ends(job: Job, network: Network) -> Mapping[str, tuple[str, ...]]:
    """Conductor -> its ends that lead nowhere, in the order of the file.

    Left out are leads of a charger's sense that get to no device: they are for unterminated-sense-lead.
    """
    net = nets(job, network)
    sensing = {net[t.id] for t in job.terminals.values() if t.name == "sense"}
    sensing -= {net[t] for t in job.terminals if sign(job, t)} if sensing else set()
    found = {}
    for conductor in job.conductors.values():
        if net[conductor.from_] not in sensing:
            dead = tuple(end for end in (conductor.from_, conductor.to) if _nowhere(job, network, conductor, end))
            if dead:
                found[conductor.id] = dead
    return found


@once
def dead_nets(job: Job, network: Network) -> Mapping[str, bool]:
    """The nets on which a conductor leads nowhere or half a connector is open, and whether an end is in the air."""
    net = nets(job, network)
    found = {net[t.id]: False for t in job.terminals.values() if t.used and pulled(job, network, t.id)}
    for dead in dead_ends(job, network).values():
        for end in dead:
            found[net[end]] = found.get(net[end], False) or bare(end)
    return found


def bare(end: str) -> bool:
    """Whether an end is in the air."""
    return end.startswith("loose:")


def pulled(job: Job, network: Network, terminal: str) -> bool:
    """Whether a connector's terminal has no other half: declared unmated, or half a pair that nothing is mated to."""
    part = job.part_of(terminal)
    if part is None or part.kind not in ("connector", "plug", "socket"):
        return False
    edges = network.at.get(terminal, ())
    if part.kind == "connector":
        return any(isinstance(e.item, Contact) and e.item.kind == "pole" and not e.item.closed for e in edges)
    return not any(edge.kind == "link" for edge in edges)


def _nowhere(job: Job, network: Network, conductor: Conductor, end: str) -> bool:
    """Whether this end is bare, or the last of a chain that reaches nothing."""
    if bare(end):
        return True
    return not (end.startswith("capped:") or _leads_on(job, network, conductor, end) or pulled(job, network, end))


def _leads_on(job: Job, network: Network, conductor: Conductor, terminal: str) -> bool:
    """Whether something is reached behind the end of a conductor, or another conductor leads on from there.

    Something is a device, a source, an earth, a coil, or an end capped on purpose.
    """
    if _reached(job, terminal):
        return True
    seen = {terminal}
    ways = [iter(network.around(terminal))]  # the nearest way to its end first: most lead on at once
    while ways:
        for edge, there in ways[-1]:
            if edge.item is conductor or there in seen or not passes(edge):
                continue
            if edge.kind == "conductor" or _reached(job, there):
                return True
            seen.add(there)
            ways.append(iter(network.around(there)))
            break
        else:
            ways.pop()
    return False


def _reached(job: Job, here: str) -> bool:
    """Whether a terminal belongs to something that a conductor is meant to reach."""
    part = job.part_of(here)
    if part is None or part.kind not in CARRIES_ON or (part.kind == "fuse-block" and here == f"{part.id}.in"):
        return True
    return part.kind in DRIVEN and not any(here in (contact.a, contact.b) for contact in part.contacts)
