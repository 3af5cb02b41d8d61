"""alternator-overload: more is drawn while the engine runs than the alternator gives.

Hazard
    The battery pays the rest and is flat on arrival; the alternator runs at its limit for hours, hot, and fails early.
Test
    In each solved case with the engine running: what the alternator and the batteries beside it give to all the rest,
    against its rating; loads with a `duty` count by their average. What a case called idling draws is held against
    `idle`; in the other cases more than `idle` is advice.
Basis
    the maker's figures; ratings are of a cold alternator at speed (from memory), so no margin is left over
Bad
    alternator alt 40 A fixed, on start
    load heater 50 A
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- heater --[B1 black 10 mm2 1 m]-- start.-
Good
    alternator alt 90 A fixed, on start
    load heater 30 A
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- heater --[B1 black 10 mm2 1 m]-- start.-
Limits
    What the vehicle itself consumes is counted only where the netlist has it. A battery that is held at a voltage
    stands for its alternator too. A battery behind a relay or diode is not counted as giving, and no case in which a
    starter turns is judged.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.cases import LOADS, operating_cases
from wiregen.circuit.isolation import fed
from wiregen.circuit.study import CaseResult, Study
from wiregen.model.job import Part
from wiregen.rules.currents import lasting, taken, unsure
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import amps, apart, beyond, clearly_more, listed

IDLING = ("idle", "idling")
"""Names of a case in which the engine idles."""


@rule("alternator-overload", severity="warning", basis="the alternator maker's figures")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each alternator that cannot give what is drawn."""
    job = study.job
    if unsure(study):
        return
    running = {s.name: s for s in operating_cases(job) if s.engine and not s.starting}
    for part in job.parts.values():
        rating, plus = part.number("rating"), f"{part.id}.+"
        if part.kind != "alternator" or rating is None or plus not in job.terminals:
            continue
        idle = part.number("idle")
        at = fed(study.network, (plus,), lambda contact: contact.kind in ("switch", "relay", "diode"))
        beside = {job.terminals[t].part: None for t in at if t.endswith(".+")}
        near = [job.parts[id] for id in beside if id in job.parts]
        worst: tuple[float, float, CaseResult] | None = None  # draws, of, in
        for case in lasting(study):
            state = running.get(case.name)
            if state is None or part.id in state.off:
                continue
            draws = _drawn(case, part, near)
            most = idle if idle is not None and case.name.lower() in IDLING else rating
            if worst is None or clearly_more(draws * worst[1], worst[0] * most):
                worst = draws, most, case
        if worst is None:
            continue
        draws, most, case = worst
        if beyond(draws, most):
            yield _bad(near, part, case, draws, most, idle)
        elif idle is not None and beyond(draws, idle):
            yield _bad(near, part, case, draws, idle, idle)._replace(severity="advice")
        else:
            yield Content(part.id, "gives {} of its {} in {}", (amps(draws), amps(most), case.name))


def _drawn(case: CaseResult, part: Part, near: list[Part]) -> float:
    """What is drawn from an alternator and the batteries beside it; what these take for themselves can wait. [A]"""

    total = max(-taken(case, part.id), 0.0) - sum(taken(case, p.id) for p in near if p.kind == "battery")
    duties = ((p.id, duty) for p in near if p.kind in LOADS and (duty := p.number("duty")) is not None)
    return total - sum(taken(case, id) * (1.0 - duty) for id, duty in duties)


def _bad(near: list[Part], part: Part, case: CaseResult, draws: float, most: float, idle: float | None) -> Bad:
    takers: list[tuple[float, Part]] = []
    for other in near:
        takes = taken(case, other.id, "input_current_a" if other.kind == "charger" else "current_a")
        if other.kind in (*LOADS, "charger") and takes:
            takers.append((takes, other))
    takers.sort(key=lambda each: -each[0])
    drawn, gives = apart(draws, most)
    at_idle = most == idle
    names = [p.id for _, p in takers[:3]]
    turn = f"limit or turn off {listed(names, 'or')} so that at most {gives} A are drawn" if names else "draw less"
    return Bad(
        subject=part.id,
        message=f"{drawn} A {'are' if draws != 1 else 'is'} drawn from {part.id} in {case.name},"
        f" which gives {gives} A{' at idle' if at_idle else ''}",
        at=mark(part, "idle" if at_idle else "rating", f"gives {gives} A"),
        related=tuple(p.id for _, p in takers),
        marks=tuple(mark(p, "rating" if p.kind == "charger" else "draws", f"takes {amps(a)}") for a, p in takers[:3]),
        case=case.name,
        reason="what it does not give comes out of the start battery"
        + (", whenever the engine idles" if at_idle else ""),
        remedy=f"{turn}, or fit an alternator that gives {drawn} A{' at idle' if at_idle else ''}",
        values={"drawn_a": draws, "gives_a": most, "idle": at_idle},
        through=part.through,
    )
