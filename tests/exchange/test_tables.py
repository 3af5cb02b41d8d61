"""From-to tables: what comes back is what went out, a bad cell is told at its cell, no table breaks the reader."""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import date
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.jobs import random_netlist
from wiregen.cli import main
from wiregen.exchange.from_table import import_table
from wiregen.exchange.template import template
from wiregen.exchange.to_table import csv_bytes, tables, xlsx_bytes
from wiregen.model import read
from wiregen.model.job import Facts, Job

HOME = Path(__file__).parents[2]


def _facts(facts: Facts) -> dict[str, object]:
    """Facts as they count: numbers by their worth; places and names are compared elsewhere."""
    skip = {"note", "ways", "at", "on", "via", "bundle", "from", "title", "wire"}
    return {
        key: tuple((v.measure[:4] if v.measure else v.text.lower()) for v in fact.values)
        for key, fact in facts.items()
        if key not in skip
    }


def _same(before: Job, after: Job) -> list[str]:
    """What differs between a job and what came back of it; names from kits may have lost their dots."""

    def name(id: str) -> str:
        return id.replace(".", "-").lower()

    wrong: list[str] = []
    now = {name(p.id): p for p in after.parts.values()}
    if {name(p) for p in before.parts} != set(now):
        wrong.append(f"parts {sorted({name(p) for p in before.parts} ^ set(now))}")
    for part in before.parts.values():
        other = now.get(name(part.id))
        if other is None:
            continue
        if (part.kind, part.title) != (other.kind, other.title) or _facts(part.facts) != _facts(other.facts):
            wrong.append(f"{part.id}: {_facts(part.facts)} {_facts(other.facts)}")
        if (part.place or "").lower() != (other.place or "").lower():
            wrong.append(f"{part.id}: place {part.place} {other.place}")
        if part.kind not in ("splice", "earth") and list(map(name, part.terminals)) != list(map(name, other.terminals)):
            wrong.append(f"{part.id}: terminals {part.terminals} {other.terminals}")
    wires = {name(c.id): c for c in after.conductors.values()}
    if len(before.conductors) != len(after.conductors):
        wrong.append(f"{len(before.conductors)} conductors, then {len(after.conductors)}")

    def end(job: Job, id: str) -> str:
        part = job.part_of(id)
        return name(id).removesuffix("-1") if part and part.kind == "splice" else name(id)

    for wire in before.conductors.values():
        other_wire = wires.get(name(wire.id))
        if other_wire is None:
            wrong.append(f"{wire.id} is gone")
            continue
        if [end(before, x) for x in (wire.from_, wire.to)] != [
            end(after, x) for x in (other_wire.from_, other_wire.to)
        ]:
            wrong.append(f"{wire.id}: {wire.from_} {wire.to}, then {other_wire.from_} {other_wire.to}")
        if _facts(wire.facts) != _facts(other_wire.facts) or [x[:2] for x in wire.route] != [
            x[:2] for x in other_wire.route
        ]:
            wrong.append(f"{wire.id}: {_facts(wire.facts)} {_facts(other_wire.facts)}")
    links = [{frozenset((end(job, x.a), end(job, x.b))) for x in job.links} for job in (before, after)]
    if links[0] != links[1]:
        wrong.append(f"links {[sorted(x) for x in links[0] ^ links[1]]}")
    return wrong


def _there_and_back(text: str, path: str = "a.wnet") -> None:
    job, _ = read(path, text=text)
    assert job is not None
    made = tables(job)
    for data in (csv_bytes(made), xlsx_bytes(made)):
        back = import_table("table", data)
        assert [(f.path, f.message) for f in back.findings] == []
        again, found = read("back.wnet", text=back.text)
        assert again is not None and again.complete, found
        assert _same(job, again) == []


@pytest.mark.parametrize("seed", range(20))
def test_a_random_job_comes_back(seed: int) -> None:
    _there_and_back(random_netlist(seed, 8 + seed))


@pytest.mark.long
@pytest.mark.parametrize("seed", range(100, 600))
def test_five_hundred_random_jobs_come_back(seed: int) -> None:
    _there_and_back(random_netlist(seed, 5 + seed % 40))


@pytest.mark.parametrize("path", sorted((HOME / "examples").glob("*.wnet")), ids=lambda path: path.stem)
def test_every_example_comes_back(path: Path) -> None:
    _there_and_back(path.read_text(encoding="utf-8"), str(path))


def test_same_job_same_bytes() -> None:
    job, _ = read("a.wnet", text=random_netlist(3, 20))
    assert job is not None
    assert xlsx_bytes(tables(job)) == xlsx_bytes(tables(job))


@pytest.mark.parametrize("title", ["=1+1", "+1", "-1", "@x", "'=1", "''-x", "'plain'"])
def test_no_text_runs_as_a_formula_and_it_comes_back(title: str) -> None:
    job, _ = read("a.wnet", text=f'job "{title}"\nbattery B "{title}" 70 Ah agm\n')
    assert job is not None
    made = tables(job)
    rows = list(csv.reader(io.StringIO(csv_bytes(made).decode(), newline="")))
    assert not any(cell.startswith(("=", "+", "-", "@")) for row in rows for cell in row)
    back = import_table("t.csv", csv_bytes(made))
    again, _ = read("b.wnet", text=back.text)
    assert again is not None and again.title == title and again.parts["B"].title == title


SOUND = [  # three hundred rows with headings in an order of their own, a unit in a heading, and a column to spare
    [
        "Name",
        "kind",
        "TYPE",
        "Rating",
        "Capacity",
        "Place",
        "From",
        "To",
        "colour",
        "Size",
        "Length [m]",
        "Bought",
        "Facts",
    ],
    ["bay", "place", "", "", "", "", "", "", "", "", "", "", "ambient 40 degC"],
    ["start", "battery", "agm", "", "100 Ah", "bay", "", "", "", "", "", "yes", "resistance 5 mohm"],
]
for _n in range(1, 60):
    SOUND.append([f"F{_n}", "fuse", "strip", "10 A", "", "bay", "", "", "", "", "", "", "volts 58 V"])
    SOUND.append([f"L{_n}", "load", "", "4 A", "", "", "", "", "", "", "", "", ""])
    SOUND.append([f"R{_n}", "", "", "", "", "", "start.+", f"F{_n}", "red", "2.5 mm2", "0.15", "", ""])
    SOUND.append([f"P{_n}", "wire", "", "", "", "", f"F{_n}", f"L{_n}.+", "Red", "2.5mm2", "2", "", ""])
    SOUND.append([f"N{_n}", "", "", "", "", "", f"L{_n}.-", "start.-", "black", "14 AWG", "2.2 m", "", ""])

SLIPS = [  # what the row is, its column, what is typed there
    ("fuse", 1, "fuze"), ("fuse", 2, "stripe"), ("fuse", 3, "10"), ("load", 3, "4 amps"), ("fuse", 5, "boot"),
    ("wire", 6, "start.x"), ("wire", 7, "nowhere"), ("wire", 8, "reed"), ("wire", 9, "2.5 mm"), ("wire", 10, "0,3"),
    ("fuse", 0, ""), ("load", 0, "F1"), ("wire", 10, "-2 m"), ("wire", 9, "6"), ("wire", 7, ""),
    ("fuse", 12, "volts"), ("fuse", 12, "wolts 58 V"),
]  # fmt: skip


def _csv(rows: list[list[str]]) -> bytes:
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    return out.getvalue().encode()


def test_a_table_of_three_hundred_rows_has_no_bad_cell() -> None:
    made = import_table("t.csv", _csv(SOUND))
    assert made.findings == () and made.notes == ("the table: the column Bought is not read",)
    job, _ = read("t.wnet", text=made.text)
    assert job is not None and job.complete and len(job.conductors) == 177


@pytest.mark.parametrize("seed", range(6))
def test_ten_planted_slips_are_told_at_their_cells_and_nothing_else(seed: int) -> None:
    random = Random(seed)
    rows = [list(row) for row in SOUND]
    free = {
        "fuse": [i for i, r in enumerate(rows) if r[1] == "fuse"],
        "load": [i for i, r in enumerate(rows) if r[1] == "load"],
        "wire": [i for i, r in enumerate(rows) if r[6]][1:],
    }
    planted = set()
    for kind, column, text in random.sample(SLIPS, 10):
        at = random.choice(free[kind])
        free[kind].remove(at)
        rows[at][column] = text
        planted.add(f"t.csv {chr(65 + column)}{at + 1}")
    made = import_table("t.csv", _csv(rows))
    assert made.text == ""
    assert sorted(f.path for f in made.findings) == sorted(planted), [(f.path, f.message) for f in made.findings]


@given(st.lists(st.lists(st.text(max_size=12), max_size=8), max_size=6), st.sampled_from([SOUND[0], ["From", "To"]]))
@settings(max_examples=60, deadline=None)
def test_no_grid_of_texts_breaks_the_reader(grid: list[list[str]], head: list[str]) -> None:
    made = import_table("t.csv", _csv([head, *grid]))
    assert not (made.text and made.findings)


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04no", b"\xd0\xcf\x11\xe0", b"\xff\xfe", b'a,"b', b"no,table\n1,2\n"])
def test_what_is_no_table_is_a_finding(data: bytes) -> None:
    made = import_table("t", data)
    assert made.text == "" and made.findings


def test_a_bad_cell_ends_with_2_and_nothing_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "van.csv"
    table.write_text("Kind,Name,Capacity\nbattery,B,100\n", encoding="utf-8")
    assert main(["import", str(table)]) == 2
    assert "van.csv C2" in capsys.readouterr().err and not (tmp_path / "van.wnet").exists()
    table.write_text("Kind,Name,Capacity\nbattery,B,100 Ah\n", encoding="utf-8")
    assert main(["import", str(table)]) == 0
    assert main(["export", str(tmp_path / "van.wnet"), "--to", "xlsx"]) == 0
    assert main(["import", str(tmp_path / "van.xlsx"), "-o", str(tmp_path / "again.wnet")]) == 0


def test_the_template_workbook_is_a_sound_job(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = tmp_path / "job.xlsx"
    assert main(["new", "--workbook", "-o", str(book)]) == 0
    assert main(["import", str(book)]) == 0
    capsys.readouterr()
    assert main(["check", str(tmp_path / "job.wnet"), "--fail-on", "advice"]) == 0


def test_the_table_of_the_readme_is_read_and_its_netlist_is_sound(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = (HOME / "README.md").read_text(encoding="utf-8")
    table = tmp_path / "bee.csv"
    table.write_text(page.partition("```csv\n")[2].partition("```")[0], encoding="utf-8")
    assert main(["import", str(table)]) == 0
    capsys.readouterr()
    code = main(["check", str(tmp_path / "bee.wnet"), "--fail-on", "warning"])
    assert code == 0, capsys.readouterr().out


@pytest.mark.parametrize(
    ("value", "told"),
    [("=50+20", "formula"), (True, "TRUE"), (date(2026, 1, 1), "date"), ("#REF!", "error"), (70, "")],
)
def test_cells_of_a_workbook_that_are_no_text_are_told(value: object, told: str) -> None:
    from openpyxl import Workbook

    book = Workbook()
    book.worksheets[0].title = "Parts"
    book.worksheets[0].append(["Kind", "Name", "Capacity [Ah]"])
    book.worksheets[0].append(["battery", "B", value])
    out = io.BytesIO()
    book.save(out)
    made = import_table("b.xlsx", out.getvalue())
    assert [f.path for f in made.findings] == (["b.xlsx Parts!C2"] if told else [])
    assert all(told in f.message for f in made.findings)


def test_a_workbook_that_unpacks_to_too_much_is_not_unpacked() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", b"0" * 60_000_000)
    assert "unpacks" in import_table("b.xlsx", out.getvalue()).findings[0].message


def test_a_cell_cannot_break_out_of_its_row() -> None:
    rows = [
        ["Kind", "Name", "From", "To", "Facts"],
        ["battery", "B", "", "", "80 Ah } fuse X"],
        ["", "W1", "B.+", "B.-", "]-- B.+"],
        ["", "W2", "B.+ -- B.-", "B.-", ""],
    ]
    made = import_table("t.csv", _csv(rows))
    assert [f.path for f in made.findings] == ["t.csv E2", "t.csv E3", "t.csv C4"]


@pytest.mark.parametrize(("rating", "way"), [("", "1"), ("10", "1"), ("10 A", "one"), ("10 A", "2")])
def test_a_slip_in_a_way_is_told_once(rating: str, way: str) -> None:
    rows = [
        ["Kind", "Name", "Block", "Way", "Rating", "From", "To"],
        ["fuse-block", "FB1", "", "", "60 A", "", ""],
        ["fuse", "", "FB1", way, rating, "", ""],
        ["fuse", "FX", "FB1", "2", "5 A", "", ""],
        ["load", "L", "", "", "4 A", "", ""],
        ["", "", "", "", "", "FB1.1" if way == "1" else "FB1.2", "L.+"],
    ]
    made = import_table("t.csv", _csv(rows))
    cell = {"1": "E3", "one": "D3", "2": "D4"}[way]
    assert [f.path for f in made.findings] == [f"t.csv {cell}"], made.findings


def _book(sheets: dict[str, list[list[object]]]) -> bytes:
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_only_cells_that_are_read_can_be_bad() -> None:
    parts: list[list[object]] = [
        ["Kind", "Name", "Capacity", "Bought"],
        ["battery", "B", "70 Ah", date(2026, 1, 1)],
        ["# sum", None, "=1+2", None],
    ]
    made = import_table("b.xlsx", _book({"Shopping": [["what", "sum"], ["lugs", "=1+2"]], "Parts": parts}))
    assert made.findings == () and made.text
    assert made.notes == (
        "sheet Shopping has no headings that are known and is not read",
        "sheet Parts: the column Bought is not read",
    )


@pytest.mark.parametrize("word", ["Price", "ID", "Model", "Status", "Checked by", "Qty"])
def test_a_usual_column_to_spare_is_no_slip(word: str) -> None:
    made = import_table("t.csv", _csv([["From", "To", word], ["loose", "loose", "x"]]))
    assert f"the table: the column {word} is not read" in made.notes
    assert all(not f.message.startswith(word) for f in made.findings)


@pytest.mark.parametrize("word", ["Lenght", "Plase", "Sise", "Colur", "Resistence", "Capacty"])
def test_a_heading_with_a_slip_is_a_mistake_at_its_cell(word: str) -> None:
    made = import_table("t.csv", _csv([["Kind", "Name", word], ["battery", "B", ""]]))
    assert [f.path for f in made.findings] == ["t.csv C1"]


@pytest.mark.parametrize("workbook", [False, True])
def test_what_is_not_read_is_named_wherever_it_stands(workbook: bool) -> None:
    head = ["Kind", "Name", "Capacity", *[""] * 117, "Length"]
    rows = [head, ["battery", "B", "70 Ah", "", "mine"]]
    made = import_table("t", _book({"Van": list(rows)}) if workbook else _csv(rows))
    name = "sheet Van" if workbook else "the table"
    assert made.text and f"{name}: column E has no heading and is not read" in made.notes
    assert f"{name}: columns beyond CV are not read" in made.notes


def test_the_template_is_read_without_a_remark() -> None:
    made = import_table("job.xlsx", template())
    assert made.findings == () and made.notes == () and made.text


def test_the_note_of_a_link_is_kept_as_a_comment_and_told() -> None:
    rows = [["Kind", "Name", "From", "To", "Note"], ["busbar", "A", "", "", ""], ["busbar", "B", "", "", ""],
            ["link", "", "A", "B", "fit last,\n# { with care"]]  # fmt: skip
    made = import_table("t.csv", _csv(rows))
    assert made.text.endswith("A -- B  # fit last, # { with care\n")
    assert made.notes == ("t.csv E4: a link keeps no note: it stands as a comment in the netlist",)


def test_a_name_that_no_row_declares_is_told_at_each_cell_and_a_lost_name_once() -> None:
    head = ["Kind", "Name", "Place", "From", "To", "Via", "Facts"]
    rows = [head, ["place", "bay", "", "", "", "", ""], ["battery", "B", "boot", "", "", "", ""],
            ["fuse", "F", "boot", "", "", "", ""], ["wire", "W1", "", "B.+", "F", "boot, bay", ""],
            ["wire", "W2", "", "Q.+", "F", "", ""], ["wire", "W3", "", "B.-", "Q.-", "", ""]]  # fmt: skip
    made = import_table("t.csv", _csv(rows))
    assert [f.path for f in made.findings] == [f"t.csv {cell}" for cell in ("C3", "C4", "F5", "D6", "E7")]
    rows[1:2] = [["place", "bay 1", "", "", "", "", ""], ["cable", "C 1", "", "", "", "", "cores red"],
                 ["", "C1.red", "", "B.+", "B.-", "bay", ""]]  # fmt: skip
    made = import_table("t.csv", _csv([*rows[:4], ["battery", "B", "", "", "", "", ""]]))
    assert [f.path for f in made.findings] == ["t.csv B2", "t.csv B3"]
