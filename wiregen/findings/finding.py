"""The finding: the one thing that every stage may have to say, as plain data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from wiregen.findings.source import Span

Severity = Literal["danger", "warning", "advice"]
SEVERITIES: tuple[Severity, ...] = ("danger", "warning", "advice")  # the worst first

NOTICE = (
    "wiregen judged only what the netlist says, by the rules it has; no findings is not a statement that the"
    " installation is safe. Follow the makers' instructions and local codes, and have the work checked by a"
    " qualified person."
)


class Mark(NamedTuple):
    """A place in a text that belongs to a finding, with a few words to stand beside its caret line."""

    span: Span
    words: str = ""


class Use(NamedTuple):
    """Where a kit was used: a finding inside the kit passes through here. `name` is the kit's name there."""

    span: Span
    name: str


class Acceptance(NamedTuple):
    """Why a finding was accepted, by whom and until when (ISO date); null where not said.

    `known` is true where a baseline accepts it, not the netlist.
    """

    because: str
    by: str | None = None
    until: str | None = None
    known: bool = False


class Edit(NamedTuple):
    """Words to put in the place of a span: part of the one clear way to put a finding right."""

    span: Span
    text: str


@dataclass(frozen=True, slots=True)
class Finding:
    """What a rule (or a reader) has to say about one subject.

    `message` stands alone: the fact in the user's own names and numbers. `reason` tells why it matters, `remedy`
    what would put it right, `basis` the published source or 'common practice'. `values` holds the evidence as
    numbers with their unit in the key. `lost` is true where a mistake of the text made something unreadable. `fix` is
    the remedy as edits of the text, where one answer is clear; it is tried before it is kept.
    """

    rule: str
    severity: Severity
    message: str
    at: Mark | None = None
    subject: str | None = None
    related: tuple[str, ...] = ()
    marks: tuple[Mark, ...] = ()
    case: str | None = None
    reason: str = ""
    remedy: str = ""
    basis: str = ""
    values: Mapping[str, float | int | str | bool | None] = field(default_factory=dict)
    through: tuple[Use, ...] = ()
    accepted: Acceptance | None = None
    lost: bool = False
    fix: tuple[Edit, ...] = ()
    path: str = ""  # of the file, where there is no text to point at (missing file, folder, binary)


def mistake(
    message: str,
    span: Span | None,
    *,
    words: str = "",
    reason: str = "",
    remedy: str = "",
    marks: tuple[Mark, ...] = (),
    repaired: bool = False,
    path: str = "",
    through: tuple[Use, ...] = (),
    fix: tuple[Edit, ...] = (),
) -> Finding:
    """A mistake of the text: danger where something was lost, warning where it was repaired."""
    return Finding(
        rule="netlist-mistake",
        severity="warning" if repaired else "danger",
        message=message,
        at=Mark(span, words) if span else None,
        marks=marks,
        reason=reason,
        remedy=remedy,
        basis="the netlist language",
        through=through,
        lost=not repaired,
        fix=fix,
        path=path,
    )
