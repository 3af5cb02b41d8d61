"""How things look in teaching figures: told apart by weight, opacity and lightness, in grey print too."""

from __future__ import annotations

from math import sqrt

from wiregen.drawing.look import Look

NORMAL = Look()
STRONG = Look(weight=1.8)  # what is new
PALE = Look(opacity=0.22)  # what comes later, what is out of the question
QUIET = Look(opacity=0.45)  # there, and nothing flows in it
CHANGED = Look(weight=1.6, halo="#ffd24d", reach=1.3)  # what a fault has changed
FAULT = Look(weight=1.8, paint=("#b3001b",))  # what carries a short
DARKEST, LIGHTEST = (16, 38, 84), (214, 226, 240)  # of shades of potential: dark blue is high, light grey is low
COLDEST, HOTTEST = (255, 236, 179), (193, 18, 31)  # of shades of heat and of loss
THINNEST, THICKEST = 0.25, 1.4  # from no current to the largest; labels begin 0.75 from the middle of a line [mm]


def blend(low: tuple[int, int, int], high: tuple[int, int, int], share: float) -> str:
    """A colour between two, by a share from 0 to 1."""
    share = min(1.0, max(0.0, share))
    return "#" + "".join(f"{round(a + (b - a) * share):02x}" for a, b in zip(low, high, strict=True))


def shade(value: float, low: float, high: float) -> str:
    """The shade of a potential on a scale from low to high."""
    return blend(LIGHTEST, DARKEST, (value - low) / (high - low) if high > low else 0.0)


def heat(share: float) -> str:
    """The shade of a loss or temperature, by its share of the largest."""
    return blend(COLDEST, HOTTEST, share)


def core(current: float, largest: float) -> float:
    """Width of a line by current, whatever its copper: by its root, so that small ones are seen beside large. [mm]"""
    return THINNEST + (THICKEST - THINNEST) * sqrt(min(1.0, abs(current) / largest)) if largest > 0 else THINNEST


def ramp(low: tuple[int, int, int], high: tuple[int, int, int], steps: int = 24) -> tuple[str, ...]:
    """The colours of a scale, from low to high."""
    return tuple(blend(low, high, k / (steps - 1)) for k in range(steps))
