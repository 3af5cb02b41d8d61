"""One operating case, solved, as data; where sources are held in a range, the worse of both ends for each result."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import product

from wiregen.circuit.assemble import contact_closed
from wiregen.circuit.cases import CHARGERS, LOADS, State, in_case
from wiregen.circuit.devices import Converter
from wiregen.circuit.figures import Figures
from wiregen.circuit.settle import Rest, settle
from wiregen.circuit.study import CaseResult, Flow, Supply
from wiregen.circuit.supplies import supplies_of
from wiregen.circuit.tolerance import with_worst
from wiregen.model.job import Job

NOTHING = Flow(None, None, None, None, None)
MOST_RANGES = 3  # sources held in a range whose ends are all combined; of more, each at its end beside all the others

Answer = tuple[CaseResult, tuple[Supply, ...]]


def solved_case(job: Job, figures: Figures, state: State) -> Answer:
    """A case and its supplies. Of sources held in a range both ends are solved; of each result the worse is taken:
    the larger current of each conductor, contact and part, the larger drop. Voltages are those at the low ends. It has
    no answer where one of the ends has none."""
    job = in_case(job, state)
    answers = [_at_one_end(job, figures, corner) for corner in _corners(state)]
    first, supplies = answers[0]
    if len(answers) == 1:
        return first, supplies
    ranged = tuple(id for id, measure in state.held.items() if measure.low != measure.high)
    unsolved = next((case for case, _ in answers if not case.solved), None)
    if unsolved is not None:
        return unsolved._replace(ranged=ranged), ()
    cases = [case for case, _ in answers]
    worst: dict[tuple[str, str], Supply] = {}
    for _, found in answers:
        for supply in found:
            known = worst.get((supply.from_, supply.to))
            if known is None or (supply.drop_v or 0.0) > (known.drop_v or 0.0):
                worst[supply.from_, supply.to] = supply
    usual = {(s.from_, s.to): s.drop_v if s.nominal_drop_v is None else s.nominal_drop_v for s in supplies}
    return first._replace(
        flows={id: max((c.flows[id] for c in cases), key=lambda f: abs(f.current_a or 0.0)) for id in first.flows},
        parts={id: max((c.parts.get(id, {}) for c in cases), key=_amps) for c in cases for id in c.parts},
        contacts={key: max((c.contacts.get(key) or 0.0 for c in cases), key=abs) for key in first.contacts},
        troubles=tuple(dict.fromkeys(trouble for case in cases for trouble in case.troubles)),
        ranged=ranged,
    ), tuple(supply._replace(nominal_drop_v=usual.get(key, supply.drop_v)) for key, supply in worst.items())


def _corners(state: State) -> tuple[State, ...]:
    """The state with each source that is held in a range at one of its ends; all at their low ends first."""
    ranged = [id for id, measure in state.held.items() if measure.low != measure.high]
    if not ranged:
        return (state,)
    ends: list[tuple[bool, ...]] = list(product((False, True), repeat=len(ranged)))
    if len(ranged) > MOST_RANGES:
        alone = [tuple(id == other for other in ranged) for id in ranged]
        ends = [ends[0], ends[-1], *alone, *(tuple(not high for high in row) for row in alone)]
    found = []
    for row in ends:
        held = dict(state.held)
        for id, high in zip(ranged, row, strict=True):
            volts = held[id].high if high else held[id].low
            held[id] = held[id]._replace(value=volts, low=volts, high=volts)
        found.append(replace(state, held=held))
    return tuple(found)


def _at_one_end(job: Job, figures: Figures, state: State) -> Answer:
    rest = settle(job, figures, state)
    case = result_of(job, figures, rest)
    if rest.solution is None:
        return case, ()
    return case, with_worst(job, figures, rest, supplies_of(job, figures, rest.circuit, rest.solution))


def _amps(values: Mapping[str, float | None]) -> float:
    return max((abs(value or 0.0) for name, value in values.items() if name.endswith("current_a")), default=-1.0)


def result_of(job: Job, figures: Figures, rest: Rest) -> CaseResult:
    """One state of a case at rest, as data."""
    state, solution = rest.circuit.state, rest.solution
    closed = {
        (part.id, contact.name): contact_closed(part, contact, rest.circuit)
        for part in job.parts.values()
        for contact in part.contacts
    }
    if solution is None:
        return CaseResult(
            name=state.name,
            title=state.title,
            solved=False,
            voltages=dict.fromkeys(job.terminals),
            flows=dict.fromkeys(job.conductors, NOTHING),
            parts={},
            contacts={},
            troubles=rest.troubles,
            closed=closed,
        )
    flows = {}
    ohms = {b.key[1]: b.ohm for b in (*rest.circuit.branches, *rest.circuit.ideal) if b.key[0] == "conductor"}
    for conductor in job.conductors.values():
        current = _clean(solution.currents.get(("conductor", conductor.id), 0.0))
        ohm = ohms.get(conductor.id)
        start, end = solution.voltages.get(conductor.from_), solution.voltages.get(conductor.to)
        drop = start - end if start is not None and end is not None else None
        temperature = rest.temperatures.get(conductor.id)
        if temperature is None:
            wire = figures.wire(conductor)
            temperature = wire.fixed if wire.fixed is not None else max(s.ambient for s in wire.stretches)
        flows[conductor.id] = Flow(current, drop, ohm, temperature, figures.ampacity_in(conductor, state.ambients))
    contacts = {
        (part.id, contact.name): _clean(solution.currents.get(("contact", part.id, contact.name), 0.0))
        for part in job.parts.values()
        for contact in part.contacts
    }
    for device, flow in zip(rest.circuit.devices, solution.ports, strict=True):
        part = job.parts.get(device.part)
        for contact in part.contacts if part else ():
            if contact.kind == "diode":
                contacts[device.part, contact.name] = flow[0]
    return CaseResult(
        name=state.name,
        title=state.title,
        solved=True,
        voltages={t: solution.voltages.get(t) for t in job.terminals},
        flows=flows,
        parts=_parts(job, rest, contacts),
        contacts=contacts,
        troubles=rest.troubles,
        references=solution.references,
        closed=closed,
    )


def _clean(amps: float) -> float:
    """No current where only the rounding of the arithmetic is left. [A]"""
    return amps if abs(amps) > 1e-11 else 0.0


def _parts(job: Job, rest: Rest, contacts: dict[tuple[str, str], float]) -> dict[str, dict[str, float | None]]:
    """What each part takes and gives. [A, V, W] by the unit in the key."""
    circuit, solution, state = rest.circuit, rest.solution, rest.circuit.state
    assert solution is not None
    found: dict[str, dict[str, float | None]] = {}
    for branch in (*circuit.branches, *circuit.ideal):
        if branch.key[0] == "part" and job.parts[branch.key[1]].kind == "feed":
            high, low = solution.voltages.get(branch.b), solution.voltages.get(branch.a)
            drop = high - low if high is not None and low is not None else None
            found[branch.key[1]] = {"current_a": _clean(-solution.currents[branch.key]), "drop_v": drop}
        elif branch.key[0] == "part":
            _two_ends(found, solution.voltages, branch.key[1], branch.a, branch.b, solution.currents[branch.key])
        elif branch.key[0] == "indicator":
            found.setdefault(branch.key[1], {})["indicator_current_a"] = _clean(solution.currents[branch.key])
    for device, flow, volts in zip(circuit.devices, solution.ports, solution.port_volts, strict=True):
        part = job.parts[device.part]
        if isinstance(device, Converter):
            values = found.setdefault(part.id, {})
            words = {"in": "input", "out": "output", "solar": "solar"}
            for port, amps, v in zip(device.ports, flow, volts, strict=True):
                name, sign = words[port.name], -1.0 if port.name == "out" else 1.0
                values[f"{name}_current_a"] = sign * amps
                values[f"{name}_voltage_v"] = v
                values[f"{name}_power_w"] = sign * amps * v
        elif part.kind == "panel":
            if device.ports[0].name != "sun":
                continue
            current = solution.currents.get(("cell", part.id), 0.0)
            _two_ends(found, solution.voltages, part.id, f"{part.id}.+", f"{part.id}.-", -current)
        elif part.kind in CHARGERS and device.ports[0].plus.endswith("trigger"):
            found.setdefault(part.id, {})["trigger_current_a"] = flow[0]
        elif part.kind != "diode":
            port = device.ports[0]
            _two_ends(found, solution.voltages, part.id, port.plus, port.minus, flow[0])
    for part in job.parts.values():
        if part.kind in CHARGERS:
            sides = ["input"] if f"{part.id}.in.+" in job.terminals else []
            for side in (*sides, "output"):
                found.setdefault(part.id, {}).setdefault(f"{side}_current_a", 0.0)
                found[part.id].setdefault(f"{side}_power_w", 0.0)
        if part.kind in LOADS and part.id not in found:
            found[part.id] = {"current_a": 0.0, "power_w": 0.0}
        for contact in part.contacts:
            if contact.kind not in ("solid", "pole") and contact.name in ("", part.contacts[0].name):
                current = contacts[part.id, contact.name]
                high, low = solution.voltages.get(contact.a), solution.voltages.get(contact.b)
                drop = high - low if high is not None and low is not None else None
                found.setdefault(part.id, {}).update({"current_a": current, "drop_v": drop})
    order = {id: found[id] for id in job.parts if id in found}
    for id in job.parts:
        if id in state.off:
            order.setdefault(id, {"current_a": 0.0})
    return order


def _two_ends(
    found: dict[str, dict[str, float | None]],
    voltages: dict[str, float | None],
    id: str,
    plus: str,
    minus: str,
    amps: float,
) -> None:
    high, low = voltages.get(plus), voltages.get(minus)
    volts = high - low if high is not None and low is not None else None
    values = found.setdefault(id, {})
    values["current_a"] = _clean((values.get("current_a") or 0.0) + amps)
    values["voltage_v"] = volts
    total = values["current_a"] or 0.0
    values["power_w"] = None if volts is None else volts * total
