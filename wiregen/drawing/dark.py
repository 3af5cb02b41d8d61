"""The same sheet for a dark page: ink and paper change places, insulation colours stay what they are.

What outlines a conductor is light there, so that black insulation is seen as white is on paper.
"""

from __future__ import annotations

import re

PAPER, INK = "#14171c", "#f2f2f2"
SWAPPED = {
    "#fff": PAPER, "#000": INK, "#444": "#b9bec6",  # paper, ink, faint ink
    "#222": "#dcdcdc",  # edges of conductors
    "#b3001b": "#ff7a85", "#0b5d2e": "#5fd38a",  # badges whose digits are paper
}  # fmt: skip
_PAINT = re.compile(r'\b(fill|stroke)="(#[0-9a-f]{3,6})"')


def dark(svg: str) -> str:
    """The sheet in light ink on a dark page. A user's words stay as they are: a quotation mark in them is `&quot;`."""
    swapped = _PAINT.sub(lambda found: f'{found[1]}="{SWAPPED.get(found[2], found[2])}"', svg)
    return swapped.replace("<svg ", f'<svg fill="{INK}" ', 1)
