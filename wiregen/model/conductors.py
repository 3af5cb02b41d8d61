"""Conductors with their names, their defaults and their routes."""

from __future__ import annotations

from wiregen.findings import Mark
from wiregen.language.tree import Measure, Value
from wiregen.model.draft import Desk, Loose, Scope
from wiregen.model.facts import gather
from wiregen.model.job import Conductor, Fact, Leg
from wiregen.model.parts import Board, place_named
from wiregen.model.vocabulary import conductor_table
from wiregen.model.wires import Wire


def make_conductors(board: Board, wires: list[Wire], laid: list[tuple[str, str] | None]) -> dict[str, Conductor]:
    """All conductors, named and with their defaults, in order."""
    desk = board.desk
    made: dict[str, Conductor] = {}
    counts: dict[str, int] = {}
    for wire, ends in zip(wires, laid, strict=True):
        if wire.facts is None:
            continue
        id = _declared(desk, wire)
        if ends is None or (wire.name is not None and id is None):
            continue
        a, b = ends
        if a.endswith(":") and b.endswith(":"):
            what = wire.name.text if wire.name else "this conductor"
            desk.say(
                f"{what} has both ends in the air",
                wire.span,
                remedy="join one end to a terminal",
                through=wire.scope.through,
            )
            continue
        if a == b:
            what = wire.name.text if wire.name else "this conductor"
            desk.say(
                f"{what} begins and ends at {a}",
                wire.span,
                remedy="name the terminal at its other end",
                through=wire.scope.through,
            )
            continue
        named = id is not None
        if id is None:
            id = _made_up(counts, a, b)
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
            id,
            wire.name.span if wire.name else wire.span,
            "",
            facts,
            wire.scope.through,
            a,
            b,
            route,
            wire.cable,
            circuit.id if circuit else None,
            named,
            wire.a.span,
            wire.b.span,
        )
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


def _made_up(counts: dict[str, int], a: str, b: str) -> str:
    """`FROM--TO`, then `FROM--TO~2`."""
    base = f"{a.rstrip(':')}--{b.rstrip(':')}"
    number = counts[base] = counts.get(base, 0) + 1
    return base if number == 1 else f"{base}~{number}"


def _with_defaults(desk: Desk, wire: Wire, id: str) -> dict[str, Fact]:
    """The facts of a conductor: changes, its own, its cable's, the nearest `each`, the outer ones, its bundle's."""
    assert wire.facts is not None
    facts: dict[str, Fact] = {}
    for scope in reversed(list(wire.scope.up())):
        for each in scope.each:
            facts.update(each)
    facts.update(wire.facts)
    for change in desk.changes.pop(id.lower(), []):
        said = gather(desk, change.scope, conductor_table(), change.phrases, origin="change", subject=id)
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
        desk.unknown(
            "bundle",
            value.text,
            value.span,
            scope,
            desk.known(scope, "bundle"),
            f'declare it: bundle {value.text} "..."',
        )
    return None


def _route(desk: Desk, scope: Scope, facts: dict[str, Fact], id: str) -> tuple[Leg, ...]:
    """The places that a conductor runs through, with the length in each where it is said."""
    via = facts.get("via")
    if not via:
        return ()
    legs: list[Leg] = []
    lengths: list[float | None] = []
    at, values = 0, via.values
    while at < len(values):
        value = values[at]
        at += 1
        if value.kind != "name":
            desk.say(
                f"{value.text} stands before its place",
                value.span,
                remedy="write the place, then its length",
                through=scope.through,
            )
            continue
        length = None
        if at < len(values) and values[at].measure:
            measure = values[at].measure
            assert measure
            length = measure.value
            at += 1
        lengths.append(length)
        place = place_named(desk, scope, value)
        if place:
            legs.append(Leg(place, length, value.span))
    known = [length for length in lengths if length is not None]
    if known and len(known) == len(lengths):
        own = facts.get("length")
        if own is None:
            total = Value("quantity", f"{sum(known):g} m", via.span, _metres(sum(known)))
            facts["length"] = Fact("length", (total,), via.span, via.origin, via.through)
        elif (
            own.measure
            and abs(own.measure.value - sum(known)) > 0.0051
            and not (own.measure.low <= sum(known) <= own.measure.high)
        ):
            desk.say(
                f"{id} is {own.word} long, and its places add up to {sum(known):g} m",
                via.span,
                marks=(Mark(own.span, "said here"),),
                remedy="make the two agree",
                through=scope.through,
            )
    return tuple(legs)


def _metres(length: float) -> Measure:
    return Measure(length, length, length, "length", "m")
