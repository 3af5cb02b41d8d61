"""overcharge-current: all chargers together give a battery more than it may be charged with.

Hazard
    The battery heats up and gasses; a lithium battery's protection switches it off under load.
Test
    The ratings of all chargers, solar controllers and mains chargers whose output is on the battery's posts, added up,
    against its `max-charge`.
Basis
    the maker's figure; where none is given 0.2 A per Ah for lead-acid (read in a reprint), 0.5 for lithium (from
    memory)
Bad
    battery aux 100 Ah agm, max-charge 15 A
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
Good
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
Limits
    An alternator straight on a battery regulates by voltage and is not counted. Batteries in parallel share; each is
    judged by the sum of their limits.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.catalogue import catalogue
from wiregen.circuit.questions import rails
from wiregen.circuit.study import Study
from wiregen.model.job import Part
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import amps, apart, beyond, listed

KINDS = ("charger", "solar-controller", "mains-charger")


@rule("overcharge-current", severity="warning", basis="the battery maker's figure")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each net on which chargers give too much."""
    job = study.job
    lines = rails(study)
    charged: dict[str, list[Part]] = {}
    for part in job.parts.values():
        output = f"{part.id}.out.+"
        if part.kind in KINDS and output in lines.net and part.number("rating"):
            charged.setdefault(lines.net[output], []).append(part)
    for chargers in charged.values():
        batteries = [job.parts[name] for name in lines.batteries(job, f"{chargers[0].id}.out.+", "+")]
        if not batteries:
            continue
        limits = [_limit(battery) for battery in batteries]
        if any(limit is None for limit in limits):
            continue
        most = sum(limit or 0.0 for limit in limits)
        gives = sum(part.number("rating") or 0.0 for part in chargers)
        names = [battery.id for battery in batteries]
        if not beyond(gives, most):
            yield Content(names[0], "takes {}, its chargers give {}", (amps(most), amps(gives)))
            continue
        given, taken = apart(gives, most)
        first = batteries[0]
        said = first.has("max-charge")
        yield Bad(
            subject=first.id,
            message=f"{listed(part.id for part in chargers)} give{'' if chargers[1:] else 's'} {given} A,"
            f" but {listed(names)} may take {taken} A",
            at=mark(first, "max-charge" if said else "capacity", f"takes {taken} A"),
            related=(*(part.id for part in chargers), *names[1:]),
            marks=tuple(mark(part, "rating", "gives") for part in chargers),
            reason="the battery heats up and gasses, or its protection switches it off",
            remedy=f"limit the chargers to {taken} A together",
            values={"gives_a": gives, "takes_a": most},
            through=first.through,
            basis="the battery maker's figure" if said else _basis(first),
            severity=None if said else "advice",
        )


def _limit(battery: Part) -> float | None:
    """What a battery may be charged with [A]; None where neither it nor its chemistry tells."""
    own = battery.number("max-charge")
    times = battery.number("parallel") or 1.0
    if own is not None:
        return own * times
    row = catalogue().row("chemistry", battery.word("chemistry"))
    capacity = battery.number("capacity")
    return float(row["charge_per_ah"]) * capacity * times if row and capacity else None


def _basis(battery: Part) -> str:
    row = catalogue().row("chemistry", battery.word("chemistry"))
    return f"{catalogue().basis(row)}, in A per Ah" if row else ""
