"""The front door: a job in, everything computed out."""

from __future__ import annotations

from wiregen.circuit.case_result import solved_case
from wiregen.circuit.cases import operating_cases
from wiregen.circuit.energy import energy
from wiregen.circuit.fault_study import fault_study
from wiregen.circuit.figures import Figures
from wiregen.circuit.network import build
from wiregen.circuit.pause import collector_at_rest
from wiregen.circuit.study import CaseResult, Study, Supply
from wiregen.findings import Finding
from wiregen.model.job import Job


def study(job: Job) -> tuple[Study, tuple[Finding, ...]]:
    """Everything that is computed about a job: its cases solved, its supplies, its ampacities, what was assumed.

    A case without an answer is part of the result (`CaseResult.troubles`); nothing a netlist says raises. Currents in
    A, voltages in V from the case's reference, resistances in ohm, temperatures in degC, shares as ratios.

    >>> from wiregen.model import read
    >>> text = "battery b 70 Ah\\nload p 5 A\\nb.+ --[W1 red 1.5 mm2 3 m]-- p.+\\np.- --[W2 black 1.5 mm2 3 m]-- b.-"
    >>> computed, _ = study(read("a.wnet", text=text)[0])
    >>> case = computed.cases[0]
    >>> case.name, round(case.flows["W1"].current_a, 3), round(case.flows["W1"].drop_v, 3)
    ('parked-dark', 5.0, 0.21)
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
        case, of_case = solved_case(job, figures, state)
        cases.append(case)
        supplies.extend(of_case)
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
