"""Types and kits of the user's own, taken in before anything else, so that they may stand after their first use."""

from __future__ import annotations

from collections.abc import Sequence

from wiregen.findings import Mark
from wiregen.language.tree import Line, Phrase, Value
from wiregen.model.draft import Desk, KitDef, Scope, TypeDef
from wiregen.model.facts import gather
from wiregen.model.phrases import block_lines, facts_of, head, without
from wiregen.model.vocabulary import KINDS, STATEMENTS, type_table

DEEPEST_TYPES = 50  # types made of types


def define(desk: Desk, lines: Sequence[Line], scope: Scope) -> None:
    """Take in the types and kits of all lines, so that they may stand after their first use."""
    raw: dict[str, Line] = {}
    for line in lines:
        words = () if line.path else head(line)
        if not words or words[0].kind != "name":
            continue
        word = words[0].text.lower()
        if word == "kit":
            define_kit(desk, line, scope)
        elif word == "type" and len(words) > 1 and words[1].kind == "name":
            key = words[1].text.lower()
            if key in KINDS or key in STATEMENTS:
                desk.say(
                    f"{words[1].text} is a word of the language and cannot name a type",
                    words[1].span,
                    remedy="choose another name",
                )
            elif key in raw:
                desk.say(
                    f"type {words[1].text} is declared twice",
                    words[1].span,
                    words="again here",
                    marks=(Mark(head(raw[key])[1].span, "first here"),),
                    remedy="keep one of them",
                )
            else:
                raw[key] = line
        elif word == "type":
            desk.say("a type has no name", words[0].span, remedy="write type NAME is KIND")
    for key in list(raw):
        define_type(desk, key, raw, (), scope)


def define_type(desk: Desk, key: str, raw: dict[str, Line], under: tuple[str, ...], scope: Scope) -> TypeDef | None:
    """Take in one type, its base first."""
    if key in desk.types:
        return desk.types[key]
    if key not in raw:
        return None
    line = raw[key]
    words = head(line)
    at = next((i for i, v in enumerate(words) if v.kind == "name" and v.text.lower() == "is"), -1)
    if at < 0 or at + 1 >= len(words) or words[at + 1].kind != "name":
        desk.say(
            f"type {words[1].text} does not say what kind it is",
            words[1].span,
            remedy=f"write type {words[1].text} is fuse, or another kind",
        )
        del raw[key]
        desk.broken_kinds.add(key)
        return None
    base_word = words[at + 1]
    base = base_word.text.lower()
    inherited: TypeDef | None = None
    if base not in KINDS:
        if base in (*under, key):
            desk.say(f"type {words[1].text} is made of itself", base_word.span, remedy="name a built-in kind here")
            del raw[key]
            desk.broken_kinds.add(key)
            return None
        if len(under) >= DEEPEST_TYPES:
            desk.say(
                f"type {words[1].text} is made of too many types",
                base_word.span,
                reason=f"types may be made of types up to {DEEPEST_TYPES} deep",
                remedy="name a built-in kind here",
            )
            del raw[key]
            desk.broken_kinds.add(key)
            return None
        inherited = define_type(desk, base, raw, (*under, key), scope)
        if inherited is None:
            if base not in under and base not in desk.broken_kinds:
                desk.unknown(
                    "kind",
                    base_word.text,
                    base_word.span,
                    scope,
                    [*KINDS, *desk.types],
                    "a type is made of a built-in kind, such as fuse, load or charger",
                )
            raw.pop(key, None)
            desk.broken_kinds.add(key)
            return None
    kind = inherited.kind if inherited else base
    phrase = Phrase(None, (*words[2:at], *words[at + 2 :]), line.phrases[0].block, line.phrases[0].span)
    said = gather(
        desk, scope, type_table(kind), (phrase, *line.phrases[1:]), origin="type", subject=f"type {words[1].text}"
    )
    ends_fact = said.facts.pop("ends", None)
    title = said.facts.pop("title", None)
    ends = tuple(dict.fromkeys(v.text for v in ends_fact.values)) if ends_fact else inherited and inherited.ends
    facts = {**(inherited.facts if inherited else {}), **said.facts}
    made = TypeDef(words[1].text, kind, title.word if title else inherited.title if inherited else "", facts, ends)
    desk.types[key] = made
    return made


def define_kit(desk: Desk, line: Line, scope: Scope) -> None:
    """Take in one kit."""
    words = head(line)
    if len(words) < 2 or words[1].kind != "name":
        desk.say("a kit has no name", words[0].span, remedy="write kit NAME { ... }")
        return
    key = words[1].text.lower()
    if key in KINDS or key in STATEMENTS:
        desk.say(
            f"{words[1].text} is a word of the language and cannot name a kit",
            words[1].span,
            remedy="choose another name",
        )
        return
    if key in desk.kits:
        desk.say(
            f"kit {words[1].text} is declared twice",
            words[1].span,
            words="again here",
            marks=(Mark(desk.kits[key].span, "first here"),),
            remedy="keep one of them",
        )
        return
    takes: list[tuple[str, tuple[Value, ...]]] = []
    ends: list[str] = []
    body: list[Line] = []
    for inner in block_lines(line):
        inner_words = () if inner.path else head(inner)
        word = inner_words[0].text.lower() if inner_words and inner_words[0].kind == "name" else ""
        if word == "takes":
            for phrase in (without(inner.phrases[0], 1), *inner.phrases[1:]):
                if phrase.values and phrase.values[0].kind == "name":
                    takes.append((phrase.values[0].text, phrase.values[1:]))
        elif word == "ends":
            ends += [v.text for phrase in facts_of(inner, 1) for v in phrase.values]
        else:
            body.append(inner)
    desk.kits[key] = KitDef(words[1].text, tuple(takes), tuple(dict.fromkeys(ends)), tuple(body), words[1].span)
