"""mixed-batteries: batteries of different kinds are in parallel, or in series.

Hazard
    One is charged by the other for ever, or takes most of the current: one of them ages early, and a lithium battery
    can push more current into a flat lead-acid one than the leads between them bear. In series the weaker one is driven
    into deep discharge by the other, and overcharged.
Test
    Batteries whose positive posts and whose negative posts meet through conductors and contacts, open or closed: the
    same chemistry. Batteries in series, one on the other: the same chemistry and capacity.
Basis
    common practice
Bad
    battery aux 100 Ah lifepo4
    voltage-relay K1 100 A
    start.+ -- F1 --[W1 red 16 mm2 1 m]-- K1.in
    K1.out --[W2 red 16 mm2 1 m]-- F2 -- aux.+
    aux.- --[W3 black 16 mm2 1 m]-- start.-
    K1.- --[W4 black 1 mm2 1 m]-- start.-
Good
    battery aux 70 Ah flooded
    voltage-relay K1 100 A
    start.+ -- F1 --[W1 red 16 mm2 1 m]-- K1.in
    K1.out --[W2 red 16 mm2 1 m]-- F2 -- aux.+
    aux.- --[W3 black 16 mm2 1 m]-- start.-
    K1.- --[W4 black 1 mm2 1 m]-- start.-
Limits
    Lead-acid batteries whose charge voltages are the same count as one kind. Age is not judged, nor is
    capacity side by side.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.catalogue import catalogue
from wiregen.circuit.crossing import crossings
from wiregen.circuit.polarity import middles
from wiregen.circuit.questions import Rails, in_use
from wiregen.circuit.study import Study
from wiregen.model.job import Job, Part
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule


@rule("mixed-batteries", severity="warning", basis="common practice")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each battery that differs from the first on the same rails."""
    job = study.job
    if crossings(job, study.network):
        yield Content("job", "positive meets negative somewhere: what is in parallel is judged when that is put right")
        return
    lines = in_use(study)
    yield from _in_series(job, lines)
    first: dict[tuple[str, str], Part] = {}
    for part in job.parts.values():
        if part.kind != "battery" or not part.has("chemistry"):
            continue
        other = first.setdefault((lines.net[f"{part.id}.+"], lines.net[f"{part.id}.-"]), part)
        if other is part or _alike(part, other):
            yield Content(part.id, "stands alone or beside its like")
            continue
        yield Bad(
            subject=part.id,
            message=f"{part.id} is {part.word('chemistry')} and in parallel with {other.id}, which is"
            f" {other.word('chemistry')}",
            at=mark(part, "chemistry", part.word("chemistry")),
            related=(other.id,),
            marks=(mark(other, "chemistry", other.word("chemistry")),),
            reason="they want different voltages: one is overcharged or never full, and large currents flow between",
            remedy=f"charge {part.id} through a charger of its own",
            values={"chemistry": part.word("chemistry"), "other": other.word("chemistry")},
            through=part.through,
        )


def _in_series(job: Job, lines: Rails) -> Iterator[Verdict]:
    """Batteries that stand on another of a different kind or capacity."""
    batteries = [part for part in job.parts.values() if part.kind == "battery"]
    middle = middles(job, lines.net)
    for upper in batteries:
        between = lines.net[f"{upper.id}.-"]
        lower = next((b for b in batteries if lines.net[f"{b.id}.+"] == between and b is not upper), None)
        if lower is None or between not in middle:
            continue
        holds = [
            [_capacity(b) for b in batteries if b is of or _beside(lines, b, of)] for of in (lower, upper)
        ]  # of those beside it too
        same = _alike(lower, upper) or not (lower.has("chemistry") and upper.has("chemistry"))
        if same and (not all(map(all, holds)) or sum(holds[0]) == sum(holds[1])):
            yield Content(upper.id, "is in series with its like, {}", (lower.id,))
            continue
        fact = "chemistry" if not same else "capacity"
        yield Bad(
            subject=upper.id,
            message=f"{upper.id} is {upper.word(fact)} and in series with {lower.id}, which is {lower.word(fact)}",
            at=mark(upper, fact, upper.word(fact)),
            related=(lower.id,),
            marks=(mark(lower, fact, lower.word(fact)),),
            reason="the same current runs through both: the weaker one is drained deep and overcharged",
            remedy=f"put two alike in series, the same age too: {upper.id} as {lower.id}, or the reverse",
            values={fact: upper.word(fact), "other": lower.word(fact)},
            through=upper.through,
        )


def _capacity(battery: Part) -> float:
    """In Ah, 0 where it is not given."""
    return (battery.number("capacity") or 0.0) * (battery.number("parallel") or 1.0)


def _beside(lines: Rails, one: Part, other: Part) -> bool:
    """Whether two batteries lie between the same nets."""
    return all(lines.net[f"{one.id}.{sign}"] == lines.net[f"{other.id}.{sign}"] for sign in "+-")


def _alike(one: Part, other: Part) -> bool:
    if one.word("chemistry") == other.word("chemistry"):
        return True
    rows = [catalogue().row("chemistry", part.word("chemistry")) for part in (one, other)]
    known = [row for row in rows if row is not None]
    if len(known) < 2:
        return True
    lead = all(row["compensation_v_per_k"] for row in known)
    return lead and known[0]["absorption_v"] == known[1]["absorption_v"]
