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

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from wiregen.circuit.crossing import crossings, without
from wiregen.circuit.parallel import Share, shares
from wiregen.circuit.polarity import SINKS, gives
from wiregen.circuit.protection import OPEN, Guard, feeds, guard_at, guards
from wiregen.circuit.questions import Rails, ports, rails, way_back
from wiregen.circuit.study import Study
from wiregen.circuit.unprotected import live_posts
from wiregen.model.job import Conductor, Part
from wiregen.rules.currents import too_thin
from wiregen.rules.fixes import put
from wiregen.rules.ratings import rating_below
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import amps, beyond, figure

BASIS = "IEC 60364-4-43, 433.1: rating of the fuse at most the conductor's ampacity (from memory, not read)"


class Weak(NamedTuple):
    """A return conductor that bears less than a guard lets through, and the port whose way back it is."""

    conductor: Conductor
    guard: Guard
    carries: float
    port: str


@rule("undersized-return", severity="danger", basis=BASIS)
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each return conductor, for the largest fuse behind it."""
    job = study.job
    network = without(study.network, crossings(job, study.network))
    sources = (*live_posts(job, network), *feeds(job))
    at = guard_at(job, network, sources)
    thin, shared = too_thin(study), shares(study)
    passing = _least_on_the_way_out(study, guards(job, network, sources), thin, shared)
    lines = rails(study)
    weak: dict[str, Weak] = {}
    for part in job.parts.values():
        if part.kind not in SINKS or part.kind in ("battery", "panel", "alternator", "feed", "starter"):
            continue
        for plus, minus in ports(part):
            guard = at.get(plus)
            if guard is None or guard.rating == OPEN or plus.endswith("solar.+"):
                continue
            for conductor in way_back(study, minus, _goals(study, lines, part, minus, guard)) or ():
                carries = study.ampacities.get(conductor.id)
                if not carries or conductor.id in thin:  # none is left in a place too hot for it: insulation-too-cool
                    continue
                carries /= shared[conductor.id].share if conductor.id in shared else 1.0  # side by side with others
                if not beyond(min(guard.rating, passing.get(guard.device, guard.rating)), carries):
                    yield Content(
                        conductor.id, "bears {}, returns {} guarded by {}", (amps(carries), plus, guard.device)
                    )
                elif conductor.id not in weak or weak[conductor.id].guard.rating < guard.rating:
                    weak[conductor.id] = Weak(conductor, guard, carries, plus)
    for one in weak.values():
        yield _bad(study, one)


def _least_on_the_way_out(
    study: Study, guarded: Mapping[str, Guard], thin: frozenset[str], shared: Mapping[str, Share]
) -> dict[str, float]:
    """Device -> what its weakest conductor bears [A]. Where that is below the device, oversized-fuse asks for less."""
    least: dict[str, float] = {}
    for name, guard in guarded.items():
        carries = study.ampacities.get(name)
        if carries and name not in thin:
            carries /= shared[name].share if name in shared else 1.0
            least[guard.device] = min(carries, least.get(guard.device, carries))
    return least


def _goals(study: Study, lines: Rails, part: Part, minus: str, guard: Guard) -> set[str]:
    """Where a fault's current goes back to: the battery that drives it, else, as of batteries in series, any source.

    Through a common negative another battery may be nearer, but the current of this fuse does not go there.
    """
    job = study.job
    source = job.parts[job.terminals[guard.source].part]
    own = f"{source.word('from') if source.kind == 'feed' else source.id}.-"
    if minus in lines.net and lines.net.get(own) == lines.net[minus]:
        return {own}
    return {t for t in job.terminals if t.endswith("-") and gives(job, t) and job.terminals[t].part != part.id}


def _bad(study: Study, weak: Weak) -> Bad:
    from wiregen.circuit.sizing import passing_size

    conductor, guard = weak.conductor, weak.guard
    fuse = study.job.parts[guard.device]
    named = f"the fuse of {fuse.id}" if fuse.kind == "feed" else fuse.id
    lets = figure(guard.rating)
    fit = f"fit {named} at {rating_below(study, fuse.id, weak.carries)} or less"
    size = passing_size(study, [conductor.id], (), lambda times: True, lambda again: _bears(again, weak))
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


def _bears(study: Study, weak: Weak) -> bool:
    """Whether the conductor of a changed study bears what the guard lets through."""
    carries = study.ampacities.get(weak.conductor.id)
    return carries is not None and not beyond(weak.guard.rating, carries)
