"""The job while it is being read: what has been declared so far, and the mistakes found on the way."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Literal, NamedTuple

from wiregen.findings import Finding, Mark, Span, Use, mistake
from wiregen.language.limits import MOST_MISTAKES
from wiregen.language.tree import Line, Phrase, Value
from wiregen.model.job import Fact
from wiregen.model.spelling import did_you_mean
from wiregen.model.vocabulary import RESERVED

Category = Literal["part", "conductor", "place", "circuit", "cable", "bundle", "group", "kit", "broken"]
MOST_PARTS = 20_000  # in one job, those in kits and fuse blocks counted
MOST_COMPARED = 200_000  # known names that unknown ones of one job are held against
MOST_UNKNOWN = 3  # further places of one unknown name that are shown with it


class Scope:
    """Where a line stands: at the top, inside a use of a kit, inside a circuit.

    `prefix` is put before names declared here (`T1.`). `each` holds the defaults of conductors said here; `place` is
    where a kit's parts sit unless they say otherwise. `through` leads from the job to the kit's inside.
    """

    __slots__ = ("circuit", "depth", "each", "kit", "own_circuit", "parent", "place", "prefix", "through")

    def __init__(self, parent: Scope | None = None, prefix: str | None = None, use: Use | None = None) -> None:
        self.parent = parent
        self.prefix: str = prefix if prefix is not None else parent.prefix if parent else ""
        self.through: tuple[Use, ...] = parent.through if parent else ()
        if use:
            self.through += (use,)
        self.depth: int = parent.depth + bool(use) if parent else 0
        self.each: list[dict[str, Fact]] = []
        self.circuit: CircuitDraft | None = parent.circuit if parent else None
        self.own_circuit = False  # whether this scope is that circuit's own braces
        self.place: Fact | None = parent.place if parent else None
        self.kit: KitUse | None = parent.kit if parent else None

    def up(self) -> Iterator[Scope]:
        """This scope, then the ones around it."""
        scope: Scope | None = self
        while scope:
            yield scope
            scope = scope.parent

    def prefixes(self) -> Iterator[str]:
        """What may stand before a name here, the nearest first."""
        last = None
        for scope in self.up():
            if scope.prefix != last:
                last = scope.prefix
                yield last


class CircuitDraft(NamedTuple):
    """A circuit while it fills."""

    id: str
    span: Span
    title: str
    facts: dict[str, Fact]
    members: dict[str, None]
    ends: list[str]  # of its first path, once that is known
    through: tuple[Use, ...]


class KitUse:
    """One use of a kit: its name, and its ends by their lower-case names."""

    __slots__ = ("ends", "id", "kit", "span")

    def __init__(self, id: str, kit: str, span: Span) -> None:
        self.id = id
        self.kit = kit
        self.span = span
        self.ends: dict[str, str] = {}


class Entry(NamedTuple):
    """One declared name."""

    id: str
    category: Category
    span: Span


class TypeDef(NamedTuple):
    """A type of the user's own: its built-in kind, the facts that are its parts' defaults, its terminals."""

    name: str
    kind: str
    title: str
    facts: dict[str, Fact]
    ends: tuple[str, ...] | None  # None: those of the kind


class KitDef(NamedTuple):
    """A kit: its blanks with their defaults, its ends, its lines."""

    name: str
    takes: tuple[tuple[str, tuple[Value, ...]], ...]
    ends: tuple[str, ...]
    lines: tuple[Line, ...]
    span: Span


class Row:
    """One way of a fuse block. `fuse` is None where the way is empty."""

    __slots__ = ("fuse", "line", "name", "scope", "span", "way")

    def __init__(self, way: str, span: Span, scope: Scope) -> None:
        self.way = way
        self.span = span
        self.scope = scope
        self.fuse: dict[str, Fact] | None = {}
        self.name: Value | None = None
        self.line: Line | None = None  # where a path leads out of the way


class PartDraft:
    """A part while it fills: its own facts, and for a fuse block its ways."""

    __slots__ = ("block", "ends", "facts", "id", "kind", "rows", "scope", "span", "type", "way")

    def __init__(self, id: str, kind: str, type: str, span: Span, facts: dict[str, Fact], scope: Scope) -> None:
        self.id = id
        self.kind = kind
        self.type = type
        self.span = span
        self.facts = facts
        self.scope = scope
        self.ends: list[str] = []
        self.rows: dict[str, Row] = {}
        self.block: str | None = None
        self.way: str | None = None


class Loose(NamedTuple):
    """A thing with facts and no terminals: place, bundle, cable."""

    id: str
    span: Span
    facts: dict[str, Fact]
    scope: Scope


class PathDraft(NamedTuple):
    """A path to be traced once all parts are known. `block` and `row` where it is a way row."""

    line: Line
    scope: Scope
    block: str = ""
    row: Row | None = None


class Waiting(NamedTuple):
    """A line to be read once every part and conductor is known."""

    word: str
    line: Line
    scope: Scope


class Change(NamedTuple):
    """`change X facts`: waits for the thing that it changes."""

    span: Span
    phrases: tuple[Phrase, ...]
    scope: Scope


class Desk:
    """Everything that reading has found so far."""

    def __init__(self) -> None:
        self.findings: list[Finding] = []
        self.complete = True
        self.names: dict[str, Entry] = {}  # lower-case full id -> what it is
        self.changes: dict[str, list[Change]] = {}  # lower-case full id
        self.waiting: list[Waiting] = []
        self.types: dict[str, TypeDef] = {}
        self.kits: dict[str, KitDef] = {}
        self.uses: dict[str, KitUse] = {}  # full id of a kit in use
        self.parts: dict[str, PartDraft] = {}
        self.places: dict[str, Loose] = {}
        self.cables: dict[str, Loose] = {}
        self.bundles: dict[str, Loose] = {}
        self.circuits: dict[str, CircuitDraft] = {}
        self.groups: dict[str, tuple[str, ...]] = {}
        self.paths: list[PathDraft] = []
        self.broken_kinds: set[str] = set()  # types whose line could not be understood
        self.unread = False  # whether an include could not be read: its kits and types are missing
        self.kit_loops: set[str] = set()  # kits that use themselves, reported once
        self.counted = 0  # parts and lines of kits
        self.spread_names = 0  # what groups and ranges stood for so far
        self.foreign_units = 0  # how often pint was asked
        self.kits_full = False  # too many uses, reported once
        self.job_line: Span | None = None
        self.job_title = ""
        self.job_facts: dict[str, Fact] = {}
        self._said: set[tuple[str, int, int, str]] = set()
        self._compared = 0  # known names that unknown ones were held against
        self._unknown: dict[tuple[str, str], tuple[str, str, list[Span], tuple[Use, ...]]] = {}

    # ---- mistakes

    def say(
        self,
        message: str,
        span: Span,
        *,
        words: str = "",
        reason: str = "",
        remedy: str = "",
        marks: tuple[Mark, ...] = (),
        repaired: bool = False,
        through: tuple[Use, ...] = (),
    ) -> None:
        """Keep one mistake. Something was lost unless it was repaired."""
        self.complete = self.complete and repaired
        if self.full:
            return
        once = (span.source.path, span.start, span.end, message)
        if once in self._said:  # a line of a kit is read for each of its uses
            return
        self._said.add(once)
        self.findings.append(
            mistake(
                message,
                span,
                words=words,
                reason=reason,
                remedy=remedy,
                marks=marks,
                repaired=repaired,
                through=through,
            )
        )

    @property
    def full(self) -> bool:
        """Whether so many mistakes were found that no more are told."""
        return len(self.findings) >= MOST_MISTAKES

    def unknown(
        self, what: str, name: str, span: Span, scope: Scope, known: Iterable[str], remedy: str, after: str = ""
    ) -> None:
        """Keep an undefined name: one finding for all the places where it stands. `after` follows a close name."""
        self.complete = False
        at = (what, name.lower())
        if self.many_unknown:
            return
        if at in self._unknown:
            spans = self._unknown[at][2]
            if len(spans) <= MOST_UNKNOWN and span not in spans:
                spans.append(span)
            return
        near = self.near(name, known, after)
        if near and what == "part":
            near += f", or declare {name}"
        self._unknown[at] = (f"no {what} is called {name}", near or remedy, [span], scope.through)

    @property
    def many_unknown(self) -> bool:
        """Whether so many undefined names are kept that no more are."""
        return len(self._unknown) >= MOST_MISTAKES

    def near(self, name: str, known: Iterable[str], after: str = "") -> str:
        """`did_you_mean`, as long as not too many names were compared: many slips among many names are no hang."""
        known = list(known)
        self._compared += len(known)
        return did_you_mean(name, known, after) if self._compared <= MOST_COMPARED else ""

    def close_unknown(self) -> None:
        """Turn the undefined names into findings."""
        for message, remedy, spans, through in self._unknown.values():
            marks = tuple(Mark(span, "and here") for span in spans[1 : MOST_UNKNOWN + 1])
            self.say(message, spans[0], words="is not declared", remedy=remedy, marks=marks, through=through)
        self._unknown.clear()

    def crowded(self, count: int, span: Span, scope: Scope) -> bool:
        """Count more parts (or lines of kits); whether the job now holds too many, which is said once."""
        self.counted += count
        if self.counted <= MOST_PARTS:
            return False
        if self.counted - count <= MOST_PARTS:
            self.say(
                "this job has too many parts; what follows is not read",
                span,
                reason=f"a job may hold up to {MOST_PARTS} parts, those in kits and fuse blocks counted",
                remedy="split the job",
                through=scope.through,
            )
        return True

    # ---- names

    def declare(self, name: Value, scope: Scope, category: Category, *, id: str | None = None) -> str | None:
        """Keep a new name and return its full id; None, and a finding, where it cannot be one."""
        text = name.text
        full = scope.prefix + text if id is None else id
        if text.lower() in RESERVED:
            self.say(
                f"{text} has a meaning of its own and cannot name a {category}",
                name.span,
                remedy="choose another name",
                through=scope.through,
            )
            return None
        if "." in text and id is None:
            self.say(
                f"a name that is declared has no dot: {text}",
                name.span,
                reason="a dot leads to what is inside a part or a kit",
                remedy=f"write {text.replace('.', '-')}",
                through=scope.through,
            )
            return None
        if not text[:1].isalpha():
            self.say(
                f"{text} is no name: a name begins with a letter",
                name.span,
                remedy="put a letter before it",
                through=scope.through,
            )
            return None
        before = self.names.get(full.lower())
        if before and before.category != "broken":
            core = id is not None and category == "conductor"
            self.say(
                f"the core {full} is used twice" if core else f"{full} is declared twice",
                name.span,
                words="again here",
                reason="" if core else "parts, conductors, places, circuits, cables and groups share one set of names",
                remedy="use another core" if core else "give one of them another name",
                marks=(Mark(before.span, f"first here, as a {before.category}"),),
                through=scope.through,
            )
            return None
        self.names[full.lower()] = Entry(full, category, name.span)
        return full

    def keep_broken(self, name: Value, scope: Scope) -> None:
        """Keep a name that a line declares which could not be understood, so that it is not missed elsewhere."""
        full = scope.prefix + name.text
        self.names.setdefault(full.lower(), Entry(full, "broken", name.span))

    def find(self, name: str, scope: Scope) -> Entry | None:
        """What a name means here: inside the kit first, then outwards."""
        low = name.lower()
        for prefix in scope.prefixes():
            entry = self.names.get(prefix.lower() + low)
            if entry:
                return entry
        return None

    def is_broken(self, name: str, scope: Scope) -> bool:
        """Whether a name, or what it is inside of, was declared by a line that could not be understood."""
        pieces = name.split(".")
        heads = (".".join(pieces[:count]) for count in range(1, len(pieces) + 1))
        return any((entry := self.find(head, scope)) and entry.category == "broken" for head in heads)

    def known(self, scope: Scope, *categories: str) -> list[str]:
        """Names that may be used here, as they would be written here."""
        prefix = scope.prefix.lower()
        return [
            entry.id[len(prefix) :] if key.startswith(prefix) else entry.id
            for key, entry in self.names.items()
            if entry.category in categories or not categories
        ]

    def two_dashes(self, value: Value, scope: Scope) -> bool:
        """Whether a name is two names with one dash between; says so."""
        text = value.text
        for at, letter in enumerate(text):
            if letter != "-":
                continue
            if self.find(text[:at].split(".")[0], scope) and self.find(text[at + 1 :].split(".")[0], scope):
                self.say(
                    f"no part is called {text}",
                    value.span,
                    words="one dash",
                    reason="a single dash belongs to a name",
                    remedy=f"two parts are joined with two dashes: {text[:at]} -- {text[at + 1 :]}",
                    through=scope.through,
                )
                return True
        return False
