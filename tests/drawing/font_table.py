"""Make wiregen/built/font.py from the font that ships.

    python tests/drawing/font_table.py > wiregen/built/font.py

Needs fonttools. The font's advance widths are those of Arial and Helvetica, so that texts keep their width whichever of
the three a reader's program draws them in.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable

from fontTools.ttLib import TTFont

from wiregen.drawing.font import FOLDER

RANGES = (
    (0x20, 0x7E),  # basic Latin
    (0xA0, 0x17F),  # Latin-1 and Latin Extended-A: names from all over Europe, ² ° × µ
    (0x370, 0x3FF),  # Greek
    (0x400, 0x45F),  # Cyrillic
    (0x2010, 0x2044),  # dashes, quotes, ellipsis, per mille, fraction slash
    (0x2070, 0x208E),  # superscripts and subscripts
    (0x20AC, 0x20AC),  # euro
    (0x2120, 0x212F),  # ohm sign, trade mark
    (0x2150, 0x215F),  # fractions
    (0x2190, 0x2195),  # arrows
    (0x2200, 0x226F),  # − ≈ ≠ ≤ ≥ √ ∞
    (0x25A0, 0x25FF),  # squares, circles
)


def widths(font: TTFont) -> dict[int, int]:
    """Advance width of each code point of the ranges that the font has, in font units."""
    glyphs, metrics = font.getBestCmap(), font["hmtx"]
    points: Iterable[int] = (p for low, high in RANGES for p in range(low, high + 1))
    return {point: metrics[glyphs[point]][0] for point in points if point in glyphs}


def module(regular: TTFont, bold: TTFont) -> str:
    """The text of wiregen/built/font.py."""
    units = regular["head"].unitsPerEm
    lines = [
        '"""Widths of the font that ships (as Arial and Helvetica). Made by tests/drawing/font_table.py: do not edit.',
        "",
        "All figures in font units, UNITS of them to one em (the font size). A code point that is in no table takes",
        'DEFAULT, an East Asian wide one WIDE, a combining mark nothing."""',
        "",
        f"UNITS = {units}",
        f"CAP_HEIGHT = {regular['OS/2'].sCapHeight or _height(regular, 'H')}  # of the letter H",
        f"ASCENT = {regular['hhea'].ascent}",
        f"DESCENT = {-regular['hhea'].descent}  # below the baseline",
        f"DEFAULT = {regular['hmtx']['H'][0]}  # as wide as an H: few letters of any script are wider",
        f"WIDE = {units}",
    ]
    for name, font in (("WIDTHS", regular), ("BOLD_WIDTHS", bold)):
        lines.append(f"{name}: dict[int, int] = {{")
        items = [f"{point}: {width}," for point, width in widths(font).items()]
        lines += ["    " + " ".join(items[i : i + 9]) for i in range(0, len(items), 9)]
        lines.append("}")
    return "\n".join(lines) + "\n"


def _height(font: TTFont, glyph: str) -> int:
    height: int = font["glyf"][glyph].yMax
    return height


if __name__ == "__main__":
    sys.stdout.write(module(*(TTFont(FOLDER / f"WiregenSans-{weight}.ttf") for weight in ("Regular", "Bold"))))
