"""The font that ships, so that a drawing looks the same on every machine.

An SVG carries the letters that it uses within it, in sets that are the same for every drawing, so that two revisions
differ in nothing but what was changed. PDF and PNG are set by cairo, to which the font is made known for this process.
Licence and copyright stand beside the files, in `wiregen/fonts/OFL.txt`.
"""

from __future__ import annotations

import base64
import functools
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

FAMILY = "Wiregen Sans"
FOLDER = Path(__file__).parents[1] / "fonts"
SIGNS = "²³°×µΩΩ½·±–—−’“”…→←↑↓≤≥≈□"
# A letter belongs to the first set that has it; letters of no set are drawn in what the machine has.
SETS: dict[str, tuple[int, ...]] = {
    "basic": (*range(0x20, 0x7F), *map(ord, SIGNS)),
    "latin": tuple(range(0xA0, 0x180)),
    "greek": tuple(range(0x370, 0x400)),
    "cyrillic": tuple(range(0x400, 0x460)),
}
_TEXT = re.compile(r"<text ([^>]*)>([^<]*)<")


def style(body: str) -> str:
    """A `style` element with the sets that the texts of an SVG's body use; `` where it has none."""
    used: dict[bool, set[str]] = {False: set(), True: set()}
    for attributes, words in _TEXT.findall(body):
        used['font-weight="bold"' in attributes].update(unescape(words))
    faces = [
        _face(name, strong)
        for strong, letters in used.items()
        for name in _sets(frozenset(map(ord, letters)))
    ]  # fmt: skip
    return f"<style>{''.join(faces)}</style>" if faces else ""


def _sets(letters: frozenset[int]) -> Iterator[str]:
    left = set(letters)
    for name, points in SETS.items():
        if not left.isdisjoint(points):
            yield name
        left.difference_update(points)


@functools.cache
def _face(name: str, strong: bool) -> str:
    data = (FOLDER / f"{name}-{'Bold' if strong else 'Regular'}.woff").read_bytes()
    return (
        f'@font-face{{font-family:"{FAMILY}";font-weight:{"bold" if strong else "normal"};'
        f"unicode-range:{_ranges(name)};"
        f"src:url(data:font/woff;base64,{base64.b64encode(data).decode()})}}"
    )


def _ranges(name: str) -> str:
    earlier = list(SETS)[: list(SETS).index(name)]
    points = sorted(set(SETS[name]).difference(*(SETS[other] for other in earlier)))
    spans: list[list[int]] = []
    for point in points:
        if spans and point == spans[-1][1] + 1:
            spans[-1][1] = point
        else:
            spans.append([point, point])
    return ",".join(f"U+{low:X}" if low == high else f"U+{low:X}-{high:X}" for low, high in spans)


@functools.cache
def made_known() -> bool:
    """Tell fontconfig, which cairo asks, of the font, for this process only; False on a machine without fontconfig."""
    import ctypes
    import ctypes.util

    name = ctypes.util.find_library("fontconfig")
    if not name:
        return False
    add = ctypes.CDLL(name).FcConfigAppFontAddFile
    add.argtypes, add.restype = [ctypes.c_void_p, ctypes.c_char_p], ctypes.c_int
    files = [FOLDER / f"{FAMILY.replace(' ', '')}-{weight}.ttf" for weight in ("Regular", "Bold")]
    added: list[int] = [add(None, str(file).encode()) for file in files]
    return all(added)
