"""Readers of other hands open what is written: mupdf the PDF, html5lib the page. A job of two hundred conductors."""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise
from pathlib import Path

import html5lib
import pymupdf
import pytest

from tests.layout.realistic import realistic_netlist
from tests.papers.test_folder import HOSTILE, OFFICE, SHEET, from_text, made, paper
from wiregen.circuit import study
from wiregen.model import read
from wiregen.papers import folder, page, typeset
from wiregen.papers.document import Folder, Labels, Table
from wiregen.rules import check
from wiregen.rules.register import JUDGING

EXAMPLES = sorted((Path(__file__).resolve().parents[2] / "examples").glob("*.wnet"))
every_example = pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
MARGIN = 20.0  # what no text of a paper may reach into [pt]


def opened(pdf: bytes) -> object:
    pymupdf.TOOLS.reset_mupdf_warnings()
    document = pymupdf.open(stream=pdf, filetype="pdf")
    for each in document:
        each.get_text()
    assert pymupdf.TOOLS.mupdf_warnings() == ""
    assert not document.is_repaired
    return document


@cache
def large() -> Folder:
    """A van as a workshop would wire it, grown to two hundred conductors."""
    job, _ = read("large.wnet", text=realistic_netlist(3, 210))
    assert job is not None and len(job.conductors) >= 200
    computed, _ = study(job)
    return folder(computed, check(computed), [SHEET], rules=len(JUDGING), office=OFFICE)


def paged(found: Folder) -> None:
    """Bookmarks and contents lead to the page on which each paper begins; no page has less than a few lines; nothing
    is cut off."""
    document = opened(typeset(found, "Contents"))
    pages = list(document)  # type: ignore[call-overload]
    marks = {title: at for level, title, at in document.get_toc() if level == 1}  # type: ignore[attr-defined]
    assert list(marks) == [each.title for each in found.papers]
    assert sorted(marks.values()) == list(marks.values())
    cover = pages[0].get_text()
    for title, at in marks.items():
        assert re.search(rf"{re.escape(title)}[ .\n\u2060]*{at}\b", cover), title
    for at, each in enumerate(pages, start=1):
        blocks = [block for block in each.get_text("blocks") if block[6] == 0]
        drawn = len(each.get_drawings())
        assert len(blocks) > 2 or drawn > 3 or len(each.get_images()) or at == marks["Diagram"], f"page {at} is empty"
        for x0, y0, x1, y1, *_ in blocks:
            assert x0 >= 0 and y0 >= 0 and x1 <= each.rect.width and y1 <= each.rect.height, f"page {at} is cut"


@every_example
def test_mupdf_reads_every_page_without_a_warning_and_bookmarks_are_right(path: Path) -> None:
    paged(made(path))


@every_example
def test_what_is_written_is_found_as_it_is_written(path: Path) -> None:
    """Nothing invisible stands between the letters, so that a name or a figure can be searched for and copied."""
    text = "".join(each.get_text() for each in opened(typeset(made(path), "Contents")))  # type: ignore[attr-defined]
    assert not re.search("[\u200b-\u200d\ufeff\u00ad]", text)
    (sheet,) = (block for block in paper(made(path), "labels").blocks if isinstance(block, Labels))
    for name in {lines[0] for lines in sheet.labels if len(lines[0]) < 15}:
        assert name in text


@every_example
def test_no_title_of_a_column_is_broken_within_a_word(path: Path) -> None:
    words = "".join(each.get_text() for each in opened(typeset(made(path), "Contents"))).split()  # type: ignore[attr-defined]
    tables = (block for each in made(path).papers for block in each.blocks if isinstance(block, Table))
    titles = {word for table in tables for column in table.columns for word in column.title.split()}
    assert titles <= set(words)


@every_example
def test_the_page_is_valid_html(path: Path) -> None:
    parser = html5lib.HTMLParser(strict=True)
    parser.parse(page(made(path), "Contents"))
    assert not parser.errors
    ids = re.findall(r'\bid="([^"]+)"', page(made(path), "Contents"))
    assert len(ids) == len(set(ids))


def test_two_hundred_conductors_are_still_a_folder() -> None:
    found = large()
    paged(found)
    schedule = next(block for block in paper(found, "schedule").blocks if isinstance(block, Table))
    document = opened(typeset(found, "Contents"))
    first = next(at for _, title, at in document.get_toc() if title == "Cable schedule")  # type: ignore[attr-defined]
    last = next(at for _, title, at in document.get_toc() if title == "Parts and consumables")  # type: ignore[attr-defined]
    texts = [each.get_text() for each in document][first - 1 : last - 1]  # type: ignore[attr-defined]
    assert len(texts) > 3
    count = len(list(document))  # type: ignore[call-overload]
    for at, words in enumerate(texts, start=first):
        assert f"{at} / {count}" in words
        assert "First end" in words or "Pieces, in metres" in words, "the head is not repeated"
    names = [row[0].text for row in schedule.rows]
    assert all(name in "".join(texts) for name in names)


def test_long_labels_are_set_smaller_rather_than_cut() -> None:
    found = large()
    labels = next(each for each in found.papers if each.id == "labels")
    long = (("W" * 40, "on " + "terminal-" * 8, "to " + "terminal-" * 8, "green/white 2.5 mm²"),) * 3
    sheet = labels._replace(blocks=(Labels("letter", long),))
    (only,) = opened(typeset(found._replace(papers=(sheet,)), ""))  # type: ignore[misc]
    boxes = [block[:4] for block in only.get_text("blocks")]
    assert "mm²" in only.get_text() and len(boxes) >= 3
    high = 25.4 * 72 / 25.4
    for (_, y0, _, y1), _ in pairwise(boxes):
        assert y1 - y0 <= high


def test_a_word_as_long_as_the_page_is_broken_and_whole() -> None:
    """In no paper does it run out of its cell, its label or the page."""
    found = from_text(HOSTILE)
    for each in found.papers:
        if each.id in ("parts", "labels"):
            text = "".join(at.get_text() for at in opened(typeset(found._replace(papers=(each,)), "")))  # type: ignore[attr-defined]
            assert "x" * 300 in re.sub(r"\s", "", text), each.id
