"""charger-far-from-battery: a charger sits near the battery it draws from and far from the one it charges.

Hazard
    It regulates the voltage at its own terminals: what the long run to the battery loses is missing in the battery,
    which is never full and ages early. On its input side the same loss would not matter.
Test
    Conductor lengths of the positive runs of each DC-DC charger: the one to the battery it charges is longer than 2 m
    and longer than the one from the battery it draws from.
Basis
    common practice, no source: the charger beside the battery it charges
Bad
    start.+ -- F2 --[R1 red 10 mm2 0.5 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 0.5 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 16 mm2 4 m]-- F1 --[R3 red 16 mm2 0.1 m]-- aux.+
    dcdc.out.- --[B2 black 16 mm2 4 m]-- aux.-
Good
    start.+ -- F2 --[R1 red 16 mm2 4 m]-- dcdc.in.+
    start.- --[B1 black 16 mm2 4 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 0.5 m]-- F1 --[R3 red 10 mm2 0.1 m]-- aux.+
    dcdc.out.- --[B2 black 10 mm2 0.5 m]-- aux.-
Limits
    A charger that measures the battery's voltage through a lead of its own (`sense voltage`, connected) makes up for
    the loss and is not judged, nor a run whose lengths are not given.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.questions import Rails, rails, way_back
from wiregen.circuit.study import Study
from wiregen.model.job import Conductor
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, rule
from wiregen.rules.words import apart_metres, beyond, metres

NEAR = 2.0
"""How long the run to the battery may be [m]: over 2 m there and back 18 A in 10 mm2 lose 1 % of 14.4 V; no source."""


@rule("charger-far-from-battery", severity="advice", basis="common practice, no source")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each charger on the wrong end of its cables."""
    job = study.job
    lines = rails(study)
    for part in job.parts.values():
        into, out = f"{part.id}.in.+", f"{part.id}.out.+"
        if part.kind != "charger" or into not in lines.net or out not in lines.net:
            continue
        sense = job.terminals.get(f"{part.id}.sense")
        if part.word("sense") == "voltage" and sense is not None and sense.used:
            yield Content(part.id, "measures the battery's voltage through a lead of its own")
            continue
        source, battery = _run(study, lines, into), _run(study, lines, out)
        if source is None or battery is None or source[0] == battery[0]:
            continue
        (feeds, near, _), (charged, far, ids) = source, battery
        if not beyond(far, NEAR) or not beyond(far, near):
            yield Content(part.id, "is {} from {}, which it charges", (metres(far), charged))
            continue
        told, most = apart_metres(far, NEAR)
        target = job.parts[charged]
        yield Bad(
            subject=part.id,
            message=f"{part.id} is {told} of cable away from {charged}, which it charges, and {metres(near)} from"
            f" {feeds}, which it draws from",
            at=at_name(part, f"{told} to {charged}"),
            related=(charged, feeds, *ids),
            marks=(at_name(target, "charged over the long run"),),
            reason=f"{part.id} regulates at its own terminals: what the long run loses is missing at {charged}",
            remedy=f"move {part.id} to within {most} of {charged}; the long run belongs on its input",
            values={"output_m": far, "input_m": near, "limit_m": NEAR, "path": " ".join(ids)},
            through=part.through,
        )


def _run(study: Study, lines: Rails, terminal: str) -> tuple[str, float, tuple[str, ...]] | None:
    """The battery nearest to a positive terminal, the conductor length to it [m], and the conductors on the way."""
    job = study.job
    best: tuple[str, float, tuple[Conductor, ...]] | None = None
    for battery in lines.batteries(job, terminal, "+"):
        way = way_back(study, terminal, {f"{battery}.+"})
        if way is None or not all(conductor.has("length") for conductor in way):
            continue
        length = sum(conductor.number("length") or 0.0 for conductor in way)
        if best is None or length < best[1]:
            best = battery, length, way
    return (best[0], best[1], tuple(conductor.id for conductor in best[2])) if best else None
