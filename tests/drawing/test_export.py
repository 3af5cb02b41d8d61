"""PDF and PNG: as many pages as sheets, in their size, the same bytes each time."""

from __future__ import annotations

import re
import struct
from xml.etree import ElementTree

import pytest
from samples import small

from wiregen.drawing import draw, to_pdf, to_png
from wiregen.drawing.export import WIDER, narrowed

pytest.importorskip("cairosvg")


def test_one_pdf_has_a_page_for_each_sheet() -> None:
    svg = draw(small())[0]
    pdf = to_pdf((svg, svg, svg), "Three sheets")
    assert pdf.startswith(b"%PDF-")
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) == 3
    sizes = {tuple(round(float(n)) for n in box.split()[2:]) for box in re.findall(rb"/MediaBox \[([^\]]*)\]", pdf)}
    assert sizes == {(842, 595)}  # A4 landscape in points


def test_a_pdf_is_the_same_each_time() -> None:
    svgs = draw(small())
    assert to_pdf(svgs) == to_pdf(svgs)


def test_a_png_has_the_pixels_asked_for() -> None:
    png = to_png(draw(small())[0], dpi=100)
    assert png.startswith(b"\x89PNG")
    assert struct.unpack(">II", png[16:24]) == (1169, 827)  # 297 x 210 mm at 100 to the inch


def test_texts_keep_their_room_whatever_fonts_the_machine_has() -> None:
    svg = draw(small())[0]
    wide = narrowed(svg, "monospace")  # wider than what was counted on, on any machine
    assert wide.count("scale(") > 10
    assert "data-box" in wide
    ElementTree.fromstring(wide)
    for factor in re.findall(r" scale\(([\d.]+) 1\)", wide):
        assert 0.2 < float(factor) < 1 / WIDER + 1e-3
