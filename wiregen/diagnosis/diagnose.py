"""The front door: readings and symptoms in, what it can be and what to measure next out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from wiregen.circuit.cases import State, operating_cases
from wiregen.circuit.study import Study
from wiregen.diagnosis.choice import WHY, NoCase, chosen
from wiregen.diagnosis.dictionary import Columns, Dictionary
from wiregen.diagnosis.faults import Fault
from wiregen.diagnosis.likelihood import Belief, alike, believe, hidden
from wiregen.diagnosis.next_reading import ANOTHER, Proposal, proposals
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
    """What one reading shows in a case, sound and with the faults of the ranking; `swings` where it was measured and
    did not come to rest. [V] or [A]"""

    probe: Probe
    case: State
    sound: float
    faults: tuple[float, ...]
    measured: float | None = None
    swings: bool = False


class Group(NamedTuple):
    """Faults that no reading in these cases tells apart, the likeliest first, with their belief together. `ohm` is the
    likeliest resistance of a poor joint, None of others."""

    faults: tuple[Fault, ...]
    belief: float
    ohm: float | None
    blown: tuple[str, ...]
    unsteady: tuple[str, ...]


class Diagnosis(NamedTuple):
    """What was found. `states` are the cases that were tried, `cases` the names of all. `explained` are the readings
    taken beside what each group lets expect; `next` the readings to take, all at one point, each in another case; empty
    where none would tell more. `hidden` are faults that do not show in these cases at all, `unseen` the belief in them.
    `found` where the first group is sure enough."""

    job: Job
    states: tuple[State, ...]
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
    next: tuple[Expected, ...]
    bits: float

    @property
    def found(self) -> bool:
        """Whether there is an answer to act on."""
        return bool(self.readings or self.symptoms) and bool(self.groups) and self.groups[0].belief >= SURE


class Session:
    """Some cases of a job, whose dictionary is made once; readings are added one by one."""

    def __init__(self, study: Study, cases: Sequence[str] = ()) -> None:
        """With the cases of these names, else with a few that differ. Raises NoCase."""
        self.job = study.job
        self.cases = tuple(state.name for state in operating_cases(study.job))
        states = chosen(study, cases)
        self.dictionary = Dictionary(self.job, states)
        self.states = tuple(bench.state for bench in self.dictionary.benches)
        missing = [state.name for state in states if state.name not in [s.name for s in self.states]]
        if (cases and missing) or not self.states:
            raise NoCase(
                f"case {missing[0]} has no steady answer even without a fault",
                "so there is nothing to compare readings with",
                "`wiregen check` says what cannot hold up; name another --case",
            )
        self.probes = probes(self.job)
        self.columns: Columns = self.dictionary.everywhere(self.probes)
        self.hidden = hidden(self.dictionary, self.columns)

    def diagnose(
        self,
        readings: Sequence[Reading],
        symptoms: Sequence[Symptom] = (),
        passed: Sequence[tuple[Probe, str]] = (),
        *,
        stay: bool = False,
    ) -> Diagnosis:
        """What the readings and symptoms say. `passed` are points that cannot be read, in a case or (where that is
        empty) in any. `stay`: the leads stay where they are while another case tells enough there."""
        dictionary = self.dictionary
        readings = [self._named(r) for r in readings]
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
            fault = dictionary.faults[group[0]]
            ohm = float(dictionary.fine.ohms[row]) if fault.kind == "joint" else None
            there = [s for rows in dictionary.rows if (s := rows[dictionary.fine.low[row]]) is not None]
            blown = tuple(dict.fromkeys(part for s in there for part in s.blown))
            unsteady = tuple(dict.fromkeys(part for s in there for part in s.unsteady))
            groups.append(Group(tuple(dictionary.faults[k] for k in group), share, ohm, blown, unsteady))
            firsts.append(row)
        following = self._following(belief, readings, passed, stay)
        taken = [self._expected(r.probe, self._number(r.case), firsts) for r in readings]
        explained = tuple(
            e._replace(measured=None if r.swings else r.value, swings=r.swings)
            for e, r in zip(taken, readings, strict=True)
        )
        return Diagnosis(
            self.job, self.states, self.cases, len(dictionary.faults), tuple(readings), tuple(symptoms), tuple(groups),
            tuple(dictionary.faults[k] for k in belief.best() if k in self.hidden),
            sum(float(belief.faults[k]) for k in sorted(self.hidden)), belief.nothing, belief.other, explained,
            tuple(self._expected(following.probe, case, firsts) for case in following.cases) if following else (),
            following.bits if following else 0.0,
        )  # fmt: skip

    def _named(self, reading: Reading) -> Reading:
        """The reading with the name of its case as the job writes it. Raises NoCase."""
        names = {state.name.lower(): state.name for state in self.states}
        if reading.case.lower() not in names and reading.case:
            raise NoCase(
                f"the reading is of case {reading.case}, which is not among those tried",
                WHY,
                f"name it by --case; the job has {', '.join(self.cases)}",
            )
        return reading._replace(case=names[reading.case.lower()] if reading.case else self.states[0].name)

    def _number(self, case: str) -> int:
        return next(k for k, state in enumerate(self.states) if state.name == case)

    def _following(
        self, belief: Belief, readings: Sequence[Reading], passed: Sequence[tuple[Probe, str]], stay: bool
    ) -> Proposal | None:
        """The point to measure next, its cases in an order that changes the vehicle least."""
        now = self._number(readings[-1].case) if readings else 0
        offered: list[Proposal] = []
        if stay and readings:
            at = readings[-1].probe
            columns = self.dictionary.everywhere([at])
            offered = proposals(self.dictionary, belief, [at], columns, readings, passed)
            offered = [each for each in offered if each.bits >= ANOTHER]
        if not offered:
            offered = proposals(self.dictionary, belief, self.probes, self.columns, readings, passed)
        if not offered or offered[0].bits < LITTLE:
            return None
        return offered[0]._replace(cases=tuple(sorted(offered[0].cases, key=lambda case: (case != now, case))))

    def _row(self, belief: Belief, number: int) -> int:
        """The likeliest fine row of a fault."""
        import numpy as np

        rows = np.flatnonzero(self.dictionary.fine.owner == number)
        return int(rows[belief.odds[rows].argmax()])

    def _expected(self, probe: Probe, case: int, rows: Sequence[int]) -> Expected:
        columns = self.dictionary.columns([probe], [case])
        means = self.dictionary.fine.mixed(columns.means)
        faults = tuple(float(means[row, 0]) for row in rows)
        return Expected(probe, self.states[case], float(columns.means[0, 0]), faults)
