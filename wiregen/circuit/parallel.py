"""Conductors in parallel: what share of the current each carries, and what the rest carry when one opens.

They share by conductance, not by number: unequal lengths, sizes or lugs make unequal shares. A joint that opens in one
of them is noticed by nobody, so that the others have to bear its current too.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import NamedTuple

from wiregen.circuit.case_result import solved_case
from wiregen.circuit.cases import operating_cases
from wiregen.circuit.figures import Figures
from wiregen.circuit.study import CaseResult, Flow, Study
from wiregen.model.job import Job


class Parallel(NamedTuple):
    """Conductors between the same two points, in the case in which they carry most.

    shares : of the current that they carry together, by conductor, 0 to 1; largest first
    opened : the one with the largest share, taken out
    survivor : what is then strained most, its current and ampacity [A]; None where the case has no answer without it
    """

    case: str
    current_a: float
    shares: Mapping[str, float]
    opened: str
    survivor: str | None
    survivor_current_a: float | None
    survivor_ampacity_a: float | None

    @property
    def largest(self) -> float:
        """The largest share. [1]"""
        return max(self.shares.values())


def groups(job: Job) -> tuple[tuple[str, ...], ...]:
    """Conductors that join the same two pieces of metal, two or more together, in the order of the file."""
    above: dict[str, str] = {}

    def find(t: str) -> str:
        while (up := above.get(t)) is not None:
            above[t] = up = above.get(up, up)
            t = up
        return t

    solid = [(link.a, link.b) for link in job.links if link.why != "mated"]
    solid += [(c.a, c.b) for part in job.parts.values() for c in part.contacts if c.kind == "solid"]
    for a, b in solid:
        a, b = find(a), find(b)
        if a != b:
            above[a] = b
    found: dict[tuple[str, str], list[str]] = {}
    for conductor in job.conductors.values():
        a, b = sorted((find(conductor.from_), find(conductor.to)))
        if a != b:
            found.setdefault((a, b), []).append(conductor.id)
    return tuple(tuple(ids) for ids in found.values() if len(ids) > 1)


def parallels(study: Study, cases: Collection[str] | None = None) -> tuple[Parallel, ...]:
    """Each group of parallel conductors that carries current, in the named cases (all where none are named).

    The shares are those of the study; for the survivor the case is solved once more without the opened conductor.
    """
    found = []
    figures: Figures | None = None
    considered = [case for case in study.cases if case.solved and (cases is None or case.name in cases)]
    for ids in groups(study.job):
        totals = [(sum(abs(case.flows[id].current_a or 0.0) for id in ids), case) for case in considered]
        total, case = max(totals, key=lambda each: each[0], default=(0.0, None))
        if case is None or total <= 0.0:
            continue
        shares = {id: abs(case.flows[id].current_a or 0.0) / total for id in ids}
        shares = dict(sorted(shares.items(), key=lambda item: -item[1]))
        opened, *others = shares
        figures = figures or Figures(study.job)
        flows = _without(study, figures, case, opened)
        survivor = max(others, key=lambda id: _load(flows[id])) if flows else None
        flow = flows[survivor] if flows and survivor else None
        found.append(
            Parallel(
                case=case.name,
                current_a=total,
                shares=shares,
                opened=opened,
                survivor=survivor,
                survivor_current_a=abs(flow.current_a or 0.0) if flow else None,
                survivor_ampacity_a=flow.ampacity_a if flow else None,
            )
        )
    return tuple(found)


class Share(NamedTuple):
    """What a conductor takes of the current that its group carries, 0 to 1. `ids` is the group, in the file's order."""

    ids: tuple[str, ...]
    share: float


def shares(study: Study) -> Mapping[str, Share]:
    """Share of each parallel conductor by conductance, warm as in the case in which the group carries most.

    A group of which a size or length is not known is left out, and so is one without any solved case.
    """
    found: dict[str, Share] = {}
    for ids in groups(study.job):
        flows = [[case.flows[id] for id in ids] for case in study.cases if case.solved]
        most = max(flows, key=lambda each: sum(abs(flow.current_a or 0.0) for flow in each), default=[])
        siemens = [1.0 / flow.resistance_ohm for flow in most if flow.resistance_ohm]
        if len(siemens) == len(ids):
            found |= {id: Share(ids, each / sum(siemens)) for id, each in zip(ids, siemens, strict=True)}
    return found


def _load(flow: Flow) -> float:
    """Current over ampacity; the plain current where no ampacity is known."""
    return abs(flow.current_a or 0.0) / (flow.ampacity_a or 1.0)


def _without(study: Study, figures: Figures, case: CaseResult, opened: str) -> Mapping[str, Flow] | None:
    state = next(state for state in operating_cases(study.job) if state.name == case.name)
    answer, _ = solved_case(study.job, figures, replace(state, broken=state.broken | {opened}))
    return answer.flows if answer.solved else None
