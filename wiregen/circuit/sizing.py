"""Which size as sold would do: the job is computed again with the next larger ones until a test passes."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from typing import Any

from wiregen.catalogue import catalogue
from wiregen.circuit.case_result import solved_case
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
        fact = replace(old, values=(Value("quantity", written, old.span, measure),))
        conductors[id] = replace(conductor, facts={**conductor.facts, "size": fact})
    return replace(job, conductors=conductors)


def _gauge(size: str) -> float:
    """A gauge as a number: 1/0 is 0, 2/0 is -1; an auto-cable diameter as it is."""
    number, slash, _ = str(size).partition("/")
    return 1.0 - float(number) if slash else float(number)


def passing_size(
    study: Study,
    ids: Collection[str],
    cases: Collection[str],
    likely: Callable[[float], bool],
    test: Callable[[Study], bool],
) -> str | None:
    """The smallest size as sold for those conductors with which the test passes; None where no size does.

    The test gets a study of the named cases alone, without faults and energy. `likely` tells from how many times
    larger the copper area is whether a size is worth computing: the search begins one size below the first that is.
    """
    first = study.job.conductors[next(iter(ids))]
    sizes = larger_sizes(first)
    own = _area(first)
    start = next((i for i, (_, row) in enumerate(sizes) if likely(row["area_mm2"] / own)), len(sizes))
    for written, row in sizes[max(start - 1, 0) :]:
        if test(_again(study, with_size(study.job, ids, written, row), cases)):
            return written
    return None


def _again(study: Study, job: Job, names: Collection[str]) -> Study:
    """The study of a job that differs in sizes only, in the named cases."""
    figures = Figures(job)
    cases: list[CaseResult] = []
    supplies: list[Supply] = []
    for state in operating_cases(job):
        if state.name in names:
            case, of_case = solved_case(job, figures, state)
            cases.append(case)
            supplies += of_case
    ampacities = {c.id: figures.wire(c).ampacity for c in job.conductors.values()}
    return replace(study, job=job, cases=tuple(cases), supplies=tuple(supplies), ampacities=ampacities)
