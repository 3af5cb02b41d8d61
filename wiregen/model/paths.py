"""Paths to conductors and links: what each station means, and which side of a two-sided part is met first."""

from __future__ import annotations

from typing import NamedTuple

from wiregen.findings import Mark
from wiregen.model.conductors import make_conductors
from wiregen.model.draft import PathDraft, Scope
from wiregen.model.job import Conductor
from wiregen.model.landing import land_all
from wiregen.model.parts import Board
from wiregen.model.stations import Node, Stop, find_stop, shown
from wiregen.model.wires import Wire, wires_of


class Traced(NamedTuple):
    """A path whose stops are known."""

    draft: PathDraft
    stops: list[Stop]


def trace(board: Board) -> dict[str, Conductor]:
    """Trace all paths, in order; returns the conductors, and puts links and studs on the board."""
    traced = [Traced(draft, _stops(board, draft)) for draft in board.desk.paths]
    _settle_sides(board, traced)
    wires: list[Wire] = []
    firsts: list[tuple[Traced, int, int]] = []  # each circuit's first path with its wires
    for path in traced:
        begin = len(wires)
        wires += wires_of(board, path.draft, path.stops)
        _note_members(board, path)
        scope = path.draft.scope
        if scope.own_circuit and scope.circuit and not path.draft.row and len(wires) > begin:
            firsts.append((path, begin, len(wires)))
    laid = land_all(board, wires)
    conductors = make_conductors(board, wires, laid)
    for path, begin, end in firsts:
        circuit = path.draft.scope.circuit
        assert circuit
        if not circuit.ends and laid[begin] and laid[end - 1]:
            fed = _fed(board, path)
            circuit.ends[:] = [laid[begin][0], fed or laid[end - 1][1]]  # type: ignore[index]
    return conductors


def _fed(board: Board, path: Traced) -> str:
    """The positive terminal of the first load that a path goes through, out and back in one line: there a circuit
    ends, not where the return lands."""
    for stop in path.stops[1:-1]:
        if stop.part in board.parts and stop.role == "through" and stop.arrives.id == f"{stop.part}.+":
            return stop.arrives.id
    return ""


def _stops(board: Board, draft: PathDraft) -> list[Stop]:
    path = draft.line.path
    assert path
    stops: list[Stop] = []
    last = len(path.stations) - 1
    for at, station in enumerate(path.stations):
        if at == 0 and draft.row:
            terminal = f"{draft.block}.{draft.row.way}"
            node = (
                Node("terminal", terminal, station.span)
                if terminal in board.terminals
                else (Node("unknown", "", station.span))
            )
            stops.append(Stop(node, node, draft.block))
        else:
            stops.append(find_stop(board, station, draft.scope, at == 0, at == last))
    return stops


def _settle_sides(board: Board, traced: list[Traced]) -> None:
    """Decide which side of a two-sided part each path means: `in` is the side met first.

    A path that passes through arrives at `in` and leaves from `out`; one that ends there arrives at `in`, one that
    begins there leaves from `out`. Where two paths end there and none goes on, the second one means the other side;
    where one side is named elsewhere, or sits on a post, paths that only end there mean the side that is free.
    """
    visits: dict[tuple[str, str], list[tuple[Stop, Scope]]] = {}
    named = {stop.arrives.id for path in traced for stop in path.stops if not stop.sides}
    named.update(end for link in board.links.values() for end in (link.a, link.b))  # mounted, or in a fuse block
    for path in traced:
        for stop in path.stops:
            if stop.unit and stop.sides:
                visits.setdefault(stop.unit, []).append((stop, path.draft.scope))
    board.traced.update((part, pole.lower()) for part, pole in visits)
    for unit, stops in visits.items():
        roles = [stop.role for stop, _ in stops]
        a, b = stops[0][0].sides or (None, None)
        assert a and b
        taken = a.id in named, b.id in named
        if roles[0] != "through" and len(set(roles)) == 1 and taken[0] != taken[1]:
            for stop, _ in stops:
                assert stop.sides
                stop.arrives = stop.leaves = stop.sides[1 if taken[0] else 0]
            continue
        alone = "through" not in roles and not any(taken)
        if alone and len(stops) == 2 and len(set(roles)) == 1:
            (one, _), (two, _) = stops
            one.arrives = one.leaves = one.sides[0]  # type: ignore[index]
            two.arrives = two.leaves = two.sides[1]  # type: ignore[index]
            continue
        if alone and len(stops) > 2 and len(set(roles)) == 1:
            stop, scope = stops[1]
            word = "end at" if roles[0] == "last" else "begin at"
            board.desk.say(
                f"{len(stops)} paths {word} {unit[0]}, and none goes on from it",
                stop.span,
                words="on which side?",
                marks=(Mark(stops[0][0].span, "the first one"),),
                remedy=f"name the side: {shown(a)} or {shown(b)}",
                through=scope.through,
            )
        for stop, _ in stops:
            assert stop.sides
            if stop.role == "last":
                stop.leaves = stop.sides[0]
            elif stop.role == "first":
                stop.arrives = stop.sides[1]


def _note_members(board: Board, path: Traced) -> None:
    circuit = path.draft.scope.circuit
    if circuit:
        for stop in path.stops:
            if stop.part and stop.part in board.parts:
                circuit.members[stop.part] = None
