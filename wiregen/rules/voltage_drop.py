"""voltage-drop: a fuse, diode, contact or the body takes so much voltage that thicker conductors do not mend it.

Hazard
    What is fed gets too little voltage: chargers cut out, lamps are dim, motors draw more. Where the voltage is lost in
    a contact, that contact gets hot, and copper is spent in vain.
Test
    The voltage lost from each source to each port, out and back, against the limit that the job sets. Where it is too
    large: what all that is no conductor loses together against the limit, and the one that loses the most of it against
    all conductors together. If either is more, that one is named.
Basis
    The job's own limit of drop, else that of its limits. What a part loses: its own resistance or forward voltage, else
    the usual figure that the study lists.
Bad
    diode D1 40 A, forward 0.9 V
    limit 5 % start to heater
    start.+ -- F1 --[W1 red 4 mm2 0.5 m]-- D1 --[W2 red 4 mm2 0.5 m]-- heater.+
    heater.- --[W3 black 4 mm2 1 m]-- start.-
Good
    diode D1 40 A, forward 0.3 V
    limit 5 % start to heater
    start.+ -- F1 --[W1 red 4 mm2 0.5 m]-- D1 --[W2 red 4 mm2 0.5 m]-- heater.+
    heater.- --[W3 black 4 mm2 1 m]-- start.-
Limits
    A drop that a thicker conductor mends is for undersized-conductor. While positive meets negative somewhere, voltages
    mean nothing and are not judged.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.study import Assumption, Study, Supply
from wiregen.model.job import Body, Conductor, Job, Part
from wiregen.rules.currents import unsure
from wiregen.rules.drops import decided_by, excess, split, too_large, worst_supplies
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import apart, figure, listed, volts

TAKEN = ("contact resistance", "resistance", "cold resistance", "resistance of a mated pole",
         "forward voltage at its rating", "between any two of its earths")  # fmt: skip
"""Quantities of the study's assumptions that make a part lose voltage."""

INSTEAD = {
    "diode": "or a relay in its place",
    "connector": "or leave it out",
    "plug": "or leave it out",
    "socket": "or leave it out",
    "fuse": "of another type, or of a larger rating where the conductors bear it",
    "breaker": "or a fuse in its place",
    "body": "by a better bond, or run a return conductor",
}


@rule("voltage-drop", severity="warning", basis="the drop limit that the job has chosen")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each part that takes too much, for the port that is worst off."""
    job = study.job
    if why := unsure(study):
        yield Content("job", "{}: voltages say nothing until that is put right", (why,))
        return
    found: dict[str, list[Supply]] = {}
    for supply in worst_supplies(study):
        if not too_large(supply):
            if supply.drop_ratio is not None and supply.limit_ratio is not None:
                yield Content(supply.to, "loses {}, within its limit, in {}", (volts(supply.drop_v or 0), supply.case))
            continue
        taker = decided_by(job, supply)
        if taker is None:
            yield Content(supply.to, "loses too much, but in conductors: undersized-conductor says so")
        else:
            found.setdefault(taker, []).append(supply)
    for taker, supplies in found.items():
        yield _bad(study, taker, supplies)


def _bad(study: Study, taker: str, supplies: list[Supply]) -> Bad:
    job = study.job
    item = _item(job, taker)
    worst = max(supplies, key=excess)
    assert worst.drop_v is not None and worst.drop_ratio is not None and worst.limit_ratio is not None
    copper, others = split(job, worst)
    own, parts, allowed = others[taker], sum(others.values()), worst.limit_ratio * worst.of_v
    loses, may = apart(worst.drop_ratio * 100, worst.limit_ratio * 100)
    unsolved = any(case.troubles for case in study.cases if case.name == worst.case)
    ports = list(dict.fromkeys(supply.to for supply in (worst, *supplies)))
    taken = next((a for a in study.assumptions if a.subject == taker and a.quantity in TAKEN), None)
    why = [f"{listed(ports)} get{'' if ports[1:] else 's'} too little voltage"]
    if parts > allowed:
        why.append(f"without any loss in conductors {volts(parts)} would be lost, {volts(allowed)} is allowed")
    else:
        why.append(f"{taker} takes more than all conductors together")
    why.append(f"on the way {', '.join(f'{id} {volts(lost)}' for id, lost in worst.losses.items() if lost)}")
    if taken is not None:
        why.append(f"the {taken.quantity} of {taker} is not given: {_value(taken)} is taken ({taken.basis})")
    spare = own - (worst.drop_v - allowed)
    return Bad(
        subject=item.id,
        message=(
            f"{worst.to} {'would get' if unsolved else 'gets'} {volts(worst.drop_v)} ({loses} % of"
            f" {figure(worst.of_v)} V) less than {worst.from_} in {worst.case}, {may} % is allowed; {taker} alone loses"
            f" {volts(own)}, all conductors together {volts(copper)}"
        ),
        at=mark(item, "forward" if item.has("forward") else "resistance", f"loses {volts(own)}"),
        related=tuple(dict.fromkeys((*ports, worst.from_, *(id for id in worst.path if id != item.id)))),
        case=worst.case,
        reason="; ".join(why),
        remedy=_remedy(item, taker, taken, own, spare, copper, [id for id in others if others[id]], allowed),
        values={
            "drop_v": worst.drop_v,
            "drop_percent": worst.drop_ratio * 100,
            "limit_percent": worst.limit_ratio * 100,
            "of_v": worst.of_v,
            "own_drop_v": own,
            "conductors_drop_v": copper,
            "parts_drop_v": parts,
            "own_drop_that_passes_v": max(spare, 0.0),
            "supply_from": worst.from_,
            "supply_to": worst.to,
        },
        through=item.through,
        basis=worst.basis,
    )


def _item(job: Job, taker: str) -> Part | Conductor | Body:
    """What decides a drop, or what it is at where it is a joint."""
    at = taker.removeprefix("joint at ")
    if at in job.terminals:
        at = job.terminals[at].part
    item = job.parts.get(at) or job.bodies.get(at) or job.conductors.get(at)
    return item or job.parts[at.rpartition(".")[0]]


def _value(taken: Assumption) -> str:
    if isinstance(taken.value, str):
        return taken.value
    return f"{figure(taken.value * 1000)} mohm" if taken.unit == "ohm" else f"{figure(taken.value)} V"


def _remedy(
    item: Part | Conductor | Body,
    taker: str,
    taken: Assumption | None,
    own: float,
    spare: float,
    copper: float,
    others: list[str],
    allowed: float,
) -> str:
    """What the item may lose for the port to pass; where even nothing is too much, what all of them may."""
    if spare <= 0:
        if copper <= allowed / 2:
            together = " together" if others[1:] else ""
            return f"bring {listed(others)} to at most {volts(allowed - copper)}{together}, or leave some of them out"
        half = volts(allowed / 2)
        return (
            f"bring {listed(others)} to at most {half} together, and the conductors, which lose {volts(copper)},"
            f" to as much by their size or length"
        )
    if taker != item.id:
        return f"make the {taker} anew: clean, crimped, tight, so that it loses at most {volts(spare)}"
    kind = item.kind if isinstance(item, Part) else "body"
    ohm = item.number("resistance")
    if ohm is None and taken is not None and taken.unit == "ohm" and not isinstance(taken.value, str):
        ohm = taken.value
    most = f"loses at most {volts(spare)}"
    if ohm is not None and kind != "diode":
        most += (
            f", {figure(ohm * spare / own * 1000)} mohm{' a pole' if kind in ('connector', 'plug', 'socket') else ''}"
        )
    instead = INSTEAD.get(kind, "as one of a larger rating has")
    if kind == "body":
        return f"see that {item.id} {most}, {instead}"
    return f"fit for {item.id} one that {most}, {instead}"
