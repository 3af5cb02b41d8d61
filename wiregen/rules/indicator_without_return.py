"""indicator-without-return: the lamp on a charger's indicator output has no way back to the negative.

Hazard
    It never lights, so that a charger in fault looks the same as one that charges.
Test
    From the indicator output along its lead to each lamp, load or coil: from the other end of that, the negative of a
    source has to be reached through conductors, contacts and bodies.
Basis
    common practice; the maker says which way the output switches
Bad
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
    dcdc.indicator --[L1 white 1 mm2 1 m]-- lamp1.+
Good
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
    dcdc.indicator --[L1 white 1 mm2 1 m]-- lamp1 --[L2 black 1 mm2 1 m]-- start.-
Limits
    The output is taken to give positive while the charger works, as most do. A lamp the wrong way round is for
    reversed-polarity, an indicator lead that ends in the air for loose-end, a body without a bond that other things
    return through as well for body-not-bonded.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.assemble import coil_ends
from wiregen.circuit.bonding import carrying, on_nothing, only_indicators
from wiregen.circuit.crossing import crossings
from wiregen.circuit.leads import ends_of_lead
from wiregen.circuit.questions import Rails, rails
from wiregen.circuit.study import Study
from wiregen.model.job import Job, Part
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, mark, rule
from wiregen.rules.words import listed

SHOWS = frozenset({"lamp", "load", "sensor", "relay"})


@rule("indicator-without-return", severity="warning", basis="common practice; the maker says which way it switches")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each lamp that cannot light."""
    job = study.job
    outputs = [t for t, at in job.terminals.items() if at.name == "indicator" and at.used]
    if not outputs:
        return
    lines = rails(study)
    wrong = {t for crossing in crossings(job, study.network) for t in crossing.sufferers}
    for output in outputs:
        charger = job.parts[job.terminals[output].part]
        for lead in ends_of_lead(study, output):
            shows = job.parts[job.terminals[lead.terminal].part]
            other = _other(job, shows, lead.terminal)
            if shows.kind not in SHOWS or other is None or other in wrong or lead.terminal in wrong:
                continue
            body = _unbonded(study, lines, other)
            if lines.sources(other, "-"):
                yield Content(shows.id, "gets back to a negative from {}", (output,))
            elif body is not None:
                yield Content(shows.id, "returns through {}, which is not bonded: see there", (body,))
            else:
                yield _bad(job, lines, charger, shows, other)


def _unbonded(study: Study, lines: Rails, terminal: str) -> str | None:
    """The body without a bond that a lamp shares with other things: body-not-bonded says it for all of them."""
    on = [b for b in carrying(study) if any(lines.net.get(earth) == lines.net[terminal] for earth in b.earths)]
    bare = (b.id for b in on if on_nothing(study, lines, b) and not only_indicators(study, lines, b))
    return next(bare, None)


def _other(job: Job, part: Part, terminal: str) -> str | None:
    """The other end of a lamp, a load or a coil."""
    ends = coil_ends(job, part) if part.kind == "relay" else (f"{part.id}.+", f"{part.id}.-")
    if ends is None or terminal not in ends or any(end not in job.terminals for end in ends):
        return None
    return ends[1] if terminal == ends[0] else ends[0]


def _bad(job: Job, lines: Rails, charger: Part, shows: Part, other: str) -> Bad:
    output = f"{charger.id}.indicator"
    live = lines.sources(other, "+")
    if live:
        where = f"is on the positive of {listed(live)}, and so is the output"
    elif not job.terminals[other].used:
        where = "is connected to nothing"
    else:
        bodies = [b.id for b in job.bodies.values() if any(lines.net[e] == lines.net[other] for e in b.earths)]
        where = f"is on {listed(bodies)}, which no negative is bonded to" if bodies else "leads to no negative"
    return Bad(
        subject=shows.id,
        message=f"{shows.id} shows what {output} says, but its other end {other} {where}",
        at=at_name(shows, "no way back"),
        related=(charger.id, output, other),
        marks=(mark(charger, "indicator-max", "its indicator output"),),
        reason=f"{shows.id} never lights, so a fault of {charger.id} goes unseen",
        remedy=f"lead {other} back to the negative of {charger.id}",
        values={"output": output, "other_end": other},
        through=shows.through,
    )
