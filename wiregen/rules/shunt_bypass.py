"""shunt-bypass: current of a battery passes by the shunt that is to measure it.

Hazard
    The monitor does not see it: it shows a full battery that is empty, or counts a charge that never came, and the
    battery is run flat or overcharged by its reading.
Test
    Each shunt beside a battery's negative: no load and no charger on that battery may have its negative on the
    battery's side, and no other way may join the two sides. How much passes by it is computed in every case.
Basis
    common practice; the makers of monitors say so
Bad
    shunt SH 300 A
    aux.+ -- F1 --[W1 red 4 mm2 1 m]-- pump.+
    aux.+ -- F3 --[W2 red 4 mm2 1 m]-- lamp1.+
    aux.- --[B0 black 16 mm2 0.2 m]-- SH --[W3 black 4 mm2 1 m]-- pump.-
    lamp1.- --[W4 black 4 mm2 1 m]-- aux.-
Good
    shunt SH 300 A
    busbar BN 300 A
    aux.+ -- F1 --[W1 red 4 mm2 1 m]-- pump.+
    aux.+ -- F3 --[W2 red 4 mm2 1 m]-- lamp1.+
    aux.- --[B0 black 16 mm2 0.2 m]-- SH --[B1 black 16 mm2 0.2 m]-- BN --[W3 black 4 mm2 1 m]-- pump.-
    lamp1.- --[W4 black 4 mm2 1 m]-- BN
Limits
    Sense leads, sensors and the coils of voltage relays rightly go to the post. A shunt that has only chargers beyond
    it, or behind a bar only one load, measures those. A shunt in the positive is not judged.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.crossing import crossings
from wiregen.circuit.shunts import Measuring, measuring, passing_by
from wiregen.circuit.study import Study
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, rule
from wiregen.rules.words import amps, listed


@rule("shunt-bypass", severity="warning", basis="common practice; the makers of monitors say so")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each shunt that does not carry all."""
    if not any(part.kind == "shunt" for part in study.job.parts.values()):
        return
    for one in measuring(study):
        if not (one.past or one.around):
            yield Content(one.shunt.id, "carries all of {}", (listed(one.batteries),))
        elif crossings(study.job, study.network):
            yield Content(one.shunt.id, "positive meets negative somewhere: judged when that is put right")
        else:
            yield _bad(study, one)


def _bad(study: Study, one: Measuring) -> Bad:
    job, id = study.job, one.shunt.id
    worst = passing_by(study, one)
    much = "" if worst is None else f": {amps(worst[1])} in {worst[0]}"
    battery = listed(f"{b}.-" for b in one.batteries)
    verb = "returns" if len(one.past) == 1 else "return"
    if one.around:
        what = f"current of {listed(one.batteries)} passes by {id} through {listed(one.around)}{much}"
        last = one.around[-1]
        move = f": move {last} to the side of {one.outer}" if last in job.conductors else ""
        remedy = f"let nothing but {id} lead from {one.outer} to {battery}{move}"
    else:
        what = f"{listed(one.past)} {verb} to {battery} ahead of {id}, which does not see it{much}"
        remedy = f"move the negative of {listed(one.past)} to the other side of {id}, at {one.outer}"
    items = [item for i in (*one.past, *one.around) if (item := job.parts.get(i) or job.conductors.get(i)) is not None]
    return Bad(
        subject=id,
        message=what,
        at=at_name(one.shunt, "does not carry all"),
        related=tuple(dict.fromkeys((*one.past, *one.around, *one.batteries))),
        marks=tuple(at_name(item, "passes by it") for item in items),
        case=worst[0] if worst else None,
        reason="what the monitor does not see it counts wrongly, more with each day",
        remedy=remedy,
        values={"passes_by_a": worst[1] if worst else None, "of_a": worst[2] if worst else None},
        through=one.shunt.through,
    )
