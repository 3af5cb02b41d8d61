"""The catalogue as the other rooms ask it: rows by table and id, each with its source in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

Row = Mapping[str, Any]

_WORDS = {
    "primary": "read in the source",
    "secondary": "read in a reprint",
    "computed": "computed",
    "memory": "from memory, not read",
    "common practice": "common practice, no source",
}


class Catalogue:
    """Published and common-practice data. `tables` holds rows in the order of the files."""

    def __init__(self, sources: Mapping[str, Row], tables: Mapping[str, tuple[Row, ...]]) -> None:
        self.sources = sources
        self.tables = tables
        self._by_id: dict[str, dict[str, Row]] = {}
        self._basis: dict[str, str] = {}

    def rows(self, table: str) -> tuple[Row, ...]:
        """All rows of a table. Raises KeyError for a table that does not exist."""
        return self.tables[table]

    def row(self, table: str, id: str) -> Row | None:
        """One row, or None."""
        found = self._by_id.get(table)
        if found is None:
            found = self._by_id[table] = {row["id"]: row for row in self.tables[table]}
        return found.get(id)

    def basis(self, row: Row, column: str = "source") -> str:
        """The source of a row in words, with how it is known: `IEC 60228 ... (read in a reprint)`."""
        name = row[column]
        found = self._basis.get(name)
        if found is None:
            source = self.sources[name]
            found = self._basis[name] = f"{source['text']} ({_WORDS[source['known']]})"
        return found

    def remembered(self, row: Row, column: str = "source") -> bool:
        """Whether the figure is only remembered, so that a finding that it decides has to say so."""
        return bool(self.sources[row[column]]["known"] == "memory")

    def default(self, id: str) -> float:
        """A default's value in the unit of its row. Raises KeyError for an unknown id."""
        row = self.row("default", id)
        if row is None:
            raise KeyError(id)
        return float(row["value"])

    def constant(self, id: str) -> float:
        """A physical constant in the unit of its row. Raises KeyError for an unknown id."""
        row = self.row("constant", id)
        if row is None:
            raise KeyError(id)
        return float(row["value"])
