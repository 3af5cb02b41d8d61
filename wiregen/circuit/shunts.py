"""Which battery a shunt on the negative side measures, and what passes by it."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from typing import NamedTuple

from wiregen.circuit.loops import way_around
from wiregen.circuit.polarity import CHARGERS, SINKS, SOURCES, Way, joined, nets_of
from wiregen.circuit.questions import Rails, ports, rails
from wiregen.circuit.study import Study
from wiregen.model.job import Part

QUIET = frozenset({"sensor", "voltage-relay", "low-voltage-disconnect", "battery"})
"""What takes next to nothing by its negative: monitors, sensing relays. Batteries are asked about by themselves."""
BARS = frozenset({"busbar", "splice"})


class Measuring(NamedTuple):
    """A shunt between batteries and the rest: its two terminals, and the batteries whose current it should carry.

    past : parts with a port on those batteries whose negative is on the battery's side of the shunt
    around : ids on a way from the far side to a post that does not lead through the shunt; () where there is none
    """

    shunt: Part
    inner: str
    outer: str
    batteries: tuple[str, ...]
    past: tuple[str, ...]
    around: tuple[str, ...]


def measuring(study: Study) -> Iterator[Measuring]:
    """The shunts that measure batteries by their negative. One in the lead of a charger or of one load is none."""
    job = study.job
    shunts = [part for part in job.parts.values() if part.kind == "shunt" and part.contacts]
    if not shunts:
        return
    ways = joined(job, study.network)
    lines = rails(study)
    for shunt in shunts:
        contact = shunt.contacts[0]
        rest = [way for way in ways if way[0] is None or way[0].item is not contact]
        found = _nearest_post(study, rest, contact.a, contact.b)
        if found is None:
            continue
        inner, battery, over_bar = found
        outer = contact.b if inner == contact.a else contact.a
        net = nets_of(study.network, rest)
        bank, high = _bank(study, lines, net, battery)
        posts = {f"{id}.-" for id in bank}
        around = way_around(rest, outer, posts) if net[inner] == net[outer] else ()
        if not around:
            behind = _on(study, lines, net, outer, high)
            kinds = [job.parts[id].kind for id in behind]
            if all(kind in CHARGERS | SOURCES for kind in kinds) or (over_bar and len(behind) < 2):
                continue
        past = () if around else _on(study, lines, net, inner, high)
        yield Measuring(shunt, inner, outer, bank, past, around)


def passing_by(study: Study, one: Measuring) -> tuple[str, float, float] | None:
    """The case in which most of the batteries' current passes by the shunt: its name, how much, of how much. [A]"""
    contact = one.shunt.contacts[0]
    toward = 1.0 if one.inner == contact.a else -1.0
    worst: tuple[str, float, float] | None = None
    for case in study.cases:
        currents = [case.parts.get(battery, {}).get("current_a") for battery in one.batteries]
        through = case.contacts.get((one.shunt.id, contact.name))
        if not case.solved or through is None or any(current is None for current in currents):
            continue
        total = sum(current or 0.0 for current in currents)
        by = abs(total - toward * through)
        if by > 1e-3 and (worst is None or by > worst[1] * (1 + 1e-6)):
            worst = case.name, by, abs(total)
    return worst


def _nearest_post(study: Study, ways: list[Way], a: str, b: str) -> tuple[str, str, bool] | None:
    """The terminal of the shunt that is nearer to a battery's negative, that battery, and whether by way of a bar."""
    around: dict[str, list[str]] = {}
    for _, one, other in ways:
        around.setdefault(one, []).append(other)
        around.setdefault(other, []).append(one)
    seen: dict[str, tuple[str, bool]] = {a: (a, False), b: (b, False)}
    queue = deque((a, b))
    while queue:
        here = queue.popleft()
        side, bar = seen[here]
        part = study.job.part_of(here)
        if part is not None and part.kind == "battery" and here.endswith(".-"):
            return side, part.id, bar
        for there in around.get(here, ()):
            if there not in seen:
                at = study.job.part_of(there)
                seen[there] = side, bar or (at is not None and at.kind in BARS)
                queue.append(there)
    return None


def _bank(study: Study, lines: Rails, net: dict[str, str], battery: str) -> tuple[tuple[str, ...], frozenset[str]]:
    """The batteries beside one in its bank, and the nets above them: those of their positives, and on in series."""
    job = study.job
    ends = {
        p.id: (f"{p.id}.+", f"{p.id}.-")
        for p in job.parts.values()
        if p.kind == "battery" and f"{p.id}.+" in net and f"{p.id}.-" in net
    }
    plus, minus = ends[battery]
    bank = tuple(id for id, (p, m) in ends.items() if net[p] == net[plus] and net[m] == net[minus])
    high = {lines.net[plus]}
    while more := {lines.net[p] for p, m in ends.values() if lines.net[m] in high} - high:
        high |= more
    return bank, frozenset(high)


def _on(study: Study, lines: Rails, net: dict[str, str], terminal: str, high: frozenset[str]) -> tuple[str, ...]:
    """Parts with a port between the batteries' positive and a terminal's net."""
    found = [
        part.id
        for part in study.job.parts.values()
        if part.kind in SINKS - QUIET
        for plus, minus in ports(part)
        if net.get(minus) == net[terminal] and lines.net.get(plus) in high
    ]
    return tuple(dict.fromkeys(found))
