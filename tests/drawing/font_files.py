"""Make the fonts in wiregen/fonts from Liberation Sans 2.

    python tests/drawing/font_files.py LiberationSans-Regular.ttf LiberationSans-Bold.ttf

Needs fonttools. The source: Liberation Sans 2.1.5 (Debian package fonts-liberation2, SIL Open Font License 1.1; the
1.x series has another licence). What is made is a modified version in the sense of that licence, so it bears a name of
its own. `WiregenSans-*.ttf` have all letters of the width table; PDF and PNG are set in them. `*-<set>.woff` have those
of one set each, small enough to stand within an SVG. Hints, kerning and what else is not counted on is left out.
"""

from __future__ import annotations

import sys
from pathlib import Path

from font_table import RANGES
from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont

from wiregen.drawing.font import FAMILY, FOLDER, SETS

VERSION = "Version 2.1.5, Liberation Sans under another name with fewer letters"


def made(source: str, weight: str, points: list[int], flavor: str | None) -> TTFont:
    """The font with those letters only, under our name."""
    font = TTFont(source, recalcTimestamp=False)
    options = Options(
        hinting=False, layout_features=[], name_IDs=[0, 1, 2, 3, 4, 5, 6, 13, 14], notdef_outline=True,
        drop_tables=["GSUB", "GPOS", "GDEF", "kern", "DSIG", "FFTM", "gasp", "hdmx", "VDMX", "LTSH"],
    )  # fmt: skip
    subsetter = Subsetter(options)
    subsetter.populate(unicodes=points)
    subsetter.subset(font)
    names = font["name"]
    names.names = [n for n in names.names if n.platformID == 3]
    full = FAMILY if weight == "Regular" else f"{FAMILY} {weight}"
    file = f"{FAMILY.replace(' ', '')}-{weight}"
    for number, words in ((1, FAMILY), (2, weight), (3, f"{full} 2.1.5"), (4, full), (5, VERSION), (6, file)):
        names.setName(words, number, 3, 1, 0x409)
    font.flavor = flavor
    return font


def main(regular: str, bold: str, folder: Path = FOLDER) -> None:
    """Write all of them."""
    for source, weight in ((regular, "Regular"), (bold, "Bold")):
        every = [p for low, high in RANGES for p in range(low, high + 1)]
        made(source, weight, every, None).save(folder / f"{FAMILY.replace(' ', '')}-{weight}.ttf")
        taken: set[int] = set()
        for name, points in SETS.items():
            made(source, weight, [p for p in points if p not in taken], "woff").save(folder / f"{name}-{weight}.woff")
            taken.update(points)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])
