"""One operating case until it rests: conductor temperatures fed back, switches and chargers where voltages put them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

from wiregen.circuit.assemble import Branch, Circuit, assemble, charger_minus, coil_ends, dark_key, sun_key
from wiregen.circuit.cases import State, in_case
from wiregen.circuit.devices import (
    LEAST_KNEE,
    Accumulator,
    Converter,
    CurrentLoad,
    Device,
    Limited,
    PowerLoad,
)
from wiregen.circuit.figures import Figures
from wiregen.circuit.resistance import working_temperature
from wiregen.circuit.solve import SAG, Solution, Solver
from wiregen.circuit.study import Trouble
from wiregen.circuit.wires import Wire, copper_at
from wiregen.model.job import Job, Part

HOTTEST = 300.0  # a conductor that would be hotter is reported at this [degC]
SETTLED = 1e-2  # conductor temperatures are fed back until they move less [K]
ROUNDS = 12  # of temperatures, and of switching
# what a battery was moved by to the end of bulk, below which it need not move again: beside other chargers, which bring
# more than one does, it misses by more of what it moves [V]
NEAR_ALONE, NEAR_OTHERS = 1.0, 0.05


class Rest(NamedTuple):
    """A case at rest. `temperatures` by conductor [degC]; `solution` is None where there is no answer."""

    circuit: Circuit
    solution: Solution | None
    temperatures: Mapping[str, float]
    troubles: tuple[Trouble, ...]


def settle(job: Job, figures: Figures, state: State) -> Rest:
    """Solves a case until switching and temperatures rest; says which part hunts where they do not."""
    job = in_case(job, state)
    logic = _first_logic(job, figures, state)
    seen: list[dict[str, bool]] = []
    temperatures: dict[str, float] = {}
    while True:
        circuit = assemble(job, figures, state, logic)
        rest_beside_held(job, figures, circuit)
        if not seen:
            logic = _sun_alone(job, circuit, logic)
        solver = Solver(circuit)
        if not state.starting:
            _end_of_bulk(solver)
        solution, troubles, temperatures = _warm(job, figures, solver, temperatures)
        if solution is None:
            return Rest(circuit, None, temperatures, (*circuit.troubles, *troubles))
        wanted = switched(job, figures, circuit, solution)
        moving = sorted(key for key in wanted if wanted[key] != logic[key])
        if not moving:
            return _judged(circuit, solution, temperatures)
        seen.append(logic)
        if wanted in seen or len(seen) > ROUNDS:
            parts = [key for key in moving if key in job.parts]
            if not parts:  # the sun just meets what is wanted: either answer is the same
                return _judged(circuit, solution, temperatures)
            return Rest(circuit, None, temperatures, tuple(Trouble(part, _hunts(job.parts[part])) for part in parts))
        logic = wanted


def _sun_alone(job: Job, circuit: Circuit, logic: dict[str, bool]) -> dict[str, bool]:
    """A charger without a battery on its output can only regulate its voltage: it begins there."""
    found = dict(logic)
    solar = [d for d in circuit.devices if isinstance(d, Converter) and "solar" in d.where]
    piece = _pieces(_around(circuit)) if solar else {}
    batteries = {
        piece.get(terminal, terminal)
        for part in job.parts.values()
        if solar and part.kind == "battery"
        for terminal in part.terminals
    }
    for device in solar:
        out = device.ports[device.where["out"]].plus
        device.ample = piece.get(out, out) not in batteries
        found[sun_key(device.part)] = device.ample
    return found


def rest_beside_held(job: Job, figures: Figures, circuit: Circuit) -> frozenset[str]:
    """An alternator rests where the case holds a battery that it is joined to: what share it has nobody can tell.
    Returns the batteries that are held so."""
    held = {f"{id}.+": id for id in circuit.state.held}
    beside: set[str] = set()
    around = _around(circuit) if held else {}
    for device in list(circuit.devices):
        if isinstance(device, Limited) and job.parts[device.part].kind == "alternator" and held:
            joined = _joined(around, device.ports[0].plus)
            by = {held[terminal] for terminal in joined if terminal in held}
            if by:
                beside |= by
                circuit.devices.remove(device)
                words = "the battery beside it is held at a voltage, which stands for both"
                figures.note(device.part, f"in case {circuit.state.name}", "at rest", "", words)
    return frozenset(beside)


def _hunts(part: Part) -> str:
    if part.kind == "charger":
        return (
            f"{part.id} hunts: while it runs, the drop in its supply takes its input below where it stops, and at"
            " rest the input recovers to where it starts"
        )
    return f"{part.id} hunts: closed, the voltage falls to where it opens, and open, it recovers to where it closes"


def _judged(circuit: Circuit, solution: Solution, temperatures: Mapping[str, float]) -> Rest:
    """The answer, unless a part of constant power stands where it cannot: then there is none. A load of constant
    current that is left with a fraction of its voltage has an answer, and is told of."""
    found, answered = [], True
    for device, volts in zip(circuit.devices, solution.port_volts, strict=True):
        if device.holds(volts):
            continue
        if device.strain(volts) is not None:
            answered = False
            words = f"{device.part} cannot hold up: it wants {_wants(device)}, more than {SAG}"
            found.append(Trouble(device.part, words))
        elif isinstance(device, CurrentLoad) and device.knee > LEAST_KNEE:
            left = f"{device.part} is left with {volts[0]:.3g} V"
            words = f"{left}: its supply cannot bring the {device.amps:.4g} A it wants"
            found.append(Trouble(device.part, words))
    return Rest(circuit, solution if answered else None, temperatures, tuple(found))


def _wants(device: Device) -> str:
    if isinstance(device, PowerLoad):
        return f"{device.watts:.4g} W"
    assert isinstance(device, Converter)
    return f"{device.regulator.volts * device.regulator.most / device.efficiency:.4g} W at its input"


# ---------------------------------------------------------------- temperature


def _warm(
    job: Job, figures: Figures, solver: Solver, temperatures: dict[str, float]
) -> tuple[Solution | None, tuple[Trouble, ...], dict[str, float]]:
    """Solves with the conductors at their working temperatures. A conductor keeps the temperature it was solved at."""
    circuit, state = solver.circuit, solver.circuit.state
    wires: list[tuple[int, Branch, str, Wire]] = []  # with their numbers among the branches
    for k, branch in enumerate(circuit.branches):
        if branch.key[0] == "conductor":
            wires.append((k, branch, branch.key[1], figures.wire(job.conductors[branch.key[1]])))
    current = {id: temperatures[id] if id in temperatures else _at_rest(wire, state) for _, _, id, wire in wires}
    steps = 0
    for _ in range(ROUNDS):
        for _, branch, id, wire in wires:
            branch.ohm = copper_at(wire, current[id])
        steps, troubles = solver.find()
        if troubles:
            return None, troubles, current
        amps = solver.currents()
        following = {id: _working(wire, state, amps[k]) for k, _, id, wire in wires}
        if all(abs(now - current[id]) <= SETTLED for id, now in following.items()):
            break
        current = following
    return solver.answer(steps), (), current


def _at_rest(wire: Wire, state: State) -> float:
    return _working(wire, state, 0.0)


def _working(wire: Wire, state: State, current: float) -> float:
    """Temperature of a conductor by the shares of its length in its places. [degC]"""
    if wire.fixed is not None:
        return wire.fixed
    total = 0.0
    for stretch in wire.stretches:
        ambient = state.ambients.get(stretch.place or "", stretch.ambient)
        if wire.table_a:
            ambient = working_temperature(current=current, ampacity=wire.table_a, ambient=ambient, rise=wire.rise)
        total += stretch.share * min(ambient, HOTTEST)
    return total


# ---------------------------------------------------------------- switching


def _first_logic(job: Job, figures: Figures, state: State) -> dict[str, bool]:
    """Where relays and chargers stand before the first solution."""
    logic: dict[str, bool] = {}
    for part in job.parts.values():
        if part.kind == "relay":
            logic[part.id] = part.id in state.on
        elif part.kind in ("voltage-relay", "low-voltage-disconnect"):
            logic[part.id] = next((c.closed for c in part.contacts), False)
        elif part.kind == "charger":
            if part.id in state.on:
                logic[part.id] = True
            elif part.id in state.off:
                logic[part.id] = False
            else:
                logic[part.id] = state.engine
                trigger = job.terminals.get(f"{part.id}.trigger")
                if not state.engine and not (trigger and trigger.used) and not part.has("starts-above"):
                    figures.note(part.id, "with the engine off", "input at rest", "", "it has no trigger to start it")
        elif part.kind == "alternator" and part.id in state.held:
            logic[part.id] = True
        if f"{part.id}.solar.+" in job.terminals:
            logic[sun_key(part.id)] = logic[dark_key(part.id)] = False
    return logic


def switched(job: Job, figures: Figures, circuit: Circuit, solution: Solution) -> dict[str, bool]:
    """Where the solved voltages would put each part that they switch."""
    state = circuit.state

    def between(plus: str, minus: str) -> float:
        high, low = solution.voltages.get(plus), solution.voltages.get(minus)
        return (high or 0.0) - (low or 0.0)

    wanted = dict(circuit.logic)
    for device, across in zip(circuit.devices, solution.port_volts, strict=True):
        if isinstance(device, Converter) and "solar" in device.where:
            wanted[sun_key(device.part)] = device.enough_sun(across)
            if across[device.where["solar"]] < device.best - 1e-9 and not device.ample:
                wanted[dark_key(device.part)] = True
    for id, now in circuit.logic.items():
        if id not in job.parts:
            continue
        part = job.parts[id]
        if id in state.on or id in state.off or id in state.closed:
            continue
        if part.kind == "relay":
            ends = coil_ends(job, part)
            if ends:
                nominal = figures.nominal(part, *(end[len(id) + 1 :] for end in ends))
                wanted[id] = abs(between(*ends)) >= (0.3 if now else 0.6) * nominal
        elif part.kind in ("voltage-relay", "low-voltage-disconnect"):
            closes, opens = part.number("closes-above"), part.number("opens-below")
            volts = max(between(f"{id}.in", f"{id}.-"), between(f"{id}.out", f"{id}.-"))
            if part.kind == "low-voltage-disconnect":
                volts = between(f"{id}.in", f"{id}.-")
            if now and opens is not None and volts < opens:
                wanted[id] = False
            elif not now and closes is not None and volts > closes:
                wanted[id] = True
        elif part.kind == "charger":
            wanted[id] = _charger_runs(job, figures, part, now, between, state)
        elif part.kind == "alternator":
            current = solution.currents.get(("part", id), 0.0)
            if now and current > 1e-6:
                wanted[id] = False  # its diodes let nothing back
    return wanted


def _charger_runs(
    job: Job, figures: Figures, part: Part, now: bool, between: Callable[[str, str], float], state: State
) -> bool:
    minus = charger_minus(job, part, "in")
    nominal = part.number("input-system") or figures.nominal(part, "in.+", "in.-")
    trigger = job.terminals.get(f"{part.id}.trigger")
    if trigger and trigger.used and not _capped(job, trigger.id):
        above = part.number("trigger-above") or 0.5 * nominal
        if between(trigger.id, minus) < above:
            return False
    elif not state.engine and not part.has("starts-above"):
        return False
    volts = between(f"{part.id}.in.+", minus)
    stops, starts = part.number("stops-below"), part.number("starts-above")
    if stops is not None and volts < stops:
        return False
    if now:
        return volts > 0.1 * nominal
    if starts is None:
        starts = stops
    return volts >= (starts if starts is not None else 0.1 * nominal)


def _capped(job: Job, terminal: str) -> bool:
    """Whether all that lands on a terminal ends capped or loose."""
    others = [c.to if c.from_ == terminal else c.from_ for c in job.conductors.values() if terminal in (c.from_, c.to)]
    return bool(others) and all(other.startswith(("capped:", "loose:")) for other in others)


# ---------------------------------------------------------------- the end of bulk charge


def _end_of_bulk(solver: Solver) -> None:
    """Batteries behind running chargers at the end of bulk: their voltage is put where the last of their chargers still
    gives its full current at its absorption voltage. That is the highest power that its supply has to bring. Only
    batteries whose state nobody says; one that discharges beside its chargers stays at rest."""
    circuit = solver.circuit
    cells = {d.part: (k, d) for k, d in enumerate(circuit.devices) if isinstance(d, Accumulator)}
    for battery, chargers in _charged(circuit, [cell for _, cell in cells.values()]).items():
        at, cell = cells[battery]
        rested = cell.volts, cell.accepts
        for _, charger in chargers:
            charger.bulk = True
        cell.accepts = cell.ohm
        last, charger = chargers[-1]
        where = charger.where["out"]
        alone = len(chargers) == 1
        for _ in range(2 if alone else 3):
            _, troubles = solver.find()
            if troubles:
                return
            volts, amps = solver.at_ports()
            short = charger.regulator.volts - volts[last][where]
            cell.volts += short
            if abs(short) < (NEAR_ALONE if alone else NEAR_OTHERS):
                break
        if amps[at][0] < 0.0:  # the loads take all of it, and more
            cell.volts, cell.accepts = rested


def _charged(circuit: Circuit, cells: Sequence[Accumulator]) -> dict[str, list[tuple[int, Converter]]]:
    """Batteries with the running chargers that each is the nearest to, which come with their places among the devices.

    A charger's battery is one that metal joins to both of its output's sides.
    """
    chargers = [(k, d) for k, d in enumerate(circuit.devices) if isinstance(d, Converter)]
    if not chargers or not cells:
        return {}
    around = _around(circuit)
    piece = _pieces(around)
    found: dict[str, list[tuple[int, Converter]]] = {}
    for k, device in chargers:
        out = device.ports[device.where["out"]]
        sides = piece.get(out.plus, out.plus), piece.get(out.minus, out.minus)
        near = [
            cell
            for cell in cells
            for port in cell.ports[:1]
            if (piece.get(port.plus, port.plus), piece.get(port.minus, port.minus)) == sides
        ]
        if len(near) > 1:
            by_plus = {cell.ports[0].plus: cell for cell in near}
            near = [by_plus[at] for at in _joined(around, out.plus) if at in by_plus]
        if near:
            found.setdefault(near[0].part, []).append((k, device))
    return found


def _pieces(around: Mapping[str, list[str]]) -> dict[str, str]:
    """Terminal -> one that stands for all that metal joins it to; those that nothing is joined to are left out."""
    found: dict[str, str] = {}
    for terminal in around:
        if terminal not in found:
            found.update(dict.fromkeys(_joined(around, terminal), terminal))
    return found


def _around(circuit: Circuit) -> dict[str, list[str]]:
    """Terminal -> those that a conductor, a closed contact or a link joins to it."""
    around: dict[str, list[str]] = {}
    for branch in (*circuit.branches, *circuit.ideal):
        if branch.key[0] in ("conductor", "contact", "link", "body", "joint"):
            around.setdefault(branch.a, []).append(branch.b)
            around.setdefault(branch.b, []).append(branch.a)
    return around


def _joined(around: Mapping[str, list[str]], terminal: str) -> list[str]:
    """Terminals that metal joins to one, nearest first, itself included."""
    seen, todo = {terminal}, [terminal]
    for at in todo:
        for other in around.get(at, ()):
            if other not in seen:
                seen.add(other)
                todo.append(other)
    return todo
