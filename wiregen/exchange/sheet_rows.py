"""The rows of a sheet, under the headings that stand somewhere in its first lines."""

from __future__ import annotations

import re

from wiregen.exchange.columns import COLUMNS, HELP, Row, heading_of
from wiregen.exchange.grid import Sheet, column_name, comment, rows_of
from wiregen.exchange.import_page import Page
from wiregen.model.spelling import close, distance, listed


def rows_in(page: Page, sheet: Sheet) -> tuple[list[str], list[Row], list[Row]]:
    """What is not read, the rows, and the rows about the job itself, of one sheet."""
    name = f"sheet {sheet.name}" if sheet.name else "the table"
    content = list(rows_of(sheet))
    for index, (number, head) in enumerate(content[:10]):
        named = {heading_of(cell)[0]: x for x, cell in reversed(list(enumerate(head))) if cell}
        if [cell.lower() for cell in head if cell][:2] == ["item", "value"]:
            job = [
                Row(sheet.name, n, {"Kind": row[0], "Value": row[1] if len(row) > 1 else ""}, {"Kind": 0, "Value": 1})
                for n, row in content[index + 1 :]
            ]
            _bad_cells(page, sheet, number, {"Kind": 0, "Value": 1})
            return [], [], job
        if tuple(cell for cell in head if cell) == HELP:
            return [], [], []
        if not ({"Kind", "Name"} <= set(named) or {"From", "To"} <= set(named)):
            continue
        units: dict[str, str] = {}
        at: dict[str, int] = {}
        told: list[str] = []
        for x, cell in enumerate(head):
            column, unit = heading_of(cell)
            here = Row(sheet.name, number, {}, {cell: x})
            if column in at:
                page.say(here, cell, "this heading stands twice", "keep one of the two columns")
            elif column in COLUMNS:
                at[column], units[column] = x, unit
            elif cell:
                edits = 0 if len(cell) < 3 else 1 if len(cell) < 6 else 2  # ID and Price are columns to spare
                near = [
                    c for c in close(cell, COLUMNS)
                    if c not in named and distance(cell.lower(), c.lower(), edits) <= edits
                ]  # fmt: skip
                if near:
                    page.say(
                        here, cell, "no such heading", f"write {listed(near)}, or another word for a column to spare"
                    )
                else:
                    told.append(f"{name}: the column {cell} is not read")
        _bad_cells(page, sheet, number, at)
        rows = []
        bare: set[int] = set()
        for n, row in content[index + 1 :]:
            bare.update(x for x, cell in enumerate(row) if cell and not (x < len(head) and head[x]))
            cells = {c: row[x] for c, x in at.items() if x < len(row) and row[x]}
            for column, unit in units.items():
                if unit and re.fullmatch(r"[-+]?\d+(\.\d+)?(/0)?|[\d.]+\.\.[\d.]+", cells.get(column, "")):
                    cells[column] += f" {unit}"
            if cells:
                rows.append(Row(sheet.name, n, cells, at))
        told += [f"{name}: column {column_name(x)} has no heading and is not read" for x in sorted(bare)]
        job = [r for r in rows if r.cells.get("Kind", "").lower() == "job"]
        return told, [r for r in rows if r.cells.get("Kind", "").lower() != "job"], job
    return ([f"{name} has no headings that are known and is not read"] if content else []), [], []


def _bad_cells(page: Page, sheet: Sheet, head: int, at: dict[str, int]) -> None:
    """Say which cells below the headings cannot be read; in columns and rows that nobody reads they may stand."""
    columns = {x: column for column, x in at.items()}
    for (y, x), (message, remedy) in sheet.bad.items():
        if y > head and x in columns and not comment(sheet.rows[y]):
            page.say(Row(sheet.name, y, {}, at), columns[x], message, remedy)
