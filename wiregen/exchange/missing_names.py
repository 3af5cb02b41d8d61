"""Names in the cells of a table that no row declares, and the rows whose own name was lost."""

from __future__ import annotations

from wiregen.exchange.cells import AIR, END, one_line, values_alone
from wiregen.exchange.columns import STATEMENT_KINDS, Row, kind_of
from wiregen.exchange.grid import bad
from wiregen.exchange.import_page import Page
from wiregen.model.spelling import did_you_mean
from wiregen.model.vocabulary import KINDS

_NAMING = {
    "From": "part",
    "To": "part",
    "On": "part",
    "Block": "part",
    "Place": "place",
    "Via": "place",
    "Bundle": "bundle",
    "Name": "cable",
}  # columns that name another row, of a core its own name, and of what sort that row is
_SORTS = ("place", "bundle", "cable", "part")
MOST_SHOWN = 12  # names in one message


def names_in(row: Row, column: str) -> list[str]:
    """The rows that a cell names; none where the column does not name any."""
    text = row.cells.get(column, "")
    if column == "Via":
        return [v.text for v in values_alone(f"x {one_line(text).replace(',', ' ')}") if v.kind == "name"]
    if column == "Name" and not ("." in text and row.cells.get("From")):
        return []
    named = column in _NAMING and END.match(text) and not AIR.match(text)
    return [text.partition(".")[0]] if named else []


def without_name(page: Page, rows: list[Row], job: list[Row]) -> set[str]:
    """Undeclared names that other rows lead to, one for each row whose own name is bad: the most used first.

    A row that lost its name is one fault; that it is missed elsewhere is no second one. Its finding names it.
    """
    named = {r.cells.get("Name", "").lower() for r in (*rows, *job) if not r.cells.get("From")}
    declaring = {(r.sheet, r.number): kind_of(r) for r in rows if not r.cells.get("From") and not r.cells.get("To")}
    bad_rows: dict[str, list[int]] = {}
    block_lost = False
    for at, (key, finding) in enumerate(page.findings):
        kind = declaring.get((key[0], key[1]))
        if kind is not None and finding.message.startswith("Name: "):
            block_lost = block_lost or kind == "fuse-block"
            bad_rows.setdefault(kind if kind in _SORTS else "part", []).append(at)
    uses: dict[str, dict[str, int]] = {}
    for row in rows:
        for column, sort in _NAMING.items():
            if column == "Block" and not block_lost:
                continue  # what it names is no part of another kind
            for name in map(str.lower, names_in(row, column)):
                if name not in named:
                    of = uses.setdefault(sort, {})
                    of[name] = of.get(name, 0) + 1
    lost: set[str] = set()
    for sort, places in bad_rows.items():
        of = uses.get(sort, {})
        likely = sorted(of, key=lambda name: (-of[name], name))[: len(places)]
        lost.update(likely)
        shown = ", ".join(likely[:MOST_SHOWN]) + (", ..." if len(likely) > MOST_SHOWN else "")
        for at in places if likely else []:
            key, finding = page.findings[at]
            words = f"{finding.remedy}; no row declares {shown}, which other rows lead to"
            page.findings[at] = (key, bad(finding.path, finding.message, words))
    missed = {f"Block: no fuse-block is called {name}".lower() for name in lost}
    page.findings = [one for one in page.findings if one[1].message.lower() not in missed]
    return lost


def say_missing(page: Page, rows: list[Row], job: list[Row], lost: set[str]) -> None:
    """Say each cell that names what no row declares, also where the netlist told only the first, or lost the line."""
    names: dict[str, dict[str, str]] = {sort: {} for sort in _SORTS}
    for row in (*rows, *job):
        name, kind = row.cells.get("Name", ""), kind_of(row)
        if row.cells.get("From") or row.cells.get("To") or not name:
            continue
        sorts = [kind if kind in _SORTS else "part"]
        for sort in sorts if kind in (*KINDS, *STATEMENT_KINDS) else _SORTS:  # of a bad Kind it may be any
            names[sort][name.lower()] = name
    cores: set[str] = set()
    for row in rows:
        if names_in(row, "Name"):
            core = row.cells["Name"].lower()
            if core in cores:
                page.say(row, "Name", f"the core {row.cells['Name']} is used twice", "use another core")
            cores.add(core)
        for column, sort in _NAMING.items():
            for word in names_in(row, column) if column != "Block" else []:
                if word.lower() not in names[sort] and word.lower() not in lost and not page.full:
                    near = did_you_mean(word, names[sort].values())
                    page.say(row, column, f"no {sort} is called {word}", near or "declare it in a row of its own")
