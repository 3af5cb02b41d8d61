"""The worst drop where lengths are ranges: by the sign of each sensitivity, not by all corners.

Every ranged length is put at the end that makes a drop larger, by the sign of its sensitivity (one adjoint solution a
result); then the case is solved once more.
"""

from __future__ import annotations

from collections.abc import Mapping

from wiregen.circuit.assemble import charger_minus
from wiregen.circuit.figures import Figures
from wiregen.circuit.settle import Rest
from wiregen.circuit.solve import Solver
from wiregen.circuit.study import Supply
from wiregen.circuit.supplies import supplies_of
from wiregen.circuit.wires import Wire, copper_at
from wiregen.model.job import Job


def with_worst(job: Job, figures: Figures, rest: Rest, supplies: tuple[Supply, ...]) -> tuple[Supply, ...]:
    """The same supplies with `drop_v` and `drop_ratio` at their worst; unchanged where nothing is a range."""
    lengths = {
        c.id: figures.wire(c)
        for c in job.conductors.values()
        if (measure := c.measure("length")) and measure.low != measure.high and measure.value
    }
    if not lengths:
        return supplies
    solver = Solver(rest.circuit)
    solution, _ = solver.run()
    if solution is None:
        return supplies
    branches = {b.key: b for b in rest.circuit.branches}
    usual = {key: branch.ohm for key, branch in branches.items()}

    def drops() -> dict[tuple[str, str], float | None]:
        again = Solver(rest.circuit)
        found, _ = again.run()
        if found is None:
            return {}
        return {(s.from_, s.to): s.drop_v for s in supplies_of(job, figures, rest.circuit, found)}

    found = []
    for supply in supplies:
        weights = _weights(job, supply)
        if weights is None or supply.drop_v is None or not all(t in solver.place for t in weights):
            found.append(supply)
            continue
        moves = solver.sensitivities(weights)
        for id, wire in lengths.items():
            branch_of = branches.get(("conductor", id))
            if branch_of is not None:
                longer = moves.get(branch_of.key, 0.0) >= 0
                branch_of.ohm = _scaled(usual[branch_of.key], wire, job.conductors[id].number("length") or 0.0, longer)
        worst = drops().get((supply.from_, supply.to))
        for key, ohm in usual.items():
            branches[key].ohm = ohm
        if worst is None or worst <= supply.drop_v:
            found.append(supply._replace(nominal_drop_v=supply.drop_v))
        else:
            ratio = worst / supply.of_v
            found.append(supply._replace(drop_v=worst, drop_ratio=ratio, nominal_drop_v=supply.drop_v))
    return tuple(found)


def _scaled(ohm: float, wire: Wire, length: float, longer: bool) -> float:
    """Resistance at one end of the range of a length; joints stay. [ohm]"""
    joints = copper_at(wire._replace(ohm_20=0.0), 20.0)
    return joints + (ohm - joints) * (wire.high_length if longer else wire.low_length) / length


def _weights(job: Job, supply: Supply) -> Mapping[str, float] | None:
    """The drop of a supply as a sum of terminal voltages."""
    start, end = _ends(job, supply.from_), _ends(job, supply.to)
    if start is None or end is None:
        return None
    weights: dict[str, float] = {}
    for terminal, weight in ((start[0], 1.0), (end[0], -1.0), (end[1], 1.0), (start[1], -1.0)):
        if terminal:
            weights[terminal] = weights.get(terminal, 0.0) + weight
    return weights


def _ends(job: Job, name: str) -> tuple[str, str] | None:
    """Positive and negative terminal of a part or port; a lone terminal has no negative."""
    if name in job.terminals:
        return name, ""
    if f"{name}.+" not in job.terminals:
        return None
    part, _, side = name.rpartition(".")
    if part in job.parts and f"{name}.-" not in job.terminals:
        return f"{name}.+", charger_minus(job, job.parts[part], side)
    return f"{name}.+", f"{name}.-"
