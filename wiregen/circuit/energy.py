"""The energy of a day: what the loads take, how long the batteries last, how long they take to fill again.

A budget by hand, not a simulation: average currents at nominal voltage. `autonomy_h` runs the service batteries from
full down to the reserve that is left in them (half of lead-acid, a fifth of lithium where nothing is said).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from heapq import heappop, heappush

from wiregen.circuit.assemble import main_battery
from wiregen.circuit.cases import CHARGERS, LOADS
from wiregen.circuit.figures import Figures, convert
from wiregen.circuit.network import Network
from wiregen.circuit.panel import lit_panel
from wiregen.model.job import Job, Part


def energy(job: Job, figures: Figures, network: Network) -> dict[str, float | None]:
    """Daily load [Wh], usable energy [Wh], autonomy [h], recharge from the alternator [h driven] and from the sun
    [h of full sun]. None where the job has no such source or it does not outweigh the loads."""
    batteries = service_batteries(job)
    if not batteries:
        return {}
    nearest = _nearest_battery(job, network)
    ids = {battery.id for battery in batteries}
    served = [p for p in job.parts.values() if p.kind in LOADS and nearest.get(f"{p.id}.+") in ids]
    average = sum(_average_watts(figures, part) for part in served)
    usable = missing = 0.0
    for battery in batteries:
        cell = figures.battery(battery)
        capacity = cell.capacity or figures.default("battery-capacity", battery.id, "capacity", "Ah")
        id = "reserve-lithium" if cell.lithium else "reserve"
        depth = 1.0 - figures.default(id, battery.id, "reserve that is left in it", "of its capacity")
        usable += capacity * cell.nominal * depth
        id = "charge-efficiency-lithium" if cell.lithium else "charge-efficiency"
        missing += capacity * cell.nominal * depth / figures.default(id, battery.id, "charge efficiency", "1")
    driven = _charger_watts(job, figures, batteries, nearest)
    sun = _sun_watts(job, figures, ids, nearest)
    return {
        "daily_load_wh": average * 24.0,
        "usable_wh": usable,
        "autonomy_h": usable / average if average > 0 else None,
        "recharge_alternator_h": missing / (driven - average) if driven > average else None,
        "recharge_sun_h": missing / (sun - average) if sun > average else None,
        "daily_sun_wh": sun * figures.default("sun-hours", "job", "hours of full sun in a day", "h") if sun else None,
    }


def service_batteries(job: Job) -> tuple[Part, ...]:
    """The batteries that the loads live on: all but the start battery, or the only ones there are."""
    batteries = [part for part in job.parts.values() if part.kind == "battery"]
    main = main_battery(job)
    others = [battery for battery in batteries if main is None or battery.id != main.id]
    return tuple(others or batteries)


def _average_watts(figures: Figures, part: Part) -> float:
    draw = figures.draw(part)
    if draw is None:
        return 0.0
    duty = part.number("duty")
    if duty is None:
        duty = 1.0
        figures.note(part.id, "duty", 1.0, "of the time", "not said: taken as always on (the careful choice)")
    volts = figures.nominal(part)
    return convert(draw.value, draw.kind, "power", volts) * duty


def _nearest_battery(job: Job, network: Network) -> dict[str, str]:
    """Terminal -> the battery whose positive post is nearest by conductor length, over closed and open contacts."""
    heap: list[tuple[float, int, str, str]] = []
    for k, part in enumerate(p for p in job.parts.values() if p.kind == "battery"):
        heappush(heap, (0.0, k, f"{part.id}.+", part.id))
    found: dict[str, str] = {}
    turn = len(heap)
    while heap:
        length, _, at, battery = heappop(heap)
        if at in found:
            continue
        found[at] = battery
        for edge, other in network.around(at):
            if other not in found:
                more = job.conductors[edge.subject].number("length") if edge.kind == "conductor" else 0.0
                turn += 1
                heappush(heap, (length + (more or 0.0), turn, other, battery))
    return found


def _charger_watts(job: Job, figures: Figures, batteries: Iterable[Part], nearest: Mapping[str, str]) -> float:
    """What reaches the service batteries while driving: their chargers, each battery's own limit kept. [W]"""
    total = 0.0
    for battery in batteries:
        amps = 0.0
        for part in job.parts.values():
            post = {"charger": "out.+", "alternator": "+"}.get(part.kind)
            if post and nearest.get(f"{part.id}.{post}") == battery.id:
                amps += part.number("rating") or 0.0
        most = battery.number("max-charge")
        cell = figures.battery(battery)
        if most is None and amps and cell.capacity:
            row = figures.book.row("chemistry", cell.chemistry) or figures.book.row("chemistry", "flooded")
            assert row is not None
            most = row["charge_per_ah"] * cell.capacity
            figures.note(battery.id, "greatest charge current", most, "A", figures.book.basis(row))
        total += min(amps, most if most is not None else amps) * cell.nominal
    return total


def _sun_watts(job: Job, figures: Figures, batteries: set[str], nearest: Mapping[str, str]) -> float:
    """What the panels bring in full sun through their controllers. [W]"""
    panels = [part for part in job.parts.values() if part.kind == "panel"]
    if not panels:
        return 0.0
    most = efficiency = 0.0
    for part in job.parts.values():
        if part.kind in CHARGERS and f"{part.id}.solar.+" in job.terminals and job.terminals[f"{part.id}.solar.+"].used:
            nominal = figures.nominal(part, "out.+", "out.-")
            most += (part.number("rating") or 0.0) * nominal
            given = part.number("efficiency")
            efficiency = max(efficiency, figures.book.default("charger-efficiency") if given is None else given)
    watts = 0.0
    for panel in panels:
        lit = lit_panel(figures, panel, 1.0)
        watts += lit.best_volts * lit.best_amps
    return min(watts * (efficiency or 1.0), most or watts)
