"""unfused-parallel-strings: three or more strings of panels stand in parallel without a fuse each.

Hazard
    A string with a short circuit takes the current of all others, which its panels and leads do not bear: they burn.
Test
    Strings that come together on one solar port are counted, with what `parallel` says. Two are allowed without fuses:
    one can only feed the other its own short-circuit current. From three on, no positive may reach another unfused, nor
    the point where others meet: what comes through their fuses, no fuse keeps out of it.
Basis
    common practice, no source: from three strings in parallel each has a fuse or a blocking diode
Bad
    panel p1 100 W, voc 22 V, vmp 18 V, isc 6 A, imp 5.6 A
    panel p2 100 W, voc 22 V, vmp 18 V, isc 6 A, imp 5.6 A
    panel p3 100 W, voc 22 V, vmp 18 V, isc 6 A, imp 5.6 A
    solar-controller sc 20 A, profile agm, solar-max 50 V
    p1.+ --[S1 red 4 mm2 1 m]-- sc.solar.+
    p2.+ --[S2 red 4 mm2 1 m]-- sc.solar.+
    p3.+ --[S3 red 4 mm2 1 m]-- sc.solar.+
    p1.- --[S4 black 4 mm2 1 m]-- sc.solar.-
    p2.- --[S5 black 4 mm2 1 m]-- sc.solar.-
    p3.- --[S6 black 4 mm2 1 m]-- sc.solar.-
    sc.out.+ --[S7 red 6 mm2 1 m]-- F1 -- aux.+
    sc.out.- --[S8 black 6 mm2 1 m]-- aux.-
Good
    panel p1 100 W, voc 22 V, vmp 18 V, isc 6 A, imp 5.6 A
    panel p2 100 W, voc 22 V, vmp 18 V, isc 6 A, imp 5.6 A
    solar-controller sc 20 A, profile agm, solar-max 50 V
    p1.+ --[S1 red 4 mm2 1 m]-- sc.solar.+
    p2.+ --[S2 red 4 mm2 1 m]-- sc.solar.+
    p1.- --[S4 black 4 mm2 1 m]-- sc.solar.-
    p2.- --[S5 black 4 mm2 1 m]-- sc.solar.-
    sc.out.+ --[S7 red 6 mm2 1 m]-- F1 -- aux.+
    sc.out.- --[S8 black 6 mm2 1 m]-- aux.-
Limits
    The largest fuse that a panel's maker allows is not asked for. Fuses in the negative leads alone are not counted.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from wiregen.circuit.network import Edge, Network
from wiregen.circuit.polarity import nets
from wiregen.circuit.questions import rails
from wiregen.circuit.study import Study
from wiregen.model.job import Contact
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, rule
from wiregen.rules.words import figure, listed

WITHOUT_FUSES = 2
"""Strings in parallel that need no fuse each: common practice, no source."""

BASIS = "common practice, no source: from three strings in parallel each has a fuse or a blocking diode"


@rule("unfused-parallel-strings", severity="danger", basis=BASIS)
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each solar port whose strings can feed one of them without a fuse."""
    job = study.job
    lines = rails(study)
    kept = tuple(edge for edge in study.network.edges if not _stops(edge))
    straight = nets(job, Network(kept, study.network.at))
    for part in job.parts.values():
        port = f"{part.id}.solar.+"
        if port not in part.terminals or not job.terminals[port].used:
            continue
        panels = [job.parts[name] for name in lines.sources(port, "+") if job.parts[name].kind == "panel"]
        strings = {panel.id: panel.number("parallel") or 1.0 for panel in panels}
        count = sum(strings.values())
        if count <= WITHOUT_FUSES:
            yield Content(part.id, "has {} strings in parallel, at most two", (figure(count),))
            continue
        together: dict[str, list[str]] = {}
        for panel in panels:
            together.setdefault(straight[f"{panel.id}.+"], []).append(panel.id)
        bare = [
            panel
            for net, group in together.items()
            if sum(strings[p] for p in group) > 1 or _fuses_of_others(study.network, straight, net, set(together)) > 1
            for panel in group
        ]
        if not bare:
            yield Content(part.id, "each of its {} strings has its own fuse or diode", (figure(count),))
            continue
        yield Bad(
            subject=part.id,
            message=f"{figure(count)} strings of panels stand in parallel on {port}, without a fuse each "
            f"at {listed(bare)}",
            at=at_name(part, "strings in parallel"),
            related=(port, *bare),
            marks=tuple(at_name(job.parts[name], "no fuse of its own") for name in bare),
            reason="a string with a short circuit takes the current of all others and burns",
            remedy="put a fuse in the positive of each string before they meet, of the rating that the panel's maker "
            "allows, or put the panels in series if the voltage allows",
            values={"strings": count, "allowed": WITHOUT_FUSES},
            through=part.through,
        )


def _fuses_of_others(network: Network, straight: Mapping[str, str], own: str, strings: set[str]) -> int:
    """How many fuses or diodes at a string's net lead to other strings: with one it is its own, with more they meet."""
    ways = [(straight[e.a], straight[e.b]) for e in network.edges if _stops(e) and straight[e.a] != straight[e.b]]
    count = 0
    for first in [b if a == own else a for a, b in ways if own in (a, b)]:
        seen = {own, first}
        queue = [first]
        while queue:
            here = queue.pop()
            for there in [b if a == here else a for a, b in ways if here in (a, b)]:
                if there not in seen:
                    seen.add(there)
                    queue.append(there)
        count += not strings.isdisjoint(seen - {own})
    return count


def _stops(edge: Edge) -> bool:
    """Whether current from the other strings is stopped here: a fuse, a breaker, a blocking diode."""
    return edge.protects or (isinstance(edge.item, Contact) and edge.item.kind == "diode")
