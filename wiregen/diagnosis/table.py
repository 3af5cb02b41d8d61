"""The fault-finding table of a job: symptom, likely causes in order, where to measure, what to expect if it is that.

A few symptoms of the job are taken (its chargers, batteries and indicators, one load of each group), each in a case
in which the thing works when all is sound. Swaps and settings are left to commissioning.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from wiregen.circuit.assemble import main_battery
from wiregen.circuit.cases import LOADS, operating_cases
from wiregen.circuit.figures import Figures
from wiregen.circuit.study import CaseResult, Study
from wiregen.diagnosis.dictionary import Columns, Dictionary
from wiregen.diagnosis.faults import Fault, faults
from wiregen.diagnosis.likelihood import alike, believe
from wiregen.diagnosis.points import Probe, probes
from wiregen.diagnosis.symptoms import Symptom, factor, of_part
from wiregen.model.job import Job, Part

RESISTS = (0.4,)  # of the poor joints that are tried for the table [ohm]
CAUSES = 4  # of one symptom, at most
LIKELY = 0.04  # belief below which a cause is left out
LOADS_SHOWN = 5  # loads that have rows of their own, at most
STRONG = 2.0  # what a load draws of which weakness shows [A]
CASES, LARGE = 2, 60  # cases whose faults are computed for the table; one of a job with more conductors than that


class Row(NamedTuple):
    """One cause of one symptom. `probe` is None where no reading tells it from the others; else what it reads then,
    and in the sound job; where a part goes on and off it reads anything from `expected` - `swing` to `expected` +
    `swing`. [V] or [A]"""

    symptom: str
    case: str
    causes: tuple[Fault, ...]  # told apart by no reading
    probe: Probe | None
    expected: float
    sound: float
    swing: float = 0.0


def table(study: Study) -> tuple[Row, ...]:
    """All rows, by symptom, the likeliest cause of each first."""
    job = study.job
    wanted: dict[str, list[Symptom]] = {}
    most = CASES if len(job.conductors) <= LARGE else 1
    for symptom, case in _symptoms(study):
        if case in wanted or len(wanted) < most:
            wanted.setdefault(case, []).append(symptom)
    states = {state.name: state for state in operating_cases(job)}
    shown = {part for symptoms in wanted.values() for symptom in symptoms for part in symptom.parts}
    tried = _tried(study, shown)
    found: list[Row] = []
    for case, symptoms in wanted.items():
        dictionary = Dictionary(job, states[case], tried, RESISTS, thorough=False)
        if dictionary.benches:
            taken = probes(job)
            columns = dictionary.columns(taken)
            for symptom in symptoms:
                found += _rows(dictionary, taken, columns, symptom, case)
    return tuple(found)


def _rows(
    dictionary: Dictionary, taken: Sequence[Probe], columns: Columns, symptom: Symptom, case: str
) -> Iterator[Row]:
    belief = believe(dictionary, (), factor(dictionary, (symptom,)))
    best = [k for k in belief.best()[:24] if belief.faults[k] > LIKELY / 4.0]
    groups = alike(dictionary, best, (columns.means, columns.spread))
    groups.sort(key=lambda group: -round(sum(float(belief.faults[k]) for k in group), 7))
    rows = [dictionary.grid[group[0]][0] + dictionary.grid[group[0]][1] // 2 for group in groups[:CAUSES]]
    for at, (group, row) in enumerate(zip(groups, rows, strict=False)):
        if at and sum(float(belief.faults[k]) for k in group) < LIKELY:
            return
        causes = tuple(dictionary.faults[k] for k in group)
        k = _telling(columns, taken, row, [0, *(other for other in rows if other != row)])
        if k is None:
            yield Row(symptom.words, case, causes, None, 0.0, 0.0)
        else:
            expected, sound = float(columns.means[row, k]), float(columns.means[0, k])
            swing = dictionary.swing(row, taken[k])
            yield _upright(Row(symptom.words, case, causes, taken[k], expected, sound, swing))


def _upright(row: Row) -> Row:
    """With the leads so that the larger of both readings is positive; a current without its direction."""
    probe, larger = row.probe, max(row.expected, row.sound, key=abs)
    if probe is None or larger >= 0.0:
        return row
    if probe.kind == "V":
        probe = probe._replace(red=probe.black, black=probe.red)
    return row._replace(probe=probe, expected=-row.expected, sound=-row.sound)


def _telling(columns: Columns, taken: Sequence[Probe], row: int, others: Sequence[int]) -> int | None:
    """The probe that tells a cause best from the sound job and from the other causes, an easy one before a hard."""
    import numpy as np

    steady = columns.spread[:1] + 0.01 * np.abs(columns.means[row])  # however much a reading swings
    gaps = np.abs(columns.means[others] - columns.means[row]) / steady
    capped = np.minimum(gaps, 20.0)  # beyond that a meter is sure
    reach = np.array([probe.reach for probe in taken])
    worth = (capped[0] + capped.min(0) + 0.2 * capped.mean(0)) / reach
    worth[gaps[0] < 1.5] = 0.0
    best = int(worth.argmax())
    return best if worth[best] > 0.0 else None


# ---------------------------------------------------------------- which symptoms


def _symptoms(study: Study) -> Iterator[tuple[Symptom, str]]:
    """Symptoms with the case in which each is looked at: the first in which the thing works."""
    job = study.job
    for part in job.parts.values():
        if part.kind in ("charger", "solar-controller"):
            case = _first(study, part, "output_current_a")
            if case:
                yield of_part("does-not-charge", part), case
                yield of_part("starts-and-stops", part), case
        elif part.kind == "battery" and part is not main_battery(job):
            case = _first(study, part, "current_a")
            if case:
                yield of_part("flat", part), case
    for part in job.parts.values():
        if part.kind == "lamp" and f"{part.id}.+" in job.terminals and _on_indicator(job, part):
            case = _first(study, part, "current_a")
            if case:
                yield of_part("indicator", part), case
    for part in _representatives(study):
        case = _first(study, part, "current_a")
        if case:
            yield of_part("does-not-work", part), case
            if max(_amps(each, part) for each in study.cases) >= STRONG:
                yield of_part("weak", part), case


def _first(study: Study, part: Part, key: str) -> str | None:
    for case in study.cases:
        if case.solved and case.name != "cranking" and (case.parts.get(part.id, {}).get(key) or 0.0) > 0.02:
            return case.name
    return None


def _on_indicator(job: Job, lamp: Part) -> bool:
    ends = [(c.from_, c.to) for c in job.conductors.values()]
    on = {other for a, b in ends for one, other in ((a, b), (b, a)) if one.endswith(".indicator")}
    return any(terminal in on for terminal in lamp.terminals)


def _representatives(study: Study) -> list[Part]:
    """One load of each fuse block and of the rest, those that draw most first."""
    job = study.job
    best: dict[str, tuple[float, Part]] = {}
    for part in job.parts.values():
        if part.kind in LOADS and part.kind != "sensor" and not (part.kind == "lamp" and _on_indicator(job, part)):
            amps = max((_amps(case, part) for case in study.cases), default=0.0)
            group = _block(job, part) or part.id
            if amps > 0.02 and (group not in best or amps > best[group][0]):
                best[group] = amps, part
    order = {id: k for k, id in enumerate(job.parts)}
    chosen = sorted(best.values(), key=lambda pair: (-pair[0], order[pair[1].id]))[:LOADS_SHOWN]
    return [part for _, part in sorted(chosen, key=lambda pair: order[pair[1].id])]


def _amps(case: CaseResult, part: Part) -> float:
    return abs(case.parts.get(part.id, {}).get("current_a") or 0.0)


def _block(job: Job, load: Part) -> str:
    """The fuse block that a load hangs on, `` where it hangs on none."""
    for conductor in job.conductors.values():
        for one, other in ((conductor.from_, conductor.to), (conductor.to, conductor.from_)):
            there = job.part_of(other)
            if one in load.terminals and there is not None and there.kind == "fuse-block":
                return there.id
    return ""


def _tried(study: Study, shown: set[str]) -> list[Fault]:
    """Faults that can matter to what is shown: not those of other loads' own leads, no swaps, no settings."""
    job = study.job
    left_out: set[str] = set()
    for part in job.parts.values():
        if part.kind in LOADS and part.id not in shown:
            left_out.add(part.id)
            for conductor in job.conductors.values():
                for one, other in ((conductor.from_, conductor.to), (conductor.to, conductor.from_)):
                    if one in part.terminals:
                        left_out.add(conductor.id)
                        left_out |= {p.id for p in job.parts.values() if p.block and f"{p.block}.{p.way}" == other}
    kinds = ("open", "joint", "dead")
    found = faults(job, Figures(job))
    flat = [f for f in found if f.id.startswith(("battery flat", "battery cell"))]
    return [f for f in found if f.kind in kinds and f.subject not in left_out] + flat
