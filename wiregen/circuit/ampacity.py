"""Continuous current of conductors: formulas on plain numbers and rows of a table."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from math import sqrt


def row_below(areas: Sequence[float], area: float) -> int:
    """Which published row serves a size: the same, or the next smaller one; -1 where all are larger.

    Parameters
    ----------
    areas : rising, of the published rows. [mm2]
    area : of the conductor (0.2 % of slack for rounded gauges). [mm2]

    Returns
    -------
    Index into `areas`, or -1.
    """
    return bisect_right(areas, area * 1.002) - 1


def column_below(columns: Sequence[float], insulation: float) -> int:
    """Which insulation column serves: the same, or the next cooler one; -1 where all are hotter.

    Parameters
    ----------
    columns : rising insulation temperatures. [degC]
    insulation : temperature that the insulation bears. [degC]

    Returns
    -------
    Index into `columns`, or -1.
    """
    return bisect_right(columns, insulation) - 1


def ambient_factor(*, ambient: float, insulation: float, reference: float) -> float:
    """What a place hotter than the table's ambient takes off a conductor's ampacity.

    f = sqrt((Tmax - Ta) / (Tmax - Tref)), not above 1. Source: heat balance, as IEC 60364-5-52 (from memory); it
    agrees with the engine-space factors of 33 CFR 183.425 within 1 % up to 125 degC.

    Parameters
    ----------
    ambient : of the place. [degC]
    insulation : temperature that the insulation bears, above `reference`. [degC]
    reference : ambient of the table. [degC]

    Returns
    -------
    Factor from 0 (the place is as hot as the insulation bears) to 1. [1]
    """
    if ambient <= reference:
        return 1.0
    if ambient >= insulation or insulation <= reference:
        return 0.0
    return sqrt((insulation - ambient) / (insulation - reference))
