"""The folder's tables as a workbook: one sheet for each, numbers as numbers, text never as a formula."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from wiregen.papers.book import book_bytes, put_text
from wiregen.papers.document import Cell, Folder, Table

if TYPE_CHECKING:
    from openpyxl.cell import Cell as BookCell

_FORBIDDEN = re.compile(r"[\[\]:*?/\\\x00-\x1f]")
LONGEST_NAME = 31  # of a sheet


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
    return book_bytes(book)


def _put(target: BookCell, cell: Cell) -> None:
    if cell.number is not None:
        target.value = round(cell.number.value, 9)
    else:
        put_text(target, cell.text)


def _name(wanted: str, taken: set[str]) -> str:
    """A sheet's name that is allowed and not taken."""
    base = _FORBIDDEN.sub(" ", wanted).strip("' ")[:LONGEST_NAME] or "table"
    name, number = base, 1
    while name.lower() in taken:
        number += 1
        name = f"{base[: LONGEST_NAME - 1 - len(str(number))]} {number}"
    taken.add(name.lower())
    return name
