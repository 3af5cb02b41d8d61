"""start-battery-drain: something goes on taking current from the start battery after the engine has stopped.

Hazard
    The vehicle does not start in the morning, and a start battery that is emptied again and again dies early.
Test
    Where a second battery is there to feed what runs with the engine off: (1) a charger beside an alternator that
    starts by voltage and not by a trigger, by the solved parked case and the voltage at which it stops, its supply drop
    added; (2) a voltage-sensing relay to the second battery, by the voltages at which it opens and closes; (3) the
    two batteries in parallel with nothing between that opens; (4) loads that a case of the job turns on with the
    engine off, on the start battery; (5) relay coils that no switch turns off.
Basis
    common practice: half of the charge is left after a night and a day (24 h), so what goes by voltage stops at the
    rest voltage at 50 %; 50 mA of standing current; thresholds of 12.7 and 13.2 V (all from memory, no source read)
Bad
    battery aux 100 Ah flooded, vented, max-charge 30 A
    voltage-relay K1 100 A, closes-above 13.2 V, opens-below 11.8 V
    start.+ -- F1 --[W1 red 16 mm2 1 m]-- K1.in
    K1.out --[W2 red 16 mm2 1 m]-- F2 -- aux.+
    aux.- --[W3 black 16 mm2 1 m]-- start.-
    K1.- --[W4 black 1 mm2 1 m]-- start.-
Good
    battery aux 100 Ah flooded, vented, max-charge 30 A
    voltage-relay K1 100 A, closes-above 13.2 V, opens-below 12.7 V
    start.+ -- F1 --[W1 red 16 mm2 1 m]-- K1.in
    K1.out --[W2 red 16 mm2 1 m]-- F2 -- aux.+
    aux.- --[W3 black 16 mm2 1 m]-- start.-
    K1.- --[W4 black 1 mm2 1 m]-- start.-
Limits
    Loads that a person turns on are judged only where a case of the job says so; loads marked `always-live` are not. A
    charger that does not say at which voltage it starts is not judged, nor a lithium start battery. Behind a variable
    alternator missing-trigger speaks, of a trigger that is always live unswitched-trigger, of unlike batteries in
    parallel mixed-batteries.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from wiregen.catalogue import catalogue
from wiregen.circuit.assemble import coil_ends, coil_ohm, main_battery
from wiregen.circuit.cases import LOADS, State, operating_cases
from wiregen.circuit.crossing import crossings
from wiregen.circuit.figures import Figures
from wiregen.circuit.isolation import Reach, fed
from wiregen.circuit.study import CaseResult, Study
from wiregen.circuit.ways_back import lost
from wiregen.model.job import Contact, Part
from wiregen.rules.currents import taken
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, mark, rule
from wiregen.rules.words import amps, apart, beyond, figure, listed

HALF = 0.5  # of the charge of a lead-acid start battery has to be left
HOURS = 24.0  # after as long
STANDING = 0.05  # [A] that may flow for good
STOPS, STARTS = 12.7, 13.2  # usual thresholds of a 12 V battery beside a fixed alternator [V]
BASIS = "common practice, from memory: a start battery keeps half of its charge"


@rule("start-battery-drain", severity="warning", basis=BASIS)
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each thing that drains the start battery."""
    job = study.job
    main = main_battery(job)
    others = [p for p in job.parts.values() if p.kind == "battery" and p is not main]
    if main is None or crossings(job, study.network):
        return
    engine = any(p.kind in ("alternator", "starter") for p in job.parts.values())
    if not engine and main.id.rpartition(".")[2].lower() != "start":
        return
    row = catalogue().row("chemistry", main.word("chemistry") or "flooded")
    if row is None or not row["compensation_v_per_k"]:
        return
    figures = Figures(job)
    solved = {case.name: case for case in study.cases if case.solved}
    if not others:  # what else hangs on the only battery is meant to
        for part in job.parts.values():
            if part.kind == "relay" and "parked-dark" in solved:
                yield from _coil(study, figures, main, part, solved["parked-dark"])
        return
    off = [state for state in operating_cases(job) if _engine_off(study, state)]
    plain = fed(study.network, (f"{main.id}.+",), lambda contact: _parts_them(study, contact))
    joined = [b for b in others if f"{b.id}.+" in plain]
    yield from _parallel(study, main, joined, plain)
    if joined:
        return
    for part in job.parts.values():
        if part.kind == "charger" and f"{part.id}.in.+" in plain:
            yield from _charger(study, figures, main, part, solved.get("parked-dark"))
        elif part.kind == "voltage-relay":
            yield from _relay(study, figures, main, part)
        elif part.kind == "relay" and "parked-dark" in solved:
            yield from _coil(study, figures, main, part, solved["parked-dark"])
    yield from _loads(study, main, off, solved, plain)


def _engine_off(study: Study, state: State) -> bool:
    alternators = [p.id for p in study.job.parts.values() if p.kind == "alternator"]
    return not state.starting and (not state.engine or (bool(alternators) and state.off.issuperset(alternators)))


def _parts_them(study: Study, contact: Contact) -> bool:
    """Whether a contact keeps two batteries apart while the engine is off, by itself or by hand."""
    part = study.job.parts[contact.part]
    return contact.kind in ("switch", "relay", "diode") and part.kind != "low-voltage-disconnect"


def _rest(figures: Figures, battery: Part, state: float) -> float:
    """Rest voltage of a battery at a state of charge, by its chemistry. [V]"""
    facts = {name: fact for name, fact in battery.facts.items() if name not in ("open-circuit", "charge")}
    return figures.battery(replace(battery, facts=facts), state).volts


def _scale(figures: Figures, battery: Part) -> float:
    return figures.battery(battery).nominal / 12.0


def _charger(study: Study, figures: Figures, main: Part, part: Part, parked: CaseResult | None) -> Iterator[Verdict]:
    job = study.job
    trigger = job.terminals.get(f"{part.id}.trigger")
    alternators = [p for p in job.parts.values() if p.kind == "alternator"]
    variable = any(p.word("control") == "variable" for p in alternators)
    if (trigger and trigger.used) or variable or not alternators or not part.has("starts-above"):
        return
    stops = part.number("stops-below")
    scale = _scale(figures, main)
    remedy = (
        f"let {part.id} stop below {figure(STOPS * scale)} V and start above {figure(STARTS * scale)} V"
        + (f", or lead a fused ignition feed to {trigger.id}" if trigger else "")
    )  # fmt: skip
    takes = parked.parts.get(part.id, {}).get("input_current_a") if parked else None
    if parked and takes and beyond(takes, STANDING):
        yield Bad(
            subject=part.id,
            message=f"{part.id} has no trigger and runs with the engine off: it takes {amps(takes)} from {main.id}"
            f" in {parked.name}",
            at=mark(part, "starts-above", "starts at rest voltage"),
            related=(main.id,),
            marks=(at_name(main, "drained"),),
            case=parked.name,
            reason=f"it empties {main.id} into the battery that it charges",
            remedy=remedy,
            values={"current_a": takes, "starts_above_v": part.number("starts-above"), "stops_below_v": stops},
            through=part.through,
        )
        return
    if stops is None:
        return
    drops = [s.drop_v for s in study.supplies if s.to == f"{part.id}.in" and s.from_ == main.id and s.drop_v]
    drop = max(drops, default=0.0)
    least = _rest(figures, main, HALF)
    if beyond(least, stops + drop):
        down, half = f"{stops + drop:.2f}", f"{least:.2f}"
        yield Bad(
            subject=part.id,
            message=f"{part.id} has no trigger and goes on until {main.id} is at {down} V; at half charge it rests at"
            f" {half} V",
            at=mark(part, "stops-below", f"{figure(stops)} V at its input"),
            related=(main.id,),
            marks=(at_name(main, "drained to less than half"),),
            reason="after the engine stops it runs on, and leaves too little to start with",
            remedy=remedy,
            values={"stops_below_v": stops, "drop_v": drop, "limit_v": least},
            through=part.through,
        )
    else:
        yield Content(part.id, "stops while {} has more than half of its charge", (main.id,))


def _relay(study: Study, figures: Figures, main: Part, part: Part) -> Iterator[Verdict]:
    around = fed(study.network, (f"{main.id}.+",), lambda contact: contact.part == part.id)
    ends = [t for contact in part.contacts for t in (contact.a, contact.b)]
    near = [t for t in ends if t in around]
    if len(near) != 1:
        return
    far = next(t for t in ends if t not in around)
    behind = fed(study.network, (far,), lambda contact: contact.part == part.id)
    if not any((p := study.job.part_of(t)) and p.kind == "battery" and t.endswith("+") for t in behind):
        return
    opens, closes = part.number("opens-below"), part.number("closes-above")
    least, full = _rest(figures, main, HALF), _rest(figures, main, 1.0)
    scale = _scale(figures, main)
    if opens is not None and beyond(least, opens):
        said, limit = f"{opens:.2f}", f"{least:.2f}"
        fact, told = "opens-below", f"opens only below {said} V, and {main.id} is at {limit} V when half empty"
    elif closes is not None and beyond(full, closes):
        said, limit = f"{closes:.2f}", f"{full:.2f}"
        fact, told = "closes-above", f"closes above {said} V, and {main.id} rests at {limit} V"
    else:
        if opens is not None or closes is not None:
            yield Content(part.id, "parts {} from the other battery in time", (main.id,))
        return
    yield Bad(
        subject=part.id,
        message=f"{part.id} {told}",
        at=mark(part, fact, "too low"),
        related=(main.id,),
        marks=(at_name(main, "drained"),),
        reason=f"with the engine off {main.id} feeds what the other battery should feed",
        remedy=f"let {part.id} open below {figure(STOPS * scale)} V and close above {figure(STARTS * scale)} V",
        values={"opens_below_v": opens, "closes_above_v": closes, "half_v": least, "full_v": full},
        through=part.through,
    )


def _parallel(study: Study, main: Part, joined: list[Part], plain: dict[str, Reach]) -> Iterator[Verdict]:
    job = study.job
    engine = [p for p in job.parts.values() if p.kind in ("alternator", "starter") and f"{p.id}.+" in plain]
    loads = [p for p in _hanging(study, plain) if not p.has("always-live")]
    for battery in joined:
        like = all(main.word(f) == battery.word(f) for f in ("capacity", "volts")) and main.place == battery.place
        mixed = main.word("chemistry") != battery.word("chemistry")
        if like or mixed or not engine or not loads:
            continue
        way = plain[f"{battery.id}.+"].path
        yield Bad(
            subject=main.id,
            message=f"{main.id} and {battery.id} are in parallel with nothing between them that opens",
            at=at_name(main, "starts the engine"),
            related=(battery.id, *way, *(p.id for p in loads)),
            marks=(at_name(battery, "feeds the loads"),),
            reason=f"with the engine off what hangs on {battery.id} empties {main.id} too",
            remedy=f"part them by a charger, a voltage-sensing relay or a switch between {main.id} and {battery.id}",
            values={"path": " ".join(way)},
            through=main.through,
        )
        return


def _hanging(study: Study, plain: dict[str, Reach]) -> list[Part]:
    return [p for p in study.job.parts.values() if p.kind in LOADS and any(t in plain for t in p.terminals)]


def _coil(study: Study, figures: Figures, main: Part, part: Part, parked: CaseResult) -> Iterator[Verdict]:
    job = study.job
    ends = coil_ends(job, part)
    live = [p.id for p in job.parts.values() if p.kind == "feed" and p.word("state") == "live"]
    at = fed(study.network, (f"{main.id}.+", *live), lambda contact: contact.kind in ("switch", "relay"))
    if ends is None or not any(end in at for end in ends):
        return
    if any(port.part == part.id for each in lost(job, study.network) for port in each.ports):
        return  # missing-return says that its coil has no way back
    high, low = (parked.voltages.get(end) for end in ends)
    if high is None or low is None:
        return
    takes = abs(high - low) / coil_ohm(figures, part, ends)
    if not beyond(takes, STANDING):
        yield Content(part.id, "its coil takes {} with the engine off", (amps(takes),))
        return
    took, most = apart(takes * 1000, STANDING * 1000)
    yield Bad(
        subject=part.id,
        message=f"the coil of {part.id} takes {took} mA from {main.id} all the time; {most} mA is usual when parked",
        at=mark(part, "coil", "always energised"),
        related=(main.id,),
        marks=(at_name(main, "drained"),),
        case=parked.name,
        reason="nothing turns it off when the engine stops",
        remedy="feed the coil from a circuit that the ignition or a switch turns off",
        values={"current_a": takes, "limit_a": STANDING},
        through=part.through,
    )


def _loads(
    study: Study, main: Part, off: list[State], solved: dict[str, CaseResult], plain: dict[str, Reach]
) -> Iterator[Verdict]:
    capacity = (main.number("capacity") or 0.0) * (main.number("parallel") or 1.0)
    if not capacity:
        return
    most = (1.0 - HALF) * capacity / HOURS
    worst: tuple[float, State, list[Part]] | None = None
    for state in off:
        case = solved.get(state.name)
        if case is None or state.name not in study.job.cases:
            continue
        loads = [p for p in _hanging(study, plain) if p.id in state.on and not p.has("always-live")]
        takes = sum(taken(case, p.id) * (p.number("duty") or 1.0) for p in loads)
        if loads and (worst is None or beyond(takes, worst[0])):
            worst = takes, state, loads
    if worst is None:
        return
    takes, state, loads = worst
    if not beyond(takes, most):
        yield Content(main.id, "gives {} in {}", (amps(takes), state.name))
        return
    took, limit = apart(takes, most)
    yield Bad(
        subject=main.id,
        message=f"{listed(p.id for p in loads)} take{'' if loads[1:] else 's'} {took} A from {main.id} in {state.name},"
        f" with the engine off; {limit} A empties it to half in {figure(HOURS)} h",
        at=mark(loads[0], "draws", "on the start battery"),
        related=tuple(p.id for p in loads),
        marks=(mark(main, "capacity", "has to start the engine"),),
        case=state.name,
        reason="what runs with the engine off belongs to the second battery",
        remedy=f"feed {listed(p.id for p in loads)} from another battery than {main.id}",
        values={"current_a": takes, "limit_a": most},
        through=main.through,
    )
