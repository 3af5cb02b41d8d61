"""no-operating-point: a part cannot run steadily in an operating case.

Hazard
    A charger switches itself on and off every few seconds and never fills the battery; a load at constant power pulls
    its supply down until it stops, at a current that heats everything on the way.
Test
    Each operating case is solved. Where it has no steady answer, or a part falls below the voltage that it needs at its
    power, the part is named. Where a conductor on its supply loses more than is allowed, undersized-conductor says so,
    and where it has no way back, missing-return.
Basis
    common practice; the upper of the two solutions of a constant-power load is the one that holds
Bad
    battery start 12 Ah agm, vented, resistance 400 mohm
    charger dcdc 18 A, profile agm, efficiency 90 %, negative common, stops-below 11.5 V, starts-above 12 V
    start.+ -- F2 --[R1 red 16 mm2 0.4 m]-- dcdc.in.+
    start.- --[B1 black 16 mm2 0.4 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 6 mm2 0.3 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 6 mm2 0.3 m]-- aux.-
Good
    start.+ -- F2 --[R1 red 16 mm2 0.4 m]-- dcdc.in.+
    start.- --[B1 black 16 mm2 0.4 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 6 mm2 0.3 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 6 mm2 0.3 m]-- aux.-
    dcdc.sense --[S1 grey 0.5 mm2 0.3 m]-- aux.-
Limits
    While positive meets negative somewhere, cases have no meaning and are not judged. Starters are left out: their
    voltage is meant to fall.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.study import CaseResult, Study, Trouble
from wiregen.circuit.ways_back import lost
from wiregen.findings import Mark
from wiregen.rules.currents import lossy, too_thin, unsure
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, rule
from wiregen.rules.words import listed


@rule("no-operating-point", severity="warning", basis="common practice; a case without a steady answer does not hold")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each part that cannot hold up, with all the cases in which it cannot."""
    job = study.job
    if why := unsure(study):
        yield Content("job", "{}: cases say nothing until that is put right", (why,))
        return
    sag = lossy(study)
    out = {port.part for each in lost(job, study.network) for port in each.ports}
    thin = bool(sag) or bool(too_thin(study))
    found: dict[str | None, list[tuple[CaseResult, Trouble]]] = {}
    for case in study.cases:
        for trouble in case.troubles:
            part = job.parts.get(trouble.part or "")
            known = thin if part is None else (case.name, trouble.part) in sag
            known = known or (bool(out) if part is None else part.id in out)
            if (part is None or part.kind != "starter") and not known:
                found.setdefault(trouble.part, []).append((case, trouble))
        if case.solved and not case.troubles:
            yield Content(case.name, "has a steady answer")
    for name, troubles in found.items():
        yield _unsteady(study, name, troubles)


def _unsteady(study: Study, name: str | None, troubles: list[tuple[CaseResult, Trouble]]) -> Bad:
    part = study.job.parts.get(name or "")
    case, trouble = troubles[0]
    cases = [each.name for each, _ in troubles]
    written = study.job.cases.get(case.name)
    span = part.span if part else written.span if written else study.job.span
    assert span is not None
    return Bad(
        subject=name or case.name,
        message=f"{trouble.words} (in {listed(cases)})" if part else f"{listed(cases)} has no steady answer",
        at=at_name(part, "does not hold up") if part else Mark(span, "no steady answer"),
        related=tuple(cases),
        case=case.name,
        reason="it runs in fits and starts or not at all" if part else trouble.words,
        remedy="feed it from a stiffer source, lower what it draws, or set its start and stop voltages further apart"
        if part
        else "look for a part in this case that asks for more than its source can give",
        values={"cases": ", ".join(cases)},
        through=part.through if part else (),
    )
