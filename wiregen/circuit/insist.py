"""Cases without a steady answer, as they would be if every part got what it asks for: shows what its supply loses."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Literal

from wiregen.catalogue import catalogue
from wiregen.circuit.case_result import Answer, solved_case
from wiregen.circuit.cases import State, operating_cases
from wiregen.circuit.figures import Figures
from wiregen.circuit.sizing import with_size
from wiregen.circuit.study import CaseResult, Flow, Study, Supply
from wiregen.model.job import Job


def insisted(study: Study) -> Study:
    """The same study, with each case that a part leaves unsolved as it is while that part runs on.

    Where the power cannot be brought at all, the currents are those that it would draw through thick conductors, and
    the drops those that the conductors as they are would have at these currents. A case that has no answer even so
    stays unsolved. The troubles of a case stay in.
    """
    if all(case.solved for case in study.cases):
        return study
    figures = Figures(study.job)
    states = {state.name: state for state in operating_cases(study.job)}
    cases: list[CaseResult] = []
    supplies: list[Supply] = list(study.supplies)
    for case in study.cases:
        asking = _asking(case)
        if not case.solved and asking:
            state = _kept_on(states[case.name], asking)
            found = _running(study, figures, state)
            how: Literal["kept on", "wanted"] = "kept on"
            if found is None:
                found, how = _wanted(study, figures, state), "wanted"
            if found is not None:
                supplies += found[1]
                case = found[0]._replace(troubles=case.troubles, insisted=how)
        cases.append(case)
    return replace(study, cases=tuple(cases), supplies=tuple(supplies))


def again(study: Study, job: Job, ids: Collection[str], figures: Figures, state: State, case: CaseResult) -> Answer:
    """A case of an insisted study, for a job in which some conductors are of another size.

    Where the study had to insist, they bring an answer of its own only if what asks for too much is fed through them.
    """
    asking = _asking(case) if case.insisted else frozenset()
    ways = {id for s in study.supplies if s.case == case.name and s.taker in asking for id in s.path}
    if not asking or not ways.isdisjoint(ids):
        answer = solved_case(job, figures, state)
        if answer[0].solved or not asking:
            return answer
    if case.insisted == "kept on":
        return solved_case(job, figures, _kept_on(state, asking))
    flows, more = dict(case.flows), {}
    for id in ids:
        flow, wire = flows[id], figures.wire(job.conductors[id])
        ohm = wire.ohm_20 + wire.joints
        drop = None if flow.current_a is None else flow.current_a * ohm
        more[id] = abs(drop or 0.0) - abs(flow.drop_v or 0.0)
        flows[id] = Flow(flow.current_a, drop, ohm, flow.temperature_c, wire.ampacity)
    supplies = tuple(_lossy(supply, more) for supply in study.supplies if supply.case == case.name)
    return case._replace(flows=flows), supplies


def _asking(case: CaseResult) -> frozenset[str]:
    return frozenset(trouble.part for trouble in case.troubles if trouble.part)


def _kept_on(state: State, parts: frozenset[str]) -> State:
    return replace(state, on=state.on | parts, off=state.off - parts)


def _running(study: Study, figures: Figures, state: State) -> Answer | None:
    """The case with the part kept on."""
    answer = solved_case(study.job, figures, state)
    return answer if answer[0].solved else None


def _wanted(study: Study, figures: Figures, state: State) -> Answer | None:
    """The currents through the thickest conductors, and what the real ones would lose at them."""
    job = study.job
    thickest = max(
        (r for r in catalogue().rows("conductor") if r["family"] == "mm2"), key=lambda r: float(r["area_mm2"])
    )
    thick = with_size(job, job.conductors, f"{thickest['size']} mm2", thickest)
    answer = _running(replace(study, job=thick), Figures(thick), state)
    if answer is None:
        return None
    case, supplies = answer
    flows: dict[str, Flow] = {}
    more: dict[str, float] = {}
    for name, flow in case.flows.items():
        wire = figures.wire(job.conductors[name])
        ohm = wire.ohm_20 + wire.joints
        drop = None if flow.current_a is None else flow.current_a * ohm
        more[name] = abs(drop or 0.0) - abs(flow.drop_v or 0.0)
        flows[name] = Flow(flow.current_a, drop, ohm, flow.temperature_c, study.ampacities.get(name))
    return case._replace(flows=flows), tuple(_lossy(supply, more) for supply in supplies)


def _lossy(supply: Supply, more: Mapping[str, float]) -> Supply:
    """A supply with what the real conductors on its way lose more than the thick ones."""
    if supply.drop_v is None:
        return supply
    drop = supply.drop_v + sum(more.get(name, 0.0) for name in supply.path)
    losses = {name: volts + more.get(name, 0.0) for name, volts in supply.losses.items()}
    return supply._replace(drop_v=drop, drop_ratio=drop / supply.of_v, losses=losses)
