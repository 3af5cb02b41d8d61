"""A bolted short from its first instant until it is cleared: what flows, which fuse opens when, what each cable takes.

The network of the lowest fault (`fault_study.py`: weak batteries alone, conductors hot) is solved anew after each
device that opens. A device has used up the share of its clearing time, at the latest by its gates, that has passed at
each current; the first whose shares make up one opens. A conductor takes heat by I2t (adiabatic). Adding up shares is
common practice, no source; with one current all along both are the study's own times.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from wiregen.circuit.fault import clearing_time, withstand_time
from wiregen.circuit.fault_study import Bolted, Net
from wiregen.circuit.figures import Figures
from wiregen.circuit.network import PROTECTIVE
from wiregen.model.job import Job, Part

LEAST = 1.0  # A: less is nothing beside a fault, as in the study
WHOLE = 1.0 - 1e-9  # of a share that makes up one


class Phase(NamedTuple):
    """What flows from `start_s` on, after the devices in `opened` have opened at that time.

    `amps` in the short itself (None: nothing limits it), `currents` by conductor from its first end to its last,
    `guards` by protective device that is still closed, `sources` what each battery gives (negative: takes) [A].
    `heat` is the share of what each conductor stands that it has taken when the phase begins.
    """

    start_s: float
    opened: tuple[str, ...]
    amps: float | None
    currents: Mapping[str, float]
    guards: Mapping[str, float]
    sources: Mapping[str, float]
    heat: Mapping[str, float]


class Short(NamedTuple):
    """A short between two terminals, phase by phase; in the last one nothing flows, or nothing opens any more.

    `highest_a` is the most that can flow (None: nothing limits it). `burns` are the conductors that take more than
    they stand (not those that carry the current for good), each with the time when they have, soonest first.
    """

    terminal: str
    minus: str
    highest_a: float | None
    phases: tuple[Phase, ...]
    burns: tuple[tuple[float, str], ...]

    @property
    def cleared_s(self) -> float | None:
        """When nothing flows any more, at the latest; None where something always does. [s]"""
        last = self.phases[-1]
        return last.start_s if last.amps == 0.0 else None


def short(job: Job, figures: Figures, terminal: str, minus: str | None = None) -> Short | None:
    """A short from a terminal to another one, or to the negative post that brings most current, as in the study; None
    where no voltage is between them."""
    net = Net(job, figures, weak=True)
    fault = net.between(terminal, minus) if minus else net.fault(terminal)
    if fault is None:
        return None
    minus = fault.minus
    highest = Net(job, figures, weak=False).between(terminal, minus)
    stands = _stands(job, figures)
    heat: dict[str, float] = {}
    worn: dict[str, float] = {}
    phases: list[Phase] = []
    burns: list[tuple[float, str]] = []
    opened: tuple[str, ...] = ()
    now = 0.0
    just: tuple[str, ...] = ()
    while True:
        phase = _phase(job, net, fault, now, just, dict(heat))
        phases.append(phase)
        times = opening_times(job, figures, phase.guards)
        waits = {id: max(0.0, (1.0 - worn.get(id, 0.0)) * seconds) for id, seconds in times.items()}
        wait = min(waits.values(), default=None)
        for id, amps in phase.currents.items():
            rate = _rate(stands, id, amps)
            had = heat.get(id, 0.0)
            carries = figures.wire(job.conductors[id]).ampacity
            for_good = carries is not None and abs(amps) <= carries
            if rate and not for_good and had < WHOLE and (wait is None or had + rate * wait > 1.0):
                burns.append((now + (1.0 - had) / rate, id))
            heat[id] = had + rate * (wait or 0.0)
        if wait is None:
            break
        for id, seconds in times.items():
            worn[id] = worn.get(id, 0.0) + wait / seconds
        just = tuple(id for id in times if worn[id] >= WHOLE)
        opened += just
        now += wait
        net = Net(job, figures, weak=True, opened=opened)
        fault = net.between(terminal, minus)
    return Short(terminal, minus, highest.amps if highest else None, tuple(phases), tuple(sorted(burns)))


def _phase(
    job: Job, net: Net, fault: Bolted | None, now: float, just: tuple[str, ...], heat: Mapping[str, float]
) -> Phase:
    if fault is None:
        return Phase(now, just, 0.0, {}, {}, {}, heat)

    def flows(keys: Mapping[str, tuple[str, ...]]) -> dict[str, float]:
        found = {id: net.flow(fault, key) for id, key in keys.items()}
        return {id: amps for id, amps in found.items() if amps is not None and abs(amps) >= LEAST}

    guards = {p.id: _key(p) for p in job.parts.values() if p.kind in (*PROTECTIVE, "feed")}
    batteries: dict[str, tuple[str, ...]] = {p.id: ("part", p.id) for p in job.parts.values() if p.kind == "battery"}
    return Phase(
        now,
        just,
        fault.amps,
        flows({id: ("conductor", id) for id in job.conductors}),
        {id: abs(amps) for id, amps in flows(guards).items()},
        {id: -amps for id, amps in flows(batteries).items()},
        heat,
    )


def _key(guard: Part) -> tuple[str, ...]:
    return ("part", guard.id) if guard.kind == "feed" else ("contact", guard.id, guard.contacts[0].name)


def opening_times(job: Job, figures: Figures, guards: Mapping[str, float]) -> dict[str, float]:
    """Device -> in which time it opens at its current, at the latest; those that need not open are left out. [s]"""
    out = {}
    for id, amps in guards.items():
        part = job.parts[id]
        rating = part.number("rating") or part.number("fused")
        time = clearing_time(figures.gates(part), amps / rating, melts=part.kind != "breaker") if rating else None
        if time is not None:
            out[id] = time
    return out


def _stands(job: Job, figures: Figures) -> dict[str, tuple[float, float]]:
    """Conductor -> its copper area and k. [mm2, A s^0.5/mm2]"""
    out = {}
    for conductor in job.conductors.values():
        wire = figures.wire(conductor)
        if wire.area is not None:
            out[conductor.id] = wire.area, figures.withstand_k(wire)
    return out


def _rate(stands: Mapping[str, tuple[float, float]], id: str, amps: float) -> float:
    """The share of what a conductor stands that it takes each second. [1/s]"""
    if id not in stands:
        return 0.0
    area, k = stands[id]
    time = withstand_time(current=amps, area=area, k=k)
    return 1.0 / time if time else 0.0
