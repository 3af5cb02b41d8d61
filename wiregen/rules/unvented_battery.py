"""unvented-battery: a lead-acid battery is not said to stand where its gas can leave.

Hazard
    A lead-acid battery gives off hydrogen while it charges, a sealed one too when it is overcharged: in a closed space
    it collects and a spark ignites it.
Test
    Each flooded, calcium, agm or gel battery: its line has to say `vented`, that it stands where gas can leave.
Basis
    common practice, no source: batteries stand in a ventilated place
Bad
    battery house 100 Ah agm, resistance 5 mohm, short-circuit 2.5 kA, max-charge 30 A
    house.+ -- F1 --[W1 red 4 mm2 1 m]-- pump --[W2 black 4 mm2 1 m]-- house.-
Good
    battery house 100 Ah agm, vented, resistance 5 mohm, short-circuit 2.5 kA, max-charge 30 A
    house.+ -- F1 --[W1 red 4 mm2 1 m]-- pump --[W2 black 4 mm2 1 m]-- house.-
Limits
    Whether the opening is large enough is not computed. A lithium battery is not judged, nor one
    that says no chemistry.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.study import Study
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule

WHEN = {
    "flooded": "while it charges",
    "calcium": "while it charges",
    "agm": "when it is overcharged",
    "gel": "when it is overcharged",
}
"""Chemistries that give off hydrogen, and when."""


@rule("unvented-battery", severity="warning", basis="common practice, no source: batteries stand in a ventilated place")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each lead-acid battery that nobody says is vented."""
    for part in study.job.parts.values():
        chemistry = part.word("chemistry")
        if part.kind != "battery" or not chemistry:
            continue
        if chemistry not in WHEN:
            yield Content(part.id, "is {}, which gives off no hydrogen in use", (chemistry,))
            continue
        if part.has("vented"):
            yield Content(part.id, "stands where gas can leave")
            continue
        yield Bad(
            subject=part.id,
            message=f"the netlist does not say that {part.id} ({chemistry}) stands where gas can leave",
            at=mark(part, "", "vented?"),
            marks=(mark(part, "chemistry", f"gives off hydrogen {WHEN[chemistry]}"),),
            reason=f"it gives off hydrogen {WHEN[chemistry]}, which a spark ignites in a closed space",
            remedy=f"give the place an opening to the outside and write `vented` on the line of {part.id}",
            values={"chemistry": chemistry},
            through=part.through,
        )
