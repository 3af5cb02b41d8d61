"""The front door: a job in, everything computed out."""

from __future__ import annotations

from wiregen.circuit.cases import CHARGERS, LOADS, State, operating_cases
from wiregen.circuit.devices import Converter
from wiregen.circuit.energy import energy
from wiregen.circuit.fault_study import fault_study
from wiregen.circuit.figures import Figures
from wiregen.circuit.network import build
from wiregen.circuit.pause import collector_at_rest
from wiregen.circuit.settle import Rest, settle
from wiregen.circuit.study import CaseResult, Flow, Study, Supply
from wiregen.circuit.supplies import supplies_of
from wiregen.circuit.tolerance import with_worst
from wiregen.findings import Finding
from wiregen.model.job import Job

NOTHING = Flow(None, None, None, None, None)


def study(job: Job) -> tuple[Study, tuple[Finding, ...]]:
    """Everything that is computed about a job: its cases solved, its supplies, its ampacities, what was assumed.

    A case without an answer is part of the result (`CaseResult.troubles`); nothing a netlist says raises.
    """
    with collector_at_rest():
        return _study(job), ()


def _study(job: Job) -> Study:
    figures = Figures(job)
    network = build(job)
    ampacities = {}
    basis = {}
    for conductor in job.conductors.values():
        wire = figures.wire(conductor)
        ampacities[conductor.id] = wire.ampacity
        basis[conductor.id] = wire.ampacity_basis
    cases: list[CaseResult] = []
    supplies: list[Supply] = []
    for state in operating_cases(job):
        rest = settle(job, figures, state)
        cases.append(_result(job, figures, rest))
        if rest.solution is not None:
            of_case = supplies_of(job, figures, rest.circuit, rest.solution)
            supplies.extend(with_worst(job, figures, rest, of_case))
    return Study(
        job=job,
        network=network,
        cases=tuple(cases),
        supplies=tuple(supplies),
        faults=fault_study(job, figures),
        energy=energy(job, figures, network),
        assumptions=figures.assumptions,
        ampacities=ampacities,
        ampacity_basis=basis,
    )


def _result(job: Job, figures: Figures, rest: Rest) -> CaseResult:
    state, solution = rest.circuit.state, rest.solution
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
    for id in state.off:
        if id in job.parts and id not in order:
            order[id] = {"current_a": 0.0}
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


__all__ = ["State", "study"]
