"""What is joined without a path: parts mounted `on` a post, mated halves; and names in facts that must exist."""

from __future__ import annotations

from dataclasses import replace

from wiregen.findings import Mark, Span
from wiregen.language.tree import Value
from wiregen.model.draft import Desk, Entry, PartDraft, Waiting
from wiregen.model.job import Fact, Part
from wiregen.model.parts import HALVES, Board
from wiregen.model.vocabulary import KINDS


def mount_parts(board: Board) -> None:
    """Link every part that is mounted `on` another one; earths get their body."""
    for part in list(board.parts.values()):
        fact = part.facts.get("on")
        if fact is None or not fact.values or part.id not in board.desk.parts:
            if part.kind == "earth":
                board.desk.say(
                    f"{part.id} does not say on which body it is",
                    part.span,
                    remedy=f"write earth {part.id} on and the body's name",
                    through=part.through,
                )
            continue
        draft = board.desk.parts[part.id]
        if part.kind == "earth":
            _on_body(board, part, draft, fact.values[0])
        else:
            _on_post(board, part, draft, fact.values[0])


def _find(board: Board, draft: PartDraft, value: Value) -> Entry | None:
    return board.desk.find(value.text, draft.scope)


def _on_body(board: Board, part: Part, draft: PartDraft, value: Value) -> None:
    """`earth E1 on shell`."""
    desk = board.desk
    entry = _find(board, draft, value)
    if entry and entry.category == "broken":
        return
    if entry is None:
        bodies = [p.id for p in desk.parts.values() if p.kind == "body"]
        desk.unknown("body", value.text, value.span, draft.scope, bodies, f"declare it: body {value.text} bonded")
    elif entry.id not in desk.parts or desk.parts[entry.id].kind != "body":
        desk.say(
            f"{value.text} is no body",
            value.span,
            remedy="an earth is on a body: body shell bonded",
            through=draft.scope.through,
        )
    else:
        _resolve(board, part, entry.id)


def _resolve(board: Board, part: Part, id: str) -> None:
    """Inside a kit the name that is written is short; the fact holds the whole id."""
    fact = part.facts["on"]
    on = fact._replace(values=(Value("name", id, fact.values[0].span), *fact.values[1:]))
    board.parts[part.id] = replace(part, facts={**part.facts, "on": on})


def _on_post(board: Board, part: Part, draft: PartDraft, value: Value) -> None:
    """`alternator alt 110 A, on start`; `fuse F1 40 A, on start.+`."""
    desk = board.desk
    span, through = part.facts["on"].span, draft.scope.through
    for prefix in draft.scope.prefixes():
        post = board.by_low.get((prefix + value.text).lower())
        if post:
            board.link(post, _near_side(part, post), "mounted", span, through)
            return
    entry = _find(board, draft, value)
    if entry and entry.category == "broken":
        return
    other = board.parts.get(entry.id) if entry else None
    if other is None:
        if entry:
            desk.say(
                f"{value.text} is a {entry.category}, and {part.id} cannot be mounted on it",
                value.span,
                remedy="name a part or one of its terminals",
                through=through,
            )
        else:
            known = desk.known(draft.scope, "part")
            desk.unknown("part", value.text, value.span, draft.scope, known, "name a part or one of its terminals")
        return
    _resolve(board, part, other.id)
    mine = {t[len(part.id) + 1 :]: t for t in part.terminals}
    theirs = {t[len(other.id) + 1 :]: t for t in other.terminals}
    if {"+", "-"} <= set(mine) and {"+", "-"} <= set(theirs):
        for sign in "+-":
            board.link(theirs[sign], mine[sign], "mounted", span, through)
    elif len(other.terminals) == 1:
        board.link(other.terminals[0], _near_side(part, other.terminals[0]), "mounted", span, through)
    elif "pass" in KINDS[part.kind] and {"+", "-"} <= set(theirs) and "in" in mine:
        sign = "-" if part.kind == "shunt" else "+"
        board.link(theirs[sign], mine["in"], "mounted", span, through)
    else:
        desk.say(
            f"{part.id} is mounted on {other.id}, but on which terminal?",
            value.span,
            remedy="name one: " + ", ".join(other.terminals[:8]) if other.terminals else "leave it out",
            through=through,
        )


def _near_side(part: Part, post: str) -> str:
    """The terminal of a part that sits on a post: `in` of a two-sided part, else the one of the same sign."""
    for end in ("in", post[-1]):
        if f"{part.id}.{end}" in part.terminals:
            return f"{part.id}.{end}"
    return part.terminals[0]


def join_mates(board: Board, lines: list[Waiting]) -> None:
    """`mate P1 S1`: link the poles of two halves, name by name."""
    desk = board.desk
    taken: dict[str, Span] = {}
    for waiting in lines:
        words = waiting.line.phrases[0].values[1:]
        through = waiting.scope.through
        if len(words) != 2:
            desk.say("mate takes a plug and a socket", waiting.line.span, remedy="write mate P1 S1", through=through)
            continue
        halves: list[Part] = []
        for value in words:
            entry = desk.find(value.text, waiting.scope)
            part = board.parts.get(entry.id) if entry else None
            if part and part.kind in HALVES:
                halves.append(part)
            elif part:
                desk.say(
                    f"{value.text} is {KINDS[part.kind]['means']}, and only a plug and a socket mate",
                    value.span,
                    remedy="name a plug and a socket",
                    through=through,
                )
            elif not entry or entry.category != "broken":
                known = [p.id for p in board.parts.values() if p.kind in HALVES]
                desk.unknown("plug or socket", value.text, value.span, waiting.scope, known, "declare both halves")
        if len(halves) != 2:
            continue
        one, two = halves
        if one.kind == two.kind:
            desk.say(
                f"{one.id} and {two.id} are both {one.kind}s",
                words[1].span,
                remedy="a plug mates with a socket",
                through=through,
            )
        for half, value in zip(halves, words, strict=True):
            first = taken.setdefault(half.id, value.span)
            if first is not value.span:
                marks = (Mark(first, "first here"),)
                desk.say(f"{half.id} is mated twice", value.span, marks=marks, remedy="keep one", through=through)
        poles = {t[len(two.id) + 1 :].lower(): t for t in two.terminals}
        for terminal in one.terminals:
            name = terminal[len(one.id) + 1 :].lower()
            if name in poles:
                board.link(terminal, poles.pop(name), "mated", waiting.line.span, through)
            else:
                _say_pole(desk, waiting, one, two, name)
        for name in poles:
            _say_pole(desk, waiting, two, one, name)


def _say_pole(desk: Desk, waiting: Waiting, has: Part, lacks: Part, name: str) -> None:
    """Poles that have nothing to meet stay unmated."""
    desk.say(
        f"{has.id} has a pole {name}, and {lacks.id} has none",
        waiting.line.span,
        remedy="give both halves the same poles",
        repaired=True,
        through=waiting.scope.through,
    )


def resolve_names(board: Board) -> None:
    """Names in facts that must exist: the battery that a feed comes from."""
    desk = board.desk
    for part in list(board.parts.values()):
        fact = part.facts.get("from")
        if part.kind != "feed" or fact is None or not fact.values:
            continue
        value = fact.values[0]
        draft = desk.parts[part.id]
        entry = desk.find(value.text.partition(".")[0], draft.scope)
        if entry and (entry.id in board.parts or entry.category == "broken"):
            _, dot, rest = value.text.partition(".")
            found = Value("name", entry.id + dot + rest, value.span)
            facts = {**part.facts, "from": Fact("from", (found,), fact.span, fact.origin, fact.through)}
            board.parts[part.id] = Part(
                part.id, part.span, part.title, facts, part.through, part.kind, part.type, part.place, part.terminals
            )
        else:
            desk.unknown(
                "part",
                value.text,
                value.span,
                draft.scope,
                desk.known(draft.scope, "part"),
                "name the battery that it comes from",
            )
