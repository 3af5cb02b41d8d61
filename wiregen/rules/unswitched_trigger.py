"""unswitched-trigger: a charger's ignition trigger is always live.

Hazard
    The charger never stops and drains the start battery overnight.
Test
    From each trigger back through everything that leads on: a battery post, an alternator or a live feed must not be
    reached without passing a switch or relay.
Basis
    common practice
Bad
    feed acc live, from start, fused 5 A
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
    acc --[G1 blue 1 mm2 1 m]-- dcdc.trigger
Good
    feed ign switched, from start, fused 5 A
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
    ign --[G1 blue 1 mm2 1 m]-- dcdc.trigger
Limits
    A charger that also stops by voltage may live with it. A feed that says neither `switched` nor `live` is taken as
    switched.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.study import Study
from wiregen.circuit.unprotected import passes
from wiregen.findings import Mark
from wiregen.model.job import Conductor, Contact, Part
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule

OPENS = frozenset({"switch", "relay"})


@rule("unswitched-trigger", severity="warning", basis="common practice")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each trigger that is always live."""
    for part in study.job.parts.values():
        trigger = f"{part.id}.trigger"
        if trigger in part.terminals and study.job.terminals[trigger].used:
            yield _judged(study, part, trigger)


def _judged(study: Study, part: Part, trigger: str) -> Verdict:
    seen = {trigger}
    queue = [trigger]
    first: Conductor | None = None
    while queue:
        here = queue.pop(0)
        at = study.job.part_of(here)
        always = at is not None and (
            (at.kind == "feed" and at.word("state") == "live")
            or (at.kind in ("battery", "alternator") and here.endswith("+"))
        )
        if at is not None and always:
            return Bad(
                subject=part.id,
                message=f"the trigger of {part.id} comes from {at.id}, which is always live",
                at=Mark(first.span if first else part.span, "the trigger lead"),
                related=(trigger, *((first.id,) if first else ()), at.id),
                marks=(mark(at, "state", "always live"),),
                reason=f"{part.id} never stops and drains the battery it draws from",
                remedy="take the trigger from a circuit that the ignition switches",
                values={"source": at.id},
                through=part.through,
            )
        for edge, there in study.network.around(here):
            opens = isinstance(edge.item, Contact) and edge.item.kind in OPENS
            if there not in seen and passes(edge) and not opens:
                seen.add(there)
                queue.append(there)
                if first is None and isinstance(edge.item, Conductor):
                    first = edge.item
    return Content(part.id, "its trigger is switched")
