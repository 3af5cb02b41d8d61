"""What is there at each stage of the installation, what of it is live, and which live ends are still bare.

Stages stand in the order of their numbers. A part or conductor is there from the first stage that names it; where a
stage names it by itself and another only names its circuit, the former says when. A fuse, breaker or switch that two
stages name is fitted open in the first and closed in the last: the link goes in then. What no stage names comes after
them all.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from typing import NamedTuple

from wiregen.circuit.network import Edge, Network
from wiregen.circuit.polarity import posts
from wiregen.circuit.unprotected import live_posts
from wiregen.model.job import Contact, Job, Link, Part, Stage

CLOSED_BY_HAND = frozenset({"fuse", "breaker", "switch"})
"""Contacts that are left open until somebody closes them."""

VEHICLE = frozenset({"alternator", "starter", "earth"})
"""What the vehicle has before anybody begins, unless a stage names it."""


class Arrivals(NamedTuple):
    """The place in `order` at which each part and conductor comes; len(order) for what comes after all stages.

    `closes` is the place from which each fuse, breaker or switch is closed.
    """

    order: tuple[Stage, ...]
    comes: Mapping[str, int]
    closes: Mapping[str, int]

    def there(self, id: str, at: int) -> bool:
        """Whether a part or conductor is there at that place in the order."""
        return self.comes[id] <= at


class Live(NamedTuple):
    """How a terminal is live: from which post, and through which fuse last ('' where none lies between)."""

    source: str
    fuse: str


class BareEnd(NamedTuple):
    """A live end with nothing to land on at a stage.

    `at` is the place in the order, `lands` the place at which the missing part comes; `conductor` is the bare one, or
    the one behind an open plug, where `open_half` names the plug's terminal.
    """

    at: int
    conductor: str
    terminal: str
    missing: str  # the part that is not there yet
    lands: int
    live: Live
    open_half: str = ""


def arrivals(job: Job) -> Arrivals:
    """When everything comes, by the job's `stage` statements."""
    order = tuple(sorted(job.stages, key=_number))
    first: dict[str, int] = {}
    last: dict[str, int] = {}
    for place, stage in enumerate(order):
        for id in stage.members:
            first.setdefault(id, place)
            last[id] = place
    for place, stage in reversed(tuple(enumerate(order))):
        first |= {id: place for id in stage.own if not _by_hand(job, id)}
    left = next((place for place, stage in enumerate(order) if stage.rest), len(order))
    comes: dict[str, int] = {}
    for id in (*job.conductors, *(p.id for p in job.parts.values() if not p.block)):
        comes[id] = first.get(id, left)
    for part in job.parts.values():
        if part.block:  # a way's fuse comes with its block
            comes[part.id] = first.get(part.id, comes.get(part.block, left))
        elif part.kind == "feed" or (part.kind in VEHICLE and part.id not in first):
            comes[part.id] = 0
        elif part.kind == "splice":  # two conductors crimped together are a splice, named or not
            landing = sorted(comes[c.id] for c in job.conductors.values() if part.id in _parts(job, c.from_, c.to))
            comes[part.id] = min([comes[part.id], *landing[1:2]])
    closes = {
        part.id: max(comes[part.id], last.get(part.id, 0)) for part in job.parts.values() if _by_hand(job, part.id)
    }
    return Arrivals(order, comes, closes)


def _by_hand(job: Job, id: str) -> bool:
    return id in job.parts and any(contact.kind in CLOSED_BY_HAND for contact in job.parts[id].contacts)


def _number(stage: Stage) -> tuple[int, str]:
    return (int(stage.number), "") if stage.number.isdigit() else (0, "")


def _parts(job: Job, *terminals: str) -> set[str]:
    return {job.terminals[t].part for t in terminals}


def live(job: Job, network: Network, when: Arrivals, at: int) -> dict[str, Live]:
    """Every terminal that a battery, panel or live feed reaches at a stage, contacts as built.

    A source whose other post has nothing on it yet drives no current: negative on last, off first (common practice).
    """
    found: dict[str, Live] = {}
    queue: deque[str] = deque()
    for source in _sources(job, network, when, at):
        found.setdefault(source, Live(source, ""))
        queue.append(source)
    while queue:
        here = queue.popleft()
        part = job.part_of(here)
        if part is None or not when.there(part.id, at):
            continue  # an end in the air, or one with nothing to land on
        for edge, there in network.around(here):
            if there not in found and _conducts(job, when, at, edge, here):
                found[there] = found[here]._replace(fuse=edge.subject) if edge.protects else found[here]
                queue.append(there)
    return found


def _conducts(job: Job, when: Arrivals, at: int, edge: Edge, from_: str) -> bool:
    item = edge.item
    if isinstance(item, Contact):
        shut = item.closed and (item.kind not in CLOSED_BY_HAND or when.closes[item.part] <= at)
        return shut and when.there(item.part, at) and (item.kind != "diode" or from_ == item.a)
    if isinstance(item, Link):
        return all(not part or when.there(part, at) for part in _parts(job, item.a, item.b))
    return when.there(item.id, at)


def _sources(job: Job, network: Network, when: Arrivals, at: int) -> tuple[str, ...]:
    """Posts that are live by themselves at a stage."""
    out = []
    battery = live_posts(job, network)
    for part in job.parts.values():
        if not when.there(part.id, at):
            continue
        pair = posts(part)
        if part.kind in ("battery", "panel") and pair:
            plus, minus = pair
            for post, other in ((plus, minus), (minus, plus)):
                if (post in battery or (part.kind == "panel" and post == plus)) and _wired(
                    job, network, when, at, other
                ):
                    out.append(post)
        elif part.kind == "feed" and part.word("state") == "live" and _feeding(job, part, when, at):
            out += part.terminals
    return tuple(out)


def _feeding(job: Job, part: Part, when: Arrivals, at: int) -> bool:
    origin = part.word("from")
    return origin not in job.parts or when.there(origin, at)


def _wired(job: Job, network: Network, when: Arrivals, at: int, post: str) -> bool:
    return any(_conducts(job, when, at, edge, post) for edge, _ in network.around(post) if edge.kind != "contact")


def bare_ends(job: Job, network: Network, when: Arrivals) -> tuple[BareEnd, ...]:
    """Every live bare end at the first stage that has it, in the order of the stages, then of the file.

    Ends in the air (`loose`, `capped`) are not meant: they do not change with the stage. An end in a shrouded half of
    a connector is not bare.
    """
    found: list[BareEnd] = []
    said: set[tuple[str, str]] = set()
    for at in range(len(when.order)):
        reached = live(job, network, when, at)
        for conductor in job.conductors.values():
            if not when.there(conductor.id, at):
                continue
            for end in (conductor.from_, conductor.to):
                missing, half = _open(job, network, when, at, end)
                if missing and end in reached and (conductor.id, end) not in said:
                    said.add((conductor.id, end))
                    lands = when.comes[missing]
                    found.append(BareEnd(at, conductor.id, end, missing, lands, reached[end], half))
    return tuple(found)


def _open(job: Job, network: Network, when: Arrivals, at: int, end: str) -> tuple[str, str]:
    """The part that an end still waits for, and the open half of a connector that it sits in; both '' where none."""
    part = job.part_of(end)
    if part is None or _shrouded(part, end):
        return "", ""
    if not when.there(part.id, at):
        return part.id, ""
    if part.kind in ("plug", "socket"):
        for edge, there in network.around(end):
            other = job.part_of(there)
            if isinstance(edge.item, Link) and edge.item.why == "mated" and other and not when.there(other.id, at):
                return other.id, end
    return "", ""


def _shrouded(part: Part, end: str) -> bool:
    if part.kind not in ("connector", "plug", "socket") or not part.has("shrouded"):
        return False
    halves = part.words("shrouded")
    return part.kind != "connector" or "both" in halves or any(end.startswith(f"{part.id}.{h}.") for h in halves)
