"""The syntax tree: shapes only, with a position on everything. What the words mean is the model's business."""

from __future__ import annotations

from typing import Literal, NamedTuple

from wiregen.findings import Span

ValueKind = Literal["name", "number", "quantity", "range", "colours", "sign", "title", "blank", "missing"]


class Measure(NamedTuple):
    """A number with a dimension, in the working unit of that dimension (see language/quantities.py).

    `low` and `high` are the ends of a range or a tolerance; both equal `value` where there is none.
    """

    value: float
    low: float
    high: float
    dimension: str
    unit: str  # as written back: mm2, AWG, mohm


class Value(NamedTuple):
    """One word, number, quantity, sign, pair of colours, title or blank.

    `text` is what the formatter writes back (a title without its quotation marks, a unit in its plain spelling).
    `measure` is set for quantities and ranges whose unit is known, and for plain numbers (dimension `count`).
    """

    kind: ValueKind
    text: str
    span: Span
    measure: Measure | None = None


class Phrase(NamedTuple):
    """What stands between two commas: an optional label (`6 mm2:`), values, an optional block in braces."""

    label: Value | None
    values: tuple[Value, ...]
    block: Block | None
    span: Span


class Core(NamedTuple):
    """`--[ ... ]--`: one insulated core between two stations."""

    phrases: tuple[Phrase, ...]
    span: Span


class Join(NamedTuple):
    """`--`: metal to metal."""

    span: Span


class Station(NamedTuple):
    """One stop of a path: a terminal, a part to pass through, `loose`, or a load declared where it stands."""

    values: tuple[Value, ...]
    span: Span


class Path(NamedTuple):
    """Stations with a link between each two: len(links) == len(stations) - 1."""

    stations: tuple[Station, ...]
    links: tuple[Core | Join, ...]
    span: Span


class Line(NamedTuple):
    """One statement. A path line has `path`; any other has its words in phrases[0]. `label` is a way row's number.

    In a path line `phrases` holds what follows the path after commas (and is empty where nothing does).
    """

    label: Value | None
    path: Path | None
    phrases: tuple[Phrase, ...]
    span: Span


class Block(NamedTuple):
    """Whole lines in braces that belong to the word before."""

    lines: tuple[Line, ...]
    span: Span


class File(NamedTuple):
    """One text, read. `complete` is false where a mistake made part of it unreadable."""

    lines: tuple[Line, ...]
    span: Span
    complete: bool
