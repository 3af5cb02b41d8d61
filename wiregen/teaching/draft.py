"""One teaching figure before it is drawn: what is said and how each thing looks. Knows nothing of where things stand.

Drafts come first, the geometry of the whole set after them: so it can keep room for the widest lettering of any figure,
and nothing moves from one figure to the next.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

from wiregen.drawing.look import Look
from wiregen.layout.switched import Closed

NOTHING: Mapping[Any, Any] = MappingProxyType({})
Looks = Mapping[str, Look]
Lines = Mapping[str, tuple[str, ...]]


class Table(NamedTuple):
    """Rows of figures in the panel; the first column is what they are of. `title` stands above."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    title: str = ""


class Scale(NamedTuple):
    """Shades from low to high, with what the ends mean."""

    title: str
    colours: tuple[str, ...]
    low: str
    high: str


class Key(NamedTuple):
    """What a look means."""

    look: Look
    words: str
    dashed: bool = False  # as a `Dash`


class Dash(NamedTuple):
    """A conductor's end where a fault has put it: dashed from the end that stays to the terminal where it lands."""

    conductor: str
    stays: str
    lands: str


class Mark(NamedTuple):
    """A sign on the diagram: `short` at a terminal that a short joins, `open` over a part that has opened."""

    kind: str
    at: str


class Item(NamedTuple):
    """A question or an answer: its number, and paragraphs, the first in strong letters where it is a heading; with
    `field`, room to write in before that unit."""

    number: str
    words: tuple[str, ...]
    field: str | None = None
    heading: bool = True


class Items(NamedTuple):
    """Questions or answers below one another. It takes all the room that the caption leaves."""

    rows: tuple[Item, ...]


class Blank(NamedTuple):
    """A field in place of a line: the number of its question, and the unit of what belongs in it."""

    number: str
    unit: str = ""


Block = Table | Scale | Key | Items


class Draft(NamedTuple):
    """A figure to be drawn.

    `name` is its part of the file's name, `kind` its group (`stages`, `cases`, `faults` ...). `looks`, by part or
    conductor, are what is other than plain. `lines` are the lines below a name, `room` others for which the set keeps
    room. `blanks` are fields, by part or conductor and which line below the name (1 is the first); `solved` shows what
    `lines` say in them. `corner` stands in place of the figure's number; on a sheet that `asks` there is a line for a
    name beside it. `closed` are the contacts of its case, where they are not as built. `arrows` say which way the
    current goes: True from a conductor's first end to its last. `points` are numbers at terminals. `plot` is an SVG
    that takes the place of the diagram. `description` tells the picture to whoever cannot see it.
    """

    kind: str
    name: str
    title: str
    caption: tuple[str, ...] = ()  # paragraphs
    description: str = ""
    looks: Looks = NOTHING
    lines: Lines = NOTHING
    room: Lines = NOTHING
    blanks: Mapping[tuple[str, int], Blank] = NOTHING
    solved: bool = False
    corner: str = ""
    asks: bool = False
    arrows: Mapping[str, bool] = NOTHING
    points: tuple[tuple[str, str], ...] = ()  # number, terminal
    dashes: tuple[Dash, ...] = ()
    marks: tuple[Mark, ...] = ()
    blocks: tuple[Block, ...] = ()
    plot: str = ""
    closed: Closed = NOTHING


class Figure(NamedTuple):
    """A figure drawn: `name` in the order of the set, `svg` 16 to 9, `caption` and `description` in plain words."""

    kind: str
    name: str
    title: str
    caption: str
    description: str
    svg: str
