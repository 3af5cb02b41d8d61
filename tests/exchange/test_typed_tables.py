"""A van of three hundred rows as a new user types it from the README's page; ten slips are told at their cells.

Headings stand in any order and in any case, with units in them or in the cells; there are columns to spare, comments,
empty rows and a sheet of something else. Each slip breaks a rule that the page states.
"""

from __future__ import annotations

import csv
import io
import re
from random import Random

import pytest

from wiregen.exchange.from_table import Imported, import_table
from wiregen.exchange.grid import column_name
from wiregen.model import read

Row = dict[str, str]
Slip = tuple[Row, str, str]  # the row, its column, what is typed there
UNITS = {"Length": "m", "Capacity": "Ah", "Volts": "V", "Breaks": "kA", "Insulation": "degC"}
SPARE = ("Bought", "Price", "Checked by")
MAIN = """
W1 BT1.+ F1 red 16 0.15
W2 F1 DC1.in.+ red 16 5.5
W3 BT1.- E2 black 16 0.4
W4 BT2.+ F2 red 16 0.15
W5 F2 DC1.out.+ red 16 0.5
W6 DC1.in.- NB1 black 16 0.5
W7 DC1.out.- NB1 black 16 0.5
W8 BT2.+ F3 red 35 0.15
W9 F3 Q1 red 35 0.4
W10 Q1 PB1 red 35 0.3
W11 BT2.- NB1 black 35 0.3
W12 NB1 E1 black 35 0.4
W13 PB1 F4 red 25 0.15
W14 F4 INV1.+ red 25 0.6
W15 INV1.- NB1 black 25 0.6
W16 SC1.out.+ F5 red 6 0.5
W17 F5 BT2.+ red 6 0.15
W18 SC1.out.- NB1 black 6 0.4
W19 DC1.sense BT2.- grey 0.5 0.6
"""


def _rows(random: Random) -> list[Row]:
    """The rows of the van, by the README's names of the columns."""
    rows: list[Row] = []

    def row(kind: str, name: str = "", **cells: str) -> None:
        rows.append({"Kind": kind, "Name": name, **{key.rstrip("_").capitalize(): text for key, text in cells.items()}})

    def wire(name: str, a: str, b: str, colour: str = "", size: str = "", length: str = "", **more: str) -> None:
        row("", name, from_=a, to=b, colour=colour, size=size, length=length, **more)

    row("job", title="Expedition van, second build", facts="system 12 V, limits iso13297")
    for place, facts in (("engine-bay", "ambient 70 degC"), ("cab", "ambient -5..45 degC"), ("galley", ""),
                         ("garage", "ambient -10..40 degC"), ("roof", "ambient 60 degC"),
                         ("underfloor", "wet")):  # fmt: skip
        row("place", place, title=place.replace("-", " "), facts=facts)
    row("battery", "BT1", type_="flooded", capacity="70 Ah", place="engine-bay", resistance="6 mohm")
    row("battery", "BT2", type_="agm", capacity="220 Ah", place="garage", resistance="3 mohm", facts="max-charge 60 A")
    row("alternator", "ALT", rating="120 A", type_="fixed", on="BT1")
    row("charger", "DC1", rating="30 A", place="garage", facts="profile agm, efficiency 90 %, negative common")
    row("inverter", "INV1", rating="600 W", place="garage", facts="efficiency 90 %")
    row("solar-controller", "SC1", rating="20 A", place="garage", facts="profile agm")
    row("panel", "PV1", rating="150 W", place="roof", facts="voc 22 V, vmp 18 V, isc 8.9 A, imp 8.3 A")
    row("body", "shell", type_="bonded")
    row("earth", "E1", on="shell", place="garage")
    row("earth", "E2", on="shell", place="engine-bay")
    for n, amps in enumerate((60, 60, 150, 100, 30), start=1):
        row("fuse", f"F{n}", type_="strip", rating=f"{amps} A", volts="58 V", breaks="3 kA", place="garage")
    row("isolator", "Q1", rating="200 A", volts="48 V", place="garage")
    row("busbar", "PB1", rating="250 A", place="garage")
    row("busbar", "NB1", rating="250 A", place="garage", title="Negative bar")
    for line in MAIN.strip().split("\n"):
        name, a, b, colour, size, length = line.split(" ")
        via = "engine-bay 1 m, underfloor 3.5 m, garage" if name == "W2" else ""
        warm = "105 degC" if size == "35" else ""
        wire(name, a, b, colour, f"{size} mm2", f"{length} m", via=via, insulation=warm)
    row("cable", "C100", size="4 mm2", length="6 m", facts="cores brown blue", via="roof, garage", in_="conduit")
    wire("C100.brown", "PV1.+", "SC1.solar.+")
    wire("C100.blue", "PV1.-", "SC1.solar.-")
    for b, place in enumerate(("cab", "galley", "garage", "galley", "cab"), start=1):
        row("fuse", f"FM{b}", type_="strip", rating="60 A", volts="58 V", breaks="3 kA", place="garage")
        row("fuse-block", f"FB{b}", type_="blade", rating="60 A", volts="32 V", breaks="2 kA", place=place)
        wire(f"M{b}", "PB1", f"FM{b}", "red", "16 mm2", "0.15 m")
        wire(f"MP{b}", f"FM{b}", f"FB{b}.in", "red", "16 mm2", f"{b + 1} m", in_="sleeve")
        wire(f"MN{b}", f"FB{b}.-", "NB1", "black", "16 mm2", f"{b + 1} m")
        for way in range(1, 11):
            _fed(random, row, wire, b, way, place)
    row("connector", "X9", rating="20 A", facts="poles a b c")
    wire("T1", "FB1.in", "X9.a", "red", "2.5 mm2", "1 m")
    wire("T2", "X9.a", "capped for a trailer", "red", "2.5 mm2", "0.2 m")
    return rows


def _fed(random: Random, row, wire, b: int, way: int, place: str) -> None:  # type: ignore[no-untyped-def]
    """One load on a way of a fuse block: by two wires, a cable, a switch, or a plug and its socket."""
    n = 10 * (b - 1) + way
    row("fuse", block=f"FB{b}", way=str(way), rating=f"{random.choice(('5', '7.5', '10', '15'))} A")
    kind, draw = random.choice((("load", "3.5 A"), ("lamp", "10 W"), ("sensor", "0.2 A")))
    name = f"{random.choice(('Lamp', 'Pump', 'Fan', 'Socket', 'Heater', 'Radio', 'Gauge'))}{n}"
    row(kind, name, rating=draw, type_="led" if kind == "lamp" else "", place=place, title=f"{name} in the {place}",
        facts="duty 30 %" if kind == "load" else "", note="as drawn" if n % 9 == 0 else "")  # fmt: skip
    size = random.choice(("1.5 mm2", "2.5 mm2", "14 AWG", "3 auto-mm"))
    length = f"{random.randint(8, 40) / 10} m"
    if way == 4:
        row("cable", f"C{n}", size=size, length=length, facts="cores red black")
        wire(f"C{n}.red", f"FB{b}.{way}", f"{name}.+")
        wire(f"C{n}.black", f"{name}.-", f"FB{b}.-")
    elif way == 9:
        row("plug", f"XP{n}", rating="15 A", facts="poles + -")
        row("socket", f"XS{n}", rating="15 A", facts="poles + -")
        wire(f"P{n}", f"FB{b}.{way}", f"XP{n}.+", "red", size, length, material="tinned")
        wire(f"N{n}", f"XP{n}.-", f"FB{b}.-", "black", size, length, material="tinned")
        row("mate", from_=f"XP{n}", to=f"XS{n}")
        wire("", f"XS{n}.+", f"{name}.+", "red", size, "0.3 m")
        wire("", f"XS{n}.-", f"{name}.-", "black", size, "0.3 m")
    elif way == 7:
        row("switch", f"S{n}", rating="10 A", volts="24 V", place=place)
        wire(f"P{n}a", f"FB{b}.{way}", f"S{n}", "red", size, length)
        wire(f"P{n}b", f"S{n}", f"{name}.+", "red/white", size, "0.4 m")
        wire(f"N{n}", f"{name}.-", f"FB{b}.-", "black", size, length)
    else:
        wire(f"P{n}", f"FB{b}.{way}", f"{name}.+", "red", size, length)
        wire(f"N{n}" if n % 3 else "", f"{name}.-", f"FB{b}.-", "black", size, length)


SLIPS = (  # the Kind of the row, what its Name looks like, the column, what is typed there
    [("fuse", r"F\d", "Kind", "fuze"), ("load|lamp|sensor", ".+", "Name", "NB1"), ("lamp", ".+", "Name", "boot light"),
     ("", r"|[PN]\d+", "From", "XY9.+"), ("", r"|[PN]\d+", "To", "BT1.x"), ("", r"|[PN]\d+", "Size", "2.5 mm"),
     ("", r"|[PN]\d+", "Length", "0"), ("fuse", "", "Rating", "7,5 A"), ("load|lamp", ".+", "Place", "boot"),
     ("fuse", r"F.+", "Colour", "red")],
    [("load|lamp|sensor", ".+", "Name", "4wd"), ("earth", ".+", "On", ""), ("fuse", "", "Way", "again"),
     ("fuse", "", "Block", "FB9"), ("", r"|[PN]\d+", "Colour", "redish"), ("", r"|[PN]\d+", "Length", "-2"),
     ("", r"|[PN]\d+", "In", "pipe"), ("", r"|[PN]\d+", "Material", "alu"), ("", r"|[PN]\d+", "Via", "trunk 1 m"),
     ("fuse", r"F.+", "Type", "agm")],
    [("", r"|[PN]\d+", "To", ""), ("", r"C\d+\.red", "Name", "C14.green"), ("fuse", r"F.+", "Facts", "wolts 58 V"),
     ("battery", ".+", "Capacity", "100 A"), ("", r"|[PN]\d+", "Insulation", "105 m"),
     ("isolator", ".+", "Volts", "48 A"),
     ("fuse", r"F.+", "Breaks", "3 bananas"), ("mate", "", "To", "XS99"), ("mate", "", "Length", "2 m"),
     ("alternator", ".+", "On", "BT7")],
    [("load|lamp|sensor", ".+", "Rating", "4"), ("battery", ".+", "Resistance", "6 V"), ("busbar", ".+", "Way", "3"),
     ("place", ".+", "Facts", "ambient hot"), ("cable", r"C[234]?4", "Facts", "cores"), ("place", ".+", "Kind", "job"),
     ("", r"|[PN]\d+", "Colour", "green/yellow/red"), ("", r"C\d+\.red", "Name", "again"), ("fuse", r"F.+", "Name", ""),
     ("load", ".+", "Facts", "duty 30")],
)  # fmt: skip
# not C14, to whose cores another slip leads: which those are is then not known
POOL = [slip for slips in SLIPS for slip in slips if slip[3] != "job"]  # of which any ten may meet


def _plant(rows: list[Row], slips: list[tuple[str, str, str, str]], random: Random) -> list[Slip]:
    """Where each slip goes; `again` is what an earlier row has in that column."""
    used: set[int] = set()
    made: list[Slip] = []
    for kind, name, column, text in slips:
        free = [
            n for n, r in enumerate(rows)
            if n not in used and re.fullmatch(kind, r["Kind"]) and re.fullmatch(name, r["Name"])
        ]  # fmt: skip
        if text != "again":
            at = random.choice(free)
        elif column == "Way":
            before, at = sorted(random.sample([n for n in free if rows[n].get("Block") == "FB2"], 2))
            text = rows[before]["Way"]
            used.add(before)
        else:
            before, at = sorted(random.sample(free, 2))
            text = rows[before]["Name"]
            used.add(before)
        used.add(at)
        made.append((rows[at], column, text))
    return made


def _typed(key: str, text: str, numbers: bool, random: Random) -> object:
    """A cell as people type it: bare where the heading has the unit, close to its unit, with a capital."""
    if key in SPARE:
        return random.choice(["", "yes", "12,50"])
    if key in UNITS and re.fullmatch(rf"[\d.]+ {UNITS[key]}", text) and random.random() < 0.8:
        return float(text.split(" ")[0]) if numbers else text.split(" ")[0]
    if key == "Way" and numbers and text:
        return int(text)
    if key in ("Size", "Rating") and random.random() < 0.3:
        return re.sub(r"^([\d.]+) (mm2|A)$", r"\1\2", text)
    if key in ("Kind", "Colour", "Type", "Place") and random.random() < 0.2:
        return text.capitalize()
    return text.lower() if key in ("From", "To") and random.random() < 0.1 else text


def _sheets(
    rows: list[Row], slips: list[Slip], how: str, random: Random
) -> tuple[list[tuple[str, list[list[object]]]], set[str]]:
    """The cells of each sheet, and the names of those with a slip."""
    planted = {(id(row), column): text for row, column, text in slips}
    loom = [r for r in rows if r.get("From") or r["Kind"] == "cable"]
    groups = [("Van", rows)]
    if how == "two sheets":
        groups = [("Parts list", [r for r in rows if r not in loom]), ("Loom", loom)]
    made: list[tuple[str, list[list[object]]]] = []
    cells: set[str] = set()
    for sheet, some in groups:
        here = {column for row, column, _ in slips if any(row is r for r in some)}
        keys = sorted({k for r in some for k, text in r.items() if text} | here | {"Kind"})
        random.shuffle(keys)
        for spare in SPARE:
            keys.insert(random.randint(0, len(keys)), spare)
        head: list[object] = []
        for key in keys:
            unit = random.choice([f" [{UNITS[key]}]", f" ({UNITS[key]})"]) if key in UNITS else ""
            head.append(random.choice([key, key.upper(), key.lower(), f" {key} "]) + unit)
        lines = [head]
        for n, row in enumerate(some):
            if n % 60 == 30:
                lines += [["" for _ in keys], ["# the next part of the van", *("" for _ in keys[1:])]]
            line: list[object] = []
            for x, key in enumerate(keys):
                slip = planted.get((id(row), key))
                line.append(_typed(key, row.get(key, ""), how != "csv", random) if slip is None else slip)
                if slip is not None:
                    cells.add(f"{'' if how == 'csv' else sheet + '!'}{column_name(x)}{len(lines) + 1}")
            lines.append(line)
        made.append((sheet, lines))
    assert len(cells) == len(slips)
    return made, cells


def _imported(sheets: list[tuple[str, list[list[object]]]], how: str) -> Imported:
    if how == "csv":
        text = io.StringIO(newline="")
        csv.writer(text).writerows(sheets[0][1])
        return import_table("van.csv", text.getvalue().encode())
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    for name, lines in [*sheets, ("Shopping", [["what", "sum"], ["crimps", "=1+2"]])]:
        sheet = book.create_sheet(name)
        for line in lines:
            sheet.append([None if cell == "" else cell for cell in line])
    out = io.BytesIO()
    book.save(out)
    return import_table("van.xlsx", out.getvalue())


@pytest.mark.parametrize("how", ["csv", "one sheet", "two sheets"])
def test_the_van_as_typed_has_no_bad_cell(how: str) -> None:
    rows = _rows(Random(1))
    assert len(rows) == 315
    sheets, _ = _sheets(rows, [], how, Random(2))
    made = _imported(sheets, how)
    assert [(f.path, f.message) for f in made.findings] == []
    assert all("is not read" in note for note in made.notes)
    job, found = read("van.wnet", text=made.text)
    assert job is not None and job.complete and found == ()
    assert sum(bool(r.get("From")) and r["Kind"] != "mate" for r in rows) == len(job.conductors)


def _told(slips: list[tuple[str, str, str, str]], how: str, seed: int) -> None:
    random = Random(seed)
    rows = _rows(random)
    sheets, cells = _sheets(rows, _plant(rows, slips, random), how, random)
    made = _imported(sheets, how)
    told = [f.path.partition(" ")[2] for f in made.findings]
    assert made.text == "" and sorted(told) == sorted(cells), [(f.path, f.message) for f in made.findings]
    assert all(f.remedy for f in made.findings)


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("how", ["csv", "one sheet", "two sheets"])
@pytest.mark.parametrize("slips", SLIPS, ids=["names", "ways", "facts", "rows"])
def test_ten_slips_are_told_at_their_cells(slips: list[tuple[str, str, str, str]], how: str, seed: int) -> None:
    _told(slips, how, seed)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(100))
def test_any_ten_slips_that_meet_are_told_at_their_cells(seed: int) -> None:
    _told(Random(seed).sample(POOL, 10), ("csv", "one sheet", "two sheets")[seed % 3], seed)
