"""A workbook as bytes that do not depend on the clock: for the folder and for from-to tables."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.cell import Cell

FORMULA = ("=", "+", "-", "@", "\t", "\r")  # what a spreadsheet may take for the beginning of a formula
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")  # what XML cannot hold
FIXED = (2000, 1, 1, 0, 0, 0)


def without_controls(text: str) -> str:
    """The text without the characters that no table can hold."""
    return _CONTROL.sub("", text)


def put_text(cell: Cell, text: str) -> None:
    """Write a text that never runs: one that could be taken for a formula is a text cell with the quote prefix."""
    text = without_controls(text)
    if not text:
        return
    cell.value, cell.data_type = text, "s"
    if text.startswith(FORMULA):
        cell.quotePrefix = True


def book_bytes(book: Workbook) -> bytes:
    """The workbook without the clock: openpyxl writes the time into the properties and into the archive."""
    book.properties.created = book.properties.modified = datetime(2000, 1, 1)
    first, out = io.BytesIO(), io.BytesIO()
    book.save(first)
    with zipfile.ZipFile(first) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for item in source.infolist():
            data = source.read(item.filename)
            if item.filename == "docProps/core.xml":
                data = re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>2000-01-01T00:00:00Z", data)
            fixed = zipfile.ZipInfo(item.filename, FIXED)
            fixed.compress_type = zipfile.ZIP_DEFLATED
            target.writestr(fixed, data)
    return out.getvalue()
