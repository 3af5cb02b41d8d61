"""What a person measured, from words: `X1.a.+ to X1.a.- 11.2 V`, `W2 28 A in night`, `F1 0.15 V`, `dcdc.in swings`."""

from __future__ import annotations

import re
from typing import NamedTuple

from wiregen.circuit.assemble import charger_minus, main_battery
from wiregen.diagnosis.points import Probe, reach_of
from wiregen.model.job import Job

SHOWN = r"(?P<sign>[-+\u2212]?)\s*(?P<number>\d+(?:[.,]\d*)?|[.,]\d+)"
FIGURE = re.compile(rf"^(?P<what>.*?)[\s=:]+{SHOWN}\s*(?P<unit>[^\W\d]+)\s*$")
ANSWER = re.compile(rf"^{SHOWN}\s*(?P<unit>[^\W\d]*)\s*$")
SWINGING = re.compile(r"^(?P<what>.*?)\s+(?:swings|unsteady|jumps)(?:\s+(?P<unit>[^\W\d]+))?\s*$", re.IGNORECASE)
IN_CASE = re.compile(r"^(?P<reading>.*\S)\s+in\s+(?P<case>[^\s.]+)\s*$", re.IGNORECASE | re.DOTALL)
UNITS = {
    "v": ("V", 1.0),
    "mv": ("V", 1e-3),
    "a": ("A", 1.0),
    "ma": ("A", 1e-3),
    "volts": ("V", 1.0),
    "amps": ("A", 1.0),
}
MOST = {"V": 1000.0, "A": 20000.0}


class Reading(NamedTuple):
    """One reading with its value, and what its last digit stands for: `12.6 V` may be 12.55 to 12.65. [V] or [A]
    `case` is the operating case in which it was taken, by name; empty for the one that is looked at first. Where it
    `swings` without coming to rest it has no value."""

    probe: Probe
    value: float
    step: float = 0.0
    case: str = ""
    swings: bool = False


class NotUnderstood(ValueError):
    """Words that name no reading of this job; `remedy` says what would."""

    def __init__(self, message: str, reason: str, remedy: str) -> None:
        super().__init__(message)
        self.reason = reason
        self.remedy = remedy


def reading(job: Job, words: str) -> Reading:
    """The reading that words tell, with the case that they name at their end. Raises NotUnderstood."""
    said, case = words.strip(), ""
    named = IN_CASE.match(said)
    if named and (FIGURE.match(named["reading"]) or SWINGING.match(named["reading"])):
        said, case = named["reading"], named["case"]
    found = FIGURE.match(said) or SWINGING.match(said)
    unit = UNITS.get((found["unit"] or "v").lower()) if found else None
    if found is None or unit is None:
        raise NotUnderstood(
            f"the reading `{words.strip()}` has no figure in V, mV, A or mA at its end",
            "a reading is where the meter was, and what it showed",
            "write it like `X1.a.+ to X1.a.- 11.2 V` or `W2 28 A`",
        )
    kind, factor = unit
    if found.re is SWINGING:
        return Reading(probe(job, found["what"], kind), 0.0, 0.0, case, True)
    value, step = _figure(found, factor)
    if abs(value) > MOST[kind]:
        raise NotUnderstood(
            f"the reading `{words.strip()}` is beyond what such wiring has", f"the most is {MOST[kind]:g} {kind}",
            "look at the meter's range and the decimal point",
        )  # fmt: skip
    return Reading(probe(job, found["what"], kind), value, step, case)


def answer(probe: Probe, words: str) -> Reading | None:
    """The reading at a probe that was asked for, from its figure alone: `12.6`, `-0.02 V`, `swings`; None for other
    words."""
    said = words.strip()
    if said.lower() in ("swings", "unsteady", "jumps"):
        return Reading(probe, 0.0, swings=True)
    found = ANSWER.match(said)
    unit = UNITS.get(found["unit"].lower() or probe.kind.lower()) if found else None
    if found is None or unit is None or unit[0] != probe.kind:
        return None
    return Reading(probe, *_figure(found, unit[1]))


def _figure(found: re.Match[str], factor: float) -> tuple[float, float]:
    """A figure as it was written: its value, and what one in its last digit is."""
    number = found["number"].replace(",", ".")
    decimals = len(number.partition(".")[2])
    sign = -1.0 if found["sign"] in ("-", "\u2212") else 1.0
    return sign * float(number) * factor, factor * 10.0**-decimals


def probe(job: Job, what: str, kind: str) -> Probe:
    """The points that words name. Raises NotUnderstood."""
    if kind == "A":
        return _clamp(job, what.strip())
    parts = re.split(r"\s+(?:to|and|against)\s+|\s*,\s*|\s+->\s+", what.strip())
    if len(parts) == 2:
        red, black = (_terminal(job, word) for word in parts)
    elif len(parts) == 1:
        red, black = _pair(job, parts[0])
    else:
        raise NotUnderstood(
            f"`{what.strip()}` names more than two points", "a voltage is between two of them",
            "write it like `X1.a.+ to X1.a.- 11.2 V`",
        )  # fmt: skip
    if red == black:
        raise NotUnderstood(
            f"both leads are on {red}", "between a point and itself there is no voltage", "name two points"
        )
    return Probe("V", red, black, max(reach_of(job, red), reach_of(job, black)))


def _clamp(job: Job, what: str) -> Probe:
    for id in job.conductors:
        if id.lower() == what.lower():
            return Probe("A", id, "", 1.0)
    for part in job.parts.values():
        if part.id.lower() == what.lower() and len([c for c in part.contacts if c.kind != "solid"]) == 1:
            return Probe("A", part.id, "", 1.0)
    raise NotUnderstood(
        f"`{what}` is no conductor of this job, nor a fuse or switch with one contact",
        "a current is read in one of these", _near(what, [*job.conductors, *job.parts]),
    )  # fmt: skip


def _terminal(job: Job, word: str) -> str:
    for terminal in job.terminals:
        if terminal.lower() == word.lower():
            return terminal
    bar = _bar(job, word)
    if bar:
        return bar
    raise NotUnderstood(
        f"`{word}` is no terminal of this job", "a lead of the meter is on one terminal",
        _near(word, list(job.terminals)),
    )  # fmt: skip


def _bar(job: Job, word: str) -> str:
    """The first stud of a bar, splice or body, one piece of metal, that is named without a stud; else ``."""
    for part in job.parts.values():
        if part.id.lower() == word.lower() and part.kind in ("busbar", "splice", "body") and part.terminals:
            return part.terminals[0]
    return ""


def _pair(job: Job, word: str) -> tuple[str, str]:
    """Two points of one name: a port, a two-sided part, a conductor, or a terminal against the main negative post."""
    names = {terminal.lower(): terminal for terminal in job.terminals}
    low = word.lower()
    for id, conductor in job.conductors.items():
        if id.lower() == low:
            return conductor.from_, conductor.to
    if f"{low}.+" in names:
        plus = names[f"{low}.+"]
        if f"{low}.-" in names:
            return plus, names[f"{low}.-"]
        part = job.part_of(plus)
        if part is not None:
            return plus, charger_minus(job, part, plus.rpartition(".")[0].rpartition(".")[2])
    if f"{low}.in" in names and f"{low}.out" in names:
        return names[f"{low}.in"], names[f"{low}.out"]
    main = main_battery(job)
    alone = names.get(low) or _bar(job, word)
    if alone and main is not None:
        return alone, f"{main.id}.-"
    raise NotUnderstood(
        f"`{word}` names no port, conductor, fuse or terminal of this job",
        "a voltage is between two points", _near(word, [*job.terminals, *job.parts, *job.conductors]),
    )  # fmt: skip


def _near(word: str, names: list[str]) -> str:
    from difflib import get_close_matches

    lower = {name.lower(): name for name in names}
    close = [lower[name] for name in get_close_matches(word.lower(), lower, 3, 0.5)]
    return f"did you mean {' or '.join(close)}?" if close else f"name one of {', '.join(names[:8])} ..."
