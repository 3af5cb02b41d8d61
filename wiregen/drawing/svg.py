"""The few SVG elements that a sheet is made of, as text. Every user's string passes through `escape`."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from wiregen.built.font import CAP_HEIGHT, UNITS, WIDTHS
from wiregen.layout.geometry import Point
from wiregen.layout.text import width

FONT = "Wiregen Sans, Liberation Sans, Arial, Helvetica, sans-serif"  # all four of one width
UNPRINTABLE = "□"  # stands for control characters, direction marks and what else has no picture

_MARKUP = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;"})


def num(value: float) -> str:
    """A length in mm to a thousandth, without needless zeros."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def printable(text: str) -> str:
    """The text with a plain space for every kind of space and a square for every character that has no picture."""
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else " " if c.isspace() else UNPRINTABLE for c in text)


def escape(text: str) -> str:
    """Text safe within an element and within a quoted attribute."""
    return printable(text).translate(_MARKUP)


def attributes(**pairs: str | float | None) -> str:
    """` name="value"` for each pair; `_` reads as `-`, a leading `_` falls away, None is left out."""
    return "".join(
        [
            f' {_named(name)}="{escape(value) if isinstance(value, str) else num(value)}"'
            for name, value in pairs.items()
            if value is not None
        ]
    )


@lru_cache(maxsize=256)
def _named(word: str) -> str:
    """The attribute that a parameter stands for."""
    return word.strip("_").replace("_", "-")


def element(tag: str, **pairs: str | float | None) -> str:
    """An element without content."""
    return f"<{tag}{attributes(**pairs)}/>"


def group(content: Iterable[str], title: str = "", **pairs: str | float | None) -> str:
    """A group, named for screen readers and pointers where it has a title."""
    name = f"<title>{escape(title)}</title>" if title else ""
    return f"<g{attributes(**pairs)}>{name}{''.join(content)}</g>"


def line(a: Point, b: Point, **pairs: str | float | None) -> str:
    """A straight line."""
    return element("line", x1=a[0], y1=a[1], x2=b[0], y2=b[1], **pairs)


def course(points: Iterable[Point]) -> str:
    """Path data through points: absolute `M` and `L` only."""
    return "M " + " L ".join(f"{num(x)} {num(y)}" for x, y in points)


def corners(points: Iterable[Point]) -> str:
    """The same points as a `points` attribute."""
    return " ".join(f"{num(x)},{num(y)}" for x, y in points)


def text(
    at: Point,
    words: str,
    height: float,
    anchor: str = "start",
    strong: bool = False,
    **pairs: str | float | None,
) -> str:
    """One line of text on its baseline, `height` that of a capital letter. Its width is fixed for any machine."""
    words = printable(words)
    if not words.strip():
        return ""
    known = all(ord(c) in WIDTHS for c in words)
    return (
        f"<text{attributes(x=at[0], y=at[1], font_size=height * UNITS / CAP_HEIGHT)}"
        + attributes(
            text_anchor=anchor if anchor != "start" else None,
            font_weight="bold" if strong else None,
            textLength=width(words, height, strong) if known and len(words) > 1 else None,
            lengthAdjust="spacingAndGlyphs" if known and len(words) > 1 else None,
            **pairs,
        )
        + f">{escape(words)}</text>"
    )
