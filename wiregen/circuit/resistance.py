"""Resistance of conductors: formulas on plain numbers."""

from __future__ import annotations

TEMPERATURE_COEFFICIENT = 0.00393  # 1/K at 20 degC, copper: IEC 60287-1-1, table 1 (read in a reprint)


def copper_factor(temperature: float) -> float:
    """Resistance of copper at a temperature over that at 20 degC.

    1 + a (T - 20), a = 0.00393 / K. Source: IEC 60287-1-1, table 1, copper (read in a reprint).

    Parameters
    ----------
    temperature : of the conductor, not of the air. [degC]

    Returns
    -------
    The factor. [1]
    """
    return 1.0 + TEMPERATURE_COEFFICIENT * (temperature - 20.0)


def conductor_resistance(*, length: float, ohm_per_km: float, temperature: float = 20.0) -> float:
    """Resistance of one conductor.

    R = L R20 (1 + a (T - 20)). Source: IEC 60228 for R20, IEC 60287-1-1 for a.

    Parameters
    ----------
    length : of the one core, >= 0. [m]
    ohm_per_km : at 20 degC, > 0. [ohm/km]
    temperature : of the conductor. [degC]

    Returns
    -------
    Resistance. [ohm]

    Raises
    ------
    ValueError
        Length or resistance is negative.
    """
    if length < 0 or ohm_per_km < 0:
        raise ValueError(f"length = {length} m and ohm_per_km = {ohm_per_km} ohm/km must not be negative")
    return length * ohm_per_km * 1e-3 * copper_factor(temperature)


def working_temperature(*, current: float, ampacity: float, ambient: float, rise: float) -> float:
    """Temperature of a conductor that carries a steady current.

    T = Ta + rise (I / Iz)^2, where rise is the temperature rise at which the table's ampacity Iz was set.
    Source: heat balance, the same law as the ambient factor of IEC 60364-5-52, annex D (from memory).

    Parameters
    ----------
    current : steady, sign does not matter. [A]
    ampacity : of the table at its reference ambient, bundle factor included, > 0. [A]
    ambient : of the place. [degC]
    rise : insulation temperature less the table's reference ambient. [K]

    Returns
    -------
    Temperature. [degC]
    """
    share = current / ampacity
    return ambient + rise * share * share


def area_of_gauge(number: float) -> float:
    """Copper area of a solid AWG conductor; 1/0 is 0, 2/0 is -1, 3/0 is -2, 4/0 is -3.

    d = 0.127 * 92^((36 - n) / 39) mm. Source: ASTM B258 (read in a reprint).

    Parameters
    ----------
    number : gauge. [AWG]

    Returns
    -------
    Area. [mm2]
    """
    diameter = 0.127 * 92.0 ** ((36.0 - number) / 39.0)
    return float(0.7853981633974483 * diameter * diameter)
