"""load-dump: an alternator charges nothing but a lithium battery, which may switch itself off.

Hazard
    When the protection circuit opens at full current, the alternator's voltage shoots up for a moment: it kills the
    alternator's diodes and whatever electronics hang on it.
Test
    Batteries joined to each alternator with nothing between that opens: where there are any, one of them has to be a
    lead-acid battery, which catches the voltage.
Basis
    common practice; the load dump pulse of ISO 16750-2 (from memory, not read)
Bad
    alternator alt 90 A fixed, on house
    battery house 200 Ah lifepo4, max-charge 100 A
    house.+ -- F1 --[W1 red 4 mm2 1 m]-- pump --[W2 black 4 mm2 1 m]-- house.-
Good
    alternator alt 90 A fixed, on start
    battery house 200 Ah lifepo4, max-charge 100 A
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    charger dcdc 18 A, profile lifepo4, negative common
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- house.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- house.-
Limits
    An alternator that protects itself, and a battery that warns before it opens, are not told from the others. Where
    the alternator gives more than the battery may take, overcharge-current speaks, and the remedy is the same.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.crossing import crossings, without
from wiregen.circuit.isolation import fed
from wiregen.circuit.questions import lithium
from wiregen.circuit.study import Study
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import amps, beyond, listed

BASIS = "common practice; the load dump pulse of ISO 16750-2 (from memory, not read)"


@rule("load-dump", severity="advice", basis=BASIS)
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each alternator that may lose its only battery."""
    job = study.job
    network = without(study.network, crossings(job, study.network))
    for alternator in job.parts.values():
        plus = f"{alternator.id}.+"
        if alternator.kind != "alternator" or plus not in job.terminals:
            continue
        at = fed(network, (plus,), lambda contact: contact.kind in ("switch", "relay", "diode"))
        bank = [part for part in job.parts.values() if part.kind == "battery" and f"{part.id}.+" in at]
        if not bank or any(not part.has("chemistry") for part in bank):
            continue
        if not all(lithium(part) for part in bank):
            yield Content(alternator.id, "has a lead-acid battery beside it, which catches its voltage")
            continue
        first = bank[0]
        gives = alternator.number("rating")
        limits = [part.number("max-charge") for part in bank]
        most = sum((limit or 0.0) * (part.number("parallel") or 1.0) for limit, part in zip(limits, bank, strict=True))
        if gives and all(limits) and beyond(gives, most):
            yield Content(first.id, "gets more from {} than it may take: overcharge-current says so", (alternator.id,))
            continue
        names = listed(part.id for part in bank)
        current = f" of {amps(gives)}" if gives else ""
        yield Bad(
            subject=first.id,
            message=f"{alternator.id} charges {names} directly, and no other battery is there when it switches off",
            at=mark(first, "chemistry", "has a protection circuit"),
            related=(alternator.id, *(part.id for part in bank[1:])),
            marks=(mark(alternator, "rating", "charges it"),),
            reason=f"a charge{current} that is cut off makes the voltage of {alternator.id} shoot up",
            remedy=f"keep a lead-acid start battery on {alternator.id} and charge {names} through a DC-DC charger",
            values={"alternator": alternator.id, "rating_a": gives},
            through=first.through,
        )
