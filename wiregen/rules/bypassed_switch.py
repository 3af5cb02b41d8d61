"""bypassed-switch: a switch or isolator that opens nothing, because another conductor joins both of its sides.

Hazard
    Who turns it off takes the circuit for dead: it is live, and stays so in an emergency.
Test
    Each switch and isolator in the positive with itself and all other switches and relays open: its two terminals must
    not be joined all the same. And both leads of a switch must not be on one of its terminals.
Basis
    common practice
Bad
    isolator Q1 100 A
    start.+ -- F1 --[W1 red 4 mm2 1 m]-- Q1 --[W2 red 4 mm2 1 m]-- pump.+
    F1.out --[W4 red 4 mm2 1 m]-- pump.+
    pump.- --[W3 black 4 mm2 1 m]-- start.-
Good
    isolator Q1 100 A
    start.+ -- F1 --[W1 red 4 mm2 1 m]-- Q1 --[W2 red 4 mm2 1 m]-- pump.+
    pump.- --[W3 black 4 mm2 1 m]-- start.-
Limits
    A second switch beside it, or a diode, is meant. Where it is in the negative, double-bond says so.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.crossing import crossings
from wiregen.circuit.polarity import joined, nets_of
from wiregen.circuit.questions import rails
from wiregen.circuit.study import Study
from wiregen.model.job import Contact, Part
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, rule
from wiregen.rules.words import listed

OPENS = frozenset({"switch", "relay", "diode"})


@rule("bypassed-switch", severity="warning", basis="common practice")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each switch that opens nothing."""
    job = study.job
    switches = [part for part in job.parts.values() if part.kind in ("switch", "isolator") and part.contacts]
    if not switches or crossings(job, study.network):
        return
    lines = rails(study)
    net = nets_of(
        study.network,
        [way for way in joined(job, study.network)
         if way[0] is None or not (isinstance(way[0].item, Contact) and way[0].item.kind in OPENS)],
    )  # fmt: skip
    for part in switches:
        for contact in part.contacts:
            if not lines.sources(contact.a, "+"):
                continue
            wired = [
                [edge.subject for edge, _ in study.network.around(end) if edge.kind != "contact"]
                for end in (contact.a, contact.b)
            ]
            if net[contact.a] == net[contact.b]:
                yield _bad(part, f"{contact.a} and {contact.b} stay joined when it opens", "leads around it", wired)
            elif sorted(map(bool, wired)) == [False, True] and max(map(len, wired)) > 1:
                bare, full = (contact.a, contact.b) if wired[1] else (contact.b, contact.a)
                yield _bad(part, f"both leads are on {full}, and nothing on {bare}", "both leads on one side", wired)
            else:
                yield Content(part.id, "parts {} from {}", (contact.a, contact.b))


def _bad(part: Part, words: str, label: str, wired: list[list[str]]) -> Bad:
    ids = [id for id in dict.fromkeys(id for side in wired for id in side) if id]
    return Bad(
        subject=part.id,
        message=f"{part.id} opens nothing: {words}",
        at=at_name(part, label),
        related=tuple(ids),
        reason="who turns it off takes for dead what is live",
        remedy=f"lead one side of the circuit to each terminal of {part.id}"
        if "both leads" in words
        else f"take away what leads around {part.id}: look at {listed(ids)} and where else they go",
        values={"terminals": f"{part.id}.in {part.id}.out"},
        through=part.through,
    )
