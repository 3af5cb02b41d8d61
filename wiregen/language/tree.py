"""The syntax tree: shapes only, with a position on everything. What the words mean is the model's business."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from wiregen.findings import Span

ValueKind = Literal["name", "number", "quantity", "range", "colours", "sign", "title", "blank", "missing"]


@dataclass(frozen=True, slots=True)
class Measure:
    """A number with a dimension, in the working unit of that dimension (see language/quantities.py).

    `low` and `high` are the ends of a range or a tolerance; both equal `value` where there is none.
    """

    value: float
    low: float
    high: float
    dimension: str
    unit: str  # as written back: mm2, AWG, mohm


@dataclass(frozen=True, slots=True)
class Value:
    """One word, number, quantity, sign, pair of colours, title or blank.

    `text` is what the formatter writes back (a title without its quotation marks, a unit in its plain spelling).
    `measure` is set for quantities and ranges whose unit is known, and for plain numbers (dimension `count`).
    """

    kind: ValueKind
    text: str
    span: Span
    measure: Measure | None = None


@dataclass(frozen=True, slots=True)
class Phrase:
    """What stands between two commas: an optional label (`6 mm2:`), values, an optional block in braces."""

    label: Value | None
    values: tuple[Value, ...]
    block: Block | None
    span: Span


@dataclass(frozen=True, slots=True)
class Core:
    """`--[ ... ]--`: one insulated core between two stations."""

    phrases: tuple[Phrase, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Join:
    """`--`: metal to metal."""

    span: Span


@dataclass(frozen=True, slots=True)
class Station:
    """One stop of a path: a terminal, a part to pass through, `loose`, or a load declared where it stands."""

    values: tuple[Value, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Path:
    """Stations with a link between each two: len(links) == len(stations) - 1."""

    stations: tuple[Station, ...]
    links: tuple[Core | Join, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Line:
    """One statement. A path line has `path`; any other has its words in phrases[0]. `label` is a way row's number.

    In a path line `phrases` holds what follows the path after commas (and is empty where nothing does).
    """

    label: Value | None
    path: Path | None
    phrases: tuple[Phrase, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Block:
    """Whole lines in braces that belong to the word before."""

    lines: tuple[Line, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class File:
    """One text, read. `complete` is false where a mistake made part of it unreadable."""

    lines: tuple[Line, ...]
    span: Span
    complete: bool
