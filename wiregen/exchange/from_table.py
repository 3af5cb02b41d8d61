"""A from-to table to a netlist: rows become statements of the language, and each mistake is told at its cell.

A row with From and To is a conductor (Kind empty or `wire`), a joint without cable (`link`) or a mated pair (`mate`);
a row with Kind and Name declares. A fuse with Block and Way is that way of the block.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from typing import NamedTuple

from wiregen.exchange.cells import NAME, comment_of, end_of, is_name, one_line, put_facts, sound_facts, values_alone
from wiregen.exchange.columns import COLUMNS, STATEMENT_KINDS, WIRES, Row, kind_of
from wiregen.exchange.grid import bad, cell_name, read_sheets
from wiregen.exchange.import_page import Page
from wiregen.exchange.missing_names import names_in, say_missing, without_name
from wiregen.exchange.sheet_rows import rows_in
from wiregen.findings import Finding, Source
from wiregen.language.build_tree import quoted
from wiregen.language.format import format_text
from wiregen.language.limits import MOST_MISTAKES
from wiregen.model import read
from wiregen.model.spelling import did_you_mean
from wiregen.model.vocabulary import KINDS, conductor_table, kind_table, statement_table, type_table

_MAKING = {"Facts", "On"}  # columns that say what ends a part has


class Imported(NamedTuple):
    """The netlist, `` where a cell is bad; what is wrong; what was not read, in words."""

    text: str
    findings: tuple[Finding, ...]
    notes: tuple[str, ...]


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
    page, notes = Page(path), []
    rows: list[Row] = []
    job: list[Row] = []
    for sheet in sheets:
        told, into, items = rows_in(page, sheet)
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
            if row.cells.get("Note") and kind_of(row) in ("link", "mate"):
                where = cell_name(path, row.sheet, row.number, row.at["Note"])
                notes.append(f"{where}: a {kind_of(row)} keeps no note: it stands as a comment in the netlist")
    lost = without_name(page, rows, job)
    text = "".join(page.pieces)
    made, said = read(path, text=text)
    cables = {r.cells.get("Name", "").lower(): (r.sheet, r.number) for r in rows if kind_of(r) == "cable"}
    for finding in sorted(said, key=lambda one: one.at.span.start if one.at else 0):
        if not finding.lost or finding.at is None:
            continue
        index = bisect_right(page.starts, finding.at.span.start) - 1
        while index > 0 and not page.cells[index][1]:
            index -= 1
        row, column = page.cells[max(index, 0)]
        if not lost.isdisjoint(word.lower() for word in names_in(row, column)):
            continue
        cable, core, _ = row.cells.get("Name", "").lower().partition(".")
        if column == "Name" and core and cables.get(cable) in page.bad:
            continue  # what cores it has is not known
        if column in ("From", "To") and _leads_to(row.cells[column], lacking):
            continue
        if column in ("Kind", "Name") and (row.sheet, row.number) in page.bad and not row.cells.get("From"):
            continue  # written without what is wrong with it, which was told
        page.say(row, column or "Name", finding.message, finding.remedy)
    say_missing(page, rows, job, lost)
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


def _job_row(page: Page, row: Row, alone: bool) -> None:
    """`Title | Touring van` of a sheet with items, or a row of Kind job."""
    item = row.cells.get("Kind", "").lower().replace(" ", "-")
    facts = statement_table("job").facts
    if item == "job":
        table = statement_table("job")
        spare = [c for c in COLUMNS if c not in ("Kind", "Title", "Facts") and row.cells.get(c)]
        if spare and not alone:  # rather a row of another kind
            page.say(row, "Kind", "a second job row", "one table is one job: write the kind that is meant")
            if is_name(row.cells.get("Name", "")):
                page.put(f"unread {row.cells['Name']}\n", row, "Kind")
            return
        for column in spare:
            page.say(row, column, "a job does not say this", "leave the cell empty")
        page.put("job", row, "Kind")
        page.put(f" {quoted(row.cells.get('Title', ''))}", row, "Title")
        if row.cells.get("Facts") and sound_facts(page, row, table):
            page.put(f", {one_line(row.cells['Facts'])}", row, "Facts")
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
        checked = quoted(value) if text else one_line(value)
        if text or values_alone(f"x {checked}"):
            page.put(
                f"{',' if len(page.pieces) > 1 else ''} {'' if item == 'title' else item + ' '}{checked}", row, "Value"
            )
        else:
            page.say(row, "Value", f"{value} cannot be read", f"write what belongs to {item}")
    page.put("\n", row, "")


def _leads_to(end: str, lacking: set[tuple[str, str]]) -> bool:
    """Whether a cell names a way of which it is not known whether it is there."""
    block, _, way = end.lower().partition(".")
    return way.isdigit() and not lacking.isdisjoint({(block, way), (block, ""), ("", way), ("", "")})


def _ways(page: Page, rows: list[Row]) -> tuple[dict[str, list[Row]], list[Row], set[tuple[str, str]]]:
    """The way rows of each block, those that belong nowhere, and the ways that are missed for it.

    A missed way is (block, way) in small letters, `` where it is not known.
    """
    blocks: dict[str, list[Row]] = {}
    astray: list[Row] = []
    lacking: set[tuple[str, str]] = set()
    kinds = {r.cells.get("Name", "").lower(): kind_of(r) for r in rows}
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


def _is_way(row: Row) -> bool:
    """Whether a row is the fuse in a way, or one whose Kind may have been meant so."""
    kind = kind_of(row)
    return bool(row.cells.get("Block") or row.cells.get("Way")) and (
        kind in ("fuse", "") or kind not in (*KINDS, *STATEMENT_KINDS, "type")
    )


def _declare(page: Page, rows: list[Row]) -> set[tuple[str, str]]:
    """The rows that declare; those of ways go into the braces of their block. The ways that are missed: see `_ways`."""
    blocks, astray, lacking = _ways(page, rows)
    seen: set[str] = set()
    types = _types(page, rows)
    for row in rows:
        if row.cells.get("Kind", "").lower() == "type" or row.cells.get("From") or row.cells.get("To"):
            continue
        kind, name = kind_of(row), row.cells.get("Name", "")
        if _is_way(row) and kind in ("fuse", ""):
            continue
        if not (kind in KINDS or kind in STATEMENT_KINDS or kind in types):
            known = [*KINDS, *STATEMENT_KINDS, *types]
            what = f"{row.cells['Kind']} is no kind of part" if kind else "the cell is empty"
            remedy = "" if page.full else did_you_mean(kind, known) or f"write one of {', '.join(known)}"
            page.say(row, "Kind", what, remedy)
            if name and NAME.match(name):
                page.put(f"unread {name}\n", row, "Kind")
            continue
        table = statement_table(kind) if kind in STATEMENT_KINDS else kind_table(types.get(kind, kind))
        start = page.mark()
        page.put(f"{kind} ", row, "Kind")
        page.put(name, row, "Name")
        unfit = put_facts(page, row, table, ("Kind", "Name"))
        if kind == "earth" and not row.cells.get("On"):
            page.say(row, "On", "the cell is empty", "name a row of Kind body")
            unfit.add("On")
        new = is_name(name) and name.lower() not in seen
        if not is_name(name):
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
                unfit = put_facts(page, way, kind_table("fuse"), ("Kind", "Name", "Block", "Way"), first=not lead)
                if not lead and len(page.pieces) == before:
                    if not unfit:
                        page.say(way, "Rating", "the cell is empty", "write the fuse's rating, such as 10 A")
                    page.put(" empty", way, "Kind")
                page.put("\n", way, "")
            page.put("}", row, "Kind")
        page.put("\n", row, "")
    for way in astray:
        start = page.mark()
        put_facts(page, way, kind_table("fuse"), ("Kind", "Name", "Block", "Way"))
        page.back(start)
        if is_name(way.cells.get("Name", "")):
            page.put(f"unread {way.cells['Name']}\n", way, "Kind")
    return lacking


def _types(page: Page, rows: list[Row]) -> dict[str, str]:
    """Write the rows of Kind type (`is charger, ends ...` in Facts); the built-in kind behind each of them."""
    types: dict[str, str] = {}
    for row in rows:
        if row.cells.get("Kind", "").lower() != "type":
            continue
        name, facts = row.cells.get("Name", ""), one_line(row.cells.get("Facts", ""))
        base = facts[3:].replace(",", " ").split(" ")[0].lower() if facts.lower().startswith("is ") else ""
        if not NAME.match(name) or "." in name:
            page.say(row, "Name", f"{name or 'the cell'} is no name", "a name is one word that begins with a letter")
        elif base not in KINDS:
            page.say(row, "Facts", "a type does not say what it is", "write is and a kind first, such as is fuse strip")
        elif sound_facts(page, row, type_table(base)):
            types[name.lower()] = base
            page.put("type ", row, "Kind")
            page.put(f"{name} ", row, "Name")
            page.put(f"{facts}\n", row, "Facts")
    return types


def _wire(page: Page, row: Row) -> None:
    """A conductor, a joint or a mated pair."""
    kind = row.cells.get("Kind", "").lower()
    if kind not in (*WIRES, "link", "mate"):
        page.say(
            row, "Kind", f"{row.cells['Kind']} does not run from one end to another", "leave it empty, or write link"
        )
        return
    ends = {column: end_of(page, row, column) for column in ("From", "To")}
    if not all(ends.values()) and kind in WIRES:  # its other cells may be bad too
        start = page.mark()
        put_facts(page, row, conductor_table(), ("Kind", "Name", "From", "To"))
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
        page.put(comment_of(row.cells.get("Note", "")), row, "Note")
        return
    name = row.cells.get("Name", "")
    if name and not NAME.match(name):
        page.say(row, "Name", f"{name} is no name", "a name is one word that begins with a letter, such as W1")
        name = ""
    page.put(ends["From"], row, "From")
    page.put(" --[", row, "")
    page.put(name, row, "Name")
    put_facts(page, row, conductor_table(), ("Kind", "Name", "From", "To"), first=not name)
    page.put("]-- ", row, "")
    page.put(f"{ends['To']}\n", row, "To")
