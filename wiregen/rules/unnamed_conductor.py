"""unnamed-conductor: a job that names its conductors leaves one without a name.

Hazard
    What has no name gets no label, no line in the schedule and no word in a finding that somebody else understands;
    whoever looks for a fault later follows it by hand.
Test
    Only jobs that are handed over (a customer, a number or a revision is given) and that name most of their conductors:
    each conductor without a name. Leads that came with a part have their maker's marks.
Basis
    common practice, no source
Bad
    job "Garden pump" { system 12 V, limits iso13297, each insulation 105 degC, customer "Job 12" }
    battery start 70 Ah flooded, vented, resistance 6 mohm
    fuse F1 20 A cartridge, volts 58 V, breaks 10 kA
    load pump 5 A
    switch S1 20 A
    start.+ -- F1 --[W1 red 6 mm2 1 m]-- S1 --[red 6 mm2 1 m]-- pump.+
    pump.- --[W2 black 6 mm2 2 m]-- start.-
Good
    job "Garden pump" { system 12 V, limits iso13297, each insulation 105 degC, customer "Job 12" }
    battery start 70 Ah flooded, vented, resistance 6 mohm
    fuse F1 20 A cartridge, volts 58 V, breaks 10 kA
    load pump 5 A
    switch S1 20 A
    start.+ -- F1 --[W1 red 6 mm2 1 m]-- S1 --[W3 red 6 mm2 1 m]-- pump.+
    pump.- --[W2 black 6 mm2 2 m]-- start.-
Limits
    A draft, and a job that names none or few of its conductors, is left alone.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from wiregen.circuit.study import Study
from wiregen.model.job import Conductor, Job
from wiregen.rules.unnamed import spoken
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, rule
from wiregen.rules.words import listed

HANDED_OVER = ("customer", "number")
MOST_LISTED = 4


@rule("unnamed-conductor", severity="advice", basis="common practice, no source")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for the whole job, on the first conductor without a name."""
    job = study.job
    nameless = [c for c in job.conductors.values() if not c.named and not c.has("supplied")]
    if not nameless:
        return
    named = sum(c.named for c in job.conductors.values())
    if not job.revisions and not any(fact in job.facts for fact in HANDED_OVER):
        yield Content("job", "no customer, number or revision: a draft")
    elif named <= len(nameless):
        yield Content("job", "names {} of its conductors and leaves {} without", (named, len(nameless)))
    else:
        yield _bad(job, nameless, named)


def _bad(job: Job, nameless: list[Conductor], named: int) -> Bad:
    first = nameless[0]
    shown = [spoken(conductor) for conductor in nameless[:MOST_LISTED]]
    more = len(nameless) - len(shown)
    which = f"{', '.join(shown)} and {more} more" if more else listed(shown)
    free = _free_name(job)
    return Bad(
        subject=first.id,
        message=f"{which} {'have' if nameless[1:] else 'has'} no name; {named} other conductors have one",
        at=at_name(first, "no name"),
        related=tuple(conductor.id for conductor in nameless[1:]),
        marks=tuple(at_name(conductor, "no name") for conductor in nameless[1:MOST_LISTED]),
        reason="without a name it gets no label and no line of its own in the schedule",
        remedy=f"write a name first in it, as in --[{free} ...]--",
        values={"without_a_name": len(nameless), "named": named},
        through=first.through,
    )


def _free_name(job: Job) -> str:
    """The next name in the way in which the job names most of its conductors, W12 behind W11."""
    numbers: dict[str, list[int]] = {}
    for conductor in job.conductors.values():
        found = re.fullmatch(r"([A-Za-z]+)([0-9]+)", conductor.id.rpartition(".")[2])
        if conductor.named and found:
            numbers.setdefault(found[1], []).append(int(found[2]))
    letters = max(numbers, key=lambda each: len(numbers[each]), default="W")
    number = max(numbers.get(letters, ()), default=0) + 1
    ids = (*job.parts, *job.conductors, *job.places, *job.circuits)
    taken = {name.lower() for id in ids for name in (id, id.rpartition(".")[2])}  # inside a kit names are short
    while f"{letters}{number}".lower() in taken:
        number += 1
    return f"{letters}{number}"
