"""A case as it stands: what a solved case settled into, kept while something in it is changed and solved again.

Copper keeps its temperature and batteries keep their state, as they do in the minutes of a measurement; relays and
chargers switch anew, and a fuse that carries far too much opens.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from wiregen.circuit.assemble import Circuit, assemble, sun_key
from wiregen.circuit.cases import State, in_case
from wiregen.circuit.devices import Accumulator, Converter, Device
from wiregen.circuit.fault import clearing_time
from wiregen.circuit.figures import Figures
from wiregen.circuit.network import PROTECTIVE
from wiregen.circuit.settle import ROUNDS, Rest, rest_beside_held, switched
from wiregen.circuit.solve import Solution, Solver
from wiregen.circuit.study import Trouble
from wiregen.circuit.wires import copper_at
from wiregen.model.job import Job

SOON = 60.0  # a fuse that would open within this time has opened before anyone measures [s]
LEAK = 1e8  # over each port of a part that is no plain resistance: it holds what hangs on it alone [ohm]
DRAWN = 0.05  # what a part without power draws at most [A]
BLOWS = 8  # fuses that open one after the other, at most


class Standing(NamedTuple):
    """What is kept of a case: temperature by conductor [degC], voltage and acceptance by battery whose state nobody
    says [V, ohm], chargers that were at their full current. `charged` are batteries that are held at the voltage of an
    alternator beside them: one that loses its alternators has its own voltage again."""

    temperatures: Mapping[str, float]
    cells: Mapping[str, tuple[float, float]]
    full: frozenset[str]
    charged: frozenset[str] = frozenset()


def standing(job: Job, figures: Figures, rest: Rest) -> Standing:
    """What is kept of a case at rest."""
    devices = rest.circuit.devices
    anew = assemble(job, figures, rest.circuit.state, rest.circuit.logic)
    return Standing(
        rest.temperatures,
        {d.part: (d.volts, d.accepts) for d in devices if isinstance(d, Accumulator)},
        frozenset(d.part for d in devices if isinstance(d, Converter) and d.bulk),
        rest_beside_held(job, figures, anew),
    )


def stood(job: Job, figures: Figures, state: State, kept: Standing, logic: Mapping[str, bool]) -> Circuit:
    """The circuit of a job in a case as it stands. A battery that says its state itself (a flat one) has that.

    A charger that gave its full current at the end of bulk regulates from there: at no more current its voltage is
    that, at less it rises by its slope.
    """
    job = in_case(job, state)
    circuit = assemble(job, figures, state, logic)
    lost = kept.charged - rest_beside_held(job, figures, circuit)
    if lost:
        held = {id: volts for id, volts in state.held.items() if id not in lost}
        circuit = assemble(job, figures, replace(state, held=held), logic)
        rest_beside_held(job, figures, circuit)
    for branch in circuit.branches:
        if branch.key[0] == "conductor" and branch.key[1] in kept.temperatures:
            branch.ohm = copper_at(figures.wire(job.conductors[branch.key[1]]), kept.temperatures[branch.key[1]])
    for device in circuit.devices:
        if isinstance(device, Accumulator) and device.part in kept.cells:
            device.volts, device.accepts = kept.cells[device.part]
        elif isinstance(device, Converter) and device.part in kept.full:
            device.regulator.volts += device.regulator.most * device.regulator.ohm
        for port in device.ports:
            circuit.add(("leak", device.part, port.name, type(device).__name__), port.plus, port.minus, LEAK)
    return circuit


class Stands(NamedTuple):
    """A case solved as it stands. `blown`: fuses that opened, in order; `unsteady`: parts that go on and off, or that
    draw more than their supply can bring: what a meter shows there does not rest."""

    solver: Solver
    solution: Solution | None
    troubles: tuple[Trouble, ...]
    blown: tuple[str, ...]
    unsteady: tuple[str, ...]


def stands(job: Job, figures: Figures, state: State, kept: Standing, logic: Mapping[str, bool]) -> Stands:
    """Solves a case as it stands from scratch; `logic` is where switched parts begin."""
    blown: list[str] = []
    while True:
        closed = {**state.closed, **dict.fromkeys(blown, False)}
        found = _switching(job, figures, _with(state, closed), kept, logic)
        opens = _opens(job, figures, found) if found.solution and len(blown) < BLOWS else None
        if opens is None:
            return found._replace(blown=tuple(blown))
        blown.append(opens)


class Brief(Solver):
    """A solver that does not look long: loads are turned on in no smaller steps, and the part to blame is the charger
    where the search ended farthest from an answer, else the part there."""

    finest = 0.03

    def _gives_up(self, devices: list[Device], coarse: list[float], fine: list[float]) -> Trouble:
        found = self._farthest(devices, coarse, fine)
        chargers = [device for device in found if isinstance(device, Converter)]
        return Trouble((chargers or found)[0].part if found else None, "no steady answer was found")


def _with(state: State, closed: Mapping[str, bool]) -> State:
    return state if closed == state.closed else replace(state, closed=closed)


def _switching(job: Job, figures: Figures, state: State, kept: Standing, logic: Mapping[str, bool]) -> Stands:
    now, seen = dict(logic), [dict(logic)]
    while True:
        circuit = stood(job, figures, state, kept, now)
        solver = Brief(circuit)
        solution, troubles = solver.run()
        if solution is None:  # a part that cannot be fed at all is at rest, or nothing is
            rests = _rested(now, troubles)
            if not rests:
                return Stands(solver, None, troubles, (), ())
            now = {**now, **rests}
            seen.append(now)
            continue
        wanted = switched(job, figures, circuit, solution)
        unsteady = strained(circuit, solution)
        if wanted == now:
            return Stands(solver, solution, (), (), unsteady)
        if wanted in seen or len(seen) > ROUNDS:
            moving = tuple(key for key in wanted if wanted[key] != now[key] and key in job.parts)
            return Stands(solver, solution, (), (), (*moving, *unsteady))
        now = wanted
        seen.append(wanted)


def _rested(logic: Mapping[str, bool], troubles: Sequence[Trouble]) -> dict[str, bool]:
    """The switching without what has no answer: a charger at rest, or one that regulates, without a battery to hold."""
    for trouble in troubles:
        if trouble.part and logic.get(trouble.part):
            return {trouble.part: False}
        if trouble.part and logic.get(sun_key(trouble.part)) is False:
            return {sun_key(trouble.part): True}
    return {}


def strained(circuit: Circuit, solution: Solution) -> tuple[str, ...]:
    """Parts of constant power that stand where their supply cannot bring it."""
    pairs = zip(circuit.devices, solution.port_volts, strict=True)
    return tuple(d.part for d, volts in pairs if not d.holds(volts) and max(map(abs, d.flow(volts))) > DRAWN)


def _opens(job: Job, figures: Figures, found: Stands) -> str | None:
    """The fuse or breaker that opens first of those that carry too much."""
    assert found.solution is not None
    first: tuple[float, str] | None = None
    for part in job.parts.values():
        rating = part.number("rating")
        if part.kind not in PROTECTIVE or not rating:
            continue
        for contact in part.contacts:
            amps = abs(found.solution.currents.get(("contact", part.id, contact.name), 0.0))
            if amps <= rating:
                continue
            time = clearing_time(figures.gates(part), amps / rating, melts=part.kind != "breaker")
            if time is not None and time <= SOON and (first is None or (time, part.id) < first):
                first = time, part.id
    return first[1] if first else None
