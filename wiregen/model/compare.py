"""Two revisions of a job beside each other, as plain data: what was added, removed, changed. Nothing is computed.

Parts and conductors are the same where their ids are; one whose id was changed was removed and added.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Literal, NamedTuple

from wiregen.model.job import Conductor, Facts, Job, Link, Named, Part

UNLIKE = frozenset({"note", "title"})  # facts that change nothing of the installation, or are told by themselves
_MADE = frozenset({"way", "dissolved"})  # links that the netlist does not write


class Difference(NamedTuple):
    """One word of a part or conductor: `size`, `6 mm2` now, `4 mm2` before; `` where it is not said."""

    name: str
    now: str
    before: str


class Change(NamedTuple):
    """One part, conductor, joint, case or fact of the job that is not as it was.

    `at` is the part or conductor of the new job where it is to be marked: of something removed a part that it was
    joined to, `` where there is none.
    """

    kind: Literal["added", "removed", "changed"]
    what: str  # part kind, `conductor`, `joint`, `case`, `job`
    id: str
    at: str
    message: str
    differences: tuple[Difference, ...] = ()


def compare(old: Job, new: Job) -> tuple[Change, ...]:
    """The changes from one revision to the next: of the job, parts, conductors, joints, cases; removed ones last."""
    return (*_job(old, new), *_there(old, new), *_removed(old, new))


def _job(old: Job, new: Job) -> Iterator[Change]:
    title = [Difference("title", new.title, old.title)] if new.title != old.title else []
    found = (*title, *_facts(old.facts, new.facts))
    if found:
        yield Change("changed", "job", "", "", f"job: {_words(found)}", found)
    for name, case in new.cases.items():
        if name not in old.cases:
            yield Change("added", "case", name, "", f"case {name}")
        elif [(s[:2], s[3:]) for s in map(_plain, case.settings)] != [
            (s[:2], s[3:]) for s in map(_plain, old.cases[name].settings)
        ]:
            yield Change("changed", "case", name, "", f"case {name}: its settings")


def _plain(setting: tuple[object, ...]) -> tuple[object, ...]:
    """A setting without its place in the text."""
    return tuple(repr({k: _values(f.values) for k, f in x.items()}) if isinstance(x, Mapping) else x for x in setting)


def _there(old: Job, new: Job) -> Iterator[Change]:
    for part in new.parts.values():
        before = old.parts.get(part.id)
        if before is None:
            yield Change("added", part.kind, part.id, part.block or part.id, f"{_name(part)}{_told(part)}")
        elif found := tuple(_part(before, part)):
            yield Change("changed", part.kind, part.id, part.block or part.id, f"{_name(part)}: {_words(found)}", found)
    for conductor in new.conductors.values():
        was = old.conductors.get(conductor.id)
        if was is None:
            words = f"{_name(conductor)}{_told(conductor)}, {conductor.from_} to {conductor.to}"
            yield Change("added", "conductor", conductor.id, conductor.id, words)
        elif found := tuple(_conductor(was, conductor)):
            words = f"{_name(conductor)}: {_words(found)}"
            yield Change("changed", "conductor", conductor.id, conductor.id, words, found)
    joints = _joints(old)
    for pair, link in _joints(new).items():
        if pair not in joints:
            yield Change("added", "joint", "", _near(new, link), f"joint: {link.a} metal to metal with {link.b}")


def _removed(old: Job, new: Job) -> Iterator[Change]:
    for part in old.parts.values():
        if part.id not in new.parts:
            yield Change("removed", part.kind, part.id, _beside(old, new, part), f"{_name(part)}{_told(part)}")
    for conductor in old.conductors.values():
        if conductor.id not in new.conductors:
            words = f"{_name(conductor)}{_told(conductor)}, {conductor.from_} to {conductor.to}"
            at = _first(new, old, (conductor.from_, conductor.to))
            yield Change("removed", "conductor", conductor.id, at, words)
    joints = _joints(new)
    for pair, link in _joints(old).items():
        if pair not in joints:
            at = _first(new, old, (link.a, link.b))
            yield Change("removed", "joint", "", at, f"joint: {link.a} metal to metal with {link.b}")
    for name in old.cases:
        if name not in new.cases:
            yield Change("removed", "case", name, "", f"case {name}")


def _part(old: Part, new: Part) -> Iterator[Difference]:
    for name in ("type", "title", "place", "block", "way"):
        a, b = getattr(old, name) or "", getattr(new, name) or ""
        if a != b and not (name == "place" and ("at" in new.facts or "at" in old.facts)):
            yield Difference(name, b, a)
    yield from _facts(old.facts, new.facts)


def _conductor(old: Conductor, new: Conductor) -> Iterator[Difference]:
    for name in ("from", "to"):
        a, b = (getattr(c, "from_" if name == "from" else name) for c in (old, new))
        if a != b:
            yield Difference(name, b, a)
    yield from _facts(old.facts, new.facts)


def _facts(old: Facts, new: Facts) -> Iterator[Difference]:
    for name in dict.fromkeys((*new, *old)):
        a, b = old.get(name), new.get(name)
        if name in UNLIKE or (a and b and _values(a.values) == _values(b.values)):
            continue
        before, now = (" ".join(v.text for v in f.values) or name if f else "" for f in (a, b))
        yield Difference(name, now, before)


def _values(values: tuple[object, ...]) -> tuple[object, ...]:
    """Values that mean the same are the same: `300 mm` and `0.3 m`."""
    out: list[object] = []
    for value in values:
        measure = getattr(value, "measure", None)
        text = getattr(value, "text", "")
        out.append((measure.dimension, *(round(n, 9) for n in measure[:3])) if measure else text.lower())
    return tuple(out)


def _words(found: tuple[Difference, ...]) -> str:
    said = []
    for name, now, before in found:
        if now and before:
            said.append(f"{name} {now}, was {before}")
        else:
            said.append(f"{name} {now} is new" if now else f"{name} {before} is gone")
    return "; ".join(said)


def _name(named: Named) -> str:
    if isinstance(named, Part):
        return f"{named.kind} {named.id}"
    assert isinstance(named, Conductor)
    return f"conductor {named.id}" if named.named else "conductor"


def _told(named: Named) -> str:
    facts = (named.fact(n) for n in ("colour", "size", "length", "rating", "draws", "capacity"))
    return "".join(f" {fact.word}" for fact in facts if fact and fact.word)


def _joints(job: Job) -> dict[tuple[str, ...], Link]:
    return {tuple(sorted((link.a, link.b))): link for link in job.links if link.why not in _MADE}


def _near(job: Job, link: Link) -> str:
    return next((part.block or part.id for t in (link.a, link.b) if (part := job.part_of(t))), "")


def _first(new: Job, old: Job, terminals: tuple[str, ...]) -> str:
    """The first part at those terminals of the old job that the new one still has."""
    for terminal in terminals:
        part = old.part_of(terminal)
        if part and part.id in new.parts:
            return new.parts[part.id].block or part.id
    return ""


def _beside(old: Job, new: Job, part: Part) -> str:
    """A part that a removed one was joined to and that is still there."""
    ends: list[str] = []
    for a, b in (*((c.from_, c.to) for c in old.conductors.values()), *(link[:2] for link in old.links)):
        if a in part.terminals:
            ends.append(b)
        if b in part.terminals:
            ends.append(a)
    return _first(new, old, tuple(ends))
