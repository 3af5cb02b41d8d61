"""battery-overcurrent: more is drawn from a battery than it may give.

Hazard
    The protection circuit of a lithium battery switches it off, and everything goes dark at once; another battery
    heats up, sags and ages early.
Test
    What each battery gives in every solved case against its `max-discharge`. Of a lithium bank also the `surge` of each
    inverter alone, at the nominal voltage, against the limits of the bank together: that is advice, since some
    protection circuits bear it for seconds.
Basis
    the maker's figure
Bad
    battery aux 100 Ah lifepo4, max-discharge 50 A, max-charge 50 A
    load heater 60 A
    aux.+ -- F2 --[R1 red 16 mm2 1 m]-- heater --[B1 black 16 mm2 1 m]-- aux.-
Good
    battery aux 100 Ah lifepo4, max-discharge 50 A, max-charge 50 A
    load heater 30 A
    aux.+ -- F2 --[R1 red 16 mm2 1 m]-- heater --[B1 black 16 mm2 1 m]-- aux.-
Limits
    A battery that does not say its `max-discharge` is not judged, nor a case in which a starter turns. A load's
    `duty` does not count: the circuit opens at the peak. How long a peak may last is in the maker's data sheet.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.figures import Figures
from wiregen.circuit.isolation import fed
from wiregen.circuit.questions import lithium
from wiregen.circuit.study import Study
from wiregen.model.job import Part
from wiregen.rules.currents import lasting, taken, unsure
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import amps, apart, beyond, clearly_more, figure, listed


@rule("battery-overcurrent", severity="warning", basis="the battery maker's figure")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each battery that gives too much."""
    job = study.job
    if unsure(study):
        return
    said: set[str] = set()
    batteries = [p for p in job.parts.values() if p.kind == "battery" and p.has("max-discharge")]
    for battery in batteries:
        most, worst = _most(battery), ("", 0.0)
        for case in lasting(study):
            gives = -taken(case, battery.id)
            if clearly_more(gives, worst[1]):
                worst = case.name, gives
        if not beyond(worst[1], most):
            yield Content(battery.id, "gives {} at most, may give {}", (amps(worst[1]), amps(most)))
            continue
        said.add(battery.id)
        yield _bad(study, battery, worst[0], worst[1], most)
    figures = Figures(job)
    for inverter in job.parts.values():
        if inverter.kind == "inverter" and inverter.number("surge") and f"{inverter.id}.+" in job.terminals:
            at = fed(study.network, (f"{inverter.id}.+",))
            bank = [p for p in job.parts.values() if p.kind == "battery" and f"{p.id}.+" in at]
            if bank and all(p in batteries and lithium(p) for p in bank) and not said.intersection(p.id for p in bank):
                yield _surge(figures, inverter, bank)


def _most(battery: Part) -> float:
    return (battery.number("max-discharge") or 0.0) * (battery.number("parallel") or 1.0)


def _bad(study: Study, battery: Part, case: str, gives: float, most: float) -> Bad:
    drawn, may = apart(gives, most)
    then = "its protection circuit switches it off" if lithium(battery) else "it heats up, sags and ages early"
    result = next(each for each in study.cases if each.name == case)
    at = fed(study.network, (f"{battery.id}.+",))
    takers = [p for p in study.job.parts.values() if f"{p.id}.+" in at or f"{p.id}.in.+" in at]

    def takes(part: Part) -> float:
        return taken(result, part.id, "input_current_a" if part.kind == "charger" else "current_a")

    kinds = ("load", "lamp", "sensor", "inverter", "charger")
    takers = sorted((p for p in takers if p.kind in kinds and takes(p) > 0.0), key=lambda p: -takes(p))
    return Bad(
        subject=battery.id,
        message=f"{battery.id} gives {drawn} A in {case}, but may give {may} A",
        at=mark(battery, "max-discharge", f"may give {may} A"),
        related=tuple(p.id for p in takers),
        marks=tuple(mark(p, "draws" if p.has("draws") else "rating", f"takes {amps(takes(p))}") for p in takers[:3]),
        case=case,
        reason=then,
        remedy=f"draw at most {may} A at a time, or fit batteries that may give {drawn} A together",
        values={"current_a": gives, "limit_a": most},
        through=battery.through,
    )


def _surge(figures: Figures, inverter: Part, bank: list[Part]) -> Verdict:
    surge, nominal = inverter.number("surge") or 0.0, figures.nominal(inverter)
    efficiency = inverter.number("efficiency") or figures.book.default("inverter-efficiency")
    draws, most = surge / efficiency / nominal, sum(_most(battery) for battery in bank)
    names = listed(battery.id for battery in bank)
    if not beyond(draws, most):
        return Content(inverter.id, "draws {} in a surge, {} may give {}", (amps(draws), names, amps(most)))
    drawn, may = apart(draws, most)
    return Bad(
        subject=bank[0].id,
        message=f"the surge of {inverter.id}, {figure(surge)} W, draws {drawn} A, but {names} may give {may} A",
        at=mark(bank[0], "max-discharge", f"may give {may} A"),
        related=(inverter.id, *(battery.id for battery in bank[1:])),
        marks=(mark(inverter, "surge", f"{drawn} A at {figure(nominal)} V"),),
        reason="the protection circuit may switch the battery off when a motor starts behind the inverter",
        remedy=f"ask the maker whether {drawn} A are allowed for seconds, or fit batteries that may give them",
        values={"current_a": draws, "limit_a": most, "surge_w": surge, "volts": nominal},
        through=bank[0].through,
        severity="advice",
    )
