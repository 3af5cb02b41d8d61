"""The circuit in words, for whoever cannot see the drawing: from each source to what it feeds, run by run."""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Mapping
from typing import NamedTuple

from wiregen.layout.words import job_title, quantity, rating_words
from wiregen.model.job import Conductor, Job, Part

SOURCES = frozenset(("battery", "alternator", "panel", "feed"))
NO_SAFETY = "The drawing is not a statement that the installation is safe."


class Shown(NamedTuple):
    """What stands on one sheet of several."""

    number: int
    of: int
    parts: Collection[str]
    conductors: Collection[str]
    links: Collection[tuple[str, str]]
    goes_on: Mapping[str, int]  # cut conductors, and the sheet where they go on


def describe(job: Job, shown: Shown | None = None) -> str:
    """The whole job, or of one sheet of several what is `shown` on it: its parts, each way from a source to what is
    fed with the conductors, fuses and switches on it, and then the conductors that are on none: returns, signals.
    Every conductor is told once."""
    sheet = f", sheet {shown.number} of {shown.of}" if shown else ""
    sentences = [f"Schematic of {job_title(job)}{sheet}."]
    kinds: dict[str, list[str]] = {}
    for part in job.parts.values():
        if not shown or part.id in shown.parts:
            kinds.setdefault(part.kind.replace("-", " "), []).append(part.title or part.id)
    listed = "; ".join(f"{kind}: {', '.join(names)}" for kind, names in kinds.items())
    if listed:
        sentences.append(f"Parts: {listed}.")
    told: set[str] = set()
    sentences += _ways(job, shown, told)
    for conductor in job.conductors.values():
        if conductor.id in told or (shown and conductor.id not in shown.conductors):
            continue
        name = _conductor(conductor)
        goes_on = shown.goes_on.get(conductor.id) if shown else None
        onward = f", goes on on sheet {goes_on}" if goes_on else ""
        sentences.append(f"{name[0].upper()}{name[1:]} from {conductor.from_} to {conductor.to}{onward}.")
    for link in job.links:
        if link.why != "way" and (not shown or (link.a, link.b) in shown.links):
            sentences.append(f"{link.a} is joined metal to metal with {link.b}.")
    return " ".join((*sentences, NO_SAFETY))


def _conductor(conductor: Conductor) -> str:
    figures = quantity(conductor.fact("size")), quantity(conductor.fact("length"))
    words = ", ".join(w for w in ("/".join(conductor.colours), *figures) if w)
    name = conductor.id if conductor.named else "a conductor"
    return f"{name} ({words})" if words else name


def _part(part: Part) -> str:
    return " ".join(w for w in (part.kind.replace("-", " "), part.id, rating_words(part)) if w)


def _ways(job: Job, shown: Shown | None, told: set[str]) -> list[str]:
    """A sentence for each way from a source to where it ends: at what is fed, or at another source, as a charger's way
    does at its battery. `told` gathers the conductors in them."""
    steps = _steps(job, shown)
    roots = [t for t in job.terminals if _is_source(job, t) and t in steps]
    found: list[tuple[int, str]] = []
    seen: set[str] = set()
    for root in sorted(roots, key=lambda t: _stores(job, t)):  # what feeds a battery before what it feeds
        seen.add(root)
        back: dict[str, tuple[str, str]] = {}  # terminal -> the one before it on the way, and what leads there
        queue = deque((root,))
        while queue:
            here = queue.popleft()
            for there, by in steps.get(here, ()):
                if there in back or there in seen or by in told:
                    continue
                back[there] = here, by
                if there not in roots:
                    queue.append(there)
        inner = {here for here, _ in back.values()}
        seen.update(t for t in back if t not in roots)
        reached = {root}
        for end in job.terminals:
            if end in inner or end not in back:
                continue
            way: list[str] = []
            here = end
            while here not in reached:
                reached.add(here)
                here, by = back[here]
                if by in job.conductors:
                    told.add(by)
                    way.append(_conductor(job.conductors[by]))
                elif by in job.parts:
                    way.append(_part(job.parts[by]))
            if way:
                words = f"From {_called(job, here)} through {', '.join(reversed(way))} to {_called(job, end)}."
                found.append((roots.index(root), words))
    return [words for _, words in sorted(found, key=lambda pair: pair[0])]


def _stores(job: Job, terminal: str) -> bool:
    part = job.part_of(terminal)
    return part is not None and part.kind == "battery"


def _steps(job: Job, shown: Shown | None) -> dict[str, list[tuple[str, str]]]:
    """Terminal -> (where one gets from there, by which conductor or through which part; `` metal to metal)."""
    steps: dict[str, list[tuple[str, str]]] = {}

    def step(a: str, b: str, by: str) -> None:
        steps.setdefault(a, []).append((b, by))
        steps.setdefault(b, []).append((a, by))

    for c in job.conductors.values():
        if not shown or (c.id in shown.conductors and c.id not in shown.goes_on):
            step(c.from_, c.to, c.id)
    for link in job.links:
        step(link.a, link.b, "")
    for part in job.parts.values():
        if not shown or part.id in shown.parts:
            for contact in part.contacts:
                step(contact.a, contact.b, part.id)
    return steps


def _is_source(job: Job, terminal: str) -> bool:
    part = job.part_of(terminal)
    if part is None:
        return False
    name = terminal[len(part.id) + 1 :]
    return (part.kind in SOURCES and name in ("", "+")) or (name.startswith("out") and name.endswith("+"))


def _called(job: Job, terminal: str) -> str:
    part = job.part_of(terminal)
    return f"{terminal} ({part.title})" if part and part.title and part.title.lower() != part.id.lower() else terminal
