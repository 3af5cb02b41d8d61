"""Units: the shipped table says what pint says, and every spelling of the trade is read."""

from __future__ import annotations

import re
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wiregen.built.units import UNITS
from wiregen.findings import Source
from wiregen.language import parse
from wiregen.language.quantities import (
    WORKING_UNITS,
    known_elsewhere,
    likely_unit,
    quantity_meant,
    read_quantity,
    spell,
)
from wiregen.language.spellings import UNITS as SPELLINGS
from wiregen.language.spellings import WORKING
from wiregen.language.tree import Measure

ROOT = Path(__file__).resolve().parents[2]


def measure(text: str) -> Measure:
    """The measure of the one quantity in a text."""
    tree, findings = parse(Source("t.wnet", f"x {text}\n"))
    assert not findings, findings
    (value,) = tree.lines[0].phrases[0].values[1:]
    assert value.measure is not None
    return value.measure


@cache
def pint_registry() -> Any:
    """pint's own units, loaded once."""
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@pytest.mark.parametrize("plain", [unit for unit, (_, meaning, _) in SPELLINGS.items() if meaning])
def test_the_shipped_table_says_what_pint_says(plain: str) -> None:
    registry = pint_registry()
    dimension, meaning, others = SPELLINGS[plain]
    scale, _, words = meaning.rpartition("000*")
    for number in (0, 1, 17.5, -40):
        expected = registry.Quantity(number * (float(scale + "000") if scale else 1), registry.parse_units(words))
        for spelling in (plain, *others):
            dimension_there, multiplier, addend, divisor, written = UNITS[spelling]
            assert (dimension_there, written) == (dimension, plain)
            ours = (number * multiplier + addend) / divisor
            assert ours == pytest.approx(expected.to(WORKING[dimension]).magnitude, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("spelling", sorted(UNITS))
def test_every_spelling_is_read_with_and_without_a_space(spelling: str) -> None:
    dimension, multiplier, addend, divisor, _ = UNITS[spelling]
    for text in (f"5 {spelling}", f"5{spelling}"):
        found = measure(text)
        assert found.dimension == dimension
        assert found.value == (5 * multiplier + addend) / divisor if dimension != "gauge" else 5


def test_the_grammar_lists_the_spellings_of_the_table_and_no_others() -> None:
    grammar = (ROOT / "grammar" / "netlist.lark").read_text(encoding="utf-8")
    listed = re.search(r"^UNIT: (/.*?)^_DECIMAL", grammar, re.DOTALL | re.MULTILINE)
    assert listed
    pieces = re.findall(r"/((?:\\.|[^/\n])*)/", listed[1])
    units = [unit.replace("\\", "") for piece in pieces for unit in piece.split("|")]
    assert sorted(units) == sorted(UNITS)


@pytest.mark.parametrize(
    "text, dimension, value, unit",
    [
        ("6 AWG", "gauge", 6, "AWG"),
        ("AWG 6", "gauge", 6, "AWG"),
        ("AWG6", "gauge", 6, "AWG"),
        ("1/0 AWG", "gauge", 0, "AWG"),
        ("2/0 AWG", "gauge", -1, "AWG"),
        ("AWG 3/0", "gauge", -2, "AWG"),
        ("4/0AWG", "gauge", -3, "AWG"),
        ("6 auto-mm", "auto-size", 6, "auto-mm"),
        ("150 mm", "length", 0.15, "mm"),
        ("20 inch", "length", 0.508, "inch"),
        ("3/8 inch", "length", 0.009525, "inch"),
        ("10 ft", "length", 3.048, "ft"),
        ("7 mΩ", "resistance", 0.007, "mohm"),
        ("5 %", "ratio", 0.05, "%"),
        ("-0.33 %/K", "ratio-slope", -0.0033, "%/K"),
        ("−10 °C", "temperature", -10, "degC"),
        ("212 degF", "temperature", 100, "degF"),
        ("1.7241e-8 ohm-m", "resistivity", 1.7241e-8, "ohm-m"),
        ("0.017241 ohm-mm2/m", "resistivity", 1.7241e-8, "ohm-mm2/m"),
        ("1.91 ohm/km", "resistance-per-length", 0.00191, "ohm/km"),
        ("3 kA2s", "let-through", 3000, "kA2s"),
        ("2 day", "time", 172800, "day"),
        ("8", "count", 8, ""),
    ],
)
def test_what_the_trade_writes(text: str, dimension: str, value: float, unit: str) -> None:
    assert measure(text) == Measure(value, value, value, dimension, unit)


@pytest.mark.parametrize(
    "text, low, value, high",
    [
        ("9..16 V", 9, 12.5, 16),
        ("9 V .. 16 V", 9, 12.5, 16),
        ("900 mV..1 V", 0.9, 0.95, 1),
        ("-10..45 degC", -10, 17.5, 45),
        ("5.2 m +- 0.3 m", 4.9, 5.2, 5.5),
        ("5.2 ± 0.3 m", 4.9, 5.2, 5.5),
        ("5.2 m +- 0.3", 4.9, 5.2, 5.5),
        ("200 mm +- 5 %", 0.19, 0.2, 0.21),
        ("20 degC +- 9 degF", 15, 20, 25),
        ("4..6", 4, 5, 6),
    ],
)
def test_ranges_and_tolerances_have_two_ends(text: str, low: float, value: float, high: float) -> None:
    found = measure(text)
    assert (found.low, found.value, found.high) == pytest.approx((low, value, high), rel=1e-12)


@pytest.mark.parametrize(
    "text, told",
    [
        ("16..9 V", "backwards"),
        ("9 A..16 V", "not of one kind"),
        ("5 m +- 3 A", "no tolerance"),
        ("5 m +- -3 m", "negative"),
        ("12/24 V", "stroke"),
        ("2/0", "needs a unit"),
        ("5/0 inch", "stroke"),
        ("1e999 A", "too large"),
        ("9..16 V +- 1 V", "no tolerance"),
    ],
)
def test_a_number_that_makes_no_sense_is_told(text: str, told: str) -> None:
    _, findings = parse(Source("t.wnet", f"x {text}\n"))
    assert [told in finding.message for finding in findings] == [True]
    assert findings[0].lost


@given(st.sampled_from(sorted(UNITS)), st.floats(-1e6, 1e6, allow_nan=False).map(lambda x: f"{x:.6g}"))
def test_the_plain_spelling_reads_as_the_same(unit: str, number: str) -> None:
    number = number.replace("e+0", "e").replace("e-0", "e-")
    first = read_quantity(f"{number}{unit}")
    assert read_quantity(first.text) == first


@pytest.mark.parametrize(
    "text, wanted",
    [
        ("40A", "40 A"), ("0.150 m", "0.15 m"), ("150 mm", "150 mm"), ("AWG 2/0", "2/0 AWG"), ("1/0 AWG", "1/0 AWG"),
        ("10mm²", "10 mm2"), ("5 %", "5 %"), ("8", "8"), ("9..16V", "9..16 V"), ("5.2 m +- 0.3 m", "4.9..5.5 m"),
        ("212 °F", "212 degF"), ("1000 A", "1000 A"),
    ],
)  # fmt: skip
def test_a_measure_is_spelled_in_the_unit_it_was_written_in(text: str, wanted: str) -> None:
    assert spell(measure(text)) == wanted


def test_every_dimension_has_a_working_unit() -> None:
    assert set(WORKING_UNITS) == {*WORKING, "count"}


def test_reading_does_not_import_pint() -> None:
    code = (
        "import sys; from wiregen.findings import Source; from wiregen.language import parse;"
        "parse(Source('t', 'fuse F1 40 A\\na -[b 3 furlong]- c')); sys.exit('pint' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], cwd=ROOT).returncode == 0


@pytest.mark.parametrize("word, wanted", [("MM2", "mm2"), ("ah", "Ah"), ("Degc", "degC"), ("MA", "mA"), ("qmm", None)])
def test_a_unit_in_the_wrong_capitals_is_recognised(word: str, wanted: str | None) -> None:
    assert likely_unit(word) == wanted


def test_pint_tells_what_an_unknown_unit_measures() -> None:
    assert known_elsewhere("furlong").startswith("furlong is a unit of length; write m, mm")
    assert known_elsewhere("strip") == known_elsewhere("import os") == known_elsewhere("candela") == ""


@pytest.mark.parametrize(
    "word, after, wanted",
    [
        ("8MM2", "", "8 mm2"), ("8sqmm", "", "8 mm2"), ("5M", "", "5 m"), ("9-16V", "", "9..16 V"),
        ("9-16", "V", "9..16 V"), ("12V-24V", "", "12..24 V"), ("12V-100Ah", "", ""), ("2026-03-14", "", ""),
        ("strip", "", ""), ("9-16", "strip", ""), ("8", "V", ""),
    ],
)  # fmt: skip
def test_a_word_that_was_meant_as_a_quantity(word: str, after: str, wanted: str) -> None:
    assert quantity_meant(word, after, {"sqmm": "mm2"}) == wanted
