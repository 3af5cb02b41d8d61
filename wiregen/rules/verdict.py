"""What a rule can say about a subject: bad, content, or not to be judged. Plain data, one of three."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple, Protocol

from wiregen.circuit.study import Study
from wiregen.findings import Edit, Mark, Severity, Span, Use


class HasFacts(Protocol):
    """A part, conductor or place: it has facts, and each fact a place in the text."""

    @property
    def through(self) -> tuple[Use, ...]: ...

    @property
    def span(self) -> Span: ...

    def where(self, name: str) -> Span: ...


class Bad(NamedTuple):
    """A hazard or mistake. `subject` is the one id that `accept RULE on ID` takes; the rest as in `Finding`."""

    subject: str
    message: str
    at: Mark
    related: tuple[str, ...] = ()
    marks: tuple[Mark, ...] = ()
    case: str | None = None
    reason: str = ""
    remedy: str = ""
    values: Mapping[str, float | int | str | bool | None] = {}
    through: tuple[Use, ...] = ()
    basis: str = ""  # where it differs from the rule's own
    severity: Severity | None = None  # where it differs from the rule's own
    fix: tuple[Edit, ...] = ()  # the remedy as edits, where one answer is clear (rules/fixes.py)


class Content(NamedTuple):
    """Judged and found in order. `words` is filled in with `values` by `str.format` only when someone asks."""

    subject: str
    words: str
    values: tuple[object, ...] = ()

    @property
    def why(self) -> str:
        """Why the rule is silent about the subject."""
        return self.words.format(*self.values)


class Unjudged(NamedTuple):
    """The netlist does not say enough. `missing` is one fact ("the length of W1"), `add` how to write it."""

    subject: str
    missing: str
    add: str
    at: Mark
    through: tuple[Use, ...] = ()


Verdict = Bad | Content | Unjudged
Judge = Callable[[Study], Iterator[Verdict]]


class Rule(NamedTuple):
    """A registered rule: its name, how bad it is, on what basis, and the function that judges."""

    name: str
    severity: Severity
    basis: str
    judge: Judge


def rule(name: str, *, severity: Severity, basis: str) -> Callable[[Judge], Rule]:
    """Registers the function below it as the rule of that name; the module holds it as `check`."""

    def register(judge: Judge) -> Rule:
        return Rule(name, severity, basis, judge)

    return register


def mark(item: HasFacts, fact: str, words: str) -> Mark:
    """Where a fact of a part or conductor stands, or its name where the fact is not said."""
    return Mark(item.where(fact), words)


def at_name(item: HasFacts, words: str) -> Mark:
    """Where a part or conductor is named, or where one without a name stands."""
    return Mark(item.span, words)
