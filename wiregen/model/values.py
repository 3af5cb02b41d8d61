"""Single values: whether one is what a shape of the vocabulary asks for."""

from __future__ import annotations

import re
from collections.abc import Iterable

from wiregen.language.tree import Value
from wiregen.model.vocabulary import COLOURS

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}$")
_MONTHS = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def is_colour(value: Value) -> bool:
    """Whether a value is one colour, or two."""
    if value.kind == "name":
        return value.text.lower() in COLOURS
    return value.kind == "colours" and all(part in COLOURS for part in value.text.lower().split("/"))


def is_date(text: str) -> bool:
    """Whether a text is a day of the calendar, year first."""
    if not _DATE.match(text):
        return False
    year, month, day = int(text[:4]), int(text[5:7]), int(text[8:])
    if not (1 <= month <= 12 and 1 <= day <= _MONTHS[month - 1]):
        return False
    leap = year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
    return leap or (month, day) != (2, 29)


def fits(value: Value, option: str) -> bool:
    """Whether a value is what one option of a shape asks for."""
    kind = value.kind
    if option[0] == "=":
        return kind == "name" and value.text.lower() == option[1:]
    if option == "any":
        return kind != "missing"
    if option == "count":
        return kind == "number"
    if option == "colour":
        return is_colour(value)
    if option == "text":
        return kind == "title"
    if option == "name":
        return kind == "name" or (kind == "range" and value.measure is None)
    if option == "word":
        return kind == "name"
    if option == "end":
        return kind in ("name", "sign", "number")
    if option == "date":
        return kind == "name" and is_date(value.text)
    return kind in ("quantity", "range") and value.measure is not None and value.measure.dimension == option


def any_fits(value: Value, options: Iterable[str]) -> bool:
    """Whether a value is what one of the options asks for."""
    return any(fits(value, option) for option in options)
