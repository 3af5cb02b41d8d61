"""The stops of a path: which terminals a word between two links means."""

from __future__ import annotations

from typing import Literal, NamedTuple

from wiregen.findings import Span
from wiregen.language.tree import Station, Value
from wiregen.model.draft import Desk, KitUse, Scope
from wiregen.model.job import Part
from wiregen.model.parts import Board
from wiregen.model.spelling import close
from wiregen.model.vocabulary import KINDS, OTHER_ENDS, OTHER_WORDS

NodeKind = Literal["terminal", "stud", "body", "end", "air", "unknown"]


class Node(NamedTuple):
    """Where a link or conductor lands. `id`: a terminal, a part with studs, a body, `kit end`, loose or capped."""

    kind: NodeKind
    id: str
    span: Span
    title: Value | None = None  # why a capped end is stowed


class Stop:
    """One station of a path: where the path arrives and where it goes on.

    A two-sided part named without terminal has its `sides`, the one met first in front; which of them a path that
    ends there means is known when all paths have been seen.
    """

    __slots__ = ("arrives", "leaves", "part", "role", "sides", "span", "unit")

    def __init__(self, arrives: Node, leaves: Node, part: str = "") -> None:
        self.arrives = arrives
        self.leaves = leaves
        self.span = arrives.span
        self.part = part  # whose it is, `` where it is no part's
        self.unit: tuple[str, str] | None = None
        self.sides: tuple[Node, Node] | None = None
        self.role: Literal["", "through", "first", "last"] = ""


def shown(node: Node) -> str:
    """A node's name as the user writes it."""
    return node.id.replace(" ", ".")


def unknown(span: Span) -> Stop:
    """A stop that could not be understood."""
    node = Node("unknown", "", span)
    return Stop(node, node)


def find_stop(board: Board, station: Station, scope: Scope, first: bool, last: bool) -> Stop:
    """What one station means; a finding where it means nothing."""
    desk = board.desk
    values = station.values
    value = values[0]
    if value.kind == "missing":
        return unknown(station.span)
    word = value.text.lower() if value.kind == "name" else ""
    if word in ("loose", "capped"):
        return _in_air(desk, station, scope, word, first or last)
    if len(values) == 2 and word and values[1].kind == "sign":
        meant = f"{value.text}.{values[1].text}"
        desk.say(
            f"{value.text} {values[1].text} is read as {meant}",
            station.span,
            remedy=f"write a terminal with its dot: {meant}",
            repaired=True,
            through=scope.through,
        )
        value = Value("name", meant, station.span)
    elif len(values) > 1 and values[1].kind == "name" and _declares(desk, word, scope):
        value = values[1]
    elif len(values) > 1:
        _say_crowd(desk, station, scope)
    if value.kind != "name":
        desk.say(
            f"a path stops at parts and terminals, and {value.text} is neither",
            value.span,
            remedy="name a part or a terminal, such as aux.+; what a conductor is stands in --[ ]--",
            through=scope.through,
        )
        return unknown(value.span)
    stop = _named(board, value, scope)
    if stop.sides:
        stop.role = "first" if first else "last" if last else "through"
    elif (
        not first and not last and stop.part and board.parts.get(stop.part) and (board.parts[stop.part].kind == "feed")
    ):
        desk.say(
            f"{value.text} is a feed, and a path does not pass through it",
            value.span,
            remedy=f"end the path at {value.text} and begin another one there",
            through=scope.through,
        )
    return stop


def _declares(desk: Desk, word: str, scope: Scope) -> bool:
    return (word in KINDS or word in desk.types) and not desk.find(word, scope)


def _in_air(desk: Desk, station: Station, scope: Scope, word: str, at_end: bool) -> Stop:
    titles = [v for v in station.values[1:] if v.kind == "title"]
    for value in station.values[1:]:
        if value.kind != "title":
            desk.say(
                f"{value.text} has no meaning after {word}",
                value.span,
                remedy='write capped "why", or loose alone',
                through=scope.through,
            )
    if not at_end:
        desk.say(
            f"{word} stands at the end of a path",
            station.values[0].span,
            remedy="begin another path after it",
            through=scope.through,
        )
        return unknown(station.span)
    node = Node("air", word, station.values[0].span, titles[0] if titles else None)
    return Stop(node, node)


def _say_crowd(desk: Desk, station: Station, scope: Scope) -> None:
    first, second = station.values[:2]
    if second.kind == "name" and desk.find(second.text.split(".")[0], scope):
        desk.say(
            f"{first.text} and {second.text} stand side by side in a path",
            second.span,
            remedy=f"join them with --, as in {first.text} -- {second.text}, or with a conductor --[ ]--",
            through=scope.through,
        )
    else:
        desk.say(
            f"{second.text} has no meaning after {first.text} in a path",
            second.span,
            remedy="a station of a path is one part or terminal; facts stand where the part is declared",
            through=scope.through,
        )


def _named(board: Board, value: Value, scope: Scope) -> Stop:
    """The stop of a name, looked up inside the kit first, then outwards."""
    desk = board.desk
    low = value.text.lower()
    if scope.kit and low in scope.kit.ends:
        node = Node("end", f"{scope.kit.id} {low}", value.span)
        return Stop(node, node)
    pieces = low.split(".")
    stop: Stop | None
    for prefix in scope.prefixes():
        for count in range(1, len(pieces) + 1):
            entry = desk.names.get(prefix.lower() + ".".join(pieces[:count]))
            if entry is None:
                continue
            rest = ".".join(value.text.split(".")[count:])
            if entry.category == "part":
                stop = _on_part(
                    board,
                    entry.id,
                    rest,
                    value,
                    scope,
                    sure=count == len(pieces) or not _deeper(desk, prefix, pieces, count),
                )
            elif entry.category == "kit":
                stop = _on_kit(desk, desk.uses[entry.id], rest, value, scope, sure=count == len(pieces))
            elif entry.category == "broken":
                return unknown(value.span)
            else:
                stop = None
                if count == len(pieces):
                    remedy = (
                        f"write it in a link: --[{value.text}]--"
                        if entry.category in ("conductor", "cable")
                        else ("name a part or a terminal here")
                    )
                    desk.say(
                        f"{value.text} is a {entry.category}, and paths stop only at parts and terminals",
                        value.span,
                        remedy=remedy,
                        through=scope.through,
                    )
                    return unknown(value.span)
            if stop:
                return stop
    _say_unknown(board, value, scope)
    return unknown(value.span)


def _deeper(desk: Desk, prefix: str, pieces: list[str], count: int) -> bool:
    """Whether a longer part of a dotted name is declared too."""
    return any(prefix.lower() + ".".join(pieces[:more]) in desk.names for more in range(count + 1, len(pieces) + 1))


def _on_part(board: Board, id: str, rest: str, value: Value, scope: Scope, *, sure: bool) -> Stop | None:
    """A stop on a part; None (where not `sure`) if it has no such terminal."""
    desk = board.desk
    if id in board.studs:
        kind: NodeKind = "stud" if id in board.parts else "body"
        if not rest:
            node = Node(kind, id, value.span)
            return Stop(node, node, id)
        if rest.isdigit() and 0 < int(rest) < 1000 and kind == "stud":
            terminal = f"{id}.{int(rest)}"
            if terminal.lower() not in board.by_low:
                board.add_stud(id, terminal, str(int(rest)), value.span)
            node = Node("terminal", board.by_low[terminal.lower()], value.span)
            return Stop(node, node, id)
        if sure:
            what = "a body has no terminals" if kind == "body" else "its studs are numbered"
            desk.say(
                f"{id} has no terminal {rest}",
                value.span,
                reason=what,
                remedy=f"write {id} alone",
                through=scope.through,
            )
            return unknown(value.span)
        return None
    part = board.parts.get(id)
    if part is None:
        return unknown(value.span) if sure else None
    if rest:
        return _on_terminal(board, part, rest, value, scope, sure)
    if len(part.terminals) == 1:
        node = Node("terminal", part.terminals[0], value.span)
        return Stop(node, node, id)
    passed = _passed(part)
    if passed:
        return _two_sided(id, "", passed, value)
    if part.kind == "connector" and len(part.terminals) == 2:
        return _two_sided(id, part.contacts[0].name, (part.terminals[0], part.terminals[1]), value)
    if part.kind == "connector":
        names = [f"{id}.{contact.name}" for contact in part.contacts]
        desk.say(
            f"{id} is a connector with {len(names)} poles",
            value.span,
            words="which pole?",
            remedy="name a pole: " + ", ".join(names),
            through=scope.through,
        )
    elif not part.terminals:
        desk.say(f"{id} has no terminals", value.span, remedy="leave it out of the path", through=scope.through)
    else:
        several = "posts" if part.kind == "battery" else "studs" if part.kind == "charger" else "terminals"
        desk.say(
            f"{id} is {KINDS[part.kind]['means']} with several {several}",
            value.span,
            words="which one?",
            remedy="name one: " + ", ".join(part.terminals),
            through=scope.through,
        )
    return unknown(value.span)


def _passed(part: Part) -> tuple[str, str] | None:
    """The two terminals between which a path passes through a part."""
    ends = [f"{part.id}.{end}" for end in KINDS[part.kind].get("pass", ())]
    if not ends:
        return None
    if all(end in part.terminals for end in ends):
        return ends[0], ends[1]
    return (part.terminals[0], part.terminals[1]) if len(part.terminals) == 2 else None


def _two_sided(id: str, pole: str, sides: tuple[str, str], value: Value) -> Stop:
    a, b = Node("terminal", sides[0], value.span), Node("terminal", sides[1], value.span)
    stop = Stop(a, b, id)
    stop.unit = (id, pole)
    stop.sides = (a, b)
    return stop


def _on_terminal(board: Board, part: Part, rest: str, value: Value, scope: Scope, sure: bool) -> Stop | None:
    found = board.by_low.get(f"{part.id}.{rest}".lower())
    if found:
        node = Node("terminal", found, value.span)
        return Stop(node, node, part.id)
    if part.kind == "connector":
        sides = [board.by_low.get(f"{part.id}.{side}.{rest}".lower()) for side in "ab"]
        if sides[0] and sides[1]:
            return _two_sided(part.id, rest.lower(), (sides[0], sides[1]), value)
    if not sure:
        return None
    names = [t[len(part.id) + 1 :] for t in part.terminals]
    if part.kind == "connector":
        names = [contact.name for contact in part.contacts] + names
    port = [f"{part.id}.{n}" for n in names if n.lower().startswith(rest.lower() + ".")]
    if port:
        board.desk.say(
            f"{value.text} is a port with several terminals",
            value.span,
            words="which one?",
            remedy="name one: " + ", ".join(port),
            through=scope.through,
        )
        return unknown(value.span)
    shown = ", ".join(f"{part.id}.{n}" for n in names[:12]) + (", ..." if len(names) > 12 else "")
    remedy = f"its terminals are {shown}" if names and names != [""] else f"it is its own terminal: {part.id}"
    *port, end = rest.lower().split(".")
    meant = ".".join([*port, OTHER_ENDS.get(end, end)])
    near = (meant,) if meant in names else close(rest, names)
    if near:
        remedy = f"write {part.id}.{near[0]}; {remedy}"
    board.desk.say(f"{part.id} has no terminal {rest}", value.span, remedy=remedy, through=scope.through)
    return unknown(value.span)


def _on_kit(desk: Desk, use: KitUse, rest: str, value: Value, scope: Scope, *, sure: bool) -> Stop | None:
    ends = list(use.ends)
    if rest:
        if rest.lower() not in use.ends:
            return None
        node = Node("end", f"{use.id} {rest.lower()}", value.span)
        return Stop(node, node)
    if not sure:
        return None
    if len(ends) == 1:
        node = Node("end", f"{use.id} {ends[0]}", value.span)
        return Stop(node, node)
    if len(ends) == 2:
        a, b = (Node("end", f"{use.id} {end}", value.span) for end in ends)
        stop = Stop(a, b)
        stop.unit = (use.id, "")
        stop.sides = (a, b)
        return stop
    names = ", ".join(f"{use.id}.{end}" for end in use.ends.values())
    desk.say(
        f"{use.id} is a kit with {len(ends) or 'no'} ends",
        value.span,
        words="which end?" if ends else "",
        remedy=f"name one: {names}" if ends else "give the kit ends: ends in out",
        through=scope.through,
    )
    return unknown(value.span)


def _say_unknown(board: Board, value: Value, scope: Scope) -> None:
    """Say that a path names something that does not exist, and what may have been meant."""
    desk = board.desk
    text = value.text
    head, _, rest = text.partition(".")
    kit = desk.find(head, scope)
    if kit and kit.category == "kit" and rest:
        use = desk.uses[kit.id]
        prefix = kit.id.lower() + "."
        inside = [e.id[len(prefix) :] for k, e in desk.names.items() if k.startswith(prefix)]
        options = [*use.ends.values(), *inside]
        near = close(rest, options)
        remedy = f"write {kit.id}.{near[0]}" if near else f"{kit.id} has {', '.join(options)}"
        desk.say(f"there is no {rest} in {kit.id}", value.span, remedy=remedy, through=scope.through)
        return
    if desk.two_dashes(value, scope):
        return
    if desk.many_unknown:
        desk.complete = False
        return
    after = "." + rest if rest else ""
    known = desk.known(scope, "part", "kit")
    desk.unknown("part", head, value.span, scope, known, _declaring(head), after)


def _declaring(name: str) -> str:
    """How to declare what a path names."""
    if name.lower() in KINDS:
        return f"{name} is a kind of part: declare one, {name.lower()} NAME and its values, and write that name here"
    kind = next((k for k in OTHER_WORDS.get(name.lower(), "").split() if k in KINDS), "")
    if kind:
        return f"declare it: {kind} {name}, then its values"
    if name[:1] in "Ff" and name[1:2].isdigit():
        return f"declare it, such as: fuse {name} 40 A"
    return f"declare it on a line of its own: its kind, then {name}, then its values"
