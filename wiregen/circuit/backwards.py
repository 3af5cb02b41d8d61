"""Diodes, and panels and batteries in a chain, that are the wrong way round where no polarity tells."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from wiregen.circuit.network import Network
from wiregen.circuit.polarity import gives, nets, posts, sign
from wiregen.circuit.questions import CARRIES_ON, DRIVEN
from wiregen.model.job import Contact, Job

CHAINED = frozenset({"battery", "panel"})
CHARGING = frozenset({"charger", "solar-controller", "mains-charger", "panel", "alternator"})


class Backwards(NamedTuple):
    """A diode, the source's terminal that it blocks, and the terminals of devices (or batteries) behind it."""

    contact: Contact
    source: str
    behind: tuple[str, ...]


def backwards(job: Job, network: Network) -> tuple[Backwards, ...]:
    """The diodes of a job that turn their blocking side to their only source, in the order of the file.

    In the positive its cathode is at the source and its anode at what has no other; in the negative the reverse. So
    too where it parts a charging source from a battery.
    """
    found = []
    for edge in network.edges:
        contact = edge.item
        if not isinstance(contact, Contact) or contact.kind != "diode":
            continue
        rest = Network(tuple(each for each in network.edges if each is not edge), network.at)
        net = nets(job, rest)
        anode, cathode = (_side(job, net, end) for end in (contact.a, contact.b))
        if net.get(contact.a) == net.get(contact.b):
            continue
        found += [
            Backwards(contact, source[0], behind)
            for source, behind in (
                (_givers(job, cathode, "+"), _waiting(job, anode)),
                (_givers(job, anode, "-"), _waiting(job, cathode)),
                _charge(job, cathode, anode),
            )
            if source and behind
        ][:1]
    return tuple(found)


def _side(job: Job, net: Mapping[str, str], end: str) -> list[str]:
    return [t for t in job.terminals if net.get(t) == net.get(end)]


def _givers(job: Job, side: list[str], its: str) -> list[str]:
    return [t for t in side if sign(job, t) == its and gives(job, t)]


def _waiting(job: Job, side: list[str]) -> tuple[str, ...]:
    """Terminals of devices on a side on which nothing gives any polarity."""
    if any(gives(job, t) for t in side):
        return ()
    found = []
    for terminal in side:
        part = job.part_of(terminal)
        at_contact = part is not None and any(terminal in (c.a, c.b) for c in part.contacts)
        if part is not None and (part.kind not in CARRIES_ON or (part.kind in DRIVEN and not at_contact)):
            found.append(terminal)
    return tuple(found)


def _charge(job: Job, cathode: list[str], anode: list[str]) -> tuple[list[str], tuple[str, ...]]:
    """What charges on the cathode's side and the batteries on the anode's, where each side has only its own."""
    here, there = _givers(job, cathode, "+"), _givers(job, anode, "+")
    kinds = {job.parts[job.terminals[t].part].kind for t in here}
    if kinds and kinds <= CHARGING and there and all(_kind(job, t) == "battery" for t in there):
        return here, tuple(there)
    return [], ()


def _kind(job: Job, terminal: str) -> str:
    return job.parts[job.terminals[terminal].part].kind


def against(job: Job, network: Network) -> tuple[str, ...]:
    """Panels and batteries that stand the wrong way round in the middle of a chain.

    Each of their posts meets the like post of another one and nothing else: no net has both polarities.
    """
    net = nets(job, network)
    marked: dict[str, list[str]] = {}
    for terminal in job.terminals:
        if terminal in net and sign(job, terminal):
            marked.setdefault(net[terminal], []).append(terminal)
    earthed = {net[e] for body in job.bodies.values() for e in body.earths if e in net}
    found = []
    for part in job.parts.values():
        if part.kind not in CHAINED:
            continue
        beside = [_beside(job, marked[net[post]], post) for post in posts(part) or () if net[post] not in earthed]
        if len(beside) == 2 and all(beside) and beside[0] != beside[1]:
            found.append(part.id)
    return tuple(found)


def _beside(job: Job, marked: list[str], post: str) -> str:
    """The other panel or battery of a net on which nothing else than two like posts lies; `` where it is none such."""
    if len(marked) != 2:
        return ""
    other = marked[marked[0] == post]
    part = job.part_of(other)
    return part.id if part is not None and part.kind in CHAINED and sign(job, other) == sign(job, post) else ""
