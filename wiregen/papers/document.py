"""A folder as plain data: papers made of blocks. Written once, rendered as PDF, page and workbook."""

from __future__ import annotations

from typing import Literal, NamedTuple

Align = Literal["left", "right", "centre"]
Style = Literal["body", "lead", "caution", "small"]


class Number(NamedTuple):
    """A computed figure. `source` leads to it in the study's JSON (`cases/driving/conductors/W1/current_a`), `` where
    it is counted from the netlist; `scale` is what the JSON's figure is multiplied by (1000 for mV)."""

    value: float
    source: str = ""
    scale: float = 1.0


class Cell(NamedTuple):
    """One cell of a table: its text, and the number behind it where it has one. A `box` is for writing in."""

    text: str = ""
    number: Number | None = None
    strong: bool = False
    box: bool = False


class Column(NamedTuple):
    """A column: its title, its share of the width, how its cells stand, the unit of its numbers."""

    title: str
    width: float = 1.0
    align: Align = "left"
    unit: str = ""


class Table(NamedTuple):
    """A table with a head that is repeated on every page. `name` is its sheet in the workbook."""

    name: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    heading: str = ""
    note: str = ""
    small: bool = False


class Text(NamedTuple):
    """A paragraph."""

    text: str
    style: Style = "body"


class Heading(NamedTuple):
    """A heading within a paper."""

    text: str


class Points(NamedTuple):
    """A list, numbered where the order matters."""

    items: tuple[str, ...]
    numbered: bool = False


class Facts(NamedTuple):
    """Names with what is said of them, two columns: the job's own data."""

    pairs: tuple[tuple[str, str], ...]


class Picture(NamedTuple):
    """A drawing as SVG text, with its description for those who cannot see it. `whole_page` takes all the room."""

    svg: str
    description: str
    whole_page: bool = False


class Labels(NamedTuple):
    """Labels on a sheet of them: `sheet` names the grid, each label has lines of text."""

    sheet: str
    labels: tuple[tuple[str, ...], ...]


Block = Table | Text | Heading | Points | Facts | Picture | Labels


class Paper(NamedTuple):
    """One paper of the folder: it begins on a page of its own."""

    id: str
    title: str
    blocks: tuple[Block, ...]
    landscape: bool = False


class Folder(NamedTuple):
    """All papers of a job. `running` is the line at the foot of each page, `notice` the last word of the cover."""

    title: str
    subtitle: str
    running: str
    paper: Literal["a4", "letter"]
    language: str
    papers: tuple[Paper, ...]
