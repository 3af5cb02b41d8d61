"""The shipped widths are those of the font, so that layout and every reader's machine agree on how long a text is."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from wiregen.built import font

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = (Path("/usr/share/fonts/truetype/liberation"), Path("/usr/share/fonts/truetype/liberation2"))


def test_widths_match_published_helvetica_metrics() -> None:
    # Adobe core 14 AFM, Helvetica, thousandths of an em, from memory: metric-compatible fonts keep these to rounding
    for letter, thousandths in {"A": 667, "i": 222, "W": 944, "m": 833, "0": 556, " ": 278, "+": 584}.items():
        assert font.WIDTHS[ord(letter)] * 1000 / font.UNITS == pytest.approx(thousandths, abs=1), letter


def test_every_sign_of_the_trade_has_a_width() -> None:
    for sign in "ABCxyz0189.,:;+-/()[]²°×–—−µμΩΩ→←↑↓…≤≥≈±%äöüßéñłščŽ€½□":
        assert ord(sign) in font.WIDTHS, sign
        assert ord(sign) in font.BOLD_WIDTHS, sign


def test_the_table_is_that_of_the_font() -> None:
    pytest.importorskip("fontTools")
    folder = next((f for f in FOLDERS if (f / "LiberationSans-Regular.ttf").exists()), None)
    if folder is None:
        pytest.skip("Liberation Sans is not installed (Debian: fonts-liberation)")
    made = subprocess.run(
        [
            sys.executable,
            str(ROOT / "tests/drawing/font_table.py"),
            str(folder / "LiberationSans-Regular.ttf"),
            str(folder / "LiberationSans-Bold.ttf"),
        ],
        capture_output=True,
        text=True,
        check=True,
    )
    assert made.stdout == (ROOT / "wiregen/built/font.py").read_text(encoding="utf-8")
