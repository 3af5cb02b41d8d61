"""Names in statements about the job: one thing, or everything that a group, range, circuit or kit stands for."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from wiregen.language.tree import Value
from wiregen.model.draft import Desk, Scope
from wiregen.model.job import Conductor
from wiregen.model.parts import Board
from wiregen.model.vocabulary import GROUPS

MOST_IN_RANGE = 1000
MOST_NAMES = 500_000  # that groups, ranges and circuits stand for, in all statements of one job
_NUMBERED = re.compile(r"(.*?)(\d+)$")


class Things(NamedTuple):
    """Everything that a statement about the job may name."""

    desk: Desk
    board: Board
    conductors: Mapping[str, Conductor]


def find_id(things: Things, text: str, scope: Scope, *, terminal_first: bool = False) -> str | None:
    """The full id of a part, conductor, place ..., terminal or port (`dcdc.in`); None where there is none."""
    entry = things.desk.find(text, scope)
    terminal = _terminal(things, text, scope)
    if terminal_first and terminal:
        return terminal
    if entry:
        return entry.id
    return terminal or _port(things, text, scope)


def _terminal(things: Things, text: str, scope: Scope) -> str | None:
    for prefix in scope.prefixes():
        found = things.board.by_low.get((prefix + text).lower())
        if found:
            return found
    return None


def _port(things: Things, text: str, scope: Scope) -> str | None:
    for prefix in scope.prefixes():
        start = (prefix + text).lower() + "."
        for low, id in things.board.by_low.items():
            if low.startswith(start):
                return id[: len(start) - 1]
    for prefix in scope.prefixes():  # a connector's pole, or a kit's end
        head, _, rest = (prefix + text).rpartition(".")
        entry = things.desk.names.get(head.lower())
        if entry and entry.category == "kit" and rest.lower() in things.desk.uses[entry.id].ends:
            return f"{entry.id}.{things.desk.uses[entry.id].ends[rest.lower()]}"
        if entry and f"{entry.id}.a.{rest}".lower() in things.board.by_low:
            return f"{entry.id}.{rest}"
    return None


def say_unknown(things: Things, value: Value, scope: Scope, what: str = "part or conductor") -> None:
    """Keep an undefined name, with the close ones."""
    desk = things.desk
    if desk.is_broken(value.text, scope):
        desk.complete = False
        return
    if desk.full or desk.many_unknown:
        desk.complete = False
        return
    known = desk.known(scope)
    near = desk.near(value.text, known)
    if not near and "." in value.text:
        near = desk.near(value.text, [*known, *things.board.terminals])
    desk.unknown(what, value.text, value.span, scope, known, near or "declare it, or name something that is declared")


def one(things: Things, value: Value, scope: Scope, *, terminal_first: bool = False) -> str | None:
    """The id that a name means; a finding where it means nothing."""
    if value.kind == "missing":
        return None
    if value.kind == "name":
        found = find_id(things, value.text, scope, terminal_first=terminal_first)
        if found:
            return found
        if value.text.lower() not in GROUPS:
            say_unknown(things, value, scope)
            return None
    things.desk.say(
        f"{value.text} is not the name of one thing",
        value.span,
        remedy="name a part or a conductor",
        through=scope.through,
    )
    return None


def one_of(things: Things, values: Sequence[Value], scope: Scope) -> str | None:
    """The id that a name means, or of the conductor without a name that `fridge.- to FB.-` means (`... 2`: the second).

    A finding where it means nothing.
    """
    if len(values) < 3 or values[1].text.lower() != "to":
        return one(things, values[0], scope)
    ends = [_terminal(things, value.text, scope) for value in (values[0], values[2])]
    for value, end in zip((values[0], values[2]), ends, strict=True):
        if end is None:
            say_unknown(things, value, scope, "terminal")
    between = [c for c in things.conductors.values() if None not in ends and {c.from_, c.to} == set(ends)]
    if None in ends:
        return None
    nameless = [c.id for c in between if not c.named]
    number = int(values[3].measure.value) if len(values) > 3 and values[3].measure else 1
    if 1 <= number <= len(nameless):
        return nameless[number - 1]
    named = ", ".join(c.id for c in between if c.named)
    words = f"{values[0].text} to {values[2].text}"
    things.desk.say(
        f"there are {len(nameless)} conductors without a name from {words}"
        if nameless
        else f"no conductor without a name runs from {words}",
        values[0].span,
        remedy=f"write a number up to {len(nameless)} behind them"
        if nameless
        else f"name it as it is called: {named}"
        if named
        else "name the two terminals that it ends on",
        through=scope.through,
    )
    return None


def is_name(value: Value) -> bool:
    """Whether a value is a name or a range of names."""
    return value.kind == "name" or (value.kind == "range" and value.measure is None)


def spread(things: Things, value: Value, scope: Scope) -> list[str]:
    """The parts, conductors and places that a name, group, range, circuit, cable or kit stands for."""
    desk = things.desk
    if desk.spread_names > MOST_NAMES:
        return []
    found = _spread(things, value, scope)
    desk.spread_names += len(found)
    if desk.spread_names > MOST_NAMES:
        desk.say(
            "the groups and ranges of this job stand for too many names",
            value.span,
            reason=f"all statements together may name up to {MOST_NAMES} things",
            remedy="split the job",
            through=scope.through,
        )
    return found


def _spread(things: Things, value: Value, scope: Scope) -> list[str]:
    text = value.text.lower()
    desk = things.desk
    if value.kind == "range" and value.measure is None:
        return _range(things, value, scope)
    if value.kind != "name":
        if value.kind != "missing":
            desk.say(
                f"{value.text} is no name",
                value.span,
                remedy="name a part, a conductor or a group",
                through=scope.through,
            )
        return []
    if text in GROUPS:
        return [part.id for part in things.board.parts.values() if part.kind in GROUPS[text]]
    entry = desk.find(value.text, scope)
    if entry is None:
        found = find_id(things, value.text, scope)
        if found is None:
            say_unknown(things, value, scope)
        return [found] if found else []
    if entry.category == "group":
        return list(desk.groups.get(entry.id, ()))
    if entry.category == "circuit":
        return [id for member in desk.circuits[entry.id].members for id in _inside(things, member)]
    if entry.category == "cable":
        return [c.id for c in things.conductors.values() if c.cable == entry.id]
    if entry.category == "bundle":
        low = entry.id.rpartition(".")[2].lower()
        return [c.id for c in things.conductors.values() if c.word("bundle").lower() == low]
    return _inside(things, entry.id)


def _inside(things: Things, id: str) -> list[str]:
    """A part or conductor itself; everything in a kit."""
    if id not in things.desk.uses:
        return [id]
    inside = [p for p in things.board.parts if p.startswith(id + ".")]
    return inside + [c for c in things.conductors if c.startswith(id + ".")]


def _range(things: Things, value: Value, scope: Scope) -> list[str]:
    first, _, last = value.text.partition("..")
    one_, two = _NUMBERED.match(first), _NUMBERED.match(last)
    desk = things.desk
    if not one_ or not two or (two[1] and one_[1].lower() != two[1].lower()) or int(one_[2]) > int(two[2]):
        desk.say(
            f"{value.text} is no range of names",
            value.span,
            remedy="a range runs upwards through numbered names, such as L1..L8",
            through=scope.through,
        )
        return []
    low, high = int(one_[2]), int(two[2])
    if high - low >= MOST_IN_RANGE:
        desk.say(
            f"the range {value.text} is too long",
            value.span,
            reason=f"a range holds up to {MOST_IN_RANGE} names",
            remedy="write the last number again",
            through=scope.through,
        )
        return []
    found, missing = [], []
    for number in range(low, high + 1):
        name = f"{one_[1]}{number}"
        entry = desk.find(name, scope)
        if entry:
            found.append(entry.id)
        else:
            missing.append(name)
    if missing:
        shown = ", ".join(missing[:5]) + (", ..." if len(missing) > 5 else "")
        desk.say(
            f"the range {value.text} names what is not declared: {shown}",
            value.span,
            remedy="shorten the range, or declare them",
            through=scope.through,
        )
    return found
