"""missing-indicator: a charger sits out of sight, and nothing shows the driver that it works.

Hazard
    A charger that has stopped, for heat, a blown fuse or a fault, says so by a lamp under the bench. The battery is
    found flat days later.
Test
    Each DC-DC charger that says where it sits (`at`) and has an indicator output: a lamp, a load or a relay has to hang
    on that output.
Basis
    common practice, no source
Bad
    place boot
    charger dcdc 18 A, at boot, profile agm, efficiency 90 %, negative common
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
Good
    place boot
    charger dcdc 18 A, at boot, profile agm, efficiency 90 %, negative common
    lamp lamp1 1.2 W led
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
    dcdc.indicator --[L1 white 1 mm2 1 m]-- lamp1 --[L2 black 1 mm2 1 m]-- start.-
Limits
    A charger that does not say where it sits may be in view, and is not judged; nor is one of a type without the
    terminal, nor a converter: one without a profile whose output reaches no battery. One with a display of its own in
    the driver's view is accepted with that reason. An indicator lead that ends in the air is for loose-end; one that is
    capped is stowed on purpose.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.leads import ends_of_lead
from wiregen.circuit.questions import rails
from wiregen.circuit.study import Study
from wiregen.model.job import Part
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule


@rule("missing-indicator", severity="advice", basis="common practice, no source")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each charger whose indicator output shows nobody anything."""
    job = study.job
    lines = rails(study)
    for part in job.parts.values():
        output = f"{part.id}.indicator"
        if part.kind != "charger" or part.place is None or output not in part.terminals:
            continue
        if not part.has("profile") and not any(lines.batteries(job, f"{part.id}.out.+", "+")):
            yield Content(part.id, "is a converter: what it feeds shows whether it works")
        elif ends_of_lead(study, output):
            yield Content(part.id, "shows by {} what it does", (output,))
        elif any(
            end.startswith(("loose:", "capped:")) for edge in study.network.at[output] for end in (edge.a, edge.b)
        ):
            yield Content(part.id, "has an indicator lead that ends in the air: see there")
        else:
            yield _bad(study, part, output)


def _bad(study: Study, part: Part, output: str) -> Bad:
    wired = study.job.terminals[output].used
    return Bad(
        subject=part.id,
        message=f"{part.id} sits at {part.place}, and {output} is connected to "
        + ("a lead that shows nobody anything" if wired else "nothing"),
        at=mark(part, "at", "out of the driver's view"),
        related=(output, part.place or ""),
        reason=f"nobody sees that {part.id} has stopped until its battery is flat",
        remedy=f"lead {output} to a lamp in the driver's view, or accept it with the reason why none is needed",
        values={"place": part.place},
        through=part.through,
    )
