"""Looking words up in the one vocabulary table: kinds, statements, facts and the shapes of their values."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any, NamedTuple

from wiregen.built.vocabulary import DATA

VOCABULARY: Mapping[str, Any] = DATA
COLOURS: frozenset[str] = frozenset(VOCABULARY["colours"])
OTHER_COLOURS: Mapping[str, str] = VOCABULARY["other-colours"]
OTHER_UNITS: Mapping[str, str] = VOCABULARY["other-units"]
OTHER_ENDS: Mapping[str, str] = VOCABULARY["other-ends"]
OTHER_WORDS: Mapping[str, str] = VOCABULARY["other-words"]
PATH_WORDS: frozenset[str] = frozenset(VOCABULARY["path-words"])
RESERVED: frozenset[str] = frozenset(VOCABULARY["reserved"])
GROUPS: Mapping[str, list[str]] = VOCABULARY["groups"]
KINDS: Mapping[str, Mapping[str, Any]] = VOCABULARY["kinds"]
STATEMENTS: Mapping[str, Mapping[str, Any]] = VOCABULARY["statements"]
RANGES: Mapping[str, list[float]] = VOCABULARY["ranges"]
MEANS: Mapping[str, str] = VOCABULARY["means"]
PART: Mapping[str, str] = VOCABULARY["part"]
UNSAID = frozenset({"left", "right", "above", "below", "symbol", "supplied", "fits", "title", "insulation-kind"})
VERBS: frozenset[str] = frozenset(STATEMENTS["case"]["verbs"])


class Item(NamedTuple):
    """One value of a shape: what it may be, and `` (once), `?`, `*` or `+`."""

    options: tuple[str, ...]
    many: str


class Table(NamedTuple):
    """What may stand in one statement. `words` leads from a bare word to its fact."""

    means: str
    facts: Mapping[str, tuple[Item, ...]]
    own: tuple[str, ...]  # the facts worth naming to someone who wrote another
    bare: tuple[tuple[str, tuple[str, ...]], ...]  # fact, options; in the order in which they are tried
    words: Mapping[str, str]


@cache
def shape(text: str) -> tuple[Item, ...]:
    """The items of a shape as it is written in the table."""
    items = []
    for word in text.split():
        many = word[-1] if word[-1] in "?*+" else ""
        options: list[str] = []
        for option in word.rstrip("?*+").split("|"):
            shared = VOCABULARY["shapes"].get(option)
            options += (
                [o.options[0] for o in (shape(shared))]
                if shared and "|" not in shared
                else (shared.split("|") if shared else [option])
            )
        items.append(Item(tuple(options), many))
    return tuple(items)


def table(means: str, bare: Mapping[str, str], facts: Iterable[Mapping[str, str]]) -> Table:
    """A table made of rows of the vocabulary; a bare value may also be written with its word."""
    all_facts = {name: shape(text) for rows in facts for name, text in rows.items()}
    tried, words = [], {}
    for name, text in bare.items():
        items = shape(text)
        options = tuple(o for o in items[0].options if not o.startswith("="))
        for option in items[0].options:
            if option.startswith("="):
                words[option[1:]] = name
        if options:
            tried.append((name, options))
        if f"={name}" not in items[0].options:
            all_facts.setdefault(name, items)
    own = tuple(name for name in (*bare, *all_facts) if name not in UNSAID)
    return Table(means, all_facts, tuple(dict.fromkeys(own)), tuple(tried), words)


@cache
def kind_table(kind: str) -> Table:
    """What may be said of a part of a built-in kind."""
    row = KINDS[kind]
    return table(row["means"], {"title": "text", **row["bare"]}, (row["facts"], PART))


@cache
def type_table(kind: str) -> Table:
    """What may be said of a type of the user's own."""
    row = KINDS[kind]
    rows = (row["facts"], PART, STATEMENTS["type"]["facts"])
    return table(f"a type of {kind}", {"title": "text", **row["bare"]}, rows)


@cache
def statement_table(word: str) -> Table:
    """What may be said in a statement that is no part."""
    row = STATEMENTS[word]
    return table(row["means"], row.get("bare", {}), (row.get("facts", {}),))


@cache
def conductor_table() -> Table:
    """What may be said of a conductor."""
    row = VOCABULARY["conductor"]
    return table("a conductor", row["bare"], (row["facts"],))


@cache
def owners(fact: str) -> tuple[str, ...]:
    """What a fact may be said of, in words: `a connector`, `a plug`."""
    if fact in PART:
        return ("a part",)
    kinds = [row["means"] for row in KINDS.values() if fact in row["facts"]]
    return tuple(kinds + [row["means"] for row in STATEMENTS.values() if fact in row.get("facts", {})])


def means(options: Iterable[str]) -> str:
    """The options of an item in words: `a current such as 40 A or the word open`."""
    said = [MEANS.get(o, o) for o in options if not o.startswith("=")]
    words = [o[1:] for o in options if o.startswith("=")]
    if words:
        said.append(words[0] if len(words) == 1 else ", ".join(words[:-1]) + " or " + words[-1])
    return " or ".join(said)
