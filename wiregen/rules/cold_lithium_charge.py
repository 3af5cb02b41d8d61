"""cold-lithium-charge: a lithium battery sits where it freezes, and may be charged there.

Hazard
    Charging a lithium iron phosphate battery below 0 degC plates metal in its cells: it loses capacity for good, and
    may short inside later.
Test
    The cold end of the ambient of the battery's place against the coldest charge temperature of its chemistry, where
    charger outputs, alternators or panels are on its posts and none of the chargers senses temperature.
Basis
    no charging below 0 degC (from memory, not read)
Bad
    place tray, ambient -10..40 degC
    battery aux 100 Ah lifepo4, at tray, max-charge 50 A
    charger dcdc 18 A, profile lifepo4, efficiency 90 %, negative common
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
Good
    place bench, ambient 5..40 degC
    battery aux 100 Ah lifepo4, at bench, max-charge 50 A
    charger dcdc 18 A, profile lifepo4, efficiency 90 %, negative common
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
Limits
    A protection circuit in the battery may refuse the charge; a place that says one temperature only is not judged.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.catalogue import catalogue
from wiregen.circuit.questions import rails
from wiregen.circuit.study import Study
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import figure, listed

CHARGES = ("charger", "solar-controller", "mains-charger", "alternator", "panel")


@rule("cold-lithium-charge", severity="warning", basis="no charging below 0 degC (from memory, not read)")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each lithium battery that may be charged in the cold."""
    job = study.job
    lines = rails(study)
    for part in job.parts.values():
        row = catalogue().row("chemistry", part.word("chemistry")) if part.kind == "battery" else None
        place = job.places.get(part.place or "")
        ambient = place.measure("ambient") if place else None
        if (
            row is None
            or row["compensation_v_per_k"]
            or place is None
            or ambient is None
            or ambient.low == ambient.high
        ):
            continue
        coldest = float(row["coldest_charge_c"])
        chargers = [job.parts[n] for n in lines.sources(f"{part.id}.+", "+") if job.parts[n].kind in CHARGES]
        blind = [charger for charger in chargers if charger.word("sense") != "temperature"]
        if ambient.low >= coldest or not blind:
            yield Content(part.id, "is not charged below {} degC without a sensor", (figure(coldest),))
            continue
        yield Bad(
            subject=part.id,
            message=f"{place.id} falls to {figure(ambient.low)} degC, and {listed(c.id for c in blind)} can charge"
            f" {part.id} below {figure(coldest)} degC",
            at=mark(part, "chemistry", "not to be charged in the cold"),
            related=(place.id, *(c.id for c in blind)),
            marks=(mark(place, "ambient", f"down to {figure(ambient.low)} degC"),),
            reason="charging a lithium battery in the cold damages its cells for good",
            remedy=f"move {part.id} to a place that stays above {figure(coldest)} degC, or use chargers that sense its"
            " temperature",
            values={"coldest_c": ambient.low, "limit_c": coldest},
            through=part.through,
        )
