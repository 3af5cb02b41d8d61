"""The front door: readings and symptoms in, what it can be and what to measure next out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from wiregen.circuit.cases import State, operating_cases
from wiregen.circuit.study import Study
from wiregen.diagnosis.dictionary import Columns, Dictionary
from wiregen.diagnosis.faults import Fault
from wiregen.diagnosis.likelihood import Belief, alike, believe, hidden
from wiregen.diagnosis.next_reading import proposals
from wiregen.diagnosis.points import Probe, probes
from wiregen.diagnosis.readings import Reading
from wiregen.diagnosis.symptoms import Symptom, factor
from wiregen.model.job import Job

SHOWN = 5  # groups in the ranking
WORTH = 0.01  # belief in what is shown
LOOKED = 40  # faults that are put into groups
SURE = 0.95  # belief in a group from which it is called found
LITTLE = 0.05  # bits: what tells less is not proposed


class Expected(NamedTuple):
    """What one reading shows, sound and with the faults of the ranking. [V] or [A]"""

    probe: Probe
    sound: float
    faults: tuple[float, ...]
    measured: float | None = None


class Group(NamedTuple):
    """Faults that no reading in this case tells apart, the likeliest first, with their belief together. `ohm` is the
    likeliest resistance of a poor joint, None of others."""

    faults: tuple[Fault, ...]
    belief: float
    ohm: float | None
    blown: tuple[str, ...]
    unsteady: tuple[str, ...]


class Diagnosis(NamedTuple):
    """What was found. `explained` are the readings taken beside what each group lets expect; `next` the reading to
    take, None where none would tell more. `hidden` are faults that do not show in this case at all, `unseen` the belief
    in them. `found` where the first group is sure enough."""

    job: Job
    case: State
    cases: tuple[str, ...]
    tried: int
    readings: tuple[Reading, ...]
    symptoms: tuple[Symptom, ...]
    groups: tuple[Group, ...]
    hidden: tuple[Fault, ...]
    unseen: float
    nothing: float
    other: float
    explained: tuple[Expected, ...]
    next: Expected | None
    bits: float

    @property
    def found(self) -> bool:
        """Whether there is an answer to act on."""
        return bool(self.readings or self.symptoms) and bool(self.groups) and self.groups[0].belief >= SURE


class NoCase(ValueError):
    """The job has no such case, or none that can be solved; `remedy` says what there is."""

    def __init__(self, message: str, reason: str, remedy: str) -> None:
        super().__init__(message)
        self.reason = reason
        self.remedy = remedy


class Session:
    """One case of a job, whose dictionary is made once; readings are added one by one."""

    def __init__(self, study: Study, case: str | None = None) -> None:
        self.job = study.job
        states = operating_cases(study.job)
        self.cases = tuple(state.name for state in states)
        wanted = [s for s in states if case is None or s.name.lower() == case.lower()]
        if not wanted:
            there = ", ".join(self.cases) or "none"
            raise NoCase(
                f"the job has no operating case {case}" if case else "the job has no operating case",
                "readings mean something only beside the state that the vehicle was in",
                f"its cases are {there}",
            )
        for state in wanted:
            self.dictionary = Dictionary(self.job, state)
            if self.dictionary.benches:
                break
        else:
            raise NoCase(
                f"case {wanted[0].name} has no steady answer even without a fault",
                "so there is nothing to compare readings with",
                "`wiregen check` says what cannot hold up; name another --case",
            )
        self.state = self.dictionary.bench.state
        self.probes = probes(self.job)
        self.columns: Columns = self.dictionary.columns(self.probes)
        self.hidden = hidden(self.dictionary, self.columns)

    def diagnose(
        self, readings: Sequence[Reading], symptoms: Sequence[Symptom] = (), passed: Sequence[Probe] = ()
    ) -> Diagnosis:
        """What the readings and symptoms say. `passed` are probes that cannot be reached."""
        dictionary = self.dictionary
        belief = believe(dictionary, readings, factor(dictionary, symptoms) if symptoms else None)
        shown = [k for k in belief.best() if k not in self.hidden]
        best = [k for k in shown[:LOOKED] if belief.faults[k] > WORTH / 20.0]
        grouped = alike(dictionary, best, (self.columns.means, self.columns.spread))
        ranked = sorted(grouped, key=lambda g: -round(sum(float(belief.faults[k]) for k in g), 7))
        groups: list[Group] = []
        firsts: list[int] = []
        for group in ranked[:SHOWN]:
            share = sum(float(belief.faults[k]) for k in group)
            if share < WORTH and groups:
                break
            row = self._row(belief, group[0])
            signature = dictionary.rows[0][dictionary.fine.low[row]]
            fault = dictionary.faults[group[0]]
            ohm = float(dictionary.fine.ohms[row]) if fault.kind == "joint" else None
            all_ = tuple(dictionary.faults[k] for k in group)
            groups.append(Group(all_, share, ohm, signature.blown, signature.unsteady))
            firsts.append(row)
        offered = proposals(dictionary, belief, self.probes, self.columns, [*(r.probe for r in readings), *passed])
        following = offered[0] if offered and offered[0].bits >= LITTLE else None
        taken = self._expected([r.probe for r in readings], firsts)
        explained = tuple(e._replace(measured=r.value) for e, r in zip(taken, readings, strict=True))
        return Diagnosis(
            self.job, self.state, self.cases, len(dictionary.faults), tuple(readings), tuple(symptoms), tuple(groups),
            tuple(dictionary.faults[k] for k in belief.best() if k in self.hidden),
            sum(float(belief.faults[k]) for k in sorted(self.hidden)), belief.nothing, belief.other, explained,
            self._expected([following.probe], firsts)[0] if following else None, following.bits if following else 0.0,
        )  # fmt: skip

    def _row(self, belief: Belief, number: int) -> int:
        """The likeliest fine row of a fault."""
        import numpy as np

        rows = np.flatnonzero(self.dictionary.fine.owner == number)
        return int(rows[belief.odds[rows].argmax()])

    def _expected(self, taken: Sequence[Probe], rows: Sequence[int]) -> list[Expected]:
        columns = self.dictionary.columns(taken)
        means = self.dictionary.fine.mixed(columns.means)
        return [
            Expected(probe, float(columns.means[0, k]), tuple(float(means[row, k]) for row in rows))
            for k, probe in enumerate(taken)
        ]
