"""The limits that a job has chosen, with their basis in words."""

from __future__ import annotations

from typing import NamedTuple

from wiregen.catalogue import catalogue
from wiregen.catalogue.tables import Row
from wiregen.model.job import Job

USUAL = "iso13297"
"""The set that stands in where a job names none (common practice: the metric standard nearest to vehicles)."""


class Limit(NamedTuple):
    """One figure and where it comes from."""

    value: float
    basis: str


def named(job: Job) -> str:
    """The word after `limits` in the job line, `` where there is none."""
    fact = job.facts.get("limits")
    return fact.word if fact else ""


def chosen(job: Job) -> Row:
    """The row of the catalogue for the word after `limits`."""
    data = catalogue()
    row = data.row("limits", named(job)) or data.row("limits", USUAL)
    assert row is not None
    return row


def basis(job: Job, row: Row, column: str = "source") -> str:
    """Where a figure of that row comes from, and whether the job asked for it."""
    words = catalogue().basis(row, column)
    return words if named(job) else f"{words}; the job names no limits, so {row['title']} stands in"


def tail(job: Job, *, enclosed: bool, on_post: bool = False) -> Limit:
    """How far a lead may run from its source to its own fuse [m]."""
    own = job.own_figures
    if own is not None and "tail" in own.facts:
        measure = own.facts["tail"].measure
        if measure is not None:
            return Limit(measure.value, f"the job's own figures, tail {own.facts['tail'].word}")
    row = chosen(job)
    column = "tail_m"
    if enclosed:
        column = "tail_battery_sheathed_m" if on_post else "tail_sheathed_m"
    return Limit(float(row[column]), basis(job, row))
