"""Figures and names as the papers print them."""

from __future__ import annotations

from collections.abc import Iterable

from wiregen.layout.words import colour_letters, printed, quantity, rating_words
from wiregen.model.job import Conductor, Job, Part
from wiregen.papers.document import Cell, Number

DASH = "–"


def figure(value: float | None, digits: int = 3) -> str:
    """Three figures that tell, no exponent; a dash where it is not known."""
    if value is None or value != value:
        return DASH
    if value == 0:
        return "0"
    if abs(value) >= 10 ** (digits - 1):
        return f"{value:.0f}"
    text = f"{value:.{digits}g}"
    return f"{value:.6f}".rstrip("0").rstrip(".") if "e" in text else text


def number(value: float | None, source: str = "", scale: float = 1.0, digits: int = 3) -> Cell:
    """A computed figure as a cell."""
    if value is None:
        return Cell(DASH)
    return Cell(figure(value * scale, digits), Number(value * scale, source, scale))


def place_words(job: Job, place: str | None) -> str:
    """The title of a place, else its name; empty where nothing is said."""
    if not place:
        return ""
    there = job.places.get(place)
    return there.title or there.id if there else place


def part_name(part: Part) -> str:
    """`F1`, with its title where it has one: `aux, second battery`."""
    return f"{part.id} ({part.title})" if part.title else part.id


def rating(part: Part) -> str:
    """What the part is sold by, in print."""
    return printed(rating_words(part))


def size(conductor: Conductor) -> str:
    """The size as written, in print: `10 mm²`."""
    return quantity(conductor.fact("size"))


def colours(conductor: Conductor) -> str:
    """`red (RD)`; a dash where no colour is given."""
    if not conductor.colours:
        return DASH
    return f"{'/'.join(conductor.colours)} ({colour_letters(conductor.colours)})"


def listed(items: Iterable[str], last: str = ", ") -> str:
    """`a, b, c`; `a, b and c` where the language's ` and ` is given for the last."""
    names = list(items)
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])}{last}{names[-1]}"
