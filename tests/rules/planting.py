"""Faults planted in a sound job: the job with one thing changed, as data."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from wiregen.circuit import study
from wiregen.circuit.network import build
from wiregen.circuit.study import Study
from wiregen.language.tree import Measure, Value
from wiregen.model import read
from wiregen.model.job import Conductor, Contact, Fact, Job, Link, Terminal

EXAMPLES = sorted((Path(__file__).resolve().parents[2] / "examples").glob("*.wnet"))


def sound() -> Iterator[tuple[str, Study]]:
    """The studies of the sound examples."""
    for path in EXAMPLES:
        job, _ = read(str(path))
        assert job is not None
        yield path.stem, study(job)[0]


def rewired(before: Study, job: Job) -> Study:
    """The same study over a changed job, its currents those of before: enough for rules that follow conductors."""
    return replace(before, job=job, network=build(job))


def swapped(job: Job, one: str, other: str) -> Job:
    """What lands on one terminal lands on the other, and the reverse."""
    turn = {one: other, other: one}

    def moved(c: Conductor) -> Conductor:
        return replace(c, from_=turn.get(c.from_, c.from_), to=turn.get(c.to, c.to))

    def joined(link: Link) -> Link:
        return (
            link
            if link.why in ("stud", "mounted")
            else link._replace(a=turn.get(link.a, link.a), b=turn.get(link.b, link.b))
        )

    return replace(
        job,
        conductors={name: moved(c) for name, c in job.conductors.items()},
        links=tuple(joined(link) for link in job.links),
    )


def bridged(job: Job, fuse: str) -> Job:
    """A fuse or breaker replaced by a piece of metal."""
    part = job.parts[fuse]
    contacts = tuple(c._replace(kind="solid") for c in part.contacts)
    return replace(job, parts={**job.parts, fuse: replace(part, kind="splice", contacts=contacts)})


def loosened(job: Job, conductor: str) -> Job:
    """A conductor taken off at its end and left in the air."""
    old = job.conductors[conductor]
    end = f"loose:{conductor}"
    air = Terminal(end, "", "", old.span)
    conductors = {**job.conductors, conductor: replace(old, to=end)}
    return replace(job, conductors=conductors, terminals={**job.terminals, end: air})


def lengthened(job: Job, conductor: str, metres: float) -> Job:
    """A conductor in another length, in all its places as evenly."""
    return _with(job, conductor, "length", Measure(metres, metres, metres, "length", "m"), f"{metres} m")


def thinned(job: Job, conductor: str, mm2: float) -> Job:
    """A conductor in another copper area."""
    return _with(job, conductor, "size", Measure(mm2, mm2, mm2, "area", "mm2"), f"{mm2} mm2")


def _with(job: Job, conductor: str, name: str, measure: Measure, text: str) -> Job:
    old = job.conductors[conductor]
    span = old.where(name)
    fact = Fact(name, (Value("quantity", text, span, measure),), span)
    changed = replace(old, facts={**old.facts, name: fact}, route=())
    return replace(job, conductors={**job.conductors, conductor: changed})


def crossed_pole(job: Job, connector: str) -> Job:
    """The two poles of a mated connector crossed inside it: `swap X1`."""
    part = job.parts[connector]
    first, second = part.contacts[:2]
    contacts: tuple[Contact, ...] = (first._replace(b=second.b), second._replace(b=first.b), *part.contacts[2:])
    return replace(job, parts={**job.parts, connector: replace(part, contacts=contacts)})
