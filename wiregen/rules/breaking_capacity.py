"""breaking-capacity: the fault current is larger than a fuse or breaker can interrupt.

Hazard
    The fuse bursts or its arc goes on: what should end the fault becomes its beginning. Close to a large bank this
    holds for the smallest fuse.
Test
    The highest current of a bolted fault behind each fuse and breaker (full batteries, cold conductors), against the
    breaking capacity of the part, else that of its family.
Basis
    the maker's figure; 1000 A at 32 V for blade fuses (read in a reprint), for strips from memory
Bad
    battery start 200 Ah lifepo4, resistance 4 mohm
    fuse F1 20 A blade, breaks 1 kA
    start.+ -- F1 --[W1 red 6 mm2 0.3 m]-- pump.+
    pump.- --[W2 black 6 mm2 0.3 m]-- start.-
Good
    battery start 200 Ah lifepo4, resistance 4 mohm
    fuse F1 20 A cartridge, breaks 10 kA
    start.+ -- F1 --[W1 red 6 mm2 0.3 m]-- pump.+
    pump.- --[W2 black 6 mm2 0.3 m]-- start.-
Limits
    Where a lead is fed from both ends the smaller of the fault currents on the two sides of the fuse is taken, which is
    never less than what the fuse itself carries.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.catalogue import catalogue
from wiregen.circuit.crossing import crossings
from wiregen.circuit.figures import Figures
from wiregen.circuit.study import Study
from wiregen.model.job import Contact, Part
from wiregen.rules.together import once, sayer
from wiregen.rules.verdict import Bad, Content, Unjudged, Verdict, mark, rule
from wiregen.rules.words import amps, apart, beyond

UNSAID = ", or write `breaks` with its maker's figure where that is enough"
"""Where the figure is that of the family: the part itself may break more."""


@rule("breaking-capacity", severity="danger", basis="the maker's figure, else that of the fuse's family")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each fuse or breaker that cannot interrupt what may flow, or for all of one block."""
    return once(study, _judged(study), "fault_a")


def _judged(study: Study) -> Iterator[Verdict]:
    if crossings(study.job, study.network):
        yield Content("job", "positive meets negative somewhere: faults say nothing until that is put right")
        return
    figures = Figures(study.job)
    highest = {fault.terminal: fault.max_current_a for fault in study.faults if fault.max_current_a is not None}
    for part in study.job.parts.values():
        if part.kind not in ("fuse", "breaker"):
            continue
        current = _through(study, part, highest)
        if not current:
            continue
        own = part.number("breaks")
        family = figures.family(part)
        breaks = own or float(family["breaks_a"])
        if not breaks:
            yield Unjudged(
                part.id,
                f"the breaking capacity of {part.id}",
                "write what its maker states, as in `breaks 2 kA`",
                mark(part, "type", "breaks what?"),
                part.through,
            )
            continue
        if not beyond(current, breaks):
            yield Content(part.id, "meets {} at most, breaks {}", (amps(current), amps(breaks)))
            continue
        meets, most = apart(current, breaks)
        owner = sayer(study.job, part, "breaks" if own else "type")
        holds = "it" if owner is part else owner.id
        yield Bad(
            subject=owner.id,
            message=f"a fault behind {part.id} draws {meets} A, but {holds} breaks {most} A",
            related=(part.id,),
            at=mark(part, "breaks" if own else "type", f"breaks {most} A"),
            reason="it bursts, or its arc goes on, instead of ending the fault",
            remedy=f"fit one that breaks {meets} A or more at this voltage{'' if own else UNSAID}; where its maker "
            "vouches that the fuse ahead of it clears such a fault for it, accept this finding with that reason",
            values={"fault_a": current, "breaks_a": breaks},
            through=part.through,
            basis="the maker's figure" if own else catalogue().basis(family),
        )


def _through(study: Study, part: Part, highest: dict[str, float]) -> float:
    """The most that a fault can send through a fuse [A]: the smaller of the fault currents on its two sides."""
    sides = []
    for start in (part.contacts[0].a, part.contacts[0].b):
        seen, queue, most = {start}, [start], highest.get(start, 0.0)
        fed = False
        while queue:
            here = queue.pop()
            at = study.job.part_of(here)
            fed = fed or (at is not None and at.kind == "battery")
            for edge, there in study.network.around(here):
                solid = edge.kind == "link" or (isinstance(edge.item, Contact) and edge.item.kind == "solid")
                if solid and there not in seen:
                    seen.add(there)
                    queue.append(there)
                    most = max(most, highest.get(there, 0.0))
        if most:
            sides.append(most)
        elif not fed:
            return 0.0  # nothing is wired to this side
    return min(sides, default=0.0)
