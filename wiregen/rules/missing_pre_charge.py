"""missing-pre-charge: a contact connects the empty capacitors of an inverter straight to a battery of 36 V or more.

Hazard
    In the first millisecond kiloamps flow: the contact welds or pits, a breaker trips, the inverter's capacitors age,
    and whoever connects the last lug has the arc in the face.
Test
    Each inverter, and each load of constant power from 1 kW, on a system of 36 V or more, that a switch, isolator,
    relay or breaker connects to its battery, one or any of several side by side: across one of these contacts there
    has to be a resistor, as a load given in ohm or a switch that says a resistance of 1 ohm or more.
Basis
    common practice, no source
Bad
    job "48 V" { system 48 V, each insulation 105 degC }
    battery bank 48 V 100 Ah lifepo4
    fuse F1 80 A strip, volts 80 V, breaks 10 kA
    isolator Q1 100 A, volts 80 V
    inverter inv 2000 W, efficiency 90 %
    bank.+ -- F1 --[W1 red 16 mm2 1 m]-- Q1 --[W2 red 16 mm2 1 m]-- inv.+
    inv.- --[W3 black 16 mm2 1 m]-- bank.-
Good
    job "48 V" { system 48 V, each insulation 105 degC }
    battery bank 48 V 100 Ah lifepo4
    fuse F1 80 A strip, volts 80 V, breaks 10 kA
    isolator Q1 100 A, volts 80 V
    inverter inv 2000 W, efficiency 90 %
    fuse F2 5 A cartridge, volts 80 V, breaks 10 kA
    switch S1 "Pre-charge button" 5 A open, volts 80 V, resistance 27 ohm
    bank.+ -- F1 --[W1 red 16 mm2 1 m]-- Q1 --[W2 red 16 mm2 1 m]-- inv.+
    Q1.in -- F2 --[W4 red 1.5 mm2 0.2 m]-- S1 --[W5 red 1.5 mm2 0.2 m]-- Q1.out
    inv.- --[W3 black 16 mm2 1 m]-- bank.-
Limits
    36 V and 1 kW are common practice, no source; at 12 V and 24 V it is seldom done. An inverter that charges its
    capacitors slowly by itself is accepted with that reason. A contact in the negative is not judged. Whether the
    contacts are closed in the right order is not seen.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.bridges import OPENS, across_contacts, resistor
from wiregen.circuit.crossing import crossings
from wiregen.circuit.figures import Figures
from wiregen.circuit.polarity import Way, joined, nets_of
from wiregen.circuit.study import Study
from wiregen.model.job import Contact, Part
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, rule
from wiregen.rules.words import beyond, figure, listed

FROM_VOLTS = 36.0
"""Nominal voltage from which capacitors are charged slowly [V]: common practice, no source."""
FROM_WATTS = 1000.0
"""Constant power from which a load is taken to have large capacitors [W]: common practice, no source."""
THROUGH = 2.0
"""What the resistor of the remedy lets through at first [A]: common practice, no source."""


@rule("missing-pre-charge", severity="advice", basis="common practice, no source")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each inverter that a bare contact connects."""
    job = study.job
    asking = [part for part in job.parts.values() if _large(part) and f"{part.id}.+" in study.network.at]
    if not asking:
        return
    figures = Figures(job)
    asking = [part for part in asking if not beyond(FROM_VOLTS, figures.nominal(part))]
    if not asking or crossings(job, study.network):
        return
    ways = joined(job, study.network)
    slow = across_contacts(job, study.network, ways)
    firm = [way for way in ways if way[0] is None or not resistor(job, way[0].item)]
    for part in asking:
        cuts = _cuts(study, firm, part)
        if not cuts:
            yield Content(part.id, "no contact connects it")
            continue
        around = [_around(study, ways, firm, slow, cut) for cut in cuts]
        if any(around):
            yield Content(part.id, "is charged first through {}", (next(filter(None, around)),))
        else:
            yield _bad(study, part, [cut[0] for cut in cuts], figures.nominal(part))


def _large(part: Part) -> bool:
    """Whether a part has large capacitors at its input."""
    if part.kind == "inverter":
        return True
    draws = part.measure("draws")
    constant = part.kind == "load" and part.word("power") == "constant"
    return constant and draws is not None and draws.dimension == "power" and not beyond(FROM_WATTS, draws.value)


def _cuts(study: Study, firm: list[Way], part: Part) -> list[tuple[Contact, ...]]:
    """Each contact that can be the last to connect a part's positive to a battery, in the order of the file.

    Behind it those side by side with it, which have to be open as well until then. Empty where plain metal connects
    the part, or nothing does.
    """
    net = nets_of(study.network, [way for way in firm if _opening(way) is None])
    gaps = {contact: (net[contact.a], net[contact.b]) for way in firm if (contact := _opening(way)) is not None}
    here = net[f"{part.id}.+"]
    posts = {net[f"{p.id}.+"] for p in study.job.parts.values() if p.kind == "battery" and f"{p.id}.+" in net}
    if here in posts:
        return []
    cuts = []
    for last in gaps:
        shut: list[Contact] = []
        beside: list[Contact] = []
        for contact in gaps:
            if contact is not last:
                meets = _meets(here, posts, [gaps[each] for each in (*shut, contact)])
                (beside if meets else shut).append(contact)
        if _meets(here, posts, [gaps[each] for each in (*shut, last)]):
            cuts.append((last, *beside))
    return cuts


def _opening(way: Way) -> Contact | None:
    """The contact of a way that somebody or something can open."""
    item = way[0].item if way[0] is not None else None
    return item if isinstance(item, Contact) and item.kind in OPENS else None


def _meets(here: str, posts: set[str], shut: list[tuple[str, str]]) -> bool:
    """Whether closed contacts, each between two nets, lead from a net to one of a battery."""
    reached = {here}
    grown = True
    while grown:
        grown = False
        for a, b in shut:
            if (a in reached) != (b in reached):
                reached |= {a, b}
                grown = True
    return not reached.isdisjoint(posts)


def _around(
    study: Study, ways: tuple[Way, ...], firm: list[Way], slow: frozenset[str], cut: tuple[Contact, ...]
) -> str:
    """The resistor that lies across a cut, from side to side of its first contact; `` where there is none."""
    net = nets_of(study.network, [way for way in firm if _opening(way) not in cut])
    sides = {net[cut[0].a], net[cut[0].b]}
    for edge, a, b in ways:
        if edge is not None and resistor(study.job, edge.item) and {net[a], net[b]} == sides:
            return edge.subject
    return next((id for id in study.job.parts if id in slow and {net[f"{id}.+"], net[f"{id}.-"]} == sides), "")


def _bad(study: Study, part: Part, contacts: list[Contact], nominal: float) -> Bad:
    ids = list(dict.fromkeys(contact.part for contact in contacts))
    ohm = nominal / THROUGH
    last = study.job.parts[ids[0]]
    return Bad(
        subject=part.id,
        message=f"{listed(ids, 'or')} connects the empty capacitors of {part.id} straight to {figure(nominal)} V",
        at=at_name(part, "charged in one blow"),
        related=tuple(ids),
        marks=(at_name(last, "no resistor across it"),),
        reason="the inrush welds or pits the contact and ages the capacitors",
        remedy=f"lay a button with a resistor of about {figure(ohm)} ohm ({figure(THROUGH)} A at first), fused, "
        f"across {ids[0]}, and press it first",
        values={"nominal_v": nominal, "resistor_ohm": ohm, "contacts": ", ".join(ids)},
        through=part.through,
    )
