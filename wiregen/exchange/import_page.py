"""The netlist while a table is made into one, with the cell that each stretch of it comes from."""

from __future__ import annotations

from wiregen.exchange.columns import Row
from wiregen.exchange.grid import bad, cell_name
from wiregen.findings import Finding
from wiregen.language.limits import MOST_MISTAKES


class Page:
    """The netlist while it is written, with the cell that each stretch comes from."""

    def __init__(self, path: str) -> None:
        self.path = path
        self.pieces: list[str] = []
        self.length = 0
        self.starts: list[int] = []
        self.cells: list[tuple[Row, str]] = []
        self.findings: list[tuple[tuple[str, int, int], Finding]] = []
        self.bad: set[tuple[str, int]] = set()
        self._said: set[tuple[str, int, int]] = set()

    def put(self, text: str, row: Row, column: str) -> None:
        """Write a stretch that comes from this cell."""
        self.starts.append(self.length)
        self.cells.append((row, column))
        self.pieces.append(text)
        self.length += len(text)

    def say(self, row: Row, column: str, message: str, remedy: str) -> None:
        """One mistake at a cell."""
        at = row.at.get(column, row.at.get("Name", 0))
        where = cell_name(self.path, row.sheet, row.number, at)
        self.bad.add((row.sheet, row.number))
        key = (row.sheet, row.number, at)
        if key not in self._said and not self.full:
            self._said.add(key)
            self.findings.append((key, bad(where, f"{column}: {message}", remedy)))

    def mark(self) -> int:
        """Where the page is now, for `back`."""
        return len(self.pieces)

    def back(self, mark: int) -> None:
        """Take away what was written since."""
        self.length -= sum(map(len, self.pieces[mark:]))
        del self.pieces[mark:], self.starts[mark:], self.cells[mark:]

    @property
    def full(self) -> bool:
        """Whether so many mistakes were found that no more are told."""
        return len(self.findings) > MOST_MISTAKES
