"""The links of a path one by one: joins, conductors, cores of cables, the pair of a way row."""

from __future__ import annotations

from typing import NamedTuple

from wiregen.findings import Mark, Span
from wiregen.language.tree import Core, Line, Path, Phrase, Station, Value
from wiregen.model.draft import Desk, PathDraft, Row, Scope
from wiregen.model.facts import gather
from wiregen.model.job import Fact
from wiregen.model.parts import Board
from wiregen.model.stations import Node, Stop, find_stop
from wiregen.model.values import is_colour
from wiregen.model.vocabulary import COLOURS, KINDS, conductor_table
from wiregen.model.ways import is_back


class Wire(NamedTuple):
    """A conductor, or (where `name` and `facts` are None) a join, between two nodes, before kit ends dissolve."""

    a: Node
    b: Node
    scope: Scope
    span: Span
    facts: dict[str, Fact] | None = None
    name: Value | None = None
    cable: str | None = None  # of which cable this is a core


def wires_of(board: Board, draft: PathDraft, stops: list[Stop]) -> list[Wire]:
    """The joins and conductors of one path, from station to station."""
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
    phrases = [phrase for phrase in line.phrases if not (line.label and is_back(phrase))]
    if phrases and not (len(last) > 1 and last[1].kind == "name"):
        phrase = phrases[0]
        desk.say(
            f"{' '.join(v.text for v in phrase.values)} has no meaning after a path",
            phrase.span,
            remedy="what a conductor is stands in --[ ]--, what a part is where it is declared",
            through=scope.through,
        )


def _core(board: Board, link: Core, a: Node, b: Node, scope: Scope) -> Wire:
    said = gather(
        board.desk, scope, conductor_table(), link.phrases, origin="own", subject=_subject(link.phrases), names=1
    )
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
            desk.unknown(
                "cable",
                cable_name,
                name.span,
                scope,
                desk.known(scope, "cable"),
                f"declare it: cable {cable_name} twin 6 mm2 2 m, cores red black",
            )
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
        desk.say(
            f"cable {cable.id} has no core {core}",
            name.span,
            marks=(Mark(cable.span, "declared here"),),
            remedy=remedy,
            through=scope.through,
        )
    return Wire(a, b, scope, span, {**facts, **own}, name, cable.id)


def _way_wires(board: Board, draft: PathDraft, stops: list[Stop], path: Path) -> list[Wire]:
    """The two conductors (or joins) of a way row: out to the load, back to the bar."""
    desk, scope, row = board.desk, draft.scope, draft.row
    assert row
    block = board.parts.get(draft.block)
    if len(path.links) > 1:
        desk.say(
            "a way row has one pair of conductors to one load, and this one goes on",
            path.links[1].span,
            remedy=f"end the row after the fuse, and trace the rest as a path from {draft.block}.{row.way}",
            through=scope.through,
        )
        return []
    _after_path(desk, draft.line, scope)
    link, stop = path.links[0], stops[1]
    bar = Node("terminal", f"{draft.block}.-", row.span)
    back = _back(board, draft, row)
    if back is not None:
        bar = back
    out_end, back_begin = stop.arrives, None
    if stop.sides and stop.part and KINDS[board.parts[stop.part].kind].get("pass") == ["+", "-"]:
        out_end, back_begin = stop.sides
    elif back is not None:
        desk.say(
            "nothing comes back from here",
            stop.span,
            reason="only a load with two terminals has a conductor back",
            remedy="leave `back` out",
            through=scope.through,
        )
    if not isinstance(link, Core):
        joins = [Wire(stops[0].leaves, out_end, scope, link.span)]
        return joins + ([Wire(back_begin, bar, scope, link.span)] if back_begin else [])
    said = gather(desk, scope, conductor_table(), link.phrases, origin="own", subject=_subject(link.phrases), names=2)
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
        desk.say(
            f"{names[1].text} has nowhere to come back from",
            names[1].span,
            reason="only a load with two terminals has a conductor back",
            remedy="leave the second name out",
            through=scope.through,
        )
    return made


def _back(board: Board, draft: PathDraft, row: Row) -> Node | None:
    """Where a way row's return lands, if it says so."""
    line = draft.line
    for phrase in line.phrases:
        values = phrase.values
        if is_back(phrase):
            if len(values) != 2:
                board.desk.say(
                    "back takes one terminal or busbar",
                    values[0].span,
                    remedy="write back NB1",
                    through=draft.scope.through,
                )
                return None
            stop = find_stop(board, Station(values[1:], values[1].span), draft.scope, False, True)
            if stop.sides:
                board.desk.say(
                    f"{values[1].text} has two sides",
                    values[1].span,
                    remedy="name a terminal or a busbar",
                    through=draft.scope.through,
                )
                return None
            return stop.arrives
    return None
