"""missing-trigger: a charger behind a variable alternator has no ignition trigger.

Hazard
    A variable alternator lets the start battery's voltage fall while the engine runs and lifts it with the engine off
    for a while: a charger that goes by that voltage stops while it should charge, and drains the start battery.
Test
    Each charger whose input is on the net of a variable alternator: its trigger has to be connected to a feed or to
    something else that is live.
Basis
    common practice, from memory: voltage cannot tell whether a variable alternator runs
Bad
    alternator alt 120 A variable, on start
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
    dcdc.sense --[S1 grey 0.5 mm2 1 m]-- aux.-
Good
    alternator alt 120 A variable, on start
    feed ign switched, from start, fused 5 A
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
    dcdc.sense --[S1 grey 0.5 mm2 1 m]-- aux.-
    ign --[G1 blue 1 mm2 1 m]-- dcdc.trigger
Limits
    A fixed alternator's voltage tells that it runs, so no trigger is asked for. Whether the trigger is switched and
    fused is for unswitched-trigger and unfused-trigger.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.questions import rails
from wiregen.circuit.study import Study
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, mark, rule

BASIS = "common practice (from memory, not read): voltage cannot tell whether a variable alternator runs"


@rule("missing-trigger", severity="warning", basis=BASIS)
def check(study: Study) -> Iterator[Verdict]:
    """Each charger behind a variable alternator without a live trigger."""
    job = study.job
    lines = rails(study)
    variable = [p for p in job.parts.values() if p.kind == "alternator" and p.word("control") == "variable"]
    for part in job.parts.values():
        if part.kind != "charger" or f"{part.id}.in.+" not in lines.net:
            continue
        sources = lines.sources(f"{part.id}.in.+", "+")
        behind = next((alternator for alternator in variable if alternator.id in sources), None)
        if behind is None:
            yield Content(part.id, "is not behind a variable alternator")
            continue
        trigger = f"{part.id}.trigger"
        if trigger in lines.net and lines.sources(trigger, "+"):
            yield Content(part.id, "is triggered by {}", (lines.sources(trigger, "+")[0],))
            continue
        has = trigger in lines.net
        words = f"{trigger} is not live" if has and job.terminals[trigger].used else "has no trigger connected"
        yield Bad(
            subject=part.id,
            message=f"{part.id} is charged by the variable alternator {behind.id}, but "
            + (words if words.startswith(trigger) else f"{part.id} {words}"),
            at=at_name(part, "no trigger"),
            related=(behind.id, trigger) if has else (behind.id,),
            marks=(mark(behind, "control", "its voltage falls while it runs"),),
            reason="it stops while the engine runs and may drain the start battery after",
            remedy=f"lead a fused ignition feed to {trigger}"
            if has
            else f"use a charger that has a trigger for {part.id}",
            values={"alternator": behind.id},
            through=part.through,
        )
