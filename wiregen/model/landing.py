"""Where each end of a wire lands: studs in order of mention, earths of a body, kit ends that dissolve."""

from __future__ import annotations

from wiregen.language.tree import Value
from wiregen.model.job import Fact, Part
from wiregen.model.parts import Board
from wiregen.model.stations import Node
from wiregen.model.wires import Wire


def land_all(board: Board, wires: list[Wire]) -> list[tuple[str, str] | None]:
    """Terminals for the two ends of each wire; None where one could not be understood.

    All that meets at a kit's end, by `--`, is one point: conductors that end there land on the first real terminal
    of it, further terminals are linked. Where only conductors meet, the end is a splice of its own; where a single
    conductor is left, it ends in the air. Returns one pair of terminal ids a wire; links go on the board.
    """
    leader: dict[str, str] = {}

    def lead(end: str) -> str:
        while leader.setdefault(end, end) != end:
            end = leader[end]
        return end

    for wire in wires:
        if wire.facts is None and wire.a.kind == "end" and wire.b.kind == "end":
            leader[lead(wire.b.id)] = lead(wire.a.id)
    real: dict[str, Node] = {}  # leading end -> the first real terminal at it
    conductors: dict[str, int] = {}
    for wire in wires:
        for one, other in ((wire.a, wire.b), (wire.b, wire.a)):
            if one.kind == "end":
                if wire.facts is not None:
                    conductors[lead(one.id)] = conductors.get(lead(one.id), 0) + 1
                elif other.kind in ("terminal", "stud", "body"):
                    real.setdefault(lead(one.id), other)
    shared: dict[str, str] = {}  # leading end -> the terminal it became, where it is no busbar

    def land(node: Node, wire: Wire) -> str | None:
        """The terminal that a node is, for one more thing that lands there."""
        if node.kind == "unknown" or node.kind == "air":
            return None if node.kind == "unknown" else f"{node.id}:"
        if node.kind == "terminal":
            board.use(node.id, node.span)
            return node.id
        if node.kind == "stud":
            return board.stud(node.id, node.span)
        if node.kind == "body":
            return _earth(board, node)
        end = lead(node.id)
        target = real.get(end)
        if target is not None and target.kind == "stud":
            return board.stud(target.id, node.span)
        if end not in shared:
            if target is not None:
                shared[end] = land(target, wire) or ""
            elif conductors.get(end, 0) > 1:
                shared[end] = _splice(board, node, end)
            else:
                return "loose:"
        return shared[end]

    laid: list[tuple[str, str] | None] = []
    for wire in wires:
        if wire.facts is not None:
            a, b = land(wire.a, wire), land(wire.b, wire)
            laid.append((a, b) if a and b else None)
            continue
        ends = [node for node in (wire.a, wire.b) if node.kind == "end"]
        if len(ends) == 2:
            laid.append(None)
            continue
        if "air" in (wire.a.kind, wire.b.kind):
            air = wire.a if wire.a.kind == "air" else wire.b
            board.desk.say(
                f"{air.id} is the end of a conductor, and -- is metal to metal",
                air.span,
                remedy=f"write --[ ]-- {air.id}, or leave it out",
                through=wire.scope.through,
            )
            laid.append(None)
            continue
        if ends:
            other = wire.b if wire.a.kind == "end" else wire.a
            if real.get(lead(ends[0].id)) is other:
                end = land(ends[0], wire) if other.kind != "stud" else None
                laid.append((end, end) if end else None)
                continue
        a, b = land(wire.a, wire), land(wire.b, wire)
        if a and b:
            board.link(a, b, "dissolved" if ends else "joined", wire.span, wire.scope.through)
        laid.append((a, b) if a and b else None)
    return laid


def _earth(board: Board, node: Node) -> str:
    """A place on a body where something lands: an earth of its own, `chassis.1`."""
    studs = board.studs[node.id]
    number = len(studs) + 1
    while f"{node.id}.{number}".lower() in board.by_low:
        number += 1
    id = f"{node.id}.{number}"
    studs.append(id)
    body = board.desk.parts[node.id]
    on = Value("name", body.id, node.span)
    facts = {"on": Fact("on", (on,), node.span, "own", body.scope.through)}
    board.parts[id] = Part(id, node.span, "", facts, body.scope.through, "earth", "earth", None, (id,))
    return board.add_terminal(id, id, "", node.span, used=True)


def _splice(board: Board, node: Node, end: str) -> str:
    """Two conductors that meet at a kit's end: a splice that the netlist implies."""
    kit, _, name = end.partition(" ")
    use = board.desk.uses[kit]
    id = f"{kit}.{use.ends[name]}"
    if id not in board.terminals:
        board.parts[id] = Part(id, node.span, "", {}, (), "splice", "splice", None, (id,))
        board.add_terminal(id, id, "", node.span, used=True)
    return id
