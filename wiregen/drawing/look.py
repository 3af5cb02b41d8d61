"""How a part, conductor or label is drawn where it is to look other than the plain drawing has it."""

from __future__ import annotations

from typing import NamedTuple


class Look(NamedTuple):
    """What is other than plain.

    `opacity` 0 to 1 of all of it. `weight` times the usual width of strokes. `ink` of strokes and lettering. `paint`
    colours along a run in place of those of its insulation, evenly spread from its first end to its last. `halo` a
    band of that colour behind it, which reaches `reach` mm beyond its edges. `core` the width of a run in mm, whatever
    its size, where it is not 0.
    """

    opacity: float = 1.0
    weight: float = 1.0
    ink: str = ""
    paint: tuple[str, ...] = ()
    halo: str = ""
    reach: float = 0.8
    core: float = 0.0


PLAIN = Look()
