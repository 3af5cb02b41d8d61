"""Words meant to break out of where they stand: in every output they are words, and nothing else."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
import subprocess
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import html5lib
import pytest
from hostile_words import HIDDEN, HOSTILE, ROOT, hostile_job

from wiregen.cli import main
from wiregen.findings.cells import wrap
from wiregen.findings.text import findings_text
from wiregen.teaching.stepper import SCRIPT

LESSON = ROOT / "examples" / "lessons" / "four-steps.wnet"
VAN = ROOT / "examples" / "camper-van.wnet"
ELEMENTS = {
    "svg", "title", "desc", "style", "g", "path", "line", "polyline", "polygon", "rect", "circle", "ellipse", "text",
    "tspan", "defs", "use", "clipPath", "metadata",
}  # fmt: skip
TURNS = [0, *(pytest.param(turn, marks=pytest.mark.long) for turn in range(1, len(HOSTILE)))]
Captured = pytest.CaptureFixture[str]


def same_shape(text: str, plain: str) -> None:
    """A page with hostile words has the elements and attributes of the same page with plain ones, and no others."""
    kinds = []
    for source in (text, plain):
        tree = html5lib.parse(source, namespaceHTMLElements=False)
        kinds.append({(str(node.tag), name) for node in tree.iter() for name in ("", *node.attrib)})
        for node in tree.iter():
            for name, value in node.attrib.items():
                assert not name.startswith("on")
                if name in ("src", "href"):
                    assert value.startswith(("data:image/svg+xml;base64,", "#")), value
        assert all((node.text or "") == SCRIPT for node in tree.iter("script"))
    assert kinds[0] <= kinds[1] | {("br", "")}


def drawing(text: str) -> None:
    """An SVG with known elements only, none of which runs or fetches anything."""
    root = ElementTree.fromstring(text)
    for node in root.iter():
        assert node.tag.split("}")[1] in ELEMENTS, node.tag
        for name, value in node.attrib.items():
            assert not name.startswith("on") and "javascript" not in value.lower()
            if name.endswith("href"):
                assert value.startswith("#")
    assert not HIDDEN.search(text)


def cells(data: bytes) -> None:
    """No cell of a workbook is a formula, and what looks like one is marked as text."""
    from openpyxl import load_workbook

    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        sheets = [archive.read(n).decode() for n in archive.namelist() if n.startswith("xl/worksheets/sheet")]
    assert sheets and not any(re.search(r"<f[ >]", sheet) for sheet in sheets)
    for sheet in load_workbook(io.BytesIO(data)).worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type != "f"
                if isinstance(cell.value, str) and cell.value.startswith(("=", "+", "-", "@", "\t", "\r")):
                    assert cell.quotePrefix


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("path", [LESSON, VAN], ids=["lesson", "van"])
def test_reports_and_drawings(path: Path, turn: int, here: Path, capsys: Captured) -> None:
    """The reports that go to a terminal, to programs and to CI; the drawing; the tables; the deck."""
    text = hostile_job(turn, path)
    shutil.copytree(ROOT / "examples" / "kits", here / "kits")
    (here / "h.wnet").write_text(text, encoding="utf-8")
    # the same with a slip at each title, so that reports show the hostile lines as excerpts
    (here / "slips.wnet").write_text(re.sub(r' (?=")', " 5 mm3 ", text), encoding="utf-8")
    for name in ("h", "slips"):
        said = {}
        for shape in ("text", "json", "sarif", "junit", "annotations"):
            assert main(["check", f"{name}.wnet", "--output", shape]) in (0, 1, 2)
            said[shape] = capsys.readouterr().out
        assert not HIDDEN.search("".join(said.values()))
        assert not any(line.strip().startswith("::") for line in said["text"].split("\n"))
        json.loads(said["json"]), json.loads(said["sarif"])
        ElementTree.fromstring(said["junit"])
        for line in filter(None, said["annotations"].split("\n")):
            assert re.match(r"::(error|warning|notice) [^\r\n]*::[^\r\n]*$|wiregen: [^\r\n]*$", line)
    for words in (["study"], ["study", "--output", "json"], ["study", "--size"], ["format", "--check"]):
        main([words[0], "h.wnet", *words[1:]])
    assert main(["draw", "h.wnet", "-o", "h.svg"]) == 0
    for kind in ("csv", "xlsx", "spice"):
        assert main(["export", "h.wnet", "--to", kind]) == 0
    captured = capsys.readouterr()
    assert not HIDDEN.search(captured.out + captured.err)
    for sheet in here.glob("h*.svg"):
        drawing(sheet.read_text(encoding="utf-8"))
    cells((here / "h.xlsx").read_bytes())
    for row in csv.reader(io.StringIO((here / "h.csv").read_text(encoding="utf-8"), newline="")):
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in row)
    deck = (here / "h.cir").read_text(encoding="utf-8").split("\n")
    assert deck.count(".control") == 1 and not any(line.split()[:1] == ["shell"] for line in deck)


@pytest.mark.parametrize("turn", TURNS)
def test_the_folder(turn: int, here: Path) -> None:
    """PDF, page and workbook of a customer folder."""
    for name, text in (("h", hostile_job(turn)), ("plain", LESSON.read_text(encoding="utf-8"))):
        (here / f"{name}.wnet").write_text(text, encoding="utf-8")
    company = json.dumps(HOSTILE[turn % len(HOSTILE)], ensure_ascii=False)  # TOML knows no halves of a character
    (here / "office.toml").write_text(f"company = {company}\n", encoding="utf-8")
    assert main(["folder", "h.wnet", "--office", "office.toml"]) == 0
    assert main(["folder", "plain.wnet"]) == 0
    page = (here / "h-folder.html").read_text(encoding="utf-8")
    assert not HIDDEN.search(page)
    same_shape(page, (here / "plain-folder.html").read_text(encoding="utf-8"))
    cells((here / "h-folder.xlsx").read_bytes())
    said = subprocess.run(["pdftotext", "h-folder.pdf", "-"], capture_output=True, text=True, check=True).stdout
    # pdftotext itself puts embedding marks (U+202A to U+202C) around words that run from right to left
    assert not re.search("[\u202d\u202e\u2066-\u2069\x1b]", said)
    if any("typst ran" in words for words in re.findall(r'job "(.*)" \{', hostile_job(turn))):
        assert "#import" in said


@pytest.mark.parametrize("turn", TURNS)
def test_teaching_figures(turn: int, here: Path) -> None:
    """The figures, the page to step through, the list of them."""
    for name, text in (("h", hostile_job(turn)), ("plain", LESSON.read_text(encoding="utf-8"))):
        (here / f"{name}.wnet").write_text(text, encoding="utf-8")
        assert main(["figures", f"{name}.wnet", "--only", "stages,faults"]) == 0
    for path in sorted((here / "h-figures").glob("*.svg")):
        drawing(path.read_text(encoding="utf-8"))
    page = (here / "h-figures" / "figures.html").read_text(encoding="utf-8")
    assert not HIDDEN.search(page)
    same_shape(page, (here / "plain-figures" / "figures.html").read_text(encoding="utf-8"))
    told = (here / "h-figures" / "index.md").read_text(encoding="utf-8")
    assert not HIDDEN.search(told)
    assert not re.search(r"(?<!\\)[<>\[\]]", told)
    plain = (here / "plain-figures" / "index.md").read_text(encoding="utf-8")
    heads = [sum(line.startswith("#") for line in text.split("\n")) for text in (told, plain)]
    assert heads[0] == heads[1]


def test_no_word_of_a_report_is_a_command_of_a_ci_service() -> None:
    """Such a service reads commands at the beginning of a line, whatever spaces stand before them."""
    for width in range(20, 60):
        lines = wrap("a title that says ::error::x and ::set-env name=PATH::y with words between", width, "  ", "    ")
        assert not any(line.strip().startswith("::") for line in lines)
    assert findings_text([]) == ""


NAMES = ("constructor", "toString", "prototype", "con", "NUL", "x" * 300, "é" * 200, "電池", "R1-" * 90 + "z")
FILES = ("::error::x.wnet", "-x.wnet", "a\nb.wnet", "\x1b[31m.wnet", "\u202egnp.wnet", "a b'\"<&>.wnet", b"\xff.wnet")


@pytest.mark.parametrize("name", NAMES)
def test_odd_names_of_parts_and_files(name: str, here: Path, capsys: Captured) -> None:
    """A name that a system or a language keeps for itself is a name like any other."""
    text = LESSON.read_text(encoding="utf-8").replace("aux", name)
    (here / "h.wnet").write_text(text, encoding="utf-8")
    assert main(["check", "h.wnet", "--output", "json"]) in (0, 1)
    json.loads(capsys.readouterr().out)
    assert main(["draw", "h.wnet"]) == 0
    drawing((here / "h.svg").read_text(encoding="utf-8"))
    assert main(["export", "h.wnet", "--to", "csv"]) == 0


@pytest.mark.parametrize("name", FILES)
def test_odd_names_of_files(name: str | bytes, here: Path, capsys: Captured) -> None:
    """A netlist may be called anything; no report lets its name speak."""
    import os

    path = os.fsdecode(name)
    (here / "jobs").mkdir()
    (here / "jobs" / path).write_text(LESSON.read_text(encoding="utf-8").replace("150 mm]", "150]"), encoding="utf-8")
    for shape in ("text", "json", "sarif", "junit", "annotations"):
        assert main(["check", "jobs", "--output", shape, "-o", f"out.{shape}"]) == 2
        text = (here / f"out.{shape}").read_text(encoding="utf-8")
        assert not HIDDEN.search(text)
        assert not any(line.strip().startswith("::") for line in text.split("\n")) or shape == "annotations"
        if shape == "annotations":
            assert all(
                re.match(r"::(error|warning|notice) |wiregen: ", line) for line in filter(None, text.split("\n"))
            )
    ElementTree.fromstring((here / "out.junit").read_text(encoding="utf-8"))
    captured = capsys.readouterr()
    assert not HIDDEN.search(captured.out + captured.err)
