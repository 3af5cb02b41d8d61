"""unvented-battery: a battery that gives off gas stands where people live or where no air moves, and is not vented.

Hazard
    A lead-acid battery with free acid gives off hydrogen while it charges: in a closed space it collects, and a spark
    of a switch or pump ignites it. Its acid mist makes people ill and eats metal.
Test
    Each flooded or calcium battery at a place that is `lived-in` or `closed`: it has to be `vented`.
Basis
    common practice; ISO 13297 and ABYC E-10 want the gas of batteries led out of the boat (from memory, not read)
Bad
    place cabin, ambient 0..40 degC, lived-in
    battery house 100 Ah flooded, at cabin, resistance 5 mohm, short-circuit 2.5 kA, max-charge 30 A
    house.+ -- F1 --[W1 red 4 mm2 1 m]-- pump --[W2 black 4 mm2 1 m]-- house.-
Good
    place cabin, ambient 0..40 degC, lived-in
    battery house 100 Ah flooded, vented, at cabin, resistance 5 mohm, short-circuit 2.5 kA, max-charge 30 A
    house.+ -- F1 --[W1 red 4 mm2 1 m]-- pump --[W2 black 4 mm2 1 m]-- house.-
Limits
    What a place is like is judged only where the netlist says so; silence about `vented` is no fault. A sealed battery
    (agm, gel) gives off gas too when it is overcharged: profile-mismatch and overcharge-current watch over that.
    Whether the opening is large enough is not computed.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.catalogue import catalogue
from wiregen.circuit.study import Study
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule

SPACE = {"lived-in": "where people live", "closed": "where no air moves"}
BASIS = "common practice; ISO 13297 and ABYC E-10 want battery gas led outside (from memory, not read)"


@rule("unvented-battery", severity="danger", basis=BASIS)
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each battery whose gas stays inside."""
    for part in study.job.parts.values():
        row = catalogue().row("chemistry", part.word("chemistry"))
        place = study.job.places.get(part.place or "")
        space = SPACE.get(place.word("space").lower()) if place else None
        if part.kind != "battery" or row is None or place is None or space is None:
            continue
        if not row["gassing"]:
            yield Content(part.id, "is {}, which gives off no gas while it is charged rightly", (row["title"],))
        elif part.has("vented"):
            yield Content(part.id, "is vented")
        else:
            yield Bad(
                subject=part.id,
                message=f"{part.id} ({row['title']}) is not vented and stands in {place.id}, {space}",
                at=mark(part, "at", space),
                related=(place.id,),
                marks=(mark(part, "chemistry", "gives off hydrogen"), mark(place, "space", space)),
                reason="it gives off hydrogen while it charges, which collects there and explodes at a spark",
                remedy=(
                    f"put {part.id} in a gas-tight box with a hose to the outside and write `vented` on its line,"
                    " or use an agm, gel or lithium battery"
                ),
                values={"chemistry": part.word("chemistry"), "space": place.word("space")},
                through=part.through,
            )
