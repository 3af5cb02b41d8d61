"""Kits unfolded: blanks filled, the lines inside declared as if they were written where the kit is used."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from wiregen.findings import Use
from wiregen.language.tree import Block, Core, Line, Path, Phrase, Station, Value
from wiregen.model.draft import Desk, KitDef, KitUse, Scope
from wiregen.model.job import Fact
from wiregen.model.spelling import did_you_mean

DEEPEST = 12  # kits within kits
MOST_USES = 500  # of kits in one job, those inside kits counted too

Blanks = dict[str, tuple[Value, ...]]


def use_kit(desk: Desk, line: Line, scope: Scope, declare_all: Callable[[Desk, Sequence[Line], Scope], None]) -> None:
    """Declare a use of a kit and everything inside it."""
    words = line.phrases[0].values
    kit = desk.kits[words[0].text.lower()]
    if len(words) < 2 or words[1].kind != "name":
        desk.say(
            f"{kit.name} has no name here",
            words[0].span,
            remedy=f"write {kit.name} T1, then its values",
            through=scope.through,
        )
        return
    name = words[1]
    if scope.depth >= DEEPEST or len(desk.uses) >= MOST_USES:
        if desk.kits_full:
            return
        desk.kits_full = True
        why = (
            f"kits may stand in kits up to {DEEPEST} deep"
            if scope.depth >= DEEPEST
            else (f"a job may use kits up to {MOST_USES} times")
        )
        desk.say(
            f"too many kits: {name.text}",
            name.span,
            reason=f"{why}; a kit that uses itself never ends",
            remedy="take this use out",
            through=scope.through,
        )
        return
    if any(step.kit and step.kit.kit.lower() == kit.name.lower() for step in scope.up()):
        if kit.name.lower() not in desk.kit_loops:
            desk.kit_loops.add(kit.name.lower())
            desk.say(f"kit {kit.name} uses itself", words[0].span, remedy="take this use out", through=scope.through)
        return
    if desk.crowded(len(kit.lines), name.span, scope):
        return
    id = desk.declare(name, scope, "kit")
    if id is None:
        return
    use = KitUse(id, kit.name, name.span)
    use.ends = {end.lower(): end for end in kit.ends}
    desk.uses[id] = use
    inner = Scope(scope, prefix=id + ".", use=Use(name.span, name.text))
    inner.kit = use
    blanks = _blanks(desk, line, kit, scope, inner, name)
    if scope.circuit:
        scope.circuit.members[id] = None
    declare_all(desk, [_filled_line(part, blanks) for part in kit.lines], inner)


def _blanks(desk: Desk, line: Line, kit: KitDef, scope: Scope, inner: Scope, name: Value) -> Blanks:
    """What each blank is filled with; sets the place of the kit's parts."""
    order = [blank for blank, _ in kit.takes]
    defaults = {blank.lower(): values for blank, values in kit.takes}
    filled: Blanks = {}
    phrases = [line.phrases[0].values[2:], *(p.values for p in line.phrases[1:])]
    for phrase in line.phrases:
        if phrase.block:
            phrases += [p.values for inner_line in phrase.block.lines for p in inner_line.phrases]
    for values in phrases:
        at = 0
        while at < len(values):
            value = values[at]
            word = value.text.lower() if value.kind == "name" else ""
            if word in defaults:
                end = at + 2 if len(defaults[word]) <= 1 else len(values)
                if at + 1 >= len(values):
                    desk.say(
                        f"{value.text} of {name.text} has no value",
                        value.span,
                        words="and then?",
                        remedy=f"write its value after {value.text}",
                        through=scope.through,
                    )
                _fill(desk, scope, filled, word, values[at + 1 : end], name, defaults[word])
                at = end
            elif word == "at" and at + 1 < len(values) and values[at + 1].kind == "name":
                inner.place = Fact("at", (values[at + 1],), value.span.until(values[at + 1].span), "kit", scope.through)
                at += 2
            elif word == "note" and at + 1 < len(values):
                at += 2
            elif value.kind in ("title", "missing"):
                at += 1
            elif word and not any(b.lower() not in filled for b in order):
                desk.say(
                    f"{value.text} is no blank of kit {kit.name}",
                    value.span,
                    remedy=did_you_mean(value.text, order) or _takes(kit),
                    through=scope.through,
                )
                at += 1
            else:
                blank = next((b for b in order if b.lower() not in filled), None)
                if blank is None:
                    desk.say(
                        f"{name.text} has one value too many: {value.text}",
                        value.span,
                        remedy=_takes(kit),
                        through=scope.through,
                    )
                elif word and defaults[blank.lower()] and defaults[blank.lower()][0].kind != "name":
                    desk.say(
                        f"{value.text} is no blank of kit {kit.name}",
                        value.span,
                        remedy=did_you_mean(word, order) or _takes(kit),
                        through=scope.through,
                    )
                    at = len(values) - 1
                else:
                    _positional(desk, scope, filled, blank, defaults[blank.lower()], value, name, kit)
                at += 1
    for blank, default in kit.takes:
        if blank.lower() not in filled:
            if not default:
                desk.say(
                    f"{name.text} does not fill the blank {blank} of kit {kit.name}",
                    name.span,
                    remedy=f"write {blank} and its value",
                    through=scope.through,
                )
            filled[blank.lower()] = default or (Value("missing", "", name.span),)
    return filled


def _positional(
    desk: Desk,
    scope: Scope,
    filled: Blanks,
    blank: str,
    default: tuple[Value, ...],
    value: Value,
    name: Value,
    kit: KitDef,
) -> None:
    """A value without the blank's word: it must be of the default's dimension."""
    if _alike(default, value):
        filled[blank.lower()] = (value,)
        return
    desk.say(
        f"{value.text} cannot be the {blank} of {name.text}, which is {default[0].text} unless said otherwise",
        value.span,
        reason="values without a word fill the kit's blanks in their order",
        remedy=f"put the blank's word before it; {_takes(kit)}",
        through=scope.through,
    )
    filled[blank.lower()] = default


def _alike(default: tuple[Value, ...], value: Value) -> bool:
    """Whether a value is of the same dimension as a blank's default, or there is nothing to compare."""
    asked = default[0].measure if default else None
    given = value.measure
    sizes = ("area", "gauge", "auto-size")
    if not asked or not given or asked.dimension == given.dimension:
        return True
    return asked.dimension in sizes and given.dimension in sizes


def _fill(
    desk: Desk,
    scope: Scope,
    filled: Blanks,
    word: str,
    values: tuple[Value, ...],
    name: Value,
    default: tuple[Value, ...],
) -> None:
    """A value behind its blank's word."""
    if word in filled:
        desk.say(
            f"{name.text} fills the blank {word} twice",
            values[0].span if values else name.span,
            remedy="keep one of them",
            through=scope.through,
        )
    elif values and not _alike(default, values[0]):
        desk.say(
            f"{values[0].text} cannot be the {word} of {name.text}, which is {default[0].text} unless said otherwise",
            values[0].span,
            remedy=f"write a value such as {default[0].text}",
            through=scope.through,
        )
        filled[word] = default
    elif values:
        filled[word] = values


def _takes(kit: KitDef) -> str:
    said = ", ".join(b + (f" ({' '.join(v.text for v in d)})" if d else "") for b, d in kit.takes)
    return f"kit {kit.name} takes: {said}" if said else f"kit {kit.name} takes no values"


# ---------------------------------------------------------------- filling


def _filled(values: tuple[Value, ...], blanks: Blanks) -> tuple[Value, ...]:
    if not any(v.kind == "blank" for v in values):
        return values
    made: list[Value] = []
    for value in values:
        made += blanks.get(value.text.lower(), (value,)) if value.kind == "blank" else (value,)
    return tuple(made)


def _filled_phrase(phrase: Phrase, blanks: Blanks) -> Phrase:
    label = phrase.label
    if label is not None and label.kind == "blank":
        label = _filled((label,), blanks)[0]
    block = phrase.block
    if block:
        block = Block(tuple(_filled_line(line, blanks) for line in block.lines), block.span)
    return Phrase(label, _filled(phrase.values, blanks), block, phrase.span)


def _filled_line(line: Line, blanks: Blanks) -> Line:
    """A line of a kit with its blanks filled; the values keep the places where they were written."""
    if not blanks:
        return line
    label, path = line.label, line.path
    if label is not None and label.kind == "blank":
        label = _filled((label,), blanks)[0]
    if path:
        stations = tuple(Station(_filled(s.values, blanks), s.span) for s in path.stations)
        links = tuple(
            Core(tuple(_filled_phrase(p, blanks) for p in link.phrases), link.span) if isinstance(link, Core) else link
            for link in path.links
        )
        path = Path(stations, links, path.span)
    return Line(label, path, tuple(_filled_phrase(p, blanks) for p in line.phrases), line.span)
