"""The folder's tables as a workbook: one sheet for each, numbers as numbers, text never as a formula."""

from __future__ import annotations

import io
import re

from wiregen.papers.document import Cell, Folder, Table

_FORBIDDEN = re.compile(r"[\[\]:*?/\\\x00-\x1f]")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
LONGEST_NAME = 31  # of a sheet
FORMULA = ("=", "+", "-", "@", "\t", "\r")


def workbook(folder: Folder) -> bytes:
    """The tables of a folder as .xlsx. Same folder, same bytes.

    A text that a spreadsheet could take for a formula is a text cell with the quote prefix, so that it cannot run.
    """
    from openpyxl import Workbook
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    book = Workbook()
    for sheet in list(book.worksheets):
        book.remove(sheet)
    taken: set[str] = set()
    for paper in folder.papers:
        for table in (block for block in paper.blocks if isinstance(block, Table)):
            sheet = book.create_sheet(_name(table.name, taken))
            for at, column in enumerate(table.columns, start=1):
                title = f"{column.title} [{column.unit}]" if column.unit else column.title
                head = sheet.cell(1, at)
                _put(head, Cell(title))
                head.font = Font(bold=True)
                head.alignment = Alignment(wrap_text=True, vertical="top")
                sheet.column_dimensions[get_column_letter(at)].width = min(60, max(8, 9 * column.width))
            for line, row in enumerate(table.rows, start=2):
                for at, cell in enumerate(row, start=1):
                    _put(sheet.cell(line, at), cell)
            sheet.freeze_panes = "A2"
            sheet.print_title_rows = "1:1"
    if not book.worksheets:
        book.create_sheet("empty")
    return _same_bytes(book)


def _put(target: object, cell: Cell) -> None:
    if cell.number is not None:
        target.value = round(cell.number.value, 9)  # type: ignore[attr-defined]
        return
    text = _CONTROL.sub("", cell.text)
    target.value = text or None  # type: ignore[attr-defined]
    if text:
        target.data_type = "s"  # type: ignore[attr-defined]
    if text.startswith(FORMULA):
        target.quotePrefix = True  # type: ignore[attr-defined]


def _name(wanted: str, taken: set[str]) -> str:
    """A sheet's name that is allowed and not taken."""
    base = _FORBIDDEN.sub(" ", wanted).strip("' ")[:LONGEST_NAME] or "table"
    name, number = base, 1
    while name.lower() in taken:
        number += 1
        name = f"{base[: LONGEST_NAME - 1 - len(str(number))]} {number}"
    taken.add(name.lower())
    return name


def _same_bytes(book: object) -> bytes:
    """The workbook without the clock: openpyxl writes the time into the properties and into the archive."""
    import zipfile
    from datetime import datetime

    book.properties.created = book.properties.modified = datetime(2000, 1, 1)  # type: ignore[attr-defined]
    first = io.BytesIO()
    book.save(first)  # type: ignore[attr-defined]
    out = io.BytesIO()
    with zipfile.ZipFile(first) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for item in source.infolist():
            data = source.read(item.filename)
            if item.filename == "docProps/core.xml":
                data = re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>2000-01-01T00:00:00Z", data)
            fixed = zipfile.ZipInfo(item.filename, (2000, 1, 1, 0, 0, 0))
            fixed.compress_type = zipfile.ZIP_DEFLATED
            target.writestr(fixed, data)
    return out.getvalue()
