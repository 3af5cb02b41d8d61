"""The folder's figures are the study's, its counts follow from the netlist, and hostile text stays text."""

from __future__ import annotations

import io
import re
from collections import Counter
from functools import cache
from math import ceil
from pathlib import Path

import pytest

from wiregen.circuit import study
from wiregen.circuit.study import Study
from wiregen.circuit.study_json import as_json
from wiregen.model import read
from wiregen.papers import Office, folder, page, texts, typeset, workbook
from wiregen.papers.document import Folder, Labels, Paper, Table
from wiregen.rules import check
from wiregen.rules.register import JUDGING

EXAMPLES = sorted((Path(__file__).resolve().parents[2] / "examples").glob("*.wnet"))
SHEET = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="297mm" height="210mm" viewBox="0 0 297 210"><title>t</title>'
    '<path d="M10 10 L100 100" stroke="#000"/></svg>'
)
OFFICE = Office(company="Riverside workshop", contact=("Quay 4",))

every_example = pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)


@cache
def studied(path: Path) -> Study:
    job, mistakes = read(str(path))
    assert job is not None and not mistakes
    return study(job)[0]


@cache
def made(path: Path) -> Folder:
    computed = studied(path)
    return folder(computed, check(computed), [SHEET], rules=len(JUDGING), office=OFFICE)


def from_text(text: str) -> Folder:
    job, _ = read("hostile.wnet", text=text)
    assert job is not None
    computed, _ = study(job)
    return folder(computed, check(computed), [SHEET], rules=len(JUDGING), office=OFFICE)


def tables(found: Folder) -> list[Table]:
    return [block for paper in found.papers for block in paper.blocks if isinstance(block, Table)]


def paper(found: Folder, id: str) -> Paper:
    return next(each for each in found.papers if each.id == id)


def in_json(document: object, source: str) -> float | None:
    """The figure that a path leads to: keys, or the name or id of an entry of a list; `a-b` is a difference."""
    if "-cases/" in source:
        first, _, second = source.partition("-cases/")
        one, other = in_json(document, first), in_json(document, f"cases/{second}")
        return None if one is None or other is None else one - other
    at = document
    for key in source.split("/"):
        if isinstance(at, list):
            at = next(each for each in at if key in (each.get("name"), each.get("id")))
        else:
            assert isinstance(at, dict)
            at = at[key]
    assert at is None or isinstance(at, int | float)
    return at


@every_example
def test_every_computed_figure_is_the_one_of_the_study(path: Path) -> None:
    document = as_json(studied(path))
    seen = 0
    for table in tables(made(path)):
        for cell in (cell for row in table.rows for cell in row):
            if cell.number is None or not cell.number.source:
                continue
            seen += 1
            wanted = in_json(document, cell.number.source)
            assert wanted is not None, cell
            wanted *= cell.number.scale
            assert cell.number.value == pytest.approx(abs(wanted) if cell.number.value >= 0 else wanted), cell
            assert float(cell.text.removesuffix(" V")) == pytest.approx(cell.number.value, rel=0.006, abs=0.006), cell
    assert seen > 20


@every_example
def test_every_conductor_is_scheduled_once_and_labelled_at_each_end(path: Path) -> None:
    job = studied(path).job
    schedule = next(block for block in paper(made(path), "schedule").blocks if isinstance(block, Table))
    assert [(row[1].text, row[2].text) for row in schedule.rows] == [(c.from_, c.to) for c in job.conductors.values()]
    (sheet,) = (block for block in paper(made(path), "labels").blocks if isinstance(block, Labels))
    ends = [
        end for c in job.conductors.values() for end in (c.from_, c.to) if not end.startswith(("loose:", "capped:"))
    ]
    fuses = [part for part in job.parts.values() if part.kind in ("fuse", "breaker")]
    assert len(sheet.labels) == len(ends) + len(fuses)


@every_example
def test_parts_and_consumables_are_counted_from_the_netlist(path: Path) -> None:
    job = studied(path).job
    parts, consumables = (block for block in paper(made(path), "parts").blocks if isinstance(block, Table))
    kinds: Counter[str] = Counter()
    for row in parts.rows:
        assert row[0].number is not None
        kinds[row[1].text] += int(row[0].number.value)
    words = texts().words["kinds"]
    wanted = Counter(str(words[p.kind]) for p in job.parts.values() if p.kind not in ("body", "earth", "feed"))
    assert kinds == wanted
    by_name = {row[1].text: row[0].number.value for row in consumables.rows if row[0].number}
    own = [c for c in job.conductors.values() if not c.has("supplied")]
    crimped = [e for c in own for e in (c.from_, c.to) if not e.startswith(("loose:", "capped:"))]
    assert by_name[texts().say("parts.sleeve")] == len(crimped)
    laid = {c.cable or c.id: c for c in job.conductors.values()}.values()  # a cable is laid once, whatever its cores
    assert by_name[texts().say("parts.grommet")] == sum(max(0, len(c.route) - 1) for c in laid)
    lengths = [m.high for c in laid if not c.has("supplied") and (m := c.measure("length"))]
    ties = sum(ceil(round(m * (1 + OFFICE.cut_share) + OFFICE.cut_ends, 2) / OFFICE.tie_spacing) for m in lengths)
    assert by_name[texts().say("parts.tie")] == ties


@every_example
def test_what_is_cut_is_what_is_scheduled(path: Path) -> None:
    """Each conductor that is made up is cut once, in the length of the schedule; cores are cut with their cable."""
    job = studied(path).job
    schedule, cuts = (block for block in paper(made(path), "schedule").blocks if isinstance(block, Table))
    lengths = {row[0].text: row[6].number.value for row in schedule.rows if row[6].number}
    pieces = Counter(piece.rpartition(" ")[0] for row in cuts.rows for piece in row[3].text.split(", "))
    loose = [c.id for c in job.conductors.values() if c.id in lengths and not c.cable]
    cables = {c.cable for c in job.conductors.values() if c.cable and c.id in lengths}
    assert pieces == Counter([*loose, *(cable for cable in cables if cable)])
    for row in cuts.rows:
        assert row[2].number and row[4].number and row[5].number
        assert row[2].number.value == pytest.approx(row[4].number.value + row[5].number.value)


@every_example
def test_the_start_battery_is_connected_last_and_disconnected_first(path: Path) -> None:
    from wiregen.circuit.assemble import main_battery
    from wiregen.papers.commissioning import connection_order

    order = connection_order(studied(path))
    main = main_battery(studied(path).job)
    assert order and (main is None or order[-1].id == main.id)
    assert len(order) == sum(part.kind == "battery" for part in studied(path).job.parts.values())


@every_example
def test_no_finding_is_never_worded_as_safe(path: Path) -> None:
    words = page(made(path), "Contents")
    assert "No finding does not mean safe" in words
    assert not re.search(r"\b(is|are) safe\b", words)


HOSTILE = """job "#eval(read(\\"x\\")) <script>alert(1)</script> =1+1 $x$ *b* @cell" {{
    system 12 V, customer "=cmd|' /C calc'!A0"
}}
battery start "=HYPERLINK(1) <b>&amp; #pagebreak()" 70 Ah flooded, vented, resistance 6 mohm
fuse F1 "{long}" 20 A cartridge, volts 58 V, breaks 10 kA
load pump "+2+3" 5 A
start.+ --[W1 red 6 mm2 0.1 m]-- F1 --[W2 red 6 mm2 2 m]-- pump.+
pump.- --[W3 black 6 mm2 2 m]-- start.-
""".format(long="x" * 300)


def test_hostile_text_stays_text_in_every_form() -> None:
    found = from_text(HOSTILE)
    html = page(found, "Contents")
    assert "<script>" not in html and "<b>&amp;amp;" not in html
    assert typeset(found, "Contents").startswith(b"%PDF")
    from openpyxl import load_workbook

    book = load_workbook(io.BytesIO(workbook(found)))
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type != "f", (sheet.title, cell.coordinate, cell.value)


@pytest.mark.parametrize("write", [lambda f: typeset(f, "C"), lambda f: page(f, "C").encode(), workbook])
def test_the_same_folder_has_the_same_bytes(write: object) -> None:
    assert callable(write)
    assert write(made(EXAMPLES[0])) == write(made(EXAMPLES[0]))


def test_the_page_fetches_nothing() -> None:
    html = page(made(EXAMPLES[0]), "Contents")
    assert not re.search(r"(?:src|href)=\"(?!data:|#)", html)
    assert not re.search(r"https?:(?!//www\.w3\.org/)", html)


def test_every_text_has_its_place_and_every_place_its_text() -> None:
    """No text of the catalogue is unused, none that the code asks for is missing."""
    room = Path(__file__).resolve().parents[2] / "wiregen" / "papers"
    files = [*sorted(room.glob("*.py")), room.parent / "cli" / "folder.py"]
    code = "".join(path.read_text(encoding="utf-8") for path in files)
    asked = set(re.findall(r"(?:say|all)\(\s*f?\"([\w-]+\.[^\"]+)\"", code))
    patterns = [re.compile(re.sub(r"\\\{[^}]+\}", r"[\\w-]+", re.escape(each))) for each in asked]
    for section, words in texts().words.items():
        for key in words:
            assert any(p.fullmatch(f"{section}.{key}") for p in patterns), f"{section}.{key} is asked for nowhere"
    for name in asked:
        if "{" not in name:
            section, _, key = name.partition(".")
            assert key in texts().words[section], name


@every_example
def test_the_pdf_is_read_without_a_warning_and_its_text_is_found(path: Path, tmp_path: Path) -> None:
    import subprocess

    (tmp_path / "folder.pdf").write_bytes(typeset(made(path), "Contents"))
    ran = subprocess.run(["pdftotext", "folder.pdf", "-"], cwd=tmp_path, capture_output=True, text=True, check=True)
    assert ran.stderr == ""
    for each in made(path).papers[1:]:
        assert each.title in ran.stdout
    for conductor in studied(path).job.conductors.values():
        assert not conductor.named or conductor.id in ran.stdout.replace("\u200b", "")
    fonts = subprocess.run(["pdffonts", "folder.pdf"], cwd=tmp_path, capture_output=True, text=True, check=True)
    rows = fonts.stdout.splitlines()[2:]
    assert rows and all(row.split()[-5] == "yes" for row in rows), fonts.stdout  # embedded
