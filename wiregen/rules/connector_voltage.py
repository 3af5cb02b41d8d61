"""connector-voltage: a connector, switch, relay or busbar is not made for the voltage it stands at.

Hazard
    A switch that is not made for the direct voltage it breaks holds an arc and burns; so does a connector pulled apart.
Test
    The highest voltage at its terminals over all operating cases against the voltage that the part says.
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
    A part that does not say its voltage is asked about above 32 V only (from memory). A voltage given for alternating
    current does not count. Fuses and breakers are for fuse-voltage.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.study import Study
from wiregen.rules.currents import highest_voltage
from wiregen.rules.verdict import Bad, Content, Unjudged, Verdict, mark, rule
from wiregen.rules.words import apart, beyond, volts

USUAL = 32.0
"""What every vehicle connector or switch is made for at least [V] (from memory, not read)."""
KINDS = frozenset(
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


@rule("connector-voltage", severity="danger", basis="the maker's rating; common practice")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each part at too high a voltage."""
    for part in study.job.parts.values():
        if part.kind not in KINDS:
            continue
        seen = highest_voltage(study, part)
        if seen is None:
            continue
        case, high = seen
        rated = part.number("volts")
        if rated is None:
            if beyond(high, USUAL):
                yield Unjudged(
                    part.id,
                    f"the direct voltage that {part.id} is made for",
                    "write what its maker states, as in `volts 58 V`",
                    mark(part, "", "for what voltage?"),
                    part.through,
                )
            continue
        if not beyond(high, rated):
            yield Content(part.id, "stands at {} at most, is made for {}", (volts(high), volts(rated)))
            continue
        stands, made = apart(high, rated)
        yield Bad(
            subject=part.id,
            message=f"{part.id} stands at {stands} V in {case}, but is made for {made} V",
            at=mark(part, "volts", f"{made} V"),
            case=case,
            reason="it holds an arc when it opens",
            remedy=f"fit one that is made for {stands} V direct current or more",
            values={"voltage_v": high, "rated_v": rated},
            through=part.through,
        )
