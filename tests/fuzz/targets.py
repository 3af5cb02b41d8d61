"""What the fuzzer throws bytes at: each target takes any bytes and returns what went wrong, in words; mostly nothing.

An exception that leaves a target is a fault too. So is a finding that tells of a crash inside a room.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable

from wiregen.circuit import study
from wiregen.circuit.study_json import as_json
from wiregen.circuit.study_text import as_text
from wiregen.drawing import Options, draw
from wiregen.drawing.netlist import compare, rebuild
from wiregen.exchange.from_table import import_table
from wiregen.exchange.spice import spice_deck
from wiregen.exchange.to_table import csv_bytes, tables
from wiregen.findings import Finding
from wiregen.findings.annotations import findings_annotations
from wiregen.findings.json import dumps, findings_json
from wiregen.findings.junit import findings_junit
from wiregen.findings.report import Checked
from wiregen.findings.sarif import findings_sarif
from wiregen.findings.text import findings_text
from wiregen.language import parse
from wiregen.language.files import read_source
from wiregen.language.format import format_text
from wiregen.language.shape import shape
from wiregen.layout import lay_out
from wiregen.model import read
from wiregen.rules import check, pages

PATH = "x.wnet"


def _told(findings: tuple[Finding, ...]) -> None:
    """Every report of these findings can be written."""
    for finding in findings:
        assert finding.message, "a finding without words"
        if finding.at:
            span = finding.at.span
            assert 0 <= span.start <= span.end <= len(span.source.text), "a finding beside its text"
    files = [Checked(PATH, None, False, findings)]
    findings_text(findings)
    findings_json(files, findings)
    findings_sarif(files, pages(), "/")
    findings_junit(files, "warning", "/")
    findings_annotations(files, "/")


def reader(data: bytes) -> list[str]:
    """Bytes to a text, a tree and a job, with all that is said on the way."""
    source, found = read_source(PATH, data=data)
    if source is None:
        assert found, "neither a text nor a word about it"
        _told(found)
        return []
    parse(source)
    job, more = read(PATH, text=source.text)
    assert job is None or job.complete or any(f.lost for f in more), "something was lost without a word"
    _told(more)
    return []


def formatter(data: bytes) -> list[str]:
    """The plain layout says the same, and is its own plain layout."""
    source, _ = read_source(PATH, data=data)
    if source is None:
        return []
    text, found = format_text(source)
    _told(found)
    if any(f.lost for f in found):
        assert text == source.text, "a text with mistakes was changed"
        return []
    again, _ = read_source(PATH, data=text.encode())
    if again is None:
        return [] if not text.strip() else ["the plain layout cannot be read"]
    wrong = []
    if shape(parse(again)[0]) != shape(parse(source)[0]):
        wrong.append("the plain layout says something else")
    if format_text(again)[0] != text:
        wrong.append("the plain layout of the plain layout differs")
    return wrong


def importer_csv(data: bytes) -> list[str]:
    """A table as csv; what comes of it can be read."""
    if data[:2] == b"PK":
        return []
    return _imported(import_table("x.csv", data).text, data, "x.csv")


def _imported(text: str, data: bytes, path: str) -> list[str]:
    made = import_table(path, data)
    assert made.text == text, "the same table made two netlists"
    assert bool(made.text) != bool(made.findings), "a netlist and a mistake, or neither"
    _told(made.findings)
    if not made.text:
        return []
    job, found = read(PATH, text=made.text)
    lost = [f.message for f in found if f.lost]
    return [f"the netlist of a table cannot be read: {lost[0]}"] if lost or job is None else []


def importer_xlsx(data: bytes) -> list[str]:
    """A workbook: the bytes as they are where they are a zip archive, else as the cells of a sheet or two."""
    if data[:2] == b"PK":
        return _imported(import_table("x.xlsx", data).text, data, "x.xlsx")
    packed = workbook(data)
    return _imported(import_table("x.xlsx", packed).text, packed, "x.xlsx")


def workbook(data: bytes) -> bytes:
    """Lines to rows and tabs or commas to cells, put down as raw XML, so that hostile cells reach the reader as well.

    A form feed begins another sheet; a cell that begins with ! is a formula, % a number, ^ a truth value, $ a date.
    """
    text = data.decode("utf-8", "replace")
    sheets = text.split("\f")[:3]
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        kind = "http://schemas.openxmlformats.org/"
        names = range(1, len(sheets) + 1)
        archive.writestr(
            "[Content_Types].xml",
            f'<Types xmlns="{kind}package/2006/content-types">'
            '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
            '<Override PartName="/xl/workbook.xml" ContentType='
            '"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/>'
            + "".join(
                f'<Override PartName="/xl/worksheets/sheet{n}.xml" ContentType='
                '"application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/>'
                for n in names
            )
            + "</Types>",
        )
        relation = f"{kind}officeDocument/2006/relationships"
        relations = f'<Relationships xmlns="{kind}package/2006/relationships">'
        archive.writestr(
            "_rels/.rels",
            f'{relations}<Relationship Id="r1" Type="{relation}/officeDocument" Target="xl/workbook.xml"/>'
            "</Relationships>",
        )
        archive.writestr(
            "xl/_rels/workbook.xml.rels",
            relations
            + "".join(
                f'<Relationship Id="r{n}" Type="{relation}/worksheet" Target="worksheets/sheet{n}.xml"/>' for n in names
            )
            + "</Relationships>",
        )
        main = f"{kind}spreadsheetml/2006/main"
        archive.writestr(
            "xl/workbook.xml",
            f'<workbook xmlns="{main}" xmlns:r="{relation}"><sheets>'
            + "".join(f'<sheet name="S{n}" sheetId="{n}" r:id="r{n}"/>' for n in names)
            + "</sheets></workbook>",
        )
        for n, sheet in enumerate(sheets, 1):
            archive.writestr(f"xl/worksheets/sheet{n}.xml", _sheet_xml(main, sheet))
    return out.getvalue()


def _sheet_xml(main: str, sheet: str) -> str:
    rows = []
    for y, line in enumerate(sheet.split("\n")[:200], 1):
        cells = []
        for x, cell in enumerate(line.replace("\t", ",").split(",")[:26]):
            place, inside = f"{chr(65 + x)}{y}", _escaped(cell[1:])
            if not cell:
                continue
            if cell[0] == "!":
                cells.append(f'<c r="{place}"><f>{inside}</f></c>')
            elif cell[0] in "%$":
                cells.append(f'<c r="{place}"><v>{inside}</v></c>')
            elif cell[0] == "^":
                cells.append(f'<c r="{place}" t="b"><v>{inside}</v></c>')
            else:
                cells.append(f'<c r="{place}" t="inlineStr"><is><t>{_escaped(cell)}</t></is></c>')
        rows.append(f'<row r="{y}">{"".join(cells)}</row>')
    return f'<worksheet xmlns="{main}"><sheetData>{"".join(rows)}</sheetData></worksheet>'


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def check_and_draw(data: bytes) -> list[str]:
    """The whole way: read, study, rules, layout, drawing, what the drawing is read back as, and every export."""
    source, _ = read_source(PATH, data=data)
    if source is None:
        return []
    job, found = read(PATH, text=source.text)
    if job is None or not job.complete or any(f.lost for f in found):
        _told(found)
        return []
    computed, more = study(job)
    findings = check(computed, earlier=(*found, *more), today="2027-03-01")
    _told(findings)
    dumps(as_json(computed))
    as_text(computed)
    geometry, told = lay_out(computed, findings, Options())
    wrong = compare(job, rebuild(draw(geometry)))
    _told(told)
    if computed.cases:
        spice_deck(job, computed.cases[-1].name)
    import_table("x.csv", csv_bytes(tables(job)))
    return [
        f.message for f in (*findings, *told, *wrong) if f.rule in ("rule-failure", "drawing-failure")
    ]  # fmt: skip


TARGETS: dict[str, Callable[[bytes], list[str]]] = {
    "reader": reader,
    "formatter": formatter,
    "csv": importer_csv,
    "xlsx": importer_xlsx,
    "check-and-draw": check_and_draw,
    "by-words": check_and_draw,  # the same, with texts that are changed word by word (words.py)
}
