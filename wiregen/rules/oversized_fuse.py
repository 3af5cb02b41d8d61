"""oversized-fuse: a fuse or breaker is rated above a conductor that it protects.

Hazard
    An overload between the two ratings heats the conductor while the fuse stays closed; the insulation gives way first.
Test
    From every live battery post and every existing circuit: the smallest fuse on the way to each conductor, and on
    parallel ways the largest, must not be rated above the conductor's ampacity in its hottest place. For each fuse the
    weakest of its conductors is named. Conductors side by side count together, by their true shares.
Basis
    IEC 60364-4-43, 433.1 (In <= Iz, from memory). 33 CFR 183.455(c)(1) and ABYC E-11 let a fuse go up to 150 % under
    50 V; the strict reading is what is judged, the other one is printed beside it.
Bad
    fuse F1 30 A cartridge
    start.+ --[red 6 mm2 150 mm]-- F1 --[W2 red 0.75 mm2 4 m]-- pump.+
    pump.- --[black 2.5 mm2 4 m]-- start.-
Good
    fuse F1 15 A cartridge
    start.+ --[red 6 mm2 150 mm]-- F1 --[W2 red 2.5 mm2 4 m]-- pump.+
    pump.- --[black 2.5 mm2 4 m]-- start.-
Limits
    The positive side only; the way back is for undersized-return. Chargers and alternators limit their own current and
    are no source here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from wiregen.circuit.crossing import crossings, without
from wiregen.circuit.parallel import Share, shares
from wiregen.circuit.protection import OPEN, Guard, feeds, guards
from wiregen.circuit.study import Study
from wiregen.circuit.unprotected import live_posts
from wiregen.model.job import Conductor
from wiregen.rules.currents import too_thin
from wiregen.rules.fixes import put
from wiregen.rules.misplaced_sense_lead import misplaced
from wiregen.rules.ratings import rating_below
from wiregen.rules.verdict import Bad, Content, Unjudged, Verdict, at_name, mark, rule
from wiregen.rules.words import amps, beyond, figure, listed

BASIS = "IEC 60364-4-43, 433.1: rating of the fuse at most the conductor's ampacity (from memory, not read)"


@rule("oversized-fuse", severity="danger", basis=BASIS)
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each fuse, on the weakest conductor that it guards."""
    job = study.job
    network = without(study.network, crossings(job, study.network))
    sources = (*live_posts(job, network), *feeds(job))
    weak: dict[str, list[tuple[Conductor, Guard, float]]] = {}
    for part in job.parts.values():
        if part.kind in ("fuse", "breaker") and not part.has("rating"):
            yield Unjudged(
                part.id, f"the rating of {part.id}", f"write the rating of {part.id}, as in `fuse {part.id} 15 A`",
                at_name(part, "no rating"), part.through,
            )  # fmt: skip
    thin, shared, astray = too_thin(study), shares(study), misplaced(study)
    for name, guard in guards(job, network, sources).items():
        conductor = job.conductors[name]
        carries = study.ampacities.get(name)
        if guard.rating == OPEN or not carries:  # none is left in a place too hot for it: insulation-too-cool
            continue
        carries /= shared[name].share if name in shared else 1.0  # of what it shares with others
        if name in thin:
            yield Content(name, "too thin for its own current: undersized-conductor says so")
        elif beyond(guard.rating, carries) and name in astray:
            yield Content(name, "is a sense lead in the wrong place: misplaced-sense-lead says so")
        elif beyond(guard.rating, carries):
            weak.setdefault(guard.device, []).append((conductor, guard, carries))
        else:
            yield Content(name, "bears {}, {} opens above {}", (amps(carries), guard.device, amps(guard.rating)))
    for device, found in weak.items():
        yield _oversized(study, device, sorted(found, key=lambda each: each[2]), shared)


def _oversized(
    study: Study, device: str, found: list[tuple[Conductor, Guard, float]], shared: Mapping[str, Share]
) -> Bad:
    conductor, guard, carries = found[0]
    beside = shared.get(conductor.id)
    into, bears = conductor.id, amps(carries)
    if beside is not None:
        into = f"{listed(beside.ids)} side by side"
        bears = f"{bears} together before {conductor.id} carries too much"
    fuse = study.job.parts[device]
    others = [each[0].id for each in found[1:]]
    ratio = guard.rating / carries
    rating_fact = "fused" if fuse.kind == "feed" else "rating"
    named = f"the fuse of {device}" if fuse.kind == "feed" else device
    lets = figure(guard.rating)
    smaller = rating_below(study, device, carries)
    return Bad(
        subject=conductor.id,
        message=f"{named} lets {lets} A into {into}, which {'bear' if beside else 'bears'} {bears}",
        at=mark(conductor, "size", f"bears {amps(carries)}"),
        related=(device, *others),
        marks=(mark(fuse, rating_fact, f"does not open below {lets} A"),),
        reason=f"an overload between {amps(carries)} and {lets} A heats {conductor.id} while {named} stays closed"
        + (f"; so too {listed(others)}" if others else ""),
        remedy=f"fit {named} at {smaller} or less, or size {conductor.id} for {lets} A",
        values={
            "rating_a": guard.rating,
            "ampacity_a": carries,
            "source": guard.source,
            "device": device,
            "percent_of_ampacity": ratio * 100,
            "within_150_percent": not beyond(ratio, 1.5),
        },
        through=conductor.through,
        fix=put((fuse,), "rating", smaller) if smaller != amps(carries) else (),  # no rating as small is made
    )
