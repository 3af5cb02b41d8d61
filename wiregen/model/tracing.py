"""Poles of one connector traced against each other: their sides a and b would not lie on the same half."""

from __future__ import annotations

from wiregen.findings import Mark, Span
from wiregen.model.job import Conductor, Part
from wiregen.model.parts import ANY_STUD, Board
from wiregen.model.vocabulary import KINDS

FARTHEST = 200  # terminals walked over; a chain that is longer is not judged


def check_tracing(board: Board, conductors: dict[str, Conductor]) -> None:
    """Say where a connector's poles are traced in opposite directions.

    From each side of a pole one walks outwards, through what passes current on (fuses, switches, splices, busbars,
    other connectors), to the first parts that do not. Two poles lie against each other where one's side a leads
    where the other's side b leads, and the other way round, and neither leads where the same side of the other does.
    """
    connectors = [part for part in board.parts.values() if part.kind == "connector" and len(part.contacts) > 1]
    if not connectors:
        return
    near: dict[str, list[str]] = {}
    for a, b in [(c.from_, c.to) for c in conductors.values()] + [(x.a, x.b) for x in board.links.values()]:
        near.setdefault(a, []).append(b)
        near.setdefault(b, []).append(a)
    for part in connectors:
        _check(board, part, near, conductors)


def _check(board: Board, part: Part, near: dict[str, list[str]], conductors: dict[str, Conductor]) -> None:
    own = set(part.terminals)
    reach = [(c, _reach(board, c.a, near, own), _reach(board, c.b, near, own)) for c in part.contacts]
    used = [row for row in reach if row[1] and row[2]]
    if not used:
        return
    first, a, b = used[0]
    for pole, other_a, other_b in used[1:]:
        if a & other_b and b & other_a and not a & other_a and not b & other_b:
            wires = [c for c in conductors.values() if pole.a in (c.from_, c.to) or pole.b in (c.from_, c.to)]
            firsts = [c for c in conductors.values() if first.a in (c.from_, c.to)]
            span = _where(wires[0], part.id) if wires else part.span
            board.desk.say(
                f"the poles {first.name} and {pole.name} of {part.id} are traced against each other",
                span,
                words=f"side a of {pole.name} is met first here",
                reason="side a is the side met first, and both poles' sides a lie on one half of the connector",
                marks=(Mark(_where(firsts[0], part.id), f"side a of {first.name}"),) if firsts else (),
                remedy=f"trace both from the same half, or name the sides: {part.id}.a.{pole.name}, "
                f"{part.id}.b.{pole.name}",
            )


def _where(conductor: Conductor, part: str) -> Span:
    """Where the path names the connector."""
    inside = conductor.to.startswith(part + ".")
    return (conductor.to_span if inside else conductor.from_span) or conductor.span


def _reach(board: Board, start: str, near: dict[str, list[str]], own: set[str]) -> frozenset[str]:
    """The first parts beyond a terminal that pass nothing on."""
    found: set[str] = set()
    seen = {start}
    open_ = [start]
    while open_:
        if len(seen) > FARTHEST:
            return frozenset()
        for other in near.get(open_.pop(), ()):
            if other in seen or other in own:
                continue
            seen.add(other)
            part = board.parts.get(board.terminals[other].part)
            if part is None:
                continue
            through = [c for c in part.contacts if c.kind != "solid" and other in (c.a, c.b)]
            if part.kind in ANY_STUD:
                fresh = [t for t in part.terminals if t not in seen]
            elif through and (part.kind == "connector" or "pass" in KINDS[part.kind]):
                fresh = [c.b if other == c.a else c.a for c in through]
            else:
                found.add(part.id)
                continue
            seen.update(fresh)
            open_ += fresh
            open_.append(other)
    return frozenset(found)
