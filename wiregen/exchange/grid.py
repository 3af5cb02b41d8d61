"""A .csv or .xlsx file to rows of plain text cells, within bounds; whatever cannot be read is a finding at its cell."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from typing import NamedTuple

from wiregen.findings import Finding
from wiregen.papers.book import FORMULA

MOST_ROWS = 20_000
MOST_COLUMNS = 100
LONGEST_CELL = 2_000  # code points
MOST_UNPACKED = 50_000_000  # bytes of all members of a workbook


class Sheet(NamedTuple):
    """One sheet: `name` is `` for a csv; rows of texts, `` where a cell is empty or bad."""

    name: str
    rows: list[list[str]]
    bad: dict[tuple[int, int], tuple[str, str]]  # row and column from 0 -> what is wrong with the cell, remedy
    unread: str = ""  # what of it was not read, in words


def bad(where: str, message: str, remedy: str) -> Finding:
    """One mistake in a table; `where` names file, sheet and cell."""
    return Finding(
        "netlist-mistake", "danger", message, remedy=remedy, basis="the columns of a table", lost=True, path=where
    )


def cell_name(path: str, sheet: str, row: int, column: int) -> str:
    """`van.xlsx Wires!C7`; row and column count from 0."""
    return f"{path} {sheet}{'!' if sheet else ''}{column_name(column)}{row + 1}"


def column_name(column: int) -> str:
    """`A` for 0, `AA` for 26."""
    letters, number = "", column + 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def read_sheets(path: str, data: bytes) -> tuple[list[Sheet], list[Finding]]:
    """The sheets of a table file. `data` are its bytes; a workbook is known by its first two."""
    if data[:2] == b"PK":
        return _workbook(path, data)
    if data[:4] == b"\xd0\xcf\x11\xe0":
        return [], [bad(path, f"{path} is a workbook of the old kind", "save it as .xlsx or .csv")]
    from wiregen.language.files import read_source

    source, found = read_source(path, data=data)
    return ([], list(found)) if source is None else _csv(path, source.text)


def _csv(path: str, text: str) -> tuple[list[Sheet], list[Finding]]:
    first = text.lstrip("\n").split("\n", 1)[0]
    delimiter = max(",;\t", key=first.count)
    rows: list[list[str]] = []
    wide = False
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True):
            if len(rows) >= MOST_ROWS:
                return [], [bad(path, f"{path} has more than {MOST_ROWS} rows", "split the job")]
            rows.append([_plain(cell) for cell in row[:MOST_COLUMNS]])
            wide = wide or any(row[MOST_COLUMNS:])
    except csv.Error as error:
        where = cell_name(path, "", len(rows), 0)
        return [], [bad(where, f"this row cannot be read: {error}", "close the quotation marks of its cells")]
    return [Sheet("", rows, _too_long(rows), _unread(False, wide))], []


def _unread(long: bool, wide: bool) -> str:
    """What of a sheet is out of bounds, in words."""
    words = [f"rows beyond {MOST_ROWS}"] if long else []
    words += [f"columns beyond {column_name(MOST_COLUMNS - 1)}"] if wide else []
    return f"{' and '.join(words)} are not read" if words else ""


def _plain(cell: str) -> str:
    """A cell without spaces around it, and without the apostrophe that keeps a spreadsheet from running it."""
    cell = cell.strip()
    return cell[1:] if cell.startswith("'") and cell.lstrip("'").startswith(FORMULA) else cell


def _too_long(rows: list[list[str]]) -> dict[tuple[int, int], tuple[str, str]]:
    """The cells that hold too much; they are emptied."""
    found = {}
    for y, row in enumerate(rows):
        for x, cell in enumerate(row):
            if len(cell) > LONGEST_CELL:
                row[x] = ""
                found[y, x] = (f"a cell of {len(cell)} characters", f"write at most {LONGEST_CELL}")
    return found


def _workbook(path: str, data: bytes) -> tuple[list[Sheet], list[Finding]]:
    import warnings
    import zipfile

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = archive.infolist()
            if len(members) > 2_000 or sum(member.file_size for member in members) > MOST_UNPACKED:
                return [], [bad(path, f"{path} unpacks to more than a table holds", "keep only the tables in it")]
        from openpyxl import load_workbook

        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
            sheets: list[Sheet] = []
            found: list[Finding] = []
            for sheet in book.worksheets:
                if sheet.sheet_state != "visible":
                    continue
                rows: list[list[str]] = []
                problems: dict[tuple[int, int], tuple[str, str]] = {}
                wide = (sheet.max_column or 0) > 2 * MOST_COLUMNS
                for y, row in enumerate(sheet.iter_rows(max_row=MOST_ROWS + 1, max_col=2 * MOST_COLUMNS)):
                    rows.append([])
                    for x, cell in enumerate(row[:MOST_COLUMNS]):
                        text, problem = _text(cell.value, cell.data_type)
                        rows[-1].append(text)
                        if problem:
                            problems[y, x] = problem
                    wide = wide or any(cell.value is not None for cell in row[MOST_COLUMNS:])
                if len(rows) > MOST_ROWS and any(rows[-1]):
                    found.append(bad(f"{path} {sheet.title}", f"more than {MOST_ROWS} rows", "split the job"))
                problems |= _too_long(rows)
                sheets.append(Sheet(sheet.title, rows, problems, _unread((sheet.max_row or 0) > MOST_ROWS, wide)))
            book.close()
            _never_computed(data, sheets)
    except Exception as error:  # a damaged or hostile workbook makes the library raise errors of any kind
        return [], [bad(path, f"{path} cannot be read as a workbook ({type(error).__name__})", "save it anew as .xlsx")]
    return sheets, found


def _never_computed(data: bytes, sheets: list[Sheet]) -> None:
    """Formulas without a saved value are bad: they would look like empty cells."""
    from openpyxl import load_workbook

    book = load_workbook(io.BytesIO(data), read_only=True)
    for read in sheets:
        for y, row in enumerate(book[read.name].iter_rows(max_row=len(read.rows), max_col=MOST_COLUMNS)):
            for x, cell in enumerate(row):
                if cell.data_type == "f" and not (x < len(read.rows[y]) and read.rows[y][x]):
                    read.bad.setdefault((y, x), ("a formula without a saved value", "type the value that is meant"))
    book.close()


def _text(value: object, kind: str) -> tuple[str, tuple[str, str] | None]:
    """A cell's value as text, and what is wrong with it."""
    if value is None:
        return "", None
    if kind == "e":
        return "", (f"the cell shows the error {value}", "mend its formula, or type the value")
    if isinstance(value, bool):
        return "", (f"the cell holds {str(value).upper()}, not text or a number", "type what is meant")
    if isinstance(value, int | float):
        return f"{value:.12g}", None
    if isinstance(value, str):
        return " ".join(value.split(" ")).replace("\r\n", "\n").replace("\r", "\n").strip(), None
    return "", (f"the spreadsheet took this for a date: {value}", "format the cell as text and type it again")


def rows_of(sheet: Sheet) -> Iterator[tuple[int, list[str]]]:
    """The rows that hold something and are no comment (`#` first), with their number from 0."""
    for number, row in enumerate(sheet.rows):
        if any(row) and not comment(row):
            yield number, row


def comment(row: list[str]) -> bool:
    """Whether the first filled cell of a row begins with `#`."""
    return next((cell for cell in row if cell), "").startswith("#")
