"""fuse-voltage: a fuse or breaker is not made for the voltage that it would have to break.

Hazard
    When it opens an arc stays, and burns on through the holder.
Test
    The highest voltage at its terminals over all operating cases, and that of its panels open on their coldest day,
    against the voltage it is rated for: its own, else what its family guarantees.
Basis
    33 CFR 183.455(d): the voltage rating is not less than the circuit's; 32 V for blade fuses by ISO 8820-3
Bad
    job "48 V" { system 48 V, each insulation 105 degC }
    battery bank 48 V 100 Ah lifepo4
    fuse F1 30 A blade
    load pump 10 A
    bank.+ -- F1 --[W1 red 6 mm2 1 m]-- pump.+
    pump.- --[W2 black 6 mm2 1 m]-- bank.-
Good
    start.+ -- F3 --[W1 red 2.5 mm2 1 m]-- pump.+
    pump.- --[W2 black 2.5 mm2 1 m]-- start.-
Limits
    A type that guarantees nothing is asked about above 32 V only (from memory: vehicle fuses are for 32 V at least).
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.catalogue import catalogue
from wiregen.circuit.figures import Figures
from wiregen.circuit.study import Study
from wiregen.rules.standing import Made, judged
from wiregen.rules.together import once
from wiregen.rules.verdict import Verdict, rule


@rule("fuse-voltage", severity="danger", basis="33 CFR 183.455(d): not less than the voltage of the circuit")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each fuse or breaker at too high a voltage, or for all of one block."""
    return once(study, _judged(study), "voltage_v")


def _judged(study: Study) -> Iterator[Verdict]:
    figures = Figures(study.job)
    for part in study.job.parts.values():
        if part.kind not in ("fuse", "breaker"):
            continue
        own = part.number("volts")
        family = figures.family(part)
        made = Made(own or float(family["volts"]), "volts" if own else "type", f"the voltage that {part.id} can break")
        basis = f"33 CFR 183.455(d) (read in the source){'' if own else '; ' + catalogue().basis(family)}"
        said = judged(study, part, made, "an arc burns on in it when it opens", basis)
        if said is not None:
            yield said
