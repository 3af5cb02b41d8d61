"""Poles of one connector traced against each other: their sides a and b would not lie on the same half."""

from __future__ import annotations

from typing import NamedTuple

from wiregen.findings import Mark, Span
from wiregen.model.job import Conductor, Contact, Part
from wiregen.model.parts import ANY_STUD, Board
from wiregen.model.vocabulary import KINDS

FARTHEST = 200  # terminals walked over; a chain that is longer is not judged


class Reach(NamedTuple):
    """Where the two sides of a pole lead: to which parts, straight or over busbars and splices too."""

    pole: Contact
    a: frozenset[str]
    b: frozenset[str]
    wide_a: frozenset[str]
    wide_b: frozenset[str]


def check_tracing(board: Board, conductors: dict[str, Conductor]) -> None:
    """Say where a connector's poles are traced in opposite directions; where the sides are named they are believed.

    From each side of a pole one walks outwards, through what passes current on (fuses, switches, other connectors),
    to the first parts that do not; the parts on the way count too. Two poles lie against each other
    where one's side a leads where the other's side b leads, and no side leads where the same side of the other does.
    """
    connectors = [part for part in board.parts.values() if part.kind == "connector" and len(part.contacts) > 1]
    if not connectors:
        return
    near: dict[str, list[str]] = {}
    for a, b in [(c.from_, c.to) for c in conductors.values()] + [(x.a, x.b) for x in board.links.values()]:
        near.setdefault(a, []).append(b)
        near.setdefault(b, []).append(a)
    for part in connectors:
        own = set(part.terminals)
        reach = [
            Reach(c, *(_reach(board, end, near, own, wide=wide) for wide in (False, True) for end in (c.a, c.b)))
            for c in part.contacts
            if (part.id, c.name.lower()) in board.traced
        ]
        first = next((row for row in reach if row.wide_a or row.wide_b), None)
        for row in reach:
            if first and row is not first and _against(first, row):
                _say(board, part, first.pole, row.pole, conductors)


def _against(one: Reach, two: Reach) -> bool:
    """Whether two poles are traced against each other."""
    if one.wide_a & two.wide_a or one.wide_b & two.wide_b:
        return False
    return bool(one.a & two.b or one.b & two.a or (one.wide_a & two.wide_b and one.wide_b & two.wide_a))


def _say(board: Board, part: Part, first: Contact, pole: Contact, conductors: dict[str, Conductor]) -> None:
    wires = [c for c in conductors.values() if pole.a in (c.from_, c.to) or pole.b in (c.from_, c.to)]
    firsts = [c for c in conductors.values() if first.a in (c.from_, c.to)]
    board.desk.say(
        f"the poles {first.name} and {pole.name} of {part.id} are traced against each other",
        _where(wires[0], part.id) if wires else part.span,
        words=f"side a of {pole.name} is met first here",
        reason="side a is the side met first, and both poles' sides a lie on one half of the connector",
        marks=(Mark(_where(firsts[0], part.id), f"side a of {first.name}"),) if firsts else (),
        remedy=f"trace both from the same half, or name the sides: {part.id}.a.{pole.name}, {part.id}.b.{pole.name}",
    )


def _where(conductor: Conductor, part: str) -> Span:
    """Where the path names the connector."""
    inside = conductor.to.startswith(part + ".")
    return (conductor.to_span if inside else conductor.from_span) or conductor.span


def _reach(board: Board, start: str, near: dict[str, list[str]], own: set[str], *, wide: bool) -> frozenset[str]:
    """The first parts beyond a terminal that pass nothing on; parts that are passed through count too."""
    found: set[str] = set()
    seen = {start}
    open_ = [start]
    while open_:
        if len(seen) > FARTHEST:
            return frozenset()
        for other in near.get(open_.pop(), ()):
            if other in seen:
                continue
            seen.add(other)
            part = board.parts.get(board.terminals[other].part)
            if part is None or other in own:
                continue
            through = [c for c in part.contacts if c.kind != "solid" and other in (c.a, c.b)]
            if part.kind in ANY_STUD:
                fresh = [t for t in part.terminals if t not in seen] if wide else []
            elif through and (part.kind == "connector" or "pass" in KINDS[part.kind]):
                fresh = [c.b if other == c.a else c.a for c in through]
            else:
                found.add(part.id)
                continue
            if part.kind not in ANY_STUD:
                found.add(part.id)
            seen.update(fresh)
            open_ += fresh
            open_.append(other)
    return frozenset(found)
