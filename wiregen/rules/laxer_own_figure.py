"""laxer-own-figure: a figure of the job's own allows more than the limits that it has chosen.

Hazard
    None by itself: whoever reads the results should know that they rest on a figure that is easier to meet.
Test
    The job's own `tail`, `limit` and `ampacity` against those of the chosen `limits`: the length from source to fuse,
    the larger of the two drops, and the ampacity of the table for the same size and insulation at its ambient.
Basis
    the job's chosen limits
Bad
    own-figures "Customer" { tail 0.5 m
    }
    start.+ -- F1 --[W1 red 4 mm2 1 m]-- pump.+
    pump.- --[W2 black 4 mm2 1 m]-- start.-
Good
    own-figures "Customer" { tail 0.1 m
    }
    start.+ -- F1 --[W1 red 4 mm2 1 m]-- pump.+
    pump.- --[W2 black 4 mm2 1 m]-- start.-
Limits
    An own ampacity is compared for the conductors that use it. With `limits own` the standard that stands in is
    compared. An own tail or limit is reported on the first battery, so that it can be accepted there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from wiregen.circuit.figures import Figures
from wiregen.circuit.study import Study
from wiregen.findings import Mark
from wiregen.model.job import OwnFigures
from wiregen.rules.limits import basis, chosen
from wiregen.rules.verdict import Bad, Content, Verdict, rule
from wiregen.rules.words import amps, apart, beyond, metres, percent


@rule("laxer-own-figure", severity="advice", basis="the job's chosen limits")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each own figure that is laxer."""
    own = study.job.own_figures
    if own is None:
        return
    row = chosen(study.job)
    standard = "ISO 13297, which stands in," if row["id"] == "own" else f"{row['title']}:"
    batteries = [part.id for part in study.job.parts.values() if part.kind == "battery"]
    first = next(iter(batteries or study.job.parts), study.job.title)
    tail = own.facts.get("tail")
    figures = [("tail", tail.measure.value, float(row["tail_m"]), tail.span)] if tail and tail.measure else []
    of_job = study.job.facts.get("limit")  # a limit of the job line is no figure in place of the catalogue's
    largest = max(float(row["drop_main"]), float(row["drop_other"]))
    figures += [
        ("limit", limit.ratio, largest, limit.span)
        for limit in study.job.limits
        if limit.from_ is None and not limit.to and (of_job is None or limit.span != of_job.span)
    ]
    for name, value, most, span in figures:
        say = metres if name == "tail" else percent
        if not beyond(value, most):
            yield Content(first, "the job's own {} of {} is within {}", (name, say(value), say(most)))
            continue
        yield Bad(
            subject=first,
            message=f"the job's own {name} of {say(value)} allows more than {standard} {say(most)}",
            at=Mark(span, "laxer"),
            reason="what passes by it may not pass by the standard",
            remedy=f"use {say(most)}, or note why more is right here",
            values={"own": value, "standard": most},
            basis=basis(study.job, row),
        )
    yield from _ampacities(study, own)


def _ampacities(study: Study, own: OwnFigures) -> Iterator[Verdict]:
    """Own ampacities against the table's, for the first conductor that uses each."""
    figures = Figures(study.job)
    published = Figures(replace(study.job, own_figures=None))
    said: set[float] = set()
    for conductor in study.job.conductors.values():
        wire, table = figures.wire(conductor), published.wire(conductor)
        size = conductor.measure("size")
        used = next(
            (r for r in own.ampacity if size and r[1].value == wire.ampacity and r[0].value == size.value), None
        )
        if used is None or table.table_a is None or used[1].value in said:
            continue
        if not beyond(used[1].value, table.table_a):
            yield Content(conductor.id, "{} is within the table's {}", (amps(used[1].value), amps(table.table_a)))
            continue
        said.add(used[1].value)
        gives, bears = apart(used[1].value, table.table_a)
        yield Bad(
            subject=conductor.id,
            message=f"the job's own ampacity lets {conductor.id} carry {gives} A; the table gives {bears} A",
            at=Mark(used[2], "laxer"),
            reason="what passes by it may not pass by the standard",
            remedy=f"use {bears} A, or note why more is right here",
            values={"own": used[1].value, "standard": table.table_a},
            through=conductor.through,
            basis=table.ampacity_basis,
        )
