"""Numbers and lists as a message says them: three figures, the unit that the trade would use."""

from __future__ import annotations

from collections.abc import Iterable


def figure(value: float) -> str:
    """Three significant figures, no trailing noughts, never an exponent: 0.2, 27.4, 1230."""
    if value != value:
        return "?"
    if abs(value) < 0.5e-6:  # no "-0"
        return "0"
    if abs(value) >= 999.5:  # 999.6 is 1000 in three figures
        return f"{value:.0f}"
    text = f"{value:.3g}"
    return f"{value:.6f}".rstrip("0").rstrip(".") if "e" in text else text


def apart(value: float, limit: float) -> tuple[str, str]:
    """Both numbers with as many figures as it takes to tell them apart (three at least)."""
    for digits in range(3, 10):
        first, second = f"{value:.{digits}g}", f"{limit:.{digits}g}"
        if first != second or value == limit:
            break
    return (figure(value), figure(limit)) if digits == 3 else (first, second)


def amps(value: float) -> str:
    """A current."""
    return f"{figure(value)} A"


def volts(value: float) -> str:
    """A voltage; millivolts below 0.1 V."""
    return f"{figure(value * 1000)} mV" if abs(value) < 0.1 else f"{figure(value)} V"


def metres(value: float) -> str:
    """A length; millimetres below 1 m."""
    return f"{figure(value * 1000)} mm" if abs(value) < 1 else f"{figure(value)} m"


def apart_metres(value: float, limit: float) -> tuple[str, str]:
    """Two lengths, with as many figures as it takes to tell them apart."""
    if metres(value) != metres(limit):
        return metres(value), metres(limit)
    if max(value, limit) < 1:
        one, other = apart(value * 1000, limit * 1000)
        return f"{one} mm", f"{other} mm"
    one, other = apart(value, limit)
    return f"{one} m", f"{other} m"


def percent(ratio: float) -> str:
    """A ratio as per cent."""
    return f"{figure(ratio * 100)} %"


def listed(items: Iterable[str], last: str = "and") -> str:
    """`a`, `a and b`, `a, b and c`."""
    names = list(items)
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {last} {names[-1]}" if names else ""


SLACK = 1e-9
"""Relative slack of every comparison with a limit: exactly at the limit passes, float noise does not decide."""


def beyond(value: float, limit: float) -> bool:
    """Whether the value is past an upper limit that is itself allowed."""
    return value > limit + SLACK * max(abs(value), abs(limit))


def clearly_more(value: float, than: float) -> bool:
    """Whether a value is larger by more than the noise of solving: of equals the first stays."""
    return value > than + 1e-6 * abs(than)
