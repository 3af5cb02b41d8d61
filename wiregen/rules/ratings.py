"""Fuse ratings that can be bought, for remedies."""

from __future__ import annotations

from wiregen.circuit.study import Study
from wiregen.rules.words import amps, beyond


def rating_below(study: Study, device: str, most: float) -> str:
    """As `number_below`, as a message says it."""
    return amps(number_below(study, device, most))


def number_below(study: Study, device: str, most: float) -> float:
    """The largest standard rating of the fuse's family that is not above `most` [A].

    `most` itself where the family has none as small, or where the device's family is not known.
    """
    from wiregen.catalogue import catalogue

    row = catalogue().row("fuse_family", study.job.parts[device].word("type"))
    ratings = [float(each) for each in row["ratings"]] if row else []
    return max((each for each in ratings if not beyond(each, most)), default=most)
