"""Resistors across an open contact: how the capacitors behind it are charged before it closes."""

from __future__ import annotations

from collections.abc import Iterable

from wiregen.circuit.network import Network
from wiregen.circuit.polarity import Way, nets_of
from wiregen.model.job import Contact, Job

OPENS = frozenset({"switch", "relay", "breaker"})
RESISTS = 1.0
"""What resists as much as this [ohm] is a resistor and no contact: common practice, no source."""


def resistor(job: Job, item: object) -> bool:
    """Whether a contact is a switch with a resistor in it: one that says 1 ohm or more."""
    if not isinstance(item, Contact):
        return False
    return (job.parts[item.part].number("resistance") or 0.0) >= RESISTS


def across_contacts(job: Job, network: Network, ways: Iterable[Way]) -> frozenset[str]:
    """Loads given in ohm that lie across a switch, relay or breaker: both ends on one net only while it is closed."""
    given = [p for p in job.parts.values() if p.kind == "load" and _in_ohm(p.measure("draws"))]
    ends = {p.id: (f"{p.id}.+", f"{p.id}.-") for p in given}
    ends = {id: pair for id, pair in ends.items() if all(t in network.at for t in pair)}
    if not ends:
        return frozenset()
    all_ways = tuple(ways)
    shut = nets_of(network, all_ways)
    rest = (
        w for w in all_ways if not (w[0] is not None and isinstance(w[0].item, Contact) and w[0].item.kind in OPENS)
    )
    open_ = nets_of(network, rest)
    return frozenset(id for id, (a, b) in ends.items() if shut[a] == shut[b] and open_[a] != open_[b])


def _in_ohm(measure: object) -> bool:
    return getattr(measure, "dimension", "") == "resistance"
