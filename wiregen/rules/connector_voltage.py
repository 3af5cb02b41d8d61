"""connector-voltage: a connector, switch, relay or busbar is not made for the voltage it stands at.

Hazard
    A switch that is not made for the direct voltage it breaks holds an arc and burns; so does a connector pulled apart.
Test
    The highest voltage at its terminals over all operating cases, and that of its panels open on their coldest day,
    against the voltage that the part says.
Basis
    the maker's rating; common practice
Bad
    job "48 V" { system 48 V, each insulation 105 degC }
    battery bank 48 V 100 Ah lifepo4
    fuse F1 30 A strip, volts 58 V
    isolator Q1 100 A, volts 32 V
    load pump 10 A
    bank.+ -- F1 --[W1 red 6 mm2 1 m]-- Q1 --[W2 red 6 mm2 1 m]-- pump.+
    pump.- --[W3 black 6 mm2 1 m]-- bank.-
Good
    isolator Q1 100 A, volts 32 V
    start.+ -- F1 --[W1 red 6 mm2 1 m]-- Q1 --[W2 red 6 mm2 1 m]-- pump.+
    pump.- --[W3 black 6 mm2 1 m]-- start.-
Limits
    A part that does not say its voltage is asked about above 32 V only (from memory), a busbar, splice, shunt or diode
    not at all. A voltage given for alternating
    current does not count. Fuses and breakers are for fuse-voltage.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.study import Study
from wiregen.model.job import Part
from wiregen.rules.standing import Made, judged
from wiregen.rules.together import once, sayer
from wiregen.rules.verdict import Content, Verdict, rule

OPENS = frozenset(
    {
        "connector",
        "plug",
        "socket",
        "switch",
        "isolator",
        "relay",
        "voltage-relay",
        "low-voltage-disconnect",
        "fuse-block",
    }
)
STAYS = frozenset({"busbar", "splice", "shunt", "diode"})
"""Kinds that open nothing: judged by what they say, never asked."""


@rule("connector-voltage", severity="danger", basis="the maker's rating; common practice")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each part, or mated pair, at too high a voltage."""
    return once(study, _judged(study), "voltage_v")


def _judged(study: Study) -> Iterator[Verdict]:
    ways: dict[str, list[Part]] = {}
    for part in study.job.parts.values():
        if part.block is not None:
            ways.setdefault(part.block, []).append(part)
    for part in study.job.parts.values():
        own = part.number("volts")
        if part.kind not in OPENS and (part.kind not in STAYS or own is None):
            continue
        if part.kind == "fuse-block" and any(sayer(study.job, p, "volts") is part for p in ways.get(part.id, ())):
            yield Content(part.id, "is judged with its fuses: see fuse-voltage")
            continue
        made = Made(own or 0.0, "volts", f"the direct voltage that {part.id} is made for")
        reason = "it holds an arc when it opens" if part.kind in OPENS else "its insulation is not made for it"
        said = judged(study, part, made, reason)
        if said is not None:
            yield said
