"""undersized-fuse: a fuse or breaker carries more than its rating in the place where it sits.

Hazard
    It opens in normal use, or ages until it does; in a hot place earlier than its number says.
Test
    The current through each fuse and breaker in every operating case against its rating, a fuse's reduced by the
    ambient of its place; that of an existing circuit of the vehicle against the fuse that it says it has.
Basis
    one published derating curve (large blade, 40 A); breakers are taken at their rating
Bad
    load pump 12 A
    start.+ -- F3 --[W1 red 2.5 mm2 1 m]-- pump.+
    pump.- --[W2 black 2.5 mm2 1 m]-- start.-
Good
    start.+ -- F3 --[W1 red 2.5 mm2 1 m]-- pump.+
    pump.- --[W2 black 2.5 mm2 1 m]-- start.-
Limits
    Inrush is not judged, nor a case in which a starter turns, nor what a sagging supply adds at constant power. Some
    makers ask for a margin of 20 % on top.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.catalogue import catalogue
from wiregen.circuit.figures import Figures
from wiregen.circuit.study import Study
from wiregen.rules.currents import contact_strain, lasting, lossy, only_by_sag, taken, unsure
from wiregen.rules.fixes import put
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import amps, apart, beyond, clearly_more, percent


@rule("undersized-fuse", severity="warning", basis="one published derating curve; common practice")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each fuse or breaker that carries too much."""
    if why := unsure(study):
        yield Content("job", "{}: currents say nothing until that is put right", (why,))
        return
    figures = Figures(study.job)
    sag = lossy(study)
    yield from _feeds(study)
    for part in study.job.parts.values():
        rating = part.number("rating")
        if part.kind not in ("fuse", "breaker") or rating is None:
            continue
        strain = contact_strain(study, part)
        if strain is None:
            continue
        case, current = strain
        factor = figures.fuse_factor(part)
        holds = rating * factor
        if not beyond(current, holds) or only_by_sag(sag, case, part.id, current, holds):
            yield Content(part.id, "carries {} at most, holds {}, in {}", (amps(current), amps(holds), case))
            continue
        carries, held = apart(current, holds)
        ratings = [float(each) for each in figures.family(part)["ratings"] if not beyond(current, each * factor)]
        hot = f" at its place ({percent(factor)} of its rating)" if factor < 1 else ""
        yield Bad(
            subject=part.id,
            message=f"{part.id} carries {carries} A in {case}, but holds {held} A for good{hot}",
            at=mark(part, "rating", f"holds {held} A"),
            related=(part.place,) if part.place and factor < 1 else (),
            case=case,
            reason="it opens in normal use",
            remedy=f"fit {part.id} at {amps(ratings[0])}, if what it protects bears that"
            if ratings
            else "share the current between several fuses",
            values={"current_a": current, "rating_a": rating, "holds_a": holds, "factor": factor},
            through=part.through,
            fix=put((part,), "rating", amps(ratings[0]) if ratings else None),
            basis=catalogue().basis(catalogue().rows("fuse_derating")[0]) if factor < 1 else "the rating of the fuse",
        )


def _feeds(study: Study) -> Iterator[Verdict]:
    """Existing circuits of the vehicle, by the fuse that they say they have."""
    for part in study.job.parts.values():
        rating = part.number("fused") if part.kind == "feed" else None
        if rating is None:
            continue
        most, name = 0.0, ""
        for case in lasting(study):
            current = abs(taken(case, part.id))
            if clearly_more(current, most):
                most, name = current, case.name
        if not beyond(most, rating):
            yield Content(part.id, "gives {} at most, is fused {}", (amps(most), amps(rating)))
            continue
        carries, holds = apart(most, rating)
        yield Bad(
            subject=part.id,
            message=f"{part.id} gives {carries} A in {name}, but is fused {holds} A",
            at=mark(part, "fused", f"fused {holds} A"),
            case=name,
            reason="its fuse opens in normal use, and with it goes what else hangs on that circuit of the vehicle",
            remedy=f"let {part.id} switch a relay, and feed from the battery, through a fuse, what it feeds now",
            values={"current_a": most, "rating_a": rating, "holds_a": rating, "factor": 1.0},
            through=part.through,
        )
