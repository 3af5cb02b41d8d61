"""Voltage drop by the formulas of handbooks, for comparison only: the study solves the circuit instead."""

from __future__ import annotations


def round_trip_drop(*, current: float, length: float, ohm_per_km: float, temperature: float = 20.0) -> float:
    """Voltage lost along both conductors of a two-wire run.

    V = 2 L I R20 (1 + a (T - 20)), a = 0.00393 / K. Source: IEC 60287-1-1, table 1, copper.

    Parameters
    ----------
    current : steady, sign kept. [A]
    length : one way; the return conductor is counted here. [m]
    ohm_per_km : of one conductor at 20 degC. [ohm/km]
    temperature : of the conductor. [degC]

    Returns
    -------
    Drop at the load. [V]

    Examples
    --------
    >>> round(round_trip_drop(current=10, length=4, ohm_per_km=13.3), 3)
    1.064
    """
    from wiregen.circuit.resistance import conductor_resistance

    return 2.0 * current * conductor_resistance(length=length, ohm_per_km=ohm_per_km, temperature=temperature)


def circular_mils(*, current: float, feet: float, drop: float) -> float:
    """Copper that keeps a drop within its allowance: CM = 10.75 I L / E, L there and back.

    Source: ABYC E-11, 11.14.2.6 (read in quotations). 10.75 is copper at about 29 degC.

    Parameters
    ----------
    current : [A]
    feet : total length, there and back. [ft]
    drop : allowed. [V]

    Returns
    -------
    Area. [circular mil]
    """
    return 10.75 * current * feet / drop


def metric_drop(*, current: float, length: float, area: float) -> float:
    """E = 0.0164 I L / S, L there and back. Source: ISO 10133 annex as used by suppliers (read in reprints).

    5 % below pure copper at 20 degC, so that it understates the drop of class 5 cable by 14 to 18 %.

    Parameters
    ----------
    current : [A]
    length : total, there and back. [m]
    area : [mm2]

    Returns
    -------
    Drop. [V]
    """
    return 0.0164 * current * length / area
