"""Words of a sheet to be worked on: caption, tables, questions or answers, flowing down the columns of its panel."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from wiregen.drawing import svg
from wiregen.layout import text
from wiregen.layout.geometry import Box
from wiregen.teaching.draft import Item, Items, Table

PITCH = 1.5  # of lines, in heights of a capital
SCALES = tuple(k / 100 for k in range(100, 44, -4))  # of letters, the largest for which there is room
GAP = 0.55  # between paragraphs, in lines
FIELD = 1.45  # height of a field to write in, in lines
BETWEEN = 1.6  # between columns, in heights of a capital
INDENT = 2.1  # of a question's words behind its number, in heights of a capital
NARROWEST = 19.0  # a column beside others, in heights of a capital
FIGURE = r"−?[\d.]+ \S+|nothing"  # of what stands flush right
COLUMN = 1.2  # between columns of a table, in heights of a capital
NARROWED = 0.85  # of its letters' size: how far a table gives way
WRITING = 2  # lines to write an answer in words on

Entry = str | Item | Table


class Crowded(Exception):
    """There is no room for all words of a sheet, even in its smallest letters."""


class Set(NamedTuple):
    """Entries set in letters of a size: how high each is, the size, the width of a column. [mm]"""

    cap: float
    wide: float
    heights: tuple[float, ...]
    columns: tuple[tuple[int, ...], ...]


def draw_items(
    title: str, caption: Sequence[str], blocks: Sequence[Table | Items], panel: Box, cap: float
) -> Iterator[str]:
    """The elements of a panel of the sheet of that title. Raises Crowded."""
    entries: list[Entry] = list(caption)
    for block in blocks:
        entries += block.rows if isinstance(block, Items) else [block]
    found = next((made for scale in SCALES for made in _fitting(entries, panel, cap, scale)), None)
    if found is None:
        raise Crowded(f"there is no room for all words of the sheet {title}: ask less on it, or make it two")
    wide = found.wide
    for k, column in enumerate(found.columns):
        x, y = panel.x + k * (wide + BETWEEN * cap), panel.y
        for at in column:
            yield from _drawn(entries[at], x, y, wide, found.cap)
            y += found.heights[at] + GAP * PITCH * found.cap


def _fitting(entries: Sequence[Entry], panel: Box, cap: float, scale: float) -> Iterator[Set]:
    """Entries in letters of one size, in as few columns as give them room."""
    for columns in range(1, 5):
        wide = (panel.width - (columns - 1) * BETWEEN * cap) / columns
        if wide < NARROWEST * cap * scale and columns > 1:
            return
        if made := _set(entries, wide, panel.height, columns, cap * scale):
            yield made


def _set(entries: Sequence[Entry], wide: float, high: float, columns: int, cap: float) -> Set | None:
    """Entries in columns, filled one after the other; None where they do not fit."""
    heights = tuple(_height(entry, wide, cap) for entry in entries)
    gap = GAP * PITCH * cap
    made: list[list[int]] = [[]]
    y = 0.0
    for at, height in enumerate(heights):
        if y + height > high and made[-1]:
            made.append([])
            y = 0.0
        if height > high:
            return None
        made[-1].append(at)
        y += height + gap
    return Set(cap, wide, heights, tuple(map(tuple, made))) if len(made) <= columns else None


def _height(entry: Entry, wide: float, cap: float) -> float:
    line = PITCH * cap
    if isinstance(entry, str):
        return len(wrapped(entry, wide, cap)) * line
    if isinstance(entry, Table):
        if _natural(entry, cap)[1] * NARROWED > wide:
            return float("inf")
        return (len(entry.rows) + 1.3 + (1 if entry.title else 0)) * line
    lines = sum(len(row) for row in _item_lines(entry, wide, cap)) * line
    return lines + (0.0 if entry.field is None else FIELD * line if entry.field else WRITING * line)


def _item_lines(item: Item, wide: float, cap: float) -> list[tuple[str, ...]]:
    return [
        wrapped(words, wide - INDENT * cap, cap, strong=item.heading and k == 0) for k, words in enumerate(item.words)
    ]


def wrapped(words: str, wide: float, cap: float, *, strong: bool = False) -> tuple[str, ...]:
    """Lines in which no number is parted from its unit, and no sign from what follows it."""
    kept = re.sub(r"(?<=[\d)]) (?=[^\W\d_]{1,2}\b|[%°Ω]|mΩ|kΩ|mm²)|(?<=[=×−/+]) | (?=− 20\))", "\u00a0", words)
    return tuple(line.replace("\u00a0", " ") for line in text.wrap(kept, wide, cap, strong))


def _drawn(entry: Entry, x: float, y: float, wide: float, cap: float) -> Iterator[str]:
    line = PITCH * cap
    if isinstance(entry, Table):
        yield from _table(entry, x, y, wide, cap)
        return
    y += cap  # the first line's feet
    if isinstance(entry, str):
        for k, words in enumerate(wrapped(entry, wide, cap)):
            yield svg.text((x, y + k * line), words, cap)
        return
    yield svg.text((x, y), entry.number, cap, strong=True)
    left = x + INDENT * cap
    for k, paragraph in enumerate(_item_lines(entry, wide, cap)):
        for words in paragraph:
            yield svg.text((left, y), words, cap, strong=entry.heading and k == 0)
            y += line
    if entry.field:
        top, width = y - 0.85 * cap, min(wide - INDENT * cap, 12 * cap)
        yield svg.element(
            "rect", x=left, y=top, width=width, height=1.9 * cap, fill="#fff", stroke="#000", stroke_width=0.3
        )
        yield svg.text((left + width - 0.4 * cap, top + 1.4 * cap), entry.field, cap, "end", fill="#444")
    elif entry.field is not None:
        for k in range(WRITING):
            at = y + (k + 0.3) * line
            yield svg.line((left, at), (x + wide, at), stroke="#444", stroke_width=0.2)


def _natural(table: Table, cap: float) -> tuple[list[float], float]:
    """The width of each column, and of all with the gaps between them. [mm]"""
    rows = (table.head, *table.rows)
    widths = [max(text.width(row[k], cap, strong=True) for row in rows) for k in range(len(table.head))]
    return widths, sum(widths) + COLUMN * cap * (len(widths) - 1)


def _table(table: Table, x: float, y: float, wide: float, cap: float) -> Iterator[str]:
    rows = [table.head, *table.rows]
    widths, whole = _natural(table, cap)
    gap = COLUMN * cap
    small = min(1.0, wide / whole)
    lefts = [x]
    for width in widths:
        lefts.append(lefts[-1] + (width + gap) * small)
    y += cap
    if table.title:
        yield svg.text((x, y), table.title, cap, strong=True)
        y += PITCH * cap
    for at, row in enumerate(rows):
        for k, (left, right) in enumerate(pairwise(lefts)):
            figures = all(re.fullmatch(FIGURE, each[k]) for each in table.rows)
            place, anchor = (right - gap * small, "end") if figures else (left, "start")
            yield svg.text((place, y), row[k], cap * small, anchor, strong=at == 0)
        if at == 0:
            rule = y + 0.4 * cap
            yield svg.line((x, rule), (lefts[-1] - gap * small, rule), stroke="#000", stroke_width=0.3)
            y += 0.3 * PITCH * cap
        y += PITCH * cap
