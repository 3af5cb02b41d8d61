"""The columns of a from-to table, what their headings may look like, and a row under them."""

from __future__ import annotations

import re
from typing import NamedTuple

COLUMNS = (
    "Kind", "Name", "Title", "Place", "On", "Block", "Way", "Type", "Rating", "Volts", "Capacity", "Resistance",
    "Breaks", "From", "To", "Colour", "Size", "Length", "Material", "Insulation", "Via", "In", "Bundle", "Note",
    "Facts",
)  # fmt: skip
FACT = {"Place": "at", "Chemistry": "type"}  # the fact behind a column, where it is not called like it
OTHER_HEADINGS = {"color": "Colour", "chemistry": "Type", "at": "Place"}
HELP = ("Column", "What goes in it")  # headings of the template's sheet that explains the columns
STATEMENT_KINDS = ("place", "cable", "bundle")
WIRES = ("", "wire", "conductor", "core")
_HEADING = re.compile(r"\s*(.*?)\s*(?:[\[(]\s*(.*?)\s*[\])])?\s*$")


class Row(NamedTuple):
    """One row under the headings: its sheet (`` in a csv), its number there from 1, its filled cells by column."""

    sheet: str
    number: int
    cells: dict[str, str]
    at: dict[str, int]  # column -> place in the row


def heading_of(cell: str) -> tuple[str, str]:
    """The column that a heading means, and the unit in it; the heading itself where it means none."""
    match = _HEADING.match(cell)
    word, unit = (match[1], match[2] or "") if match else (cell, "")
    known = {**{c.lower(): c for c in COLUMNS}, **OTHER_HEADINGS}
    head, _, tail = word.rpartition(" ")
    if not unit and head.lower() in known and tail:
        word, unit = head, tail
    return known.get(word.lower(), cell), unit


def kind_of(row: Row) -> str:
    """The row's Kind as the language writes it."""
    return row.cells.get("Kind", "").lower().replace(" ", "-")
