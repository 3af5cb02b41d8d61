"""undersized-return: the way back of a circuit carries less than the fuse on its way out lets through.

Hazard
    In a fault inside the device the fuse's full current comes back through the return: it heats while the fuse stays
    closed. Where a charger's two returns share one lead, the lead carries only the difference while all is well.
Test
    For each device: the fuse that guards its positive, against the ampacity of every conductor on the shortest way from
    its negative back to the source.
Basis
    IEC 60364-4-43, 433.1 (In <= Iz, from memory), for both conductors of the circuit
Bad
    start.+ -- F2 --[W1 red 10 mm2 1 m]-- heater.+
    heater.- --[W2 black 1 mm2 1 m]-- start.-
Good
    start.+ -- F2 --[W1 red 10 mm2 1 m]-- heater.+
    heater.- --[W2 black 10 mm2 1 m]-- start.-
Limits
    The largest fuse behind a shared return counts, not the sum: what flows when all is well is for
    undersized-conductor. A return that is as strong as the way out is for oversized-fuse. The return of a relay's coil
    or of an indicator lamp is not judged.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.study import Study
from wiregen.circuit.wires import copper_area
from wiregen.rules.fixes import put
from wiregen.rules.minimum_size import least_area
from wiregen.rules.ratings import rating_below
from wiregen.rules.returns import Return, returns
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import amps, beyond, figure

BASIS = "IEC 60364-4-43, 433.1: rating of the fuse at most the conductor's ampacity (from memory, not read)"


@rule("undersized-return", severity="danger", basis=BASIS)
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each return conductor, for the largest fuse behind it."""
    weak: dict[str, Return] = {}
    for each in returns(study):
        id, guard = each.conductor.id, each.guard
        if not each.weak:
            yield Content(id, "bears {}, returns {} guarded by {}", (amps(each.carries), each.port, guard.device))
        elif id not in weak or weak[id].guard.rating < guard.rating:
            weak[id] = each
    for one in weak.values():
        yield _bad(study, one)


def _bad(study: Study, weak: Return) -> Bad:
    from wiregen.circuit.sizing import passing_size

    conductor, guard = weak.conductor, weak.guard
    fuse = study.job.parts[guard.device]
    named = f"the fuse of {fuse.id}" if fuse.kind == "feed" else fuse.id
    lets = figure(guard.rating)
    fit = f"fit {named} at {rating_below(study, fuse.id, weak.carries)} or less"
    size = passing_size(study, [conductor.id], (), lambda size: True, lambda again: _bears(again, weak))
    return Bad(
        subject=conductor.id,
        message=f"{conductor.id}, the way back of {weak.port}, bears {amps(weak.carries)}; {named} lets out {lets} A",
        at=mark(conductor, "size", f"bears {amps(weak.carries)}"),
        related=(fuse.id, weak.port),
        marks=(mark(fuse, "fused" if fuse.kind == "feed" else "rating", f"does not open below {lets} A"),),
        reason=f"an overload between {amps(weak.carries)} and {lets} A heats {conductor.id} while {named} stays closed",
        remedy=f"size {conductor.id} {f'at {size}' if size else f'for {lets} A'}, or {fit}",
        values={
            "rating_a": guard.rating,
            "ampacity_a": weak.carries,
            "device": guard.device,
            "size_that_passes": size,
        },
        through=conductor.through,
        fix=put((conductor,), "size", size),
    )


def _bears(study: Study, weak: Return) -> bool:
    """Whether the conductor of a changed study bears what the guard lets through, and is not below the least size."""
    carries = study.ampacities.get(weak.conductor.id)
    conductor = study.job.conductors[weak.conductor.id]
    thick = not beyond(least_area(study, conductor), copper_area(conductor) or 0.0)
    return carries is not None and thick and not beyond(weak.guard.rating, carries)
