"""indicator-overload: what hangs on a charger's indicator output draws more than the output may give.

Hazard
    The small transistor behind the output burns out: the lamp never lights again, or always, and a fault goes unseen.
Test
    The current out of the indicator output in every operating case against the charger's `indicator-max`.
Basis
    the maker's rating; common practice
Bad
    charger dcdc 18 A, profile agm, efficiency 90 %, negative common, indicator-max 0.3 A
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
    dcdc.indicator --[L1 white 1 mm2 1 m]-- lamp1 --[L2 black 1 mm2 1 m]-- start.-
Good
    charger dcdc 18 A, profile agm, efficiency 90 %, negative common, indicator-max 0.3 A
    lamp lamp1 1.2 W led
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
    dcdc.indicator --[L1 white 1 mm2 1 m]-- lamp1 --[L2 black 1 mm2 1 m]-- start.-
Limits
    A charger that does not say its `indicator-max` is asked about above 0.5 A only (common practice, no source). A
    filament lamp draws many times its current for the moment in which it is cold: that is not judged.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.leads import ends_of_lead
from wiregen.circuit.study import Study
from wiregen.model.job import Part
from wiregen.rules.currents import unsure
from wiregen.rules.verdict import Bad, Content, Unjudged, Verdict, mark, rule
from wiregen.rules.words import amps, apart, beyond, clearly_more, listed

USUAL = 0.5
"""What nearly every indicator output gives [A]: common practice, no source."""


@rule("indicator-overload", severity="warning", basis="the maker's rating; common practice")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each overloaded indicator output."""
    if why := unsure(study):
        yield Content("job", "{}: currents say nothing until that is put right", (why,))
        return
    for part in study.job.parts.values():
        worst = _worst(study, part)
        if worst is None:
            continue
        case, current = worst
        most = part.number("indicator-max")
        if most is None:
            if beyond(current, USUAL):
                yield Unjudged(
                    part.id,
                    f"how much the indicator output of {part.id} may give",
                    "write what its maker states, as in `indicator-max 0.3 A`",
                    mark(part, "indicator-max", f"gives {amps(current)}"),
                    part.through,
                )
        elif beyond(current, most):
            yield _bad(study, part, case, current, most)
        else:
            yield Content(part.id, "its indicator output gives {} at most, may give {}", (amps(current), amps(most)))


def _worst(study: Study, part: Part) -> tuple[str, float] | None:
    """The case in which the output gives most, and how much [A]."""
    worst: tuple[str, float] | None = None
    for case in study.cases:
        current = case.parts.get(part.id, {}).get("indicator_current_a")
        if current is not None and (worst is None or clearly_more(abs(current), worst[1])):
            worst = case.name, abs(current)
    return worst


def _bad(study: Study, part: Part, case: str, current: float, most: float) -> Bad:
    ends = ends_of_lead(study, f"{part.id}.indicator")
    driven = list(dict.fromkeys(study.job.terminals[lead.terminal].part for lead in ends))
    gives, may = apart(current, most)
    to = f" to {listed(driven)}" if driven else ""
    return Bad(
        subject=part.id,
        message=f"the indicator output of {part.id} gives {gives} A{to} in {case}, but may give {may} A",
        at=mark(part, "indicator-max", f"{may} A at most"),
        related=(f"{part.id}.indicator", *driven),
        marks=tuple(mark(study.job.parts[id], "draws", "on the indicator output") for id in driven),
        case=case,
        reason="the output burns out, and faults go unseen",
        remedy=f"fit a lamp that draws {may} A or less, or let the output drive a relay that switches it",
        values={"current_a": current, "indicator_max_a": most},
        through=part.through,
    )
