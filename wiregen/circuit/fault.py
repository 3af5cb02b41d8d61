"""Short-circuit heating and clearing: formulas on plain numbers."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import exp, log, sqrt
from typing import NamedTuple

LEAST_CLEARING_S = 0.002  # no direct-current arc goes out sooner [s] (common practice, no source)
LEAST_TRIP_S = 0.02  # no thermal breaker unlatches and parts its contacts sooner [s] (common practice, no source)
ADIABATIC_LIMIT_S = 5.0  # the adiabatic equation holds for disconnection within 5 s (IEC 60364, read in a reprint)


class Gate(NamedTuple):
    """At `ratio` times its rating a fuse opens after `least_s` at the soonest and `most_s` at the latest."""

    ratio: float
    least_s: float
    most_s: float


def withstand_constant(*, initial: float, final: float) -> float:
    """k of the adiabatic equation for copper: 226 sqrt(ln((234.5 + final) / (234.5 + initial))).

    Source: IEC 60364-5-54, annex (formula from memory, constants read in a reprint); it gives 115 for 70 to 160 degC.

    Parameters
    ----------
    initial : temperature before the fault. [degC]
    final : temperature that the insulation stands for seconds, >= initial. [degC]

    Returns
    -------
    k. [A s^0.5/mm2]
    """
    if final <= initial:
        return 0.0
    return 226.0 * sqrt(log((234.5 + final) / (234.5 + initial)))


def withstand_time(*, current: float, area: float, k: float) -> float | None:
    """How long a conductor stands a fault current: t = (k S / I)^2.

    Source: IEC 60364-4-43, 434.5.2 (read in a reprint).

    Parameters
    ----------
    current : of the fault, > 0. [A]
    area : of copper. [mm2]
    k : from `withstand_constant`. [A s^0.5/mm2]

    Returns
    -------
    Time [s]; None where there is no current. Beyond 5 s it is on the safe side, since heat then leaves the conductor.
    """
    if not current:
        return None
    share = k * area / current
    return share * share


def clearing_time(gates: Sequence[Gate], ratio: float, *, melts: bool = True) -> float | None:
    """Longest time in which a fuse opens at a multiple of its rating.

    Between two gates by straight line on log-log paper, below the first never (None). Beyond the last gate a fuse
    melts, and the bimetal of a breaker bends, by a constant I2t, so that the time falls with the square of the current
    (from memory), but not below 2 ms, nor a breaker (`melts` false) below 20 ms (common practice, no source).

    That is the careful side of what is known of a bimetal heated by its own current: at the last gate some heat still
    leaves it, beyond none has time to, so that it needs that I2t or less. To hold the last gate's time would claim that
    more current heats no faster, and nearly every breaker beside a strong battery would be found too slow. The gates
    of breakers are themselves from memory: slow-clearing tells where it relies on this, and that the maker decides.

    Parameters
    ----------
    gates : rising by ratio.
    ratio : current over rating. [1]
    melts : whether it is a fuse.

    Returns
    -------
    Time [s], or None where the fuse need not open at all.
    """
    if not gates or ratio < gates[0].ratio:
        return None
    for lower, upper in pairwise(gates):
        if ratio <= upper.ratio:
            part = log(ratio / lower.ratio) / log(upper.ratio / lower.ratio)
            return exp(log(lower.most_s) + part * (log(upper.most_s) - log(lower.most_s)))
    last = gates[-1]
    least = LEAST_CLEARING_S if melts else LEAST_TRIP_S
    return min(last.most_s, max(last.most_s * (last.ratio / ratio) ** 2, least))
