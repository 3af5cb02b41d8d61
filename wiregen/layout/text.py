"""Exact extents of lettering, from the advance widths of the font that ships (never from what is installed)."""

from __future__ import annotations

import unicodedata
from functools import lru_cache

from wiregen.built import font

CAP_HEIGHT = 2.5  # mm on paper, the smallest lettering (ISO 3098: 1.8 2.5 3.5 5 ...)
LINE_PITCH = 1.45  # baseline to baseline, in cap heights (ISO 3098 type B: 14/10 for lines without accents)
DESCENT = 0.31  # below the baseline, in cap heights
ASCENT = 1.06  # above the baseline, in cap heights: small letters with a stem stand a little higher than capitals


@lru_cache(maxsize=8192)  # the same words are measured for each style and sheet that is tried
def width(text: str, cap_height: float = CAP_HEIGHT, strong: bool = False) -> float:
    """Width of one line of text whose capital letters are `cap_height` high; `strong` in bold letters. [mm]"""
    widths = font.BOLD_WIDTHS if strong else font.WIDTHS
    units = 0
    for letter in text:
        known = widths.get(ord(letter))
        units += _unknown(letter) if known is None else known
    return units * cap_height / font.CAP_HEIGHT


def _unknown(letter: str) -> int:
    """Font units of a letter that is not in the table."""
    if unicodedata.combining(letter):
        return 0
    return font.WIDE if unicodedata.east_asian_width(letter) in "WF" else font.DEFAULT


def height(lines: int, cap_height: float = CAP_HEIGHT) -> float:
    """Height of a block of lines, ascenders and descenders included. [mm]"""
    return (ASCENT + DESCENT + (lines - 1) * LINE_PITCH) * cap_height


def wrap(text: str, room: float, cap_height: float = CAP_HEIGHT, strong: bool = False) -> tuple[str, ...]:
    """The text broken at spaces into lines of at most `room` mm; a word that is longer is broken behind a
    sign that joins its parts, or where it must."""
    lines: list[str] = []
    line = ""
    for word in filter(None, text.split(" ")):
        joined = f"{line} {word}" if line else word
        if width(joined, cap_height, strong) <= room:
            line = joined
            continue
        if line:
            lines.append(line)
        line = word
        while len(line) > 1 and width(line, cap_height, strong) > room:
            fits = len(line) - 1
            while fits > 1 and width(line[:fits], cap_height, strong) > room:
                fits -= 1
            behind = max(line.rfind(sign, 0, fits) + 1 for sign in "-_./")
            fits = behind if 2 * behind > fits else fits
            lines.append(line[:fits])
            line = line[fits:]
    if line:
        lines.append(line)
    return tuple(lines)
