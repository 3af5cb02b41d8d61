"""The shipped widths are those of the font, so that layout and every reader's machine agree on how long a text is."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from wiregen.built import font as table
from wiregen.drawing import font
from wiregen.drawing.font import FAMILY, FOLDER

ROOT = Path(__file__).resolve().parents[2]


def test_widths_match_published_helvetica_metrics() -> None:
    # Adobe core 14 AFM, Helvetica, thousandths of an em, from memory: metric-compatible fonts keep these to rounding
    for letter, thousandths in {"A": 667, "i": 222, "W": 944, "m": 833, "0": 556, " ": 278, "+": 584}.items():
        assert table.WIDTHS[ord(letter)] * 1000 / table.UNITS == pytest.approx(thousandths, abs=1), letter


def test_every_sign_of_the_trade_has_a_width() -> None:
    for sign in "ABCxyz0189.,:;+-/()[]²°×–—−µμΩΩ→←↑↓…≤≥≈±%äöüßéñłščŽ€½□":
        assert ord(sign) in table.WIDTHS, sign
        assert ord(sign) in table.BOLD_WIDTHS, sign


def test_the_table_is_that_of_the_font() -> None:
    command = [sys.executable, str(ROOT / "tests/drawing/font_table.py")]
    made = subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT)
    assert made.stdout == (ROOT / "wiregen/built/font.py").read_text(encoding="utf-8")


def test_the_font_that_ships_has_its_licence_beside_it_and_a_name_of_its_own() -> None:
    licence = (FOLDER / "OFL.txt").read_text(encoding="utf-8")
    assert "SIL OPEN FONT LICENSE Version 1.1" in licence
    assert "Reserved Font Name Liberation" in licence
    for file in sorted((*FOLDER.glob("*.ttf"), *FOLDER.glob("*.woff"))):
        names = TTFont(file)["name"]
        assert names.getDebugName(1) == FAMILY, file.name
        assert not any("Liberation" in str(names.getDebugName(n)) for n in (1, 3, 4, 6)), file.name
        assert "Open Font License" in str(names.getDebugName(13)), file.name


def test_an_svg_carries_the_letters_that_it_uses_and_no_more() -> None:
    plain = font.style('<text x="1">W1 RD 2.5 mm² &amp; 3 Ω</text>')
    assert plain.count("@font-face") == 1
    assert len(plain) < 12_000
    both = font.style('<text x="1">W1</text><text font-weight="bold">Żółw</text>')
    assert both.count("@font-face") == 3  # plain letters, bold letters, bold letters with accents
    assert both.count("font-weight:bold") == 2
    assert font.style('<text x="1">a</text>') == font.style('<text x="2">zz</text>')  # so that revisions differ little
    assert font.style("<g/>") == ""


def test_every_letter_of_a_set_is_in_its_file() -> None:
    taken: set[int] = set()
    for name, points in font.SETS.items():
        for weight in ("Regular", "Bold"):
            there = TTFont(FOLDER / f"{name}-{weight}.woff").getBestCmap()
            whole = TTFont(FOLDER / f"WiregenSans-{weight}.ttf").getBestCmap()
            assert {p for p in points if p in whole} - taken == set(there), (name, weight)
        taken.update(points)


def test_a_machine_without_any_font_makes_the_same_picture(tmp_path: Path) -> None:
    bare = tmp_path / "fonts.conf"
    bare.write_text(f"<fontconfig><cachedir>{tmp_path}</cachedir></fontconfig>", encoding="utf-8")
    program = (
        "import hashlib, sys; sys.path.insert(0, 'tests/drawing'); from samples import small\n"
        "from wiregen.drawing import draw, to_pdf, to_png\n"
        "svgs = draw(small())\n"
        "print(hashlib.sha256(to_pdf(svgs)).hexdigest(), hashlib.sha256(to_png(svgs[0])).hexdigest())"
    )
    bared = {**os.environ, "FONTCONFIG_FILE": str(bare)}
    made = [
        subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=ROOT, env=env)
        for env in (None, bared)
    ]
    assert made[0].stdout == made[1].stdout
