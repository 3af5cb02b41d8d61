"""What a drawn sheet is held to: the contract, the netlist in it, hostile words, grey print, the same bytes."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest
from contract import breaches
from samples import label, small

from wiregen.drawing import draw, rebuild
from wiregen.drawing.colours import PRINT
from wiregen.drawing.furniture import BADGES
from wiregen.drawing.svg import escape, printable
from wiregen.layout import text
from wiregen.layout.geometry import Geometry, Run, Sheet
from wiregen.layout.sheet import fields

ROOT = Path(__file__).resolve().parents[2]
HOSTILE = (
    "</text><script>alert(1)</script>",
    '" onload="alert(1)',
    "a & b < c > d ' e",
    "]]> <!-- &amp; &#0; <?xml?>",
    "line\nbreak\ttab\x00nul\x1b[31m\x7f\x85",
    "\u202eright to left\u202c \u2066isolate\u2069 \u200b zero width",
    "\ud800 lone surrogate \ufffe",
    "مرحبا 电池 🔋 ½ Ω",
    "$x^2$ {brace} %s {0}",
)


def with_sheet(geometry: Geometry, change: Callable[[Sheet], Sheet]) -> Geometry:
    return geometry._replace(sheets=tuple(change(sheet) for sheet in geometry.sheets))


def test_a_sheet_keeps_the_contract() -> None:
    assert breaches(draw(small())[0]) == []


def test_the_netlist_comes_back_out_of_the_drawing() -> None:
    drawn = rebuild(draw(small()))
    assert drawn.troubles == ()
    assert drawn.parts == {
        "start": "battery", "F1": "fuse", "X1": "connector", "dcdc": "charger", "D1": "lamp", "E1": "earth",
    }  # fmt: skip
    assert drawn.conductors["W2"] == ("F1.out", "X1.a.+")
    assert drawn.conductors["S1"] == ("dcdc.sense", "loose:S1")
    assert len(drawn.conductors) == 9
    assert drawn.terminals["X1.b.-"] == "X1"
    assert drawn.terminals["loose:S1"] == ""


# what is changed in the text, and a word of the trouble that it must make
SPOILS = [
    ('data-to="X1.a.+"', 'data-to="X1.a.-"', "W2"),
    ('data-from="F1.out" data-to="X1.a.+"', 'data-from="X1.a.+" data-to="F1.out"', "W2"),
    ("M 88 60 L 115 60", "M 88 60 L 114.999 60", "W2"),
    ("M 88 60 L 115 60", "M 88 60 L 100 61 L 115 60", "right angles"),
    ("M 88 60 L 115 60", "M 88 60 H 115", "W2"),
    ("M 88 60 L 115 60", "M 88 60 L 88 70 L 115 70 L 115 60", "touches"),
    ("M 88 60 L 115 60", "M 88 60 L 100 60 L 100 70 L 110 70 L 110 60 L 115 60", "lies on"),
    ('<g class="conductor"', '<g transform="translate(1 0)" class="conductor"', "no plain run"),
    ('cx="88" cy="60"', 'cx="88" cy="60.5"', "W2"),
    ('class="run" d="M 88 60', 'class="edge" d="M 88 60', "W2"),
    ("</svg>", "", "well-formed"),
]


@pytest.mark.parametrize(("good", "bad", "word"), SPOILS)
def test_a_spoilt_drawing_is_noticed(good: str, bad: str, word: str) -> None:
    svg = draw(small())[0]
    assert good in svg
    troubles = rebuild((svg.replace(good, bad, 1),)).troubles
    assert any(word in trouble for trouble in troubles), troubles


def test_a_fork_without_a_junction_is_noticed() -> None:
    def fork(sheet: Sheet) -> Sheet:
        tee = Run("conductor", "B3", "start.-", "E1", ((50, 70), (60, 70), (60, 85), (50, 85), (50, 90)))
        return sheet._replace(runs=(*(run for run in sheet.runs if run.id != "B3"), tee))

    bare = with_sheet(small(), fork)
    assert rebuild(draw(bare)).troubles == ("B3 forks at 60.0 70.0 without a junction",)
    assert breaches(draw(bare)[0]) == ["B3 forks at 60.0 70.0 without a junction"]
    dotted = with_sheet(bare, lambda sheet: sheet._replace(junctions=((60.0, 70.0),)))
    assert rebuild(draw(dotted)).troubles == ()
    assert breaches(draw(dotted)[0]) == []


def test_a_junction_that_joins_two_nets_is_noticed() -> None:
    crossing = with_sheet(small(), lambda sheet: sheet._replace(junctions=((60.0, 60.0), (60.0, 70.0))))
    assert rebuild(draw(crossing)).troubles == ()
    loose = with_sheet(small(), lambda sheet: sheet._replace(junctions=((60.0, 65.0),)))
    assert "the junction at 60.0 65.0 joins 0 nets" in rebuild(draw(loose)).troubles


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_words_are_only_words(words: str) -> None:
    def spoil(sheet: Sheet) -> Sheet:
        parts = tuple(part._replace(kind=words) for part in sheet.parts)
        labels = (sheet.labels[0]._replace(lines=(words, words)), *sheet.labels[1:])
        return sheet._replace(
            parts=parts, labels=labels, title=words, legend=((words, words),), finding_list=((1, words, words),)
        )

    hostile = with_sheet(small(), spoil)._replace(
        title=words,
        description=words,
        title_block=(("title", words), (words, words)),
        cautions=(words,),
    )
    svg = draw(hostile)[0]
    root = ElementTree.fromstring(svg.encode())
    names = {node.tag.split("}")[1] for node in root.iter()}
    known = {"svg", "title", "desc", "style", "g", "path", "line", "polyline", "polygon", "rect", "circle", "text"}
    assert names <= known
    assert svg.count("<style") == 1  # the fonts
    assert not any(name.startswith("on") for node in root.iter() for name in node.attrib)
    shown = [node.text or "" for node in root.iter() if node.tag.endswith(("text", "title", "desc"))]
    assert printable(words) in shown
    for character in "".join(shown):
        assert character.isprintable()


def test_escape_leaves_plain_words_alone() -> None:
    assert escape("8 mm² Ω – ° µ") == "8 mm² Ω – ° µ"
    assert escape("a\u00a0b\tc") == "a b c"
    assert escape("\u202e") == "□"


def light(colour: str) -> float:
    """Relative luminance, WCAG 2.1."""
    digits = colour.lstrip("#")
    digits = "".join(c * 2 for c in digits) if len(digits) == 3 else digits
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a: str, b: str) -> float:
    high, low = sorted((light(a), light(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_every_letter_can_be_read_in_grey_print() -> None:
    svg = draw(small())[0]
    fills = set(re.findall(r'<text[^>]* fill="(#\w+)"', svg)) - {digits for _, _, digits in BADGES.values()}
    for ink in fills | {"#000"}:
        assert contrast(ink, "#fff") >= 7, ink  # WCAG 2.1, 1.4.6
    for severity, (fill, _, digits) in BADGES.items():
        assert contrast(fill, digits) >= 4.5, severity  # WCAG 2.1, 1.4.3


def test_every_conductor_stands_out_from_the_paper() -> None:
    svg = draw(small())[0]
    edges = re.findall(r'<polyline class="edge"[^>]*stroke="(#\w+)"', svg)
    assert len(edges) == 9
    for edge in edges:
        assert contrast(edge, "#fff") >= 7


def test_stripes_can_be_told_in_grey() -> None:
    assert contrast(PRINT["green"], PRINT["yellow"]) >= 2
    assert contrast(PRINT["red"], PRINT["white"]) >= 2


def test_two_colours_are_drawn_as_stripes() -> None:
    svg = draw(small())[0]
    assert svg.count('class="stripe"') == 2  # W3 red and white, S1 green and yellow
    assert f'stroke="{PRINT["yellow"]}" stroke-width="0.6" stroke-dasharray' in svg


def test_lettering_is_at_least_two_and_a_half_millimetres() -> None:
    svg = draw(small())[0]
    sizes = {float(size) for size in re.findall(r'font-size="([\d.]+)"', svg)}
    capital = 1409 / 2048  # of Liberation Sans, in em
    assert min(sizes) * capital >= 2.5 - 0.02  # a finding's number in its disc is a hair smaller


def test_a_text_fills_its_label_and_no_more() -> None:
    wide = label("W1", 30.0, 120.0, "WWWW mm² 8", "il")
    svg = draw(with_sheet(small(), lambda sheet: sheet._replace(labels=(wide,))))[0]
    lengths = [float(n) for n in re.findall(r'textLength="([\d.]+)" lengthAdjust="spacingAndGlyphs">(?:WWWW|il)', svg)]
    assert lengths[0] == pytest.approx(wide.box.width, abs=1e-3)
    assert text.width("il") == pytest.approx(lengths[1], abs=1e-3)


def test_same_bytes_whatever_the_hash_seed() -> None:
    program = (
        "import hashlib; from samples import small; from wiregen.drawing import draw;"
        "print(hashlib.sha256(draw(small())[0].encode()).hexdigest())"
    )
    said = {
        subprocess.run(
            [sys.executable, "-c", program],
            capture_output=True,
            text=True,
            check=True,
            cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT / "tests" / "drawing")},
        ).stdout
        for seed in ("0", "1", "4711")
    }
    assert len(said) == 1


def test_the_fields_of_a_very_tall_sheet_all_have_names() -> None:
    """A block of 160 ways needs a sheet with more fields than the alphabet has letters; drawing it once failed."""
    names = [name for _, _, name in fields(0.0, 50.0 * 60, True)]
    assert names[:3] == ["A", "B", "C"] and names[23:26] == ["Z", "AA", "AB"] and len(set(names)) == len(names)
