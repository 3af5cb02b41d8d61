"""Plain words for figures, written from the netlist."""

from __future__ import annotations

from collections.abc import Iterable

from wiregen.layout.shown import figure
from wiregen.layout.words import printed, rating_words
from wiregen.model.job import Conductor, Job, Part
from wiregen.rules.words import listed

__all__ = ["amps", "called", "figure", "hundredths", "listed", "named", "printed", "several", "titled_part", "watts"]

MANY = 8  # names that a sentence takes


def named(part: Part) -> str:
    """`Second battery (aux) 95 Ah agm`, `charger dcdc 25 A`: title, name, and what its label says of it."""
    return " ".join(word for word in (titled_part(part), rating_words(part)) if word)


def titled_part(part: Part) -> str:
    """`Second battery (aux)`, `load fridge`: without the rating."""
    if part.title and part.title.lower() != part.id.lower():
        return f"{part.title} ({part.id})"
    kind = part.kind.replace("-", " ")
    return part.id if kind in part.id.lower() else f"{kind} {part.id}"


def watts(value: float) -> str:
    """A power of two digits, in watts always, so that large and small are seen at once."""
    size = abs(value)
    if size >= 99.5:
        return f"{size:.0f} W"
    if size >= 9.95:
        return f"{size:.3g} W"
    return f"{size:.2g} W" if size >= 0.01 else "0 W"


def hundredths(value: float) -> str:
    """A voltage as a meter shows it: `13.70 V`, `−0.21 V`, never `−0.00 V`."""
    return f"{round(value, 2) + 0.0:.2f} V".replace("-", "−")


def amps(value: float) -> str:
    """A current of three digits at most, in amperes always; less than 5 mA is nothing in such pictures."""
    size = abs(value)
    if size >= 99.5:
        return f"{size:.0f} A"
    if size >= 0.995:
        return f"{size:.3g} A"
    return f"{size:.2f} A" if size >= 0.005 else "0 A"


def called(conductor: Conductor) -> str:
    """`W2`, or from where to where it runs where it has no name."""
    return conductor.id if conductor.named else f"the lead from {conductor.from_} to {conductor.to}"


def several(names: Iterable[str], many: int = MANY) -> str:
    """`F1, F2 and F3`; of a long list the first and how many more."""
    all_ = list(names)
    if len(all_) > many:
        return f"{', '.join(all_[: many - 1])} and {len(all_) - many + 1} more"
    return listed(all_)


def notes_on(job: Job, ids: Iterable[str]) -> list[str]:
    """What the job notes on these, the trainer's notes too."""
    wanted = set(ids)
    return [f"{note.subject}: {note.text}" for note in job.notes if note.subject in wanted]
