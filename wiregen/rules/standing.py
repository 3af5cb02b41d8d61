"""The voltage that a part stands at, against the one that it is made for: for fuses, switches and connectors alike."""

from __future__ import annotations

from typing import NamedTuple

from wiregen.circuit.questions import rails
from wiregen.circuit.study import Study
from wiregen.circuit.ways_back import lost
from wiregen.model.job import Part
from wiregen.rules.currents import highest_voltage
from wiregen.rules.solar_overvoltage import cold_voltage, highest_string
from wiregen.rules.together import sayer
from wiregen.rules.verdict import Bad, Content, Unjudged, Verdict, mark
from wiregen.rules.words import apart, beyond, clearly_more, listed, volts

USUAL = 32.0
"""What every vehicle fuse, connector or switch is made for at least [V] (from memory, not read)."""


class Standing(NamedTuple):
    """The highest voltage at a part [V]: when that is, in words, and the case, None where it is no case."""

    volts: float
    when: str
    case: str | None


class Made(NamedTuple):
    """What a part is made for [V], 0 where nothing says; the fact that says it, and what is missing where none does."""

    volts: float
    fact: str
    missing: str


def standing(study: Study, part: Part) -> Standing | None:
    """The highest voltage at any terminal of a part: of all cases, and of its panels open on their coldest day."""
    seen = highest_voltage(study, part)
    worst = None if seen is None else Standing(seen[1], f"in {seen[0]}", seen[0])
    lines = rails(study)
    for terminal in part.terminals:
        if lines.batteries(study.job, terminal, "+"):
            continue
        string = highest_string(study.job, lines, lines.net[terminal], frozenset())
        cold = sum(cold_voltage(panel) for panel in string)
        if string and (worst is None or clearly_more(cold, worst.volts)):
            worst = Standing(cold, f"with {listed(panel.id for panel in string)} open in the cold", None)
    return worst


def judged(study: Study, part: Part, made: Made, reason: str, basis: str = "") -> Verdict | None:
    """Whether a part is made for the voltage that it stands at; None where no case tells, or nothing need be said."""
    seen = standing(study, part)
    if seen is None:
        return None
    if lost(study.job, study.network):
        return Content(
            part.id, "something does not get back to its source: voltages say nothing until that is put right"
        )
    if not made.volts:
        if not beyond(seen.volts, USUAL):
            return None
        write = "write what its maker states, as in `volts 58 V`"
        at = mark(part, made.fact, "for what voltage?")
        return Unjudged(part.id, made.missing, write, at, part.through)
    if not beyond(seen.volts, made.volts):
        return Content(part.id, "stands at {} at most, is made for {}", (volts(seen.volts), volts(made.volts)))
    stands, rated = apart(seen.volts, made.volts)
    owner = sayer(study.job, part, made.fact)
    return Bad(
        subject=owner.id,
        message=f"{part.id} stands at {stands} V {seen.when}, but {'' if owner is part else f'{owner.id} '}is made for "
        f"{rated} V",
        related=(part.id,),
        at=mark(part, made.fact, f"{rated} V"),
        case=seen.case,
        reason=reason,
        remedy=f"fit one that is made for {stands} V direct current or more",
        values={"voltage_v": seen.volts, "rated_v": made.volts},
        through=part.through,
        basis=basis,
    )
