"""switch-rating: a switch, isolator or relay has to break more current than it can.

Hazard
    Direct current has no zero to go out at: the contacts part, the arc stays, and the switch burns in the hand that
    turns it.
Test
    The current through each switch, isolator and relay in every operating case in which no starter turns, against what
    it `breaks`.
Basis
    the maker's rating at direct current; IEC 60947-3, breaking capacity (from memory, not read)
Bad
    isolator Q1 100 A, breaks 10 A
    start.+ -- F2 --[W1 red 6 mm2 1 m]-- Q1 --[W2 red 6 mm2 1 m]-- heater.+
    heater.- --[W3 black 6 mm2 1 m]-- start.-
Good
    isolator Q1 100 A, breaks 50 A
    start.+ -- F2 --[W1 red 6 mm2 1 m]-- Q1 --[W2 red 6 mm2 1 m]-- heater.+
    heater.- --[W3 black 6 mm2 1 m]-- start.-
Limits
    A switch that does not say what it breaks is not judged. A switch that already carries more than its rating is for
    connector-overcurrent, the voltage it breaks at for connector-voltage, what fuses and breakers clear for
    breaking-capacity. That a motor or a coil holds the arc longer is not computed.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.study import Study
from wiregen.rules.currents import contact_strain, lossy, only_by_sag, unsure
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import amps, apart, beyond

KINDS = frozenset({"switch", "isolator", "relay", "voltage-relay", "low-voltage-disconnect"})


@rule("switch-rating", severity="danger", basis="the maker's rating; IEC 60947-3 (from memory, not read)")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each switch that cannot break what it carries."""
    switches = [part for part in study.job.parts.values() if part.kind in KINDS and part.has("breaks")]
    if not switches:
        return
    if why := unsure(study):
        yield Content("job", "{}: currents say nothing until that is put right", (why,))
        return
    sag = lossy(study)
    for part in switches:
        breaks = part.number("breaks") or 0.0
        rating = part.number("rating")
        strain = contact_strain(study, part)
        if strain is None:
            continue
        case, current = strain
        if rating is not None and beyond(current, rating):
            yield Content(part.id, "carries more than its rating: connector-overcurrent says so")
            continue
        if not beyond(current, breaks) or only_by_sag(sag, case, part.id, current, breaks):
            yield Content(part.id, "carries {} at most, breaks {}", (amps(current), amps(breaks)))
            continue
        carries, most = apart(current, breaks)
        yield Bad(
            subject=part.id,
            message=f"{part.id} carries {carries} A in {case}, but breaks {most} A",
            at=mark(part, "breaks", f"breaks {most} A"),
            case=case,
            reason="it holds an arc when it is opened under load",
            remedy=f"fit one that breaks {carries} A or more at direct current, or let it switch a relay that does",
            values={"current_a": current, "breaks_a": breaks},
            through=part.through,
        )
