"""Paths to conductors and links: tracing order, kit ends that dissolve, names of conductors without one."""

from __future__ import annotations

from typing import NamedTuple

from wiregen.findings import Mark, Span
from wiregen.language.tree import Core, Line, Measure, Path, Phrase, Station, Value
from wiregen.model.draft import Desk, Loose, PathDraft, Row, Scope
from wiregen.model.facts import conductor_facts, is_colour
from wiregen.model.job import Conductor, Fact, Leg, Part
from wiregen.model.parts import Board, place_named
from wiregen.model.stations import Node, Stop, find_stop
from wiregen.model.vocabulary import COLOURS


class Wire(NamedTuple):
    """A conductor, or (where `name` and `facts` are None) a join, between two nodes, before kit ends dissolve."""

    a: Node
    b: Node
    scope: Scope
    span: Span
    facts: dict[str, Fact] | None = None
    name: Value | None = None
    cable: str | None = None  # of which cable this is a core


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
        wires += _wires(board, path)
        _note_members(board, path)
        scope = path.draft.scope
        if scope.own_circuit and scope.circuit and not path.draft.row and len(wires) > begin:
            firsts.append((path, begin, len(wires)))
    laid = _dissolve(board, wires)
    conductors = _conductors(board, wires, laid)
    for path, begin, end in firsts:
        circuit = path.draft.scope.circuit
        assert circuit
        if not circuit.ends and laid[begin] and laid[end - 1]:
            circuit.ends[:] = [laid[begin][0], laid[end - 1][1]]  # type: ignore[index]
    return conductors


# ---------------------------------------------------------------- stops


def _stops(board: Board, draft: PathDraft) -> list[Stop]:
    path = draft.line.path
    assert path
    stops: list[Stop] = []
    last = len(path.stations) - 1
    for at, station in enumerate(path.stations):
        if at == 0 and draft.row:
            terminal = f"{draft.block}.{draft.row.way}"
            node = Node("terminal", terminal, station.span) if terminal in board.terminals else (
                Node("unknown", "", station.span)
            )
            stops.append(Stop(node, node, draft.block))
        else:
            stops.append(find_stop(board, station, draft.scope, at == 0, at == last))
    return stops


def _settle_sides(board: Board, traced: list[Traced]) -> None:
    """Decide which side of a two-sided part each path means: `in` is the side met first.

    A path that passes through arrives at `in` and leaves from `out`; one that ends there arrives at `in`, one that
    begins there leaves from `out`. Where two paths end there and none goes on, the second one means the other side.
    """
    visits: dict[tuple[str, str], list[tuple[Stop, Scope]]] = {}
    named = {stop.arrives.id for path in traced for stop in path.stops if not stop.sides}
    for path in traced:
        for stop in path.stops:
            if stop.unit and stop.sides:
                visits.setdefault(stop.unit, []).append((stop, path.draft.scope))
    for unit, stops in visits.items():
        roles = [stop.role for stop, _ in stops]
        a, b = stops[0][0].sides or (None, None)
        assert a and b
        alone = "through" not in roles and a.id not in named and b.id not in named
        if alone and len(stops) == 2 and len(set(roles)) == 1:
            (one, _), (two, _) = stops
            one.arrives = one.leaves = one.sides[0]  # type: ignore[index]
            two.arrives = two.leaves = two.sides[1]  # type: ignore[index]
            continue
        if alone and len(stops) > 2 and len(set(roles)) == 1:
            stop, scope = stops[1]
            word = "end at" if roles[0] == "last" else "begin at"
            board.desk.say(f"{len(stops)} paths {word} {unit[0]}, and none goes on from it", stop.span,
                           words="on which side?", marks=(Mark(stops[0][0].span, "the first one"),),
                           remedy=f"name the side: {a.id} or {b.id}".replace(" in", ".in"), through=scope.through)  # fmt: skip
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


# ---------------------------------------------------------------- wires


def _wires(board: Board, traced: Traced) -> list[Wire]:
    draft, stops = traced
    path = draft.line.path
    assert path
    if draft.row:
        return _way_wires(board, draft, stops, path)
    _after_path(board.desk, draft.line, draft.scope)
    wires: list[Wire] = []
    for at, link in enumerate(path.links):
        a, b = stops[at].leaves, stops[at + 1].arrives
        if isinstance(link, Core):
            wires += [_core(board, link, a, b, draft.scope)]
        else:
            wires.append(Wire(a, b, draft.scope, link.span))
    return wires


def _after_path(desk: Desk, line: Line, scope: Scope) -> None:
    """What stands after a path belongs to a part declared in its last station."""
    assert line.path
    last = line.path.stations[-1].values
    if line.phrases and not (len(last) > 1 and last[1].kind == "name"):
        phrase = line.phrases[0]
        desk.say(f"{' '.join(v.text for v in phrase.values)} has no meaning after a path", phrase.span,
                 remedy="what a conductor is stands in --[ ]--, what a part is where it is declared",
                 through=scope.through)  # fmt: skip


def _core(board: Board, link: Core, a: Node, b: Node, scope: Scope) -> Wire:
    said = conductor_facts(board.desk, scope, [p.values for p in link.phrases], origin="own",
                           subject=_subject(link.phrases), names=1)  # fmt: skip
    name = said.names[0] if said.names else None
    if name and "." in name.text:
        return _cable_core(board, name, said.facts, a, b, scope, link.span)
    return Wire(a, b, scope, link.span, said.facts, name)


def _subject(phrases: tuple[Phrase, ...]) -> str:
    """What a conductor is called in a message: its name where it has one."""
    first = phrases[0].values[0] if phrases and phrases[0].values else None
    if first and first.kind == "name" and not is_colour(first):
        return first.text
    return "this conductor"


def _cable_core(board: Board, name: Value, own: dict[str, Fact], a: Node, b: Node, scope: Scope, span: Span) -> Wire:
    """`--[C7.red]--`: one core of a cable."""
    desk = board.desk
    cable_name, _, core = name.text.rpartition(".")
    entry = desk.find(cable_name, scope)
    if not entry or entry.category != "cable":
        if not entry or entry.category != "broken":
            desk.unknown("cable", cable_name, name.span, scope, desk.known(scope, "cable"),
                         f"declare it: cable {cable_name} twin 6 mm2 2 m, cores red black")  # fmt: skip
        return Wire(a, b, scope, span, own, None)
    cable = desk.cables[entry.id]
    facts = {k: f for k, f in cable.facts.items() if k not in ("title", "cores", "screen", "form")}
    facts = {k: Fact(f.name, f.values, f.span, "cable", f.through) for k, f in facts.items()}
    cores = cable.facts["cores"].values if "cores" in cable.facts else ()
    spelt = next((v for v in cores if v.text.lower() == core.lower()), None)
    if core.lower() == "screen" and "screen" in cable.facts:
        pass
    elif spelt is not None:
        parts = spelt.text.lower().split("-")
        if spelt.text.lower() in COLOURS:
            facts["colour"] = Fact("colour", (spelt,), spelt.span, "cable", cable.scope.through)
        elif len(parts) == 2 and all(part in COLOURS for part in parts):
            both = Value("colours", "/".join(parts), spelt.span)
            facts["colour"] = Fact("colour", (both,), spelt.span, "cable", cable.scope.through)
    else:
        names = [v.text for v in cores] + (["screen"] if "screen" in cable.facts else [])
        remedy = f"its cores are {', '.join(names)}" if names else f"say them: cable {cable_name} ..., cores red black"
        desk.say(f"cable {cable.id} has no core {core}", name.span, marks=(Mark(cable.span, "declared here"),),
                 remedy=remedy, through=scope.through)  # fmt: skip
    return Wire(a, b, scope, span, {**facts, **own}, name, cable.id)


def _way_wires(board: Board, draft: PathDraft, stops: list[Stop], path: Path) -> list[Wire]:
    """The two conductors (or joins) of a way row: out to the load, back to the bar."""
    desk, scope, row = board.desk, draft.scope, draft.row
    assert row
    block = board.parts.get(draft.block)
    if len(path.links) > 1:
        desk.say("a way row has one pair of conductors to one load, and this one goes on", path.links[1].span,
                 remedy=f"end the row after the fuse, and trace the rest as a path from {draft.block}.{row.way}",
                 through=scope.through)  # fmt: skip
        return []
    link, stop = path.links[0], stops[1]
    bar = Node("terminal", f"{draft.block}.-", row.span)
    back = _back(board, draft, row)
    if back is not None:
        bar = back
    if stop.sides:
        out_end, back_begin = stop.sides
    else:
        out_end, back_begin = stop.arrives, None
    if not isinstance(link, Core):
        joins = [Wire(stops[0].leaves, out_end, scope, link.span)]
        return joins + ([Wire(back_begin, bar, scope, link.span)] if back_begin else [])
    said = conductor_facts(desk, scope, [p.values for p in link.phrases], origin="own",
                           subject=_subject(link.phrases), names=2)  # fmt: skip
    names = said.names
    colours = block.facts["wire"].values if block and "wire" in block.facts else ()
    out_facts, back_facts = dict(said.facts), dict(said.facts)
    if "colour" not in said.facts and colours and block:
        wire = block.facts["wire"]
        out_facts["colour"] = Fact("colour", (colours[0],), wire.span, wire.origin, wire.through)
        back_facts["colour"] = Fact("colour", (colours[-1],), wire.span, wire.origin, wire.through)
    made = [Wire(stops[0].leaves, out_end, scope, link.span, out_facts, names[0] if names else None)]
    if back_begin:
        made.append(Wire(back_begin, bar, scope, link.span, back_facts, names[1] if len(names) > 1 else None))
    elif len(names) > 1:
        desk.say(f"{names[1].text} has nowhere to come back from", names[1].span,
                 reason="only a load with two terminals has a conductor back", remedy="leave the second name out",
                 through=scope.through)  # fmt: skip
    return made


def _back(board: Board, draft: PathDraft, row: Row) -> Node | None:
    """Where a way row's return lands, if it says so."""
    line = draft.line
    for phrase in line.phrases:
        values = phrase.values
        if values and values[0].text.lower() == "back":
            if len(values) != 2:
                board.desk.say("back takes one terminal or busbar", values[0].span, remedy="write back NB1",
                               through=draft.scope.through)  # fmt: skip
                return None
            stop = find_stop(board, Station(values[1:], values[1].span), draft.scope, False, True)
            if stop.sides:
                board.desk.say(f"{values[1].text} has two sides", values[1].span, remedy="name a terminal or a busbar",
                               through=draft.scope.through)  # fmt: skip
                return None
            return stop.arrives
    return None


# ---------------------------------------------------------------- kit ends dissolve


def _dissolve(board: Board, wires: list[Wire]) -> list[tuple[str, str] | None]:
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
            board.desk.say(f"{air.id} is the end of a conductor, and -- is metal to metal", air.span,
                           remedy=f"write --[ ]-- {air.id}, or leave it out", through=wire.scope.through)  # fmt: skip
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


# ---------------------------------------------------------------- conductors


def _conductors(board: Board, wires: list[Wire], laid: list[tuple[str, str] | None]) -> dict[str, Conductor]:
    """All conductors, named and with their defaults, in order."""
    desk = board.desk
    made: dict[str, Conductor] = {}
    for wire, ends in zip(wires, laid, strict=True):
        if wire.facts is None:
            continue
        id = _declared(desk, wire)
        if ends is None or (wire.name is not None and id is None):
            continue
        a, b = ends
        if a.endswith(":") and b.endswith(":"):
            what = wire.name.text if wire.name else "this conductor"
            desk.say(f"{what} has both ends in the air", wire.span, remedy="join one end to a terminal",
                     through=wire.scope.through)  # fmt: skip
            continue
        if a == b:
            what = wire.name.text if wire.name else "this conductor"
            desk.say(f"{what} begins and ends at {a}", wire.span, remedy="name the terminal at its other end",
                     through=wire.scope.through)  # fmt: skip
            continue
        named = id is not None
        if id is None:
            id = _made_up(made, a, b)
        facts = _with_defaults(desk, wire, id)
        for node, end in ((wire.a, a), (wire.b, b)):
            if end == "capped:" and node.title is not None:
                facts["capped"] = Fact("capped", (node.title,), node.span, "own", wire.scope.through)
        if a.endswith(":"):
            a = board.add_terminal(a + id, "", "", wire.a.span, used=True)
        if b.endswith(":"):
            b = board.add_terminal(b + id, "", "", wire.b.span, used=True)
        route = _route(desk, wire.scope, facts, id)
        circuit = wire.scope.circuit
        if circuit:
            circuit.members[id] = None
        made[id] = Conductor(
            id, wire.name.span if wire.name else wire.span, "", facts, wire.scope.through, a, b, route, wire.cable,
            circuit.id if circuit else None, named, wire.a.span, wire.b.span,
        )  # fmt: skip
    return made


def _declared(desk: Desk, wire: Wire) -> str | None:
    """The id of a conductor that has a name; None where it has none or the name will not do."""
    if wire.name is None:
        return None
    if wire.cable is not None:
        _, _, core = wire.name.text.rpartition(".")
        cores = desk.cables[wire.cable].facts.get("cores")
        spelt = next((v.text for v in cores.values if v.text.lower() == core.lower()), core) if cores else core
        return desk.declare(wire.name, wire.scope, "conductor", id=f"{wire.cable}.{spelt}")
    return desk.declare(wire.name, wire.scope, "conductor")


def _made_up(made: dict[str, Conductor], a: str, b: str) -> str:
    base = f"{a.rstrip(':')}--{b.rstrip(':')}"
    id, number = base, 1
    while id in made:
        number += 1
        id = f"{base}~{number}"
    return id


def _with_defaults(desk: Desk, wire: Wire, id: str) -> dict[str, Fact]:
    """The facts of a conductor: changes, its own, its cable's, the nearest `each`, the outer ones, its bundle's."""
    assert wire.facts is not None
    facts: dict[str, Fact] = {}
    for scope in reversed(list(wire.scope.up())):
        for each in scope.each:
            facts.update(each)
    facts.update(wire.facts)
    for change in desk.changes.pop(id.lower(), []):
        said = conductor_facts(desk, change.scope, [p.values for p in change.phrases], origin="change", subject=id)
        facts.update(said.facts)
    bundle = facts.get("bundle")
    if bundle and bundle.values:
        loose = _bundle(desk, wire.scope, bundle.values[0])
        if loose and "via" in loose.facts:
            facts.setdefault("via", loose.facts["via"])
        for cover in ("conduit", "sheath", "sleeve"):
            if loose and cover in loose.facts:
                span = loose.facts[cover].span
                facts.setdefault("in", Fact("in", (Value("name", cover, span),), span, "own", loose.scope.through))
    return facts


def _bundle(desk: Desk, scope: Scope, value: Value) -> Loose | None:
    entry = desk.find(value.text, scope)
    if entry and entry.category == "bundle":
        return desk.bundles[entry.id]
    if not entry or entry.category != "broken":
        desk.unknown("bundle", value.text, value.span, scope, desk.known(scope, "bundle"),
                     f'declare it: bundle {value.text} "..."')  # fmt: skip
    return None


def _route(desk: Desk, scope: Scope, facts: dict[str, Fact], id: str) -> tuple[Leg, ...]:
    """The places that a conductor runs through, with the length in each where it is said."""
    via = facts.get("via")
    if not via:
        return ()
    legs: list[Leg] = []
    at, values = 0, via.values
    while at < len(values):
        value = values[at]
        at += 1
        if value.kind != "name":
            desk.say(f"{value.text} stands before its place", value.span, remedy="write the place, then its length",
                     through=scope.through)  # fmt: skip
            continue
        length = None
        if at < len(values) and values[at].measure:
            measure = values[at].measure
            assert measure
            length = measure.value
            at += 1
        place = place_named(desk, scope, value)
        if place:
            legs.append(Leg(place, length, value.span))
    lengths = [leg.length_m for leg in legs]
    known = [length for length in lengths if length is not None]
    if known and len(known) == len(lengths):
        own = facts.get("length")
        if own is None:
            total = Value("quantity", f"{sum(known):g} m", via.span, _metres(sum(known)))
            facts["length"] = Fact("length", (total,), via.span, via.origin, via.through)
        elif own.measure and abs(own.measure.value - sum(known)) > 0.0051 and not (
            own.measure.low <= sum(known) <= own.measure.high
        ):
            desk.say(f"{id} is {own.word} long, and its places add up to {sum(known):g} m", via.span,
                     marks=(Mark(own.span, "said here"),), remedy="make the two agree", through=scope.through)  # fmt: skip
    return tuple(legs)


def _metres(length: float) -> Measure:
    return Measure(length, length, length, "length", "m")

