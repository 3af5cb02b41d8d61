"""A job as from-to tables: parts, conductors, links and ratings; what a table cannot hold is named.

Parts out of kits stand under plain names (`T1.F` becomes `T1-F`). A text that a spreadsheet could take for a formula is
written so that it cannot run.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

from wiregen.exchange.columns import COLUMNS
from wiregen.language.build_tree import quoted
from wiregen.language.tree import Value
from wiregen.model.job import Facts, Job, Part
from wiregen.model.vocabulary import KINDS
from wiregen.papers.book import FORMULA, book_bytes, put_text, without_controls

if TYPE_CHECKING:
    from openpyxl import Workbook

PARTS = ("Kind", "Name", "Title", "Place", "On", "Block", "Way", "Type", "Rating", "Volts", "Capacity", "Resistance",
          "Breaks", "Size", "Length", "Material", "Insulation", "Via", "In", "Bundle", "Note", "Facts")  # fmt: skip
WIRES = ("Kind", "Name", "From", "To", "Colour", "Size", "Length", "Material", "Insulation", "Via", "In", "Bundle",
          "Note", "Facts")  # fmt: skip
_OWN = {c.lower(): c for c in COLUMNS if c not in ("Kind", "Name", "Type", "From", "To", "Block", "Way", "Place")}
Row = dict[str, str]


class Tables(NamedTuple):
    """Rows by column for the job, its parts and its wires; `left` names what is not in them, in words."""

    job: Row
    parts: list[Row]
    wires: list[Row]
    left: list[str]


class _Names:
    """Names without dots for what came out of kits, none twice."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.new: dict[str, str] = {}
        everything = (job.parts, job.bodies, job.places, job.bundles, job.cables, job.conductors)
        taken = {id.lower() for group in everything for id in group if "." not in id}
        for group in everything:
            for id in group:
                part = job.parts.get(id)
                plain = part is not None and part.block is not None and id == f"{part.block}.{part.way}"
                wire = job.conductors.get(id)
                if "." not in id or plain or (wire and (wire.cable or not wire.named)):
                    continue
                base = name = id.replace(".", "-")
                number = 1
                while name.lower() in taken:
                    number += 1
                    name = f"{base}-{number}"
                taken.add(name.lower())
                self.new[id] = name

    def of(self, id: str) -> str:
        """The name in the table of a part, place, bundle or cable."""
        part = self.job.parts.get(id)
        if part and part.block and id == f"{part.block}.{part.way}":
            return f"{self.of(part.block)}.{part.way}"
        return self.new.get(id, id)

    def terminal(self, id: str) -> str:
        """A terminal's name in the table."""
        at = self.job.terminals.get(id)
        if at is None or not at.part:
            return id
        part = self.job.parts[at.part]
        if not at.name:  # a splice where conductors meet at a kit's end is its own terminal
            return self.of(at.part) + (".1" if part.kind == "splice" else "")
        return f"{self.of(at.part)}.{at.name}"

    def inside(self, word: str, owner: str, group: Iterable[str]) -> str:
        """What a word means that stands among the facts of something in a kit."""
        prefix = owner
        while prefix:
            prefix = prefix.rpartition(".")[0]
            full = f"{prefix}.{word}" if prefix else word
            match = next((id for id in group if id.lower() == full.lower()), None)
            if match:
                return self.of(match)
        return word


def tables(job: Job) -> Tables:
    """The tables of a job that was wholly read: rows of texts by column, quantities with their units.

    >>> from wiregen.model import read
    >>> job, _ = read("a.wnet", text="fuse F1 10 A blade")
    >>> {column: text for column, text in tables(job).parts[0].items() if text}
    {'Kind': 'fuse', 'Name': 'F1', 'Rating': '10 A', 'Type': 'blade'}
    """
    names = _Names(job)
    facts, _ = _facts(job.facts, ())
    parts: list[Row] = []
    for place in job.places.values():
        parts.append(_row("place", names.of(place.id), place.title, place.facts))
    for bundle in job.bundles.values():
        parts.append(_row("bundle", names.of(bundle.id), bundle.title, bundle.facts))
    for cable in job.cables.values():
        parts.append(_row("cable", names.of(cable.id), cable.title, cable.facts))
    for body in job.bodies.values():
        parts.append(_row("body", names.of(body.id), body.title, body.facts))
    types: dict[str, Part] = {}
    for part in job.parts.values():
        row = _part(job, names, part)
        if _own_ends(part):
            types.setdefault(part.type.lower(), part)
            row["Kind"] = part.type
        parts.append(row)
    parts[:0] = [_type(part) for part in types.values()]
    wires = [_wire(job, names, id) for id in job.conductors]
    mated: set[tuple[str, str]] = set()
    for link in job.links:
        a, b = job.terminals[link.a], job.terminals[link.b]
        if link.why in ("joined", "dissolved", "stud"):
            wires.append({"Kind": "link", "From": names.terminal(link.a), "To": names.terminal(link.b)})
        elif link.why == "mated" and (a.part, b.part) not in mated:
            mated.add((a.part, b.part))
            wires.append({"Kind": "mate", "From": names.of(a.part), "To": names.of(b.part)})
    return Tables({"Kind": "job", "Title": job.title, "Facts": facts}, parts, wires, _left(job, names))


def _value(value: Value) -> str:
    return quoted(value.text) if value.kind == "title" else value.text


def _facts(facts: Facts, taken: tuple[str, ...]) -> tuple[str, Row]:
    """The facts for the column of that name, and those with columns of their own."""
    said: list[str] = []
    row: Row = {}
    for key, fact in facts.items():
        if key in taken or key in ("title", "capped"):
            continue
        text = " ".join(_value(value) for value in fact.values)
        if key in ("rating", "draws") and "Rating" not in row and len(fact.values) == 1 and "rating" not in row:
            if key == "draws" and "rating" in facts:
                said.append(f"{key} {text}")
            else:
                row["Rating"] = text
        elif key == "note":
            row["Note"] = fact.word
        elif key in ("type", "chemistry"):
            row["Type"] = fact.word
        elif key == "insulation-kind":
            row["Insulation"] = f"{row.get('Insulation', '')} {text}".strip()
        elif key == "insulation":
            row["Insulation"] = f"{text} {row.get('Insulation', '')}".strip()
        elif fact.name == "contact":
            if fact.origin != "type":
                said.append(f"contact {text}")
        elif key in _OWN and text:
            row[_OWN[key]] = text
        else:
            said.append(f"{key} {text}".strip())
    return ", ".join(said), row


def _row(kind: str, name: str, title: str, facts: Facts, taken: tuple[str, ...] = ()) -> Row:
    said, row = _facts(facts, taken)
    return {"Kind": kind, "Name": name, "Title": title, "Facts": said, **row}


def _part(job: Job, names: _Names, part: Part) -> Row:
    row = _row(part.kind, names.of(part.id), part.title, part.facts, ("at", "on", "from"))
    block = job.parts.get(part.block) if part.block else None
    if part.place and not (block and block.place == part.place):
        row["Place"] = names.of(part.place)
    on = part.fact("on")
    if on and on.values:
        things = job.bodies if part.kind == "earth" else {**job.parts, **job.terminals}
        row["On"] = names.inside(on.word, part.id, things)
        if part.kind != "earth" and on.word not in job.parts and row["On"] in job.terminals:
            row["On"] = names.terminal(row["On"])
    if part.fact("from"):
        word, dot, rest = part.word("from").partition(".")
        source = part.word("from")
        meant = names.of(source) if source in job.parts else names.of(word) + dot + rest
        row["Facts"] = ", ".join(x for x in (row["Facts"], f"from {meant}") if x)
    if block:
        row["Block"], row["Way"] = names.of(block.id), part.way or ""
    if part.kind == "fuse-block" and not part.has("ways"):
        ways = sum(terminal[len(part.id) + 1 :].isdigit() for terminal in part.terminals)
        used = max((int(p.way or 0) for p in job.parts.values() if p.block == part.id), default=0)
        if ways > used:
            row["Facts"] = ", ".join(x for x in (row["Facts"], f"ways {ways}") if x)
    return row


def _own_ends(part: Part) -> bool:
    """Whether a part is of a type that has terminals of its own."""
    usual = KINDS[part.kind].get("ends")
    return (
        part.type != part.kind and usual is not None and {t[len(part.id) + 1 :] for t in part.terminals} != set(usual)
    )


def _type(part: Part) -> Row:
    """The type that gives a part its terminals and contacts."""
    ends = " ".join(terminal[len(part.id) + 1 :] for terminal in part.terminals)
    contacts = [f", contact {' '.join(v.text for v in f.values)}" for f in part.facts.values() if f.name == "contact"]
    return {"Kind": "type", "Name": part.type, "Facts": f"is {part.kind}, ends {ends}{''.join(contacts)}"}


def _wire(job: Job, names: _Names, id: str) -> Row:
    conductor = job.conductors[id]
    name = ""
    if conductor.cable:
        name = f"{names.of(conductor.cable)}.{id.rpartition('.')[2]}"
    elif conductor.named:
        name = names.of(id)
    row = _row("wire", name, "", conductor.facts, ("via",))
    legs = [
        names.of(leg.place) + (f" {leg.length_m:.9g} m" if leg.length_m is not None else "") for leg in conductor.route
    ]
    if legs:
        row["Via"] = ", ".join(legs)
    if conductor.has("bundle"):
        row["Bundle"] = names.inside(conductor.word("bundle"), id, job.bundles)
    for column, end in (("From", conductor.from_), ("To", conductor.to)):
        if end.startswith(("loose:", "capped:")):
            word = end.partition(":")[0]
            why = conductor.word("capped") if word == "capped" else ""
            row[column] = f'{word} "{why}"' if why else word
        else:
            row[column] = names.terminal(end)
    return row


def _left(job: Job, names: _Names) -> list[str]:
    """What the tables do not hold."""
    left = [
        f"{len(group)} {word}"
        for word, group in (
            ("circuits", job.circuits), ("groups", job.groups), ("limits", job.limits), ("cases", job.cases),
            ("stacks", job.stacks), ("accepted findings", job.accepts), ("revisions", job.revisions),
            ("stages", job.stages), ("planted faults and worksheets", job.lessons), ("drawing hints", job.hints),
        )
        if group
    ]  # fmt: skip
    if job.own_figures:
        left.append("the job's own figures")
    own = {n.id for group in (job.parts, job.conductors) for n in group.values() if n.has("note")}
    if any(note.subject not in own for note in job.notes):
        left.append("notes that stand in lines of their own")
    if job.kits:
        left.append(f"{len(job.kits)} kits: what is in them stands under plain names")
    if any(part.type != part.kind for part in job.parts.values()):
        left.append("types of your own: their parts stand under the kind, with the type's facts")
    renamed = [f"{old} as {new}" for old, new in names.new.items()]
    if renamed:
        left.append("names with dots: " + ", ".join(renamed[:10]) + (", ..." if len(renamed) > 10 else ""))
    return left


def csv_bytes(made: Tables) -> bytes:
    """One table with all columns. A text that begins like a formula has an apostrophe before it."""
    import csv
    import io

    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in (made.job, *made.parts, *made.wires):
        texts = [without_controls(row.get(column, "")) for column in COLUMNS]
        writer.writerow(["'" + text if text.lstrip("'").startswith(FORMULA) else text for text in texts])
    return out.getvalue().encode()


def xlsx_bytes(made: Tables) -> bytes:
    """A workbook with the sheets Job, Parts and Wires; all cells are text."""
    return book_bytes(workbook(made))


def workbook(made: Tables) -> Workbook:
    """The workbook of the tables, to be written by `book_bytes`."""
    from openpyxl import Workbook
    from openpyxl.styles import Font

    book = Workbook()
    for sheet in list(book.worksheets):
        book.remove(sheet)
    pages = (
        ("Job", ("Kind", "Name", "Title", "Facts"), [made.job]),
        ("Parts", PARTS, made.parts),
        ("Wires", WIRES, made.wires),
    )
    for title, columns, rows in pages:
        sheet = book.create_sheet(title)
        for y, texts in enumerate([list(columns), *([row.get(c, "") for c in columns] for row in rows)], start=1):
            for x, text in enumerate(texts, start=1):
                if not text:
                    continue
                cell = sheet.cell(y, x)
                put_text(cell, text)
                if y == 1:
                    cell.font = Font(bold=True)
        sheet.freeze_panes = "A2"
    return book
