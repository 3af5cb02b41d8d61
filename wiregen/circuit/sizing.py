"""Which size as sold would do: the job is computed again with the next larger ones until a test passes."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from typing import Any, NamedTuple

from wiregen.catalogue import catalogue
from wiregen.circuit.cases import operating_cases
from wiregen.circuit.figures import Figures
from wiregen.circuit.study import CaseResult, Study, Supply
from wiregen.circuit.wires import size_area
from wiregen.language.tree import Measure, Value
from wiregen.model.job import Conductor, Job

FAMILY = {"area": "mm2", "gauge": "AWG", "auto-size": "auto-mm"}


def larger_sizes(conductor: Conductor) -> tuple[tuple[str, Mapping[str, Any]], ...]:
    """Sizes as sold above the conductor's own: (as written, row of the catalogue), the smallest first.

    In its own family, mm2 or AWG; above the largest auto cable in mm2.
    """
    size = conductor.measure("size")
    if size is None:
        return ()
    family, area = FAMILY.get(size.dimension, "mm2"), _area(conductor)
    rows = [row for row in catalogue().rows("conductor") if row["family"] == family]
    if family == "auto-mm":
        most = max(row["area_mm2"] for row in rows)
        rows += [r for r in catalogue().rows("conductor") if r["family"] == "mm2" and r["area_mm2"] > most]
    return tuple((f"{row['size']} {row['family']}", row) for row in rows if row["area_mm2"] > area * 1.002)


def _area(conductor: Conductor) -> float:
    """Copper area of the conductor as it is. [mm2]"""
    size = conductor.measure("size")
    assert size is not None
    family = FAMILY.get(size.dimension, "mm2")
    return size_area(size, [row for row in catalogue().rows("conductor") if row["family"] == family])


def with_size(job: Job, ids: Collection[str], written: str, row: Mapping[str, Any]) -> Job:
    """The same job with some conductors in another size."""
    conductors = dict(job.conductors)
    for id in ids:
        conductor = conductors[id]
        old = conductor.fact("size")
        if old is None:
            continue
        gauge = row["family"] != "mm2"
        number = float(_gauge(row["size"]) if gauge else row["area_mm2"])
        dimension = next(d for d, family in FAMILY.items() if family == row["family"])
        measure = Measure(number, number, number, dimension, row["family"])
        fact = old._replace(values=(Value("quantity", written, old.span, measure),))
        conductors[id] = replace(conductor, facts={**conductor.facts, "size": fact})
    return replace(job, conductors=conductors)


def _gauge(size: str) -> float:
    """A gauge as a number: 1/0 is 0, 2/0 is -1; an auto-cable diameter as it is."""
    number, slash, _ = str(size).partition("/")
    return 1.0 - float(number) if slash else float(number)


class Size(NamedTuple):
    """A size that is tried for some conductors. `times` their copper area, `bears` by conductor its ampacity [A];
    `eased` is what part of the present currents is counted, 0 to 1."""

    written: str
    times: float
    bears: Mapping[str, float | None]
    eased: float


def passing_size(
    study: Study,
    ids: Collection[str],
    cases: Collection[str],
    likely: Callable[[Size], bool],
    test: Callable[[Study], bool],
    ease: float = 1.0,
) -> str | None:
    """The smallest size as sold for those conductors with which the test passes; None where no size does.

    The test gets a study of the named cases alone, without faults and energy, insisted as the given one is. `likely`
    tells at present currents whether a size would do: the first that is likely is computed, then larger ones until
    one passes. A smaller one is computed only where it is likely at currents that are eased as far as they can be at
    most (`ease`, 0 to 1).
    """
    job = study.job
    figures = Figures(job)
    first = job.conductors[next(iter(ids))]
    rows = larger_sizes(first)
    own = _area(first)

    def changed(i: int) -> Job:
        return with_size(job, ids, *rows[i])

    def size(i: int, eased: float) -> Size:
        altered = changed(i)
        bears = {id: figures.wire(altered.conductors[id]).ampacity for id in ids}
        return Size(rows[i][0], rows[i][1]["area_mm2"] / own, bears, eased)

    def passes(i: int) -> bool:
        return test(_again(study, changed(i), ids, cases))

    start = next((i for i in range(len(rows)) if likely(size(i, 1.0))), len(rows))
    found = next((i for i in range(start, len(rows)) if passes(i)), None)
    if found is None or found == start:
        below = start - 1
        while below >= 0 and likely(size(below, ease)) and passes(below):
            found, below = below, below - 1
    return None if found is None else rows[found][0]


def _again(study: Study, job: Job, ids: Collection[str], names: Collection[str]) -> Study:
    """The study of a job that differs in some conductors' sizes only, in the named cases."""
    from wiregen.circuit.insist import again  # it takes sizes from here

    figures = Figures(job)
    before = {case.name: case for case in study.cases}
    cases: list[CaseResult] = []
    supplies: list[Supply] = []
    for state in operating_cases(job) if names else ():
        if state.name in names:
            case, of_case = again(study, job, ids, figures, state, before[state.name])
            cases.append(case)
            supplies += of_case
    ampacities = {**study.ampacities, **{id: figures.wire(job.conductors[id]).ampacity for id in ids}}
    return replace(study, job=job, cases=tuple(cases), supplies=tuple(supplies), ampacities=ampacities)
