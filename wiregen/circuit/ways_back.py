"""Whether what a source feeds gets back to that source: ports without a way back, and ports that nothing feeds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from wiregen.circuit.network import Network, once
from wiregen.circuit.polarity import SINKS, gives, sign
from wiregen.circuit.questions import Rails, ports, rails_of
from wiregen.model.job import Job, Part

SENSING = frozenset({"voltage-relay", "low-voltage-disconnect"})
CHAINED = frozenset({"battery", "panel"})


class Port(NamedTuple):
    """A positive terminal of a part and the negative that belongs to it."""

    part: str
    plus: str
    minus: str


class Lost(NamedTuple):
    """Ports whose current does not get back to a source that they are joined to at their positives.

    Their negatives lie together; or nothing is connected to the negative of the source (of the last below it in
    series): then `cut` is that negative, else ``.
    """

    ports: tuple[Port, ...]
    source: str
    cut: str


def giving(job: Job) -> Iterator[Port]:
    """The ports of batteries, panels, alternators and mains chargers, and the outputs of chargers."""
    for part in job.parts.values():
        for plus, minus in ports(part) if part.kind in SINKS else ():
            if gives(job, plus):
                yield Port(part.id, plus, minus)


def taking(job: Job) -> Iterator[Port]:
    """The ports of all that a source feeds."""
    for part in job.parts.values():
        pairs = ((f"{part.id}.in", f"{part.id}.-"),) if part.kind in SENSING else ports(part)
        for plus, minus in pairs if part.kind in SINKS else ():
            if plus in job.terminals and minus in job.terminals and not gives(job, plus):
                yield Port(part.id, plus, minus)


def coils(job: Job, lines: Rails) -> Iterator[Port]:
    """The coils of relays of which one end, of which it does not matter, is on a positive that a source gives."""
    for part in job.parts.values():
        ends = (f"{part.id}.86", f"{part.id}.85")
        if part.kind == "relay" and all(end in lines.net for end in ends):
            fed = [end for end in ends if lines.sources(end, "+")]
            if fed:
                yield Port(part.id, fed[0], ends[fed[0] == ends[0]])


@once
def homes(job: Job, network: Network) -> Mapping[str, frozenset[str]]:
    """Part that gives a positive -> the nets from which current gets back into it.

    They are that of its negative and, from a battery or panel in series, those below it. A feed is as the battery that
    it is from; feeds whose way back nobody knows are left out.
    """
    lines = rails_of(job, network)
    found = {}
    below: dict[str, set[str]] = {}  # net of a positive -> nets of the negatives of batteries and panels on it
    for port in giving(job):
        if job.parts[port.part].kind in CHAINED:
            below.setdefault(lines.net[port.plus], set()).add(lines.net[port.minus])
    for port in giving(job):
        nets = {lines.net[port.minus]}
        while more := set().union(*(below.get(net, ()) for net in nets)) - nets:
            nets |= more
        found[port.part] = frozenset(nets)
    known = {port.part.lower(): port.part for port in giving(job) if job.terminals[port.minus].used}
    for part in job.parts.values():
        source = known.get(part.word("from").lower()) if part.kind == "feed" else None
        if source is not None:
            found[part.id] = found[source]
    return found


def lowest(job: Job, lines: Rails, source: str) -> str:
    """The negative terminal at which the current of a source gets back: of batteries or panels in series the last."""
    ends = {port.part: port for port in giving(job)}
    port = ends[source]
    seen = {source}
    while True:
        below = [
            p
            for p in ends.values()
            if job.parts[p.part].kind in CHAINED and lines.net[p.plus] == lines.net[port.minus] and p.part not in seen
        ]
        if not below:
            return port.minus
        port = below[0]
        seen.add(port.part)


def highest(job: Job, lines: Rails, kind: str) -> str:
    """The positive terminal of the first battery or panel that has no other above it in series; `` without any."""
    ports = [port for port in giving(job) if job.parts[port.part].kind == kind]
    minuses = {lines.net[port.minus] for port in ports}
    return next((port.plus for port in ports if lines.net[port.plus] not in minuses), "")


def gets_to(job: Job, lines: Rails, minus: str) -> frozenset[str]:
    """The nets that current which leaves a device by its negative comes to, if need be through other devices.

    A changeover relay between positive and negative, which joins no nets, is passed through; from the positive of a
    source it goes nowhere.
    """
    seen = {lines.net[minus]}
    queue = [lines.net[minus]]
    across: dict[str, Mapping[str, list[str]]] = {}  # part -> its `_across`
    while queue:
        here = queue.pop()
        for t in lines.members[here] if (here, "+") not in lines.given else ():
            part = job.part_of(t)
            if part is None:
                continue
            if part.id not in across:
                across[part.id] = _across(part)
            others = [*across[part.id].get(t, ())]
            if part.kind in SINKS and sign(job, t) == "+":  # nothing flows backwards through a load
                others.append(t[:-1] + "-")
            for net in dict.fromkeys(lines.net[other] for other in others if other in lines.net):
                if net not in seen:
                    seen.add(net)
                    queue.append(net)
    return frozenset(seen)


def _across(part: Part) -> Mapping[str, list[str]]:
    """Terminal -> the other ends of the relay contacts at it."""
    found: dict[str, list[str]] = {}
    for contact in part.contacts:
        if contact.kind == "relay":
            found.setdefault(contact.a, []).append(contact.b)
            found.setdefault(contact.b, []).append(contact.a)
    return found


@once
def lost(job: Job, network: Network) -> tuple[Lost, ...]:
    """All that is fed by a source and does not get back to it, in the order of the file, then sources that are joined
    to others at their positives only."""
    lines = rails_of(job, network)
    home = homes(job, network)
    open_ = {lines.net[p.minus]: p.minus for p in giving(job) if not job.terminals[p.minus].used}
    cut = {part: minus for part, nets in home.items() for net, minus in open_.items() if net in nets}
    found: dict[tuple[frozenset[str], str, str], tuple[str, list[Port]]] = {}
    told: set[str] = set()
    reached: dict[str, frozenset[str]] = {}  # by the net of the negative
    for port in (*taking(job), *coils(job, lines)):
        sources = lines.sources(port.plus, "+")
        if not sources or any(source not in home for source in sources):
            continue
        net = lines.net[port.minus]
        if net not in reached:
            reached[net] = gets_to(job, lines, port.minus)
        if any(home[source] & reached[net] for source in sources):
            continue
        if port.part in told:
            continue  # one port of a charger tells enough
        told.add(port.part)
        source = next((s for s in sources if s not in cut), sources[0])
        at = cut.get(source, "") if job.terminals[port.minus].used else ""
        found.setdefault((home[source], at, "" if at else net), (source, []))[1].append(port)
    alone = [Lost(tuple(together), source, at) for (_, at, _), (source, together) in found.items()]
    said = told | {job.terminals[each.cut].part for each in alone if each.cut}
    return (*alone, *(each for each in _apart(job, lines, home) if each.ports[0].part not in said))


def _apart(job: Job, lines: Rails, home: Mapping[str, frozenset[str]]) -> Iterator[Lost]:
    """Sources that are joined at their positives and not at their negatives: the smaller group of each two."""
    rails: dict[str, list[Port]] = {}
    for port in giving(job):
        rails.setdefault(lines.net[port.plus], []).append(port)
    for together in rails.values():
        groups: list[list[Port]] = []
        for port in together:
            mine = [group for group in groups if any(home[port.part] & home[other.part] for other in group)]
            groups = [group for group in groups if group not in mine]
            groups.append([*(other for group in mine for other in group), port])
        if len(groups) < 2:
            continue
        groups.sort(key=lambda group: _weight(job, group), reverse=True)
        main = next((p for p in groups[0] if job.parts[p.part].kind == "battery"), groups[0][0])
        for group in groups[1:]:
            yield Lost(tuple(sorted(group, key=lambda p: job.terminals[p.minus].used)), main.part, "")


def _weight(job: Job, group: list[Port]) -> tuple[bool, bool, int]:
    """What makes a group of sources the one that the others have to be joined to."""
    wired = [port for port in group if job.terminals[port.minus].used]
    return any(job.parts[port.part].kind == "battery" for port in wired), bool(wired), len(group)


def adrift(job: Job, network: Network) -> str:
    """A battery or charger that is joined to others at its positive only; `` where there is none."""
    for each in lost(job, network):
        port = each.ports[0]
        if gives(job, port.plus) and job.parts[port.part].kind != "panel":
            return port.part
    return ""
