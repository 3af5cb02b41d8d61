"""Cases without a steady answer, solved as if the part that hunts kept running: shows what its supply then loses."""

from __future__ import annotations

from dataclasses import replace

from wiregen.circuit.cases import operating_cases
from wiregen.circuit.figures import Figures
from wiregen.circuit.run import _result
from wiregen.circuit.settle import settle
from wiregen.circuit.study import CaseResult, Study, Supply
from wiregen.circuit.supplies import supplies_of


def insisted(study: Study) -> Study:
    """The same study, with each case that a hunting part leaves unsolved as it is while that part runs.

    A case that has no answer even so stays unsolved. Its troubles stay in either way.
    """
    if all(case.solved for case in study.cases):
        return study
    figures = Figures(study.job)
    states = {state.name: state for state in operating_cases(study.job)}
    cases: list[CaseResult] = []
    supplies: list[Supply] = list(study.supplies)
    for case in study.cases:
        hunting = frozenset(trouble.part for trouble in case.troubles if trouble.part)
        if not case.solved and hunting:
            state = states[case.name]
            rest = settle(study.job, figures, replace(state, on=state.on | hunting, off=state.off - hunting))
            if rest.solution is not None:
                supplies += supplies_of(study.job, figures, rest.circuit, rest.solution)
                case = replace(_result(study.job, figures, rest), troubles=case.troubles)
        cases.append(case)
    return replace(study, cases=tuple(cases), supplies=tuple(supplies))
