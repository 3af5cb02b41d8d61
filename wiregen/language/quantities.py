"""Numbers with units: what they are worth in the working units, how they are written back, what a unit may mean.

pint is the authority on units. It is slow to import, so `wiregen.build` asks it once and writes the answers down in
`wiregen/built/units.py`; at run time pint is imported only to name a unit that this table does not know.

Working units: A, V, ohm, m, mm2, AWG number (1/0 is 0, 2/0 is -1, 3/0 is -2, 4/0 is -3), auto-mm, Ah, W, Wh, degC,
ratio (5 % is 0.05), s, Nm, A2s, ohm-m, ohm/m, V/K, A/K, 1/K, K/W, and plain numbers of dimension `count`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

from wiregen.built.units import UNITS
from wiregen.language.tree import Measure

WORKING_UNITS = {
    "current": "A",
    "voltage": "V",
    "resistance": "ohm",
    "length": "m",
    "area": "mm2",
    "gauge": "AWG",
    "auto-size": "auto-mm",
    "charge": "Ah",
    "power": "W",
    "energy": "Wh",
    "temperature": "degC",
    "ratio": "",
    "time": "s",
    "torque": "Nm",
    "let-through": "A2s",
    "resistivity": "ohm-m",
    "resistance-per-length": "ohm/m",
    "voltage-slope": "V/K",
    "current-slope": "A/K",
    "ratio-slope": "1/K",
    "thermal-resistance": "K/W",
    "count": "",
}

_GAP = r"[ \t\xa0\u2002-\u200b\u202f]*"
_PARTS = re.compile(
    rf"(?:AWG{_GAP})?([+−-]?\d+(?:\.\d+)?(?:e[+-]?\d+)?)(/\d+)?{_GAP}([^\d\s.]\S*?)??"
    rf"(?:{_GAP}\.\.{_GAP}([+−-]?\d+(?:\.\d+)?(?:e[+-]?\d+)?){_GAP}(\S*))?$"
)


class Reading(NamedTuple):
    """A quantity as read: its plain spelling, its measure, and in words what is wrong with it (`` if nothing is)."""

    text: str
    measure: Measure | None
    problem: str = ""


def worth(number: float, unit: str) -> float:
    """A number of a known unit in the working unit of its dimension."""
    _, multiplier, addend, divisor, _ = UNITS[unit]
    return (number * multiplier + addend) / divisor


def read_quantity(text: str) -> Reading:
    """What a QUANTITY token means: `40A`, `2/0 AWG`, `9..16 V`, `87`. The text is known to have that shape."""
    parts = _PARTS.match(text)
    assert parts, text
    first, over, unit, second, second_unit = parts.groups()
    if text[0] == "A":
        unit = "AWG"
    if second is None:
        if over:
            return _fraction(first, over, unit)
        number = float(first.replace("−", "-"))
        if not unit:
            return _checked(Reading(first.replace("−", "-"), Measure(number, number, number, "count", "")))
        dimension, multiplier, addend, divisor, plain = UNITS[unit]
        value = (number * multiplier + addend) / divisor
        return _checked(Reading(f"{first.replace('−', '-')} {plain}", Measure(value, value, value, dimension, plain)))
    return _range(first.replace("−", "-"), unit, second.replace("−", "-"), second_unit)


def _checked(reading: Reading) -> Reading:
    """The reading, unless its number is beyond what a computer can hold."""
    measure = reading.measure
    if measure and not (abs(measure.low) < 1e30 and abs(measure.high) < 1e30):
        return Reading(reading.text, None, f"{reading.text[:40]} is too large to be meant")
    return reading


def _fraction(first: str, over: str, unit: str | None) -> Reading:
    """`2/0 AWG` and `3/8 inch`."""
    numerator, denominator = float(first), float(over[1:])
    if unit is None:
        return Reading(first + over, None, f"{first}{over} needs a unit, such as {first}{over} AWG")
    dimension, _, _, _, plain = UNITS[unit]
    text = f"{first}{over} {plain}"
    if dimension == "gauge":
        if denominator or not 1 <= numerator <= 9:
            return Reading(text, None, f"{text} is no gauge; large gauges are 1/0 AWG, 2/0 AWG, 3/0 AWG and 4/0 AWG")
        value = 1 - numerator
    elif dimension == "length" and denominator:
        value = worth(numerator / denominator, unit)
    else:
        problem = f"a stroke in a number is for gauges (2/0 AWG) and inches (3/8 inch), not for {text}"
        return Reading(text, None, problem)
    return _checked(Reading(text, Measure(value, value, value, dimension, plain)))


def _range(first: str, unit: str | None, second: str, second_unit: str) -> Reading:
    """`9..16 V`, `900 mV..1 V`, `4..6`."""
    _, _, _, _, plain = UNITS[second_unit] if second_unit else ("", 1, 0, 1, "")
    first_plain = UNITS[unit][4] if unit else plain
    text = f"{first}..{second} {plain}".rstrip()
    if first_plain != plain:
        text = f"{first} {first_plain}..{second} {plain}".rstrip()
        if not second_unit:
            return Reading(text, None, f"the unit of {second} is missing")
        if UNITS[unit or second_unit][0] != UNITS[second_unit][0]:
            return Reading(text, None, f"the two ends of {text} are not of one kind")
    if second_unit:
        low, high, dimension = worth(float(first), unit or second_unit), worth(float(second), second_unit), ""
        dimension = UNITS[second_unit][0]
    else:
        low, high, dimension = float(first), float(second), "count"
    measure = Measure((low + high) / 2, min(low, high), max(low, high), dimension, plain)
    if low > high and dimension != "gauge":  # a gauge counts downwards: either end may stand first
        return Reading(text, measure, f"the range {text} runs backwards; the lower end stands first")
    return _checked(Reading(text, measure))


def with_tolerance(of: Reading, by: Reading) -> Reading:
    """`5.2 m +- 0.3 m`, `5.2 +- 0.3 m`, `5.2 m +- 5 %`."""
    text = f"{of.text} +- {by.text}"
    if of.problem or by.problem or not of.measure or not by.measure:
        return Reading(text, None, of.problem or by.problem)
    middle, spread = of.measure, by.measure
    if middle.dimension == "count" and spread.dimension not in ("count", "temperature", "gauge"):
        number, unit = middle.value, spread.unit
        value = worth(number, unit)
        middle = Measure(value, value, value, spread.dimension, unit)
    if ".." in text:
        return Reading(text, None, "a range has no tolerance; write its two ends")
    if spread.dimension == middle.dimension or spread.dimension == "count":
        half = spread.value
        if spread.dimension == "temperature":  # a difference of temperatures, so that the zero of the scale cancels
            half -= worth(0, spread.unit)
        elif spread.dimension == "count" and middle.dimension != "count":
            half = worth(spread.value, middle.unit) - worth(0, middle.unit)
    elif spread.dimension == "ratio":
        half = abs(middle.value) * spread.value
    else:
        return Reading(text, None, f"{by.text} is no tolerance of {of.text}")
    if half < 0:
        return Reading(text, None, f"the tolerance {by.text} is negative")
    return _checked(
        Reading(text, Measure(middle.value, middle.value - half, middle.value + half, middle.dimension, middle.unit))
    )


def spell(measure: Measure) -> str:
    """A measure in the unit in which it was written: `40 A`, `150 mm`, `2/0 AWG`, `9..16 V`."""
    if measure.low == measure.high:
        return f"{number_in(measure.value, measure.unit)} {measure.unit}".rstrip()
    low, high = number_in(measure.low, measure.unit), number_in(measure.high, measure.unit)
    return f"{low}..{high} {measure.unit}".rstrip()


def number_in(value: float, unit: str) -> str:
    """A value in the working unit of its dimension, as the number that stands before a unit; `2/0` for large gauges."""
    if unit == "AWG":
        return plain_number(value) if value > 0 else f"{1 - value:.0f}/0"
    _, multiplier, addend, divisor, _ = UNITS[unit] if unit else ("", 1, 0, 1, "")
    return plain_number((value * divisor - addend) / multiplier)


def plain_number(value: float) -> str:
    """A number with six significant digits at most, without an exponent where it can be read without one."""
    text = f"{value:.6g}"
    if "e" in text and 1e-6 <= abs(value) < 1e9:
        text = f"{value:.9f}".rstrip("0").rstrip(".") if abs(value) < 1 else f"{value:.0f}"
    return "0" if text == "-0" else text


def likely_unit(word: str) -> str | None:
    """The unit that differs from a word by capitals only: `MM2` is mm2, `ah` is Ah; None where none or several do."""
    meant = {row[4] for spelling, row in UNITS.items() if spelling.casefold() == word.casefold()}
    return meant.pop() if len(meant) == 1 else None


_MEANT = re.compile(r"(\d+(?:\.\d+)?)([^\W\d_]+[23²]?)?(?:-(\d+(?:\.\d+)?)([^\W\d_]+[23²]?)?)?")


def quantity_meant(word: str, after: str = "", others: Mapping[str, str] = MappingProxyType({})) -> str:
    """The quantity that a word was meant as: `8MM2` is 8 mm2, `9-16V` is 9..16 V, `9-16` before `V` too; else ``.

    `others` leads from what else people write for a unit (in small letters) to the unit.
    """
    parts = _MEANT.fullmatch(word)
    if not parts or word.isdigit():
        return ""
    first, unit, second, second_unit = parts.groups()
    meant = second_unit if second else unit
    spelled = (meant or unit or after) if second else meant
    if not spelled:
        return ""
    plain = UNITS[spelled][4] if spelled in UNITS else others.get(spelled.lower()) or likely_unit(spelled)
    if not plain or (second and unit and unit != spelled):
        return ""
    return f"{first}..{second} {plain}" if second else f"{first} {plain}"


def known_elsewhere(word: str) -> str:
    """What pint says of a unit that the netlist does not know: `furlong is a unit of length; write m, mm ...`.

    Empty where pint does not know it either, or where it measures nothing that a netlist speaks of. Imports pint.
    """
    if not re.fullmatch(r"[A-Za-zµμΩ°]{1,30}[23]?", word):
        return ""
    import pint

    from wiregen.language.spellings import UNITS as SPELLINGS
    from wiregen.language.spellings import WORKING

    registry: Any = pint.UnitRegistry()
    try:
        found = registry.parse_units(word).dimensionality
    except Exception:  # pint raises errors of many kinds for words that are no units
        return ""
    for dimension, working in WORKING.items():
        if working and found and registry.parse_units(working).dimensionality == found:
            units = [plain for plain, (of, _, _) in SPELLINGS.items() if of == dimension]
            return f"{word} is a unit of {dimension.replace('-', ' ')}; write {', '.join(units)}"
    return ""


def unit_table() -> dict[str, tuple[str, int, int, int, str]]:
    """Every spelling with what pint makes of it; only `wiregen.build` and the tests call this.

    Exact: working = (number * multiplier + addend) / divisor, all three whole numbers.
    """
    from fractions import Fraction
    from math import lcm

    import pint

    from wiregen.language.spellings import UNITS as SPELLINGS
    from wiregen.language.spellings import WORKING

    registry: Any = pint.UnitRegistry(non_int_type=Fraction, autoconvert_offset_to_baseunit=True)
    table = {}
    for plain, (dimension, meaning, others) in SPELLINGS.items():
        slope, zero = Fraction(1), Fraction(0)
        working = WORKING[dimension]
        if meaning is not None and working is not None:
            scale, _, words = meaning.rpartition("000*")
            thousand = Fraction(scale + "000") if scale else Fraction(1)
            unit = registry.parse_units(words)
            zero = Fraction(registry.Quantity(Fraction(0), unit).to(working).magnitude)
            slope = (Fraction(registry.Quantity(Fraction(1), unit).to(working).magnitude) - zero) * thousand
        divisor = lcm(slope.denominator, zero.denominator)
        row = (dimension, int(slope * divisor), int(zero * divisor), divisor, plain)
        table.update(dict.fromkeys((plain, *others), row))
    return dict(sorted(table.items()))
