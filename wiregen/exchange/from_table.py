"""A from-to table to a netlist: rows become statements of the language, and each mistake is told at its cell.

A row with From and To is a conductor (Kind empty or `wire`), a joint without cable (`link`) or a mated pair (`mate`);
a row with Kind and Name declares. A fuse with Block and Way is that way of the block.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from typing import NamedTuple

from wiregen.exchange.grid import Sheet, bad, cell_name, column_name, comment, read_sheets, rows_of
from wiregen.findings import Finding, Source
from wiregen.language import parse
from wiregen.language.build_tree import quoted
from wiregen.language.format import format_text
from wiregen.language.limits import MOST_MISTAKES
from wiregen.language.tree import Value
from wiregen.model import read
from wiregen.model.spelling import close, did_you_mean, distance, listed
from wiregen.model.values import any_fits
from wiregen.model.vocabulary import KINDS, Table, conductor_table, kind_table, means, statement_table, type_table

COLUMNS = (
    "Kind", "Name", "Title", "Place", "On", "Block", "Way", "Type", "Rating", "Volts", "Capacity", "Resistance",
    "Breaks", "From", "To", "Colour", "Size", "Length", "Material", "Insulation", "Via", "In", "Bundle", "Note",
    "Facts",
)  # fmt: skip
FACT = {"Place": "at", "Chemistry": "type"}  # the fact behind a column, where it is not called like it
OTHER_HEADINGS = {"color": "Colour", "chemistry": "Type", "at": "Place"}
HELP = ("Column", "What goes in it")  # headings of the template's sheet that explains the columns
STATEMENT_KINDS = ("place", "cable", "bundle")
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
_MAKING = {"Facts", "On"}  # columns that say what ends a part has
_SORTS = ("place", "bundle", "cable", "part")
WIRES = ("", "wire", "conductor", "core")
MOST_SHOWN = 12  # names in one message
_HEADING = re.compile(r"\s*(.*?)\s*(?:[\[(]\s*(.*?)\s*[\])])?\s*$")
_NAME = re.compile(r"[^\W\d_]\w*(?:-\w+)*(?:\.\w+(?:-\w+)*)?$")
_END = re.compile(r"\w+(?:-\w+)*(?:\.(?:\w+(?:-\w+)*|[+-](?!\w)))*$")
_AIR = re.compile(r"(loose|capped)\b[\s:]*(.*)$", re.IGNORECASE | re.DOTALL)


class Imported(NamedTuple):
    """The netlist, `` where a cell is bad; what is wrong; what was not read, in words."""

    text: str
    findings: tuple[Finding, ...]
    notes: tuple[str, ...]


class _Row(NamedTuple):
    sheet: str
    number: int
    cells: dict[str, str]
    at: dict[str, int]  # column -> place in the row


class _Page:
    """The netlist while it is written, with the cell that each stretch comes from."""

    def __init__(self, path: str) -> None:
        self.path = path
        self.pieces: list[str] = []
        self.length = 0
        self.starts: list[int] = []
        self.cells: list[tuple[_Row, str]] = []
        self.findings: list[tuple[tuple[str, int, int], Finding]] = []
        self.bad: set[tuple[str, int]] = set()
        self._said: set[tuple[str, int, int]] = set()

    def put(self, text: str, row: _Row, column: str) -> None:
        """Write a stretch that comes from this cell."""
        self.starts.append(self.length)
        self.cells.append((row, column))
        self.pieces.append(text)
        self.length += len(text)

    def say(self, row: _Row, column: str, message: str, remedy: str) -> None:
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


def import_table(path: str, data: bytes) -> Imported:
    """The netlist in a table file; `path` is as the user gave it. Nothing is guessed: a bad cell leaves no text.

    >>> table = b"Kind,Name,Rating,From,To,Size\\nfuse,F1,10 A,,,\\n,W1,,F1.in,F1.out,6 mm2"
    >>> print(import_table("a.csv", table).text, end="")
    fuse F1, 10 A
    F1.in --[W1, 6 mm2]-- F1.out
    >>> import_table("a.csv", b"Kind,Name,Rating\\nfuse,F1,10 V").findings[0].message
    'Rating: 10 V is not a current such as `40 A`'
    """
    sheets, found = read_sheets(path, data)
    page, notes = _Page(path), []
    rows: list[_Row] = []
    job: list[_Row] = []
    for sheet in sheets:
        told, into, items = _rows(page, sheet)
        notes += told
        if sheet.unread:
            notes.append(f"{f'sheet {sheet.name}' if sheet.name else 'the table'}: {sheet.unread}")
        rows += into
        job += items
    if not rows:
        found += [finding for _, finding in sorted(page.findings, key=lambda one: one[0])]
    if not rows and not found:
        found.append(
            bad(
                path, f"{path} has no row of headings with Kind and Name, or From and To", "name the columns in one row"
            )
        )
    if not rows:
        return Imported("", tuple(found), tuple(notes))
    for row in job:
        _job_row(page, row, alone=len(job) == 1)
    lacking = _declare(page, rows)
    for row in rows:
        if row.cells.get("From") or row.cells.get("To"):
            _wire(page, row)
            if row.cells.get("Note") and _kind(row) in ("link", "mate"):
                where = cell_name(path, row.sheet, row.number, row.at["Note"])
                notes.append(f"{where}: a {_kind(row)} keeps no note: it stands as a comment in the netlist")
    lost = _without_name(page, rows, job)
    text = "".join(page.pieces)
    made, said = read(path, text=text)
    cables = {r.cells.get("Name", "").lower(): (r.sheet, r.number) for r in rows if _kind(r) == "cable"}
    for finding in sorted(said, key=lambda one: one.at.span.start if one.at else 0):
        if not finding.lost or finding.at is None:
            continue
        index = bisect_right(page.starts, finding.at.span.start) - 1
        while index > 0 and not page.cells[index][1]:
            index -= 1
        row, column = page.cells[max(index, 0)]
        if not lost.isdisjoint(word.lower() for word in _named(row, column)):
            continue
        cable, core, _ = row.cells.get("Name", "").lower().partition(".")
        if column == "Name" and core and cables.get(cable) in page.bad:
            continue  # what cores it has is not known
        if column in ("From", "To") and _leads_to(row.cells[column], lacking):
            continue
        if column in ("Kind", "Name") and (row.sheet, row.number) in page.bad and not row.cells.get("From"):
            continue  # written without what is wrong with it, which was told
        page.say(row, column or "Name", finding.message, finding.remedy)
    _references(page, rows, job, lost)
    findings = [*found, *(f for _, f in sorted(page.findings, key=lambda one: one[0]))]
    if not findings and (made is None or not made.complete):
        findings = list(said)
    if len(findings) > MOST_MISTAKES:
        message = f"{path} has more than {MOST_MISTAKES} bad cells; the rest are not told"
        findings[MOST_MISTAKES:] = [bad(path, message, "mend the first ones and try again")]
    if findings:
        return Imported("", tuple(findings), tuple(notes))
    formatted, trouble = format_text(Source(path, text))
    return Imported("" if trouble else formatted, tuple(trouble), tuple(notes))


def _rows(page: _Page, sheet: Sheet) -> tuple[list[str], list[_Row], list[_Row]]:
    """What is not read, the rows, and the rows about the job itself, of one sheet."""
    name = f"sheet {sheet.name}" if sheet.name else "the table"
    content = list(rows_of(sheet))
    for index, (number, head) in enumerate(content[:10]):
        named = {_heading(cell)[0]: x for x, cell in reversed(list(enumerate(head))) if cell}
        if [cell.lower() for cell in head if cell][:2] == ["item", "value"]:
            job = [
                _Row(sheet.name, n, {"Kind": row[0], "Value": row[1] if len(row) > 1 else ""}, {"Kind": 0, "Value": 1})
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
            column, unit = _heading(cell)
            here = _Row(sheet.name, number, {}, {cell: x})
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
                rows.append(_Row(sheet.name, n, cells, at))
        told += [f"{name}: column {column_name(x)} has no heading and is not read" for x in sorted(bare)]
        job = [r for r in rows if r.cells.get("Kind", "").lower() == "job"]
        return told, [r for r in rows if r.cells.get("Kind", "").lower() != "job"], job
    return ([f"{name} has no headings that are known and is not read"] if content else []), [], []


def _bad_cells(page: _Page, sheet: Sheet, head: int, at: dict[str, int]) -> None:
    """Say which cells below the headings cannot be read; in columns and rows that nobody reads they may stand."""
    columns = {x: column for column, x in at.items()}
    for (y, x), (message, remedy) in sheet.bad.items():
        if y > head and x in columns and not comment(sheet.rows[y]):
            page.say(_Row(sheet.name, y, {}, at), columns[x], message, remedy)


def _named(row: _Row, column: str) -> list[str]:
    """The rows that a cell names; none where the column does not name any."""
    text = row.cells.get(column, "")
    if column == "Via":
        return [v.text for v in _alone(f"x {_one_line(text).replace(',', ' ')}") if v.kind == "name"]
    if column == "Name" and not ("." in text and row.cells.get("From")):
        return []
    named = column in _NAMING and _END.match(text) and not _AIR.match(text)
    return [text.partition(".")[0]] if named else []


def _without_name(page: _Page, rows: list[_Row], job: list[_Row]) -> set[str]:
    """Undeclared names that other rows lead to, one for each row whose own name is bad: the most used first.

    A row that lost its name is one fault; that it is missed elsewhere is no second one. Its finding names it.
    """
    named = {r.cells.get("Name", "").lower() for r in (*rows, *job) if not r.cells.get("From")}
    declaring = {(r.sheet, r.number): _kind(r) for r in rows if not r.cells.get("From") and not r.cells.get("To")}
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
            for name in map(str.lower, _named(row, column)):
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


def _heading(cell: str) -> tuple[str, str]:
    """The column that a heading means, and the unit in it; the heading itself where it means none."""
    match = _HEADING.match(cell)
    word, unit = (match[1], match[2] or "") if match else (cell, "")
    known = {**{c.lower(): c for c in COLUMNS}, **OTHER_HEADINGS}
    head, _, tail = word.rpartition(" ")
    if not unit and head.lower() in known and tail:
        word, unit = head, tail
    return known.get(word.lower(), cell), unit


def _job_row(page: _Page, row: _Row, alone: bool) -> None:
    """`Title | Touring van` of a sheet with items, or a row of Kind job."""
    item = row.cells.get("Kind", "").lower().replace(" ", "-")
    facts = statement_table("job").facts
    if item == "job":
        table = statement_table("job")
        spare = [c for c in COLUMNS if c not in ("Kind", "Title", "Facts") and row.cells.get(c)]
        if spare and not alone:  # rather a row of another kind
            page.say(row, "Kind", "a second job row", "one table is one job: write the kind that is meant")
            if _is_name(row.cells.get("Name", "")):
                page.put(f"unread {row.cells['Name']}\n", row, "Kind")
            return
        for column in spare:
            page.say(row, column, "a job does not say this", "leave the cell empty")
        page.put("job", row, "Kind")
        page.put(f" {quoted(row.cells.get('Title', ''))}", row, "Title")
        if row.cells.get("Facts") and _sound(page, row, table):
            page.put(f", {_one_line(row.cells['Facts'])}", row, "Facts")
        page.put("\n", row, "")
        return
    if "job" not in {r.cells.get("Kind", "").lower() for r, _ in page.cells[:1]} and not page.pieces:
        page.put("job", row, "Kind")
    else:
        last = page.pieces[-1]
        page.pieces[-1] = last.rstrip("\n")
        page.length -= len(last) - len(page.pieces[-1])
    value = row.cells["Value"]
    if item not in (*facts, "title"):
        page.say(row, "Kind", f"{item} is no item of a job", did_you_mean(item, [*facts, "title"]) or "leave it out")
    elif value:
        text = item in ("title",) or any("text" in i.options for i in facts.get(item, ()))
        checked = quoted(value) if text else _one_line(value)
        if text or _alone(f"x {checked}"):
            page.put(
                f"{',' if len(page.pieces) > 1 else ''} {'' if item == 'title' else item + ' '}{checked}", row, "Value"
            )
        else:
            page.say(row, "Value", f"{value} cannot be read", f"write what belongs to {item}")
    page.put("\n", row, "")


def _is_name(word: str) -> bool:
    """Whether a row can be declared by this name."""
    return bool(_NAME.match(word)) and "." not in word


def _leads_to(end: str, lacking: set[tuple[str, str]]) -> bool:
    """Whether a cell names a way of which it is not known whether it is there."""
    block, _, way = end.lower().partition(".")
    return way.isdigit() and not lacking.isdisjoint({(block, way), (block, ""), ("", way), ("", "")})


def _ways(page: _Page, rows: list[_Row]) -> tuple[dict[str, list[_Row]], list[_Row], set[tuple[str, str]]]:
    """The way rows of each block, those that belong nowhere, and the ways that are missed for it.

    A missed way is (block, way) in small letters, `` where it is not known.
    """
    blocks: dict[str, list[_Row]] = {}
    astray: list[_Row] = []
    lacking: set[tuple[str, str]] = set()
    kinds = {r.cells.get("Name", "").lower(): _kind(r) for r in rows}
    taken: set[tuple[str, str]] = set()
    for row in rows:
        block, way = row.cells.get("Block", ""), row.cells.get("Way", "")
        if not _is_way(row):
            continue
        kind = kinds.get(block.lower(), "")
        key = (block.lower(), way)
        fits = re.fullmatch(r"[1-9]\d{0,2}", way)
        if kind == "fuse-block" and fits and key not in taken:
            taken.add(key)
            blocks.setdefault(block.lower(), []).append(row)
            continue
        astray.append(row)
        if kind != "fuse-block":
            lacking.add(("", way if fits else ""))
            if not (block and block.lower() in kinds and kind not in (*KINDS, *STATEMENT_KINDS)):
                page.say(row, "Block", f"no fuse-block is called {block or '(empty)'}", "name a row of Kind fuse-block")
            continue  # a block's row with a bad Kind is told there
        lacking.add((block.lower(), ""))
        if fits:
            page.say(row, "Way", f"way {way} of {block} stands twice", "give one of them another number")
        else:
            page.say(row, "Way", f"{way or '(empty)'} is no way", "write its number, such as 3")
    return blocks, astray, lacking


def _kind(row: _Row) -> str:
    return row.cells.get("Kind", "").lower().replace(" ", "-")


def _is_way(row: _Row) -> bool:
    """Whether a row is the fuse in a way, or one whose Kind may have been meant so."""
    kind = _kind(row)
    return bool(row.cells.get("Block") or row.cells.get("Way")) and (
        kind in ("fuse", "") or kind not in (*KINDS, *STATEMENT_KINDS, "type")
    )


def _declare(page: _Page, rows: list[_Row]) -> set[tuple[str, str]]:
    """The rows that declare; those of ways go into the braces of their block. The ways that are missed: see `_ways`."""
    blocks, astray, lacking = _ways(page, rows)
    seen: set[str] = set()
    types = _types(page, rows)
    for row in rows:
        if row.cells.get("Kind", "").lower() == "type" or row.cells.get("From") or row.cells.get("To"):
            continue
        kind, name = _kind(row), row.cells.get("Name", "")
        if _is_way(row) and kind in ("fuse", ""):
            continue
        if not (kind in KINDS or kind in STATEMENT_KINDS or kind in types):
            known = [*KINDS, *STATEMENT_KINDS, *types]
            what = f"{row.cells['Kind']} is no kind of part" if kind else "the cell is empty"
            remedy = "" if page.full else did_you_mean(kind, known) or f"write one of {', '.join(known)}"
            page.say(row, "Kind", what, remedy)
            if name and _NAME.match(name):
                page.put(f"unread {name}\n", row, "Kind")
            continue
        table = statement_table(kind) if kind in STATEMENT_KINDS else kind_table(types.get(kind, kind))
        start = page.mark()
        page.put(f"{kind} ", row, "Kind")
        page.put(name, row, "Name")
        unfit = _facts(page, row, table, ("Kind", "Name"))
        if kind == "earth" and not row.cells.get("On"):
            page.say(row, "On", "the cell is empty", "name a row of Kind body")
            unfit.add("On")
        new = _is_name(name) and name.lower() not in seen
        if not _is_name(name):
            words = f"{name} is no name" if name else "the cell is empty"
            page.say(row, "Name", words, "a name is one word that begins with a letter, such as F1")
        elif not new:
            page.say(row, "Name", f"{name} is declared twice", "give one of them another name")
        if not new or unfit & _MAKING:  # its ends are not known: the name alone is kept
            page.back(start)
            if new:
                page.put(f"unread {name}\n", row, "Kind")
                seen.add(name.lower())
                astray += blocks.get(name.lower(), [])
            continue
        seen.add(name.lower())
        if blocks.get(name.lower()):
            page.put(" {\n", row, "Kind")
            for way in blocks[name.lower()]:
                page.put(f"{way.cells['Way']}:", way, "Way")
                own = way.cells.get("Name", "")
                lead = own if own and own.lower() != f"{name}.{way.cells['Way']}".lower() else ""
                if lead:
                    page.put(f" {lead}", way, "Name")
                before = len(page.pieces)
                unfit = _facts(page, way, kind_table("fuse"), ("Kind", "Name", "Block", "Way"), first=not lead)
                if not lead and len(page.pieces) == before:
                    if not unfit:
                        page.say(way, "Rating", "the cell is empty", "write the fuse's rating, such as 10 A")
                    page.put(" empty", way, "Kind")
                page.put("\n", way, "")
            page.put("}", row, "Kind")
        page.put("\n", row, "")
    for way in astray:
        start = page.mark()
        _facts(page, way, kind_table("fuse"), ("Kind", "Name", "Block", "Way"))
        page.back(start)
        if _is_name(way.cells.get("Name", "")):
            page.put(f"unread {way.cells['Name']}\n", way, "Kind")
    return lacking


def _references(page: _Page, rows: list[_Row], job: list[_Row], lost: set[str]) -> None:
    """Say each cell that names what no row declares, also where the netlist told only the first, or lost the line."""
    names: dict[str, dict[str, str]] = {sort: {} for sort in _SORTS}
    for row in (*rows, *job):
        name, kind = row.cells.get("Name", ""), _kind(row)
        if row.cells.get("From") or row.cells.get("To") or not name:
            continue
        sorts = [kind if kind in _SORTS else "part"]
        for sort in sorts if kind in (*KINDS, *STATEMENT_KINDS) else _SORTS:  # of a bad Kind it may be any
            names[sort][name.lower()] = name
    cores: set[str] = set()
    for row in rows:
        if _named(row, "Name"):
            core = row.cells["Name"].lower()
            if core in cores:
                page.say(row, "Name", f"the core {row.cells['Name']} is used twice", "use another core")
            cores.add(core)
        for column, sort in _NAMING.items():
            for word in _named(row, column) if column != "Block" else []:
                if word.lower() not in names[sort] and word.lower() not in lost and not page.full:
                    near = did_you_mean(word, names[sort].values())
                    page.say(row, column, f"no {sort} is called {word}", near or "declare it in a row of its own")


def _types(page: _Page, rows: list[_Row]) -> dict[str, str]:
    """Write the rows of Kind type (`is charger, ends ...` in Facts); the built-in kind behind each of them."""
    types: dict[str, str] = {}
    for row in rows:
        if row.cells.get("Kind", "").lower() != "type":
            continue
        name, facts = row.cells.get("Name", ""), _one_line(row.cells.get("Facts", ""))
        base = facts[3:].replace(",", " ").split(" ")[0].lower() if facts.lower().startswith("is ") else ""
        if not _NAME.match(name) or "." in name:
            page.say(row, "Name", f"{name or 'the cell'} is no name", "a name is one word that begins with a letter")
        elif base not in KINDS:
            page.say(row, "Facts", "a type does not say what it is", "write is and a kind first, such as is fuse strip")
        elif _sound(page, row, type_table(base)):
            types[name.lower()] = base
            page.put("type ", row, "Kind")
            page.put(f"{name} ", row, "Name")
            page.put(f"{facts}\n", row, "Facts")
    return types


def _facts(page: _Page, row: _Row, table: Table, taken: tuple[str, ...], first: bool = False) -> set[str]:
    """Write the cells of a row as facts; the columns whose cells cannot be said."""
    unfit: set[str] = set()
    for column in COLUMNS:
        text = row.cells.get(column, "")
        if column in taken or not text:
            continue
        said = _fact(page, row, column, text, table)
        if said is None:
            unfit.add(column)
        elif said:
            page.put(f"{' ' if first else ', '}{said}", row, column)
            first = False
    return unfit


def _fact(page: _Page, row: _Row, column: str, text: str, table: Table) -> str | None:
    """One cell in the language's words; None, and a finding, where it does not fit its column."""
    name = FACT.get(column, column.lower())
    if name == "rating" and "rating" not in table.facts:
        name = "draws"
    if column == "Facts":
        return _one_line(text) if _sound(page, row, table) else None
    if column == "Type":
        words = text.replace(",", " ").split()
        for word in words:
            if word.lower() not in table.words:
                near = "" if page.full else did_you_mean(word, table.words)
                remedy = near or f"write {listed(list(table.words) or ['nothing'])}"
                page.say(row, column, f"{word} is no word for {table.means}", remedy)
                return None
        return " ".join(words)
    if name not in table.facts:
        page.say(row, column, f"{table.means} does not say this", "leave the cell empty")
        return None
    items = table.facts[name]
    if "text" in items[0].options:
        shown = quoted(" ".join(text.split()))
        return shown if column == "Title" else f"{name} {shown}"
    line = _one_line(text)
    values = _alone(f"x {line.replace(',', ' ') if column == 'Via' else line}")
    if column == "Via":
        if values and all(v.kind == "name" or any_fits(v, ("length",)) for v in values):
            return f"via {' '.join(v.text for v in values)}"
        page.say(
            row, column, f"{text} are no places", "name places, with a length each or none: engine-bay 1 m, boot 2 m"
        )
        return None
    if column == "Insulation" and values:
        kinds = [v for v in values if v.text.lower() in ("thermoplastic", "cross-linked", "silicone")]
        rest = [v for v in values if v not in kinds]
        if len(kinds) < 2 and len(rest) < 2 and all(any_fits(v, ("temperature",)) for v in rest):
            return " ".join([*(f"insulation {v.text}" for v in rest), *(v.text for v in kinds)])
    elif values and len(values) == 1 and any_fits(values[0], items[0].options):
        alone = [fact for fact, options in table.bare if any_fits(values[0], options)] == [name]
        return values[0].text if alone else f"{name} {values[0].text}"
    wanted = means(items[0].options)
    if re.fullmatch(r"[-+]?\d+(\.\d+)?", text):
        page.say(row, column, f"{text} has no unit", f"write {wanted}, or put the unit in the heading")
    elif re.match(r"\d+,\d+", text):
        page.say(row, column, f"{text} has a comma in its number", f"write a decimal point: {text.replace(',', '.')}")
    else:
        page.say(row, column, f"{text} is not {wanted}", f"write {wanted}")
    return None


def _sound(page: _Page, row: _Row, table: Table) -> bool:
    """Whether a cell of facts is nothing but facts; says so where it is not."""
    text = _one_line(row.cells["Facts"])
    tree, found = parse(Source("", f"x {text}\n"))
    lines = tree.lines
    if not found and len(lines) == 1 and lines[0].path is None and not any(p.block for p in lines[0].phrases):
        return True
    message = found[0].message if found else "the cell holds more than facts"
    page.say(row, "Facts", message, (found[0].remedy if found else "") or f"write facts of {table.means}, with commas")
    return False


def _alone(text: str) -> tuple[Value, ...]:
    """The values of one phrase behind its first word; none where the text is anything else."""
    tree, found = parse(Source("", text + "\n"))
    if found or len(tree.lines) != 1 or tree.lines[0].path or len(tree.lines[0].phrases) != 1:
        return ()
    phrase = tree.lines[0].phrases[0]
    return () if phrase.block or phrase.label else phrase.values[1:]


def _one_line(text: str) -> str:
    return ", ".join(part.strip().strip(",").strip() for part in text.split("\n") if part.strip().strip(","))


def _wire(page: _Page, row: _Row) -> None:
    """A conductor, a joint or a mated pair."""
    kind = row.cells.get("Kind", "").lower()
    if kind not in (*WIRES, "link", "mate"):
        page.say(
            row, "Kind", f"{row.cells['Kind']} does not run from one end to another", "leave it empty, or write link"
        )
        return
    ends = {column: _end(page, row, column) for column in ("From", "To")}
    if not all(ends.values()) and kind in WIRES:  # its other cells may be bad too
        start = page.mark()
        _facts(page, row, conductor_table(), ("Kind", "Name", "From", "To"))
        page.back(start)
        return
    if kind in ("link", "mate"):
        for column in COLUMNS:
            if column not in ("Kind", "From", "To", "Note") and row.cells.get(column):
                page.say(row, column, f"a {kind} has no {column.lower()}", "leave the cell empty")
        if not all(ends.values()):
            return
        if kind == "mate":
            page.put("mate ", row, "Kind")
        page.put(ends["From"], row, "From")
        page.put(" " if kind == "mate" else " -- ", row, "Kind")
        page.put(ends["To"], row, "To")
        page.put(_comment(row.cells.get("Note", "")), row, "Note")
        return
    name = row.cells.get("Name", "")
    if name and not _NAME.match(name):
        page.say(row, "Name", f"{name} is no name", "a name is one word that begins with a letter, such as W1")
        name = ""
    page.put(ends["From"], row, "From")
    page.put(" --[", row, "")
    page.put(name, row, "Name")
    _facts(page, row, conductor_table(), ("Kind", "Name", "From", "To"), first=not name)
    page.put("]-- ", row, "")
    page.put(f"{ends['To']}\n", row, "To")


def _comment(text: str) -> str:
    """The end of a line of the netlist, with a text in it that nothing reads."""
    words = " ".join(text.split())
    return f"  # {words}\n" if words else "\n"


def _in_air(word: str, why: str) -> str:
    """`loose`, or `capped` with its reason."""
    return f"{word} {quoted(' '.join(why.split()))}" if why and word == "capped" else word


def _end(page: _Page, row: _Row, column: str) -> str:
    """A terminal, or an end in the air; `` where the cell is neither."""
    text = row.cells.get(column, "")
    air = _AIR.match(text)
    if air and not text[len(air[1]) : len(air[1]) + 1].strip(': \n"'):
        return _in_air(air[1].lower(), air[2].strip().strip('"'))
    if _END.match(text):
        return text
    words = f"{text} is no terminal" if text else "the cell is empty"
    page.say(row, column, words, "name a part or one of its terminals, such as start.+ or F1")
    return ""
