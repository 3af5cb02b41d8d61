"""Which operating cases readings are taken in: those that the user names, else a few that differ most.

A case tells much where many currents flow, and more than another tells where they are others. The starter turns too
shortly to read meters by, so its case has to be named.
"""

from __future__ import annotations

from collections.abc import Sequence

from wiregen.circuit.cases import State, operating_cases
from wiregen.circuit.study import Study

MOST, FEWER, LARGE = 3, 2, 60  # cases; and of a job with more conductors than that
OTHER, LEAST = 0.2, 0.3  # of a current, and [A]: what counts as another current


class NoCase(ValueError):
    """The job has no such case, or none that can be solved; `remedy` says what there is."""

    def __init__(self, message: str, reason: str, remedy: str) -> None:
        super().__init__(message)
        self.reason = reason
        self.remedy = remedy


def chosen(study: Study, names: Sequence[str]) -> tuple[State, ...]:
    """The cases of these names, in that order; without names a few of the job's. Raises NoCase."""
    states = operating_cases(study.job)
    there = ", ".join(state.name for state in states) or "none"
    if not states:
        raise NoCase("the job has no operating case", WHY, f"its cases are {there}")
    if not names:
        return _differing(study, states) or states
    by_name = {state.name.lower(): state for state in states}
    found: list[State] = []
    for name in names:
        state = by_name.get(name.lower())
        if state is None:
            raise NoCase(f"the job has no operating case {name}", WHY, f"its cases are {there}")
        if state not in found:
            found.append(state)
    return tuple(found)


WHY = "readings mean something only beside the state that the vehicle was in"


def _differing(study: Study, states: Sequence[State]) -> tuple[State, ...]:
    """The first that has an answer, then each time the one that is busiest and least like those before it."""
    amps = {
        case.name: [case.flows[id].current_a or 0.0 for id in study.job.conductors]
        for case in study.cases
        if case.solved
    }
    able = [state for state in states if state.name in amps and not state.starting]
    most = MOST if len(study.job.conductors) <= LARGE else FEWER
    taken = able[:1]
    while len(taken) < min(most, len(able)):
        rest = [state for state in able if state not in taken]
        worth = [
            sum(abs(a) > LEAST for a in amps[state.name])
            * min(_unlike(amps[state.name], amps[before.name]) for before in taken)
            for state in rest
        ]
        if not max(worth):
            break
        taken.append(rest[worth.index(max(worth))])
    return tuple(taken)


def _unlike(one: Sequence[float], other: Sequence[float]) -> int:
    """Conductors with another current."""
    return sum(abs(a - b) > max(LEAST, OTHER * max(abs(a), abs(b))) for a, b in zip(one, other, strict=True))
