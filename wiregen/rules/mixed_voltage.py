"""mixed-voltage: a battery, charger or load is connected to a supply of another nominal voltage.

Hazard
    Twice the voltage destroys lamps and electronics at once; a battery of half the voltage boils.
Test
    The nominal voltage of the batteries that feed each net, against what the part says: `volts` of a load, the
    `input` range and `output-system` of a charger, and batteries in parallel against each other.
Basis
    common practice; a quarter more or less is taken as the same nominal voltage (12 V and 12.8 V, 48 V and 51.2 V)
Bad
    job "24 V" { system 24 V, each insulation 105 degC }
    battery start 24 V 100 Ah flooded
    fuse F1 10 A cartridge
    lamp lamp1 10 W, volts 12 V
    start.+ -- F1 --[W1 red 1.5 mm2 1 m]-- lamp1 --[W2 black 1.5 mm2 1 m]-- start.-
Good
    job "24 V" { system 24 V, each insulation 105 degC }
    battery start 24 V 100 Ah flooded
    fuse F1 10 A cartridge
    lamp lamp1 10 W, volts 24 V
    start.+ -- F1 --[W1 red 1.5 mm2 1 m]-- lamp1 --[W2 black 1.5 mm2 1 m]-- start.-
Limits
    A load that does not say its voltage is taken to fit the supply it is connected to.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.crossing import crossings
from wiregen.circuit.figures import Figures
from wiregen.circuit.questions import ports, rails
from wiregen.circuit.study import Study
from wiregen.model.job import Part
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import figure

ALIKE = 0.25
"""How far apart two nominal voltages may be and still count as the same: common practice, no source."""


@rule("mixed-voltage", severity="danger", basis="common practice")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each part on a supply of another voltage."""
    job = study.job
    if crossings(job, study.network):
        yield Content("job", "positive meets negative somewhere: voltages say nothing until that is put right")
        return
    figures = Figures(job)
    lines = rails(study)
    batteries: dict[tuple[str, str], Part] = {}
    for part in job.parts.values():
        if part.kind == "battery":
            ends = (lines.net[f"{part.id}.+"], lines.net[f"{part.id}.-"])
            first = batteries.setdefault(ends, part)
            here, there = figures.battery(part).nominal, figures.battery(first).nominal
            if not alike(here, there):
                yield _bad(part, "volts", f"{part.id} of {figure(here)} V is in parallel with {first.id} of"
                           f" {figure(there)} V", here, there, first)  # fmt: skip
            continue
        wrong: list[Bad] = []
        for plus, minus in ports(part):
            high, low = figures.levels.get(plus), figures.levels.get(minus)
            feeding = lines.batteries(job, plus, "+")
            if high is None or not feeding:
                continue
            fed = abs(high - (low or 0.0))
            verdict = _port(part, plus.rpartition(".")[0][len(part.id) + 1 :], fed, job.parts[feeding[0]])
            if isinstance(verdict, Bad):
                wrong.append(verdict)
            elif verdict is not None:
                yield verdict
        if len(wrong) == 1:
            yield wrong[0]
        elif wrong:
            yield _both(part, wrong)


def _both(part: Part, wrong: list[Bad]) -> Bad:
    """A charger of which input and output are both on the wrong battery."""
    first, second = wrong[:2]
    return first._replace(
        message=f"{first.message}, and {second.message.removeprefix(part.id + ' ')}",
        related=tuple(dict.fromkeys((*first.related, *second.related))),
        marks=(second.at, *first.marks, *second.marks),
        remedy=f"let input and output of {part.id} change places, if each is for the other's battery; else "
        + first.remedy,
    )


def alike(one: float, other: float) -> bool:
    """Whether two nominal voltages count as the same."""
    return abs(one - other) <= ALIKE * max(one, other)


def _port(part: Part, port: str, fed: float, battery: Part) -> Verdict | None:
    if port == "out":
        gives = part.number("output-system")
        if gives is not None and not alike(gives, fed):
            words = f"{part.id} gives {figure(gives)} V, but charges {battery.id} of {figure(fed)} V"
            return _bad(part, "output-system", words, gives, fed, battery)
    elif port == "in":
        takes = part.measure("input")
        if takes is not None and not takes.low <= fed <= takes.high:
            words = f"{part.id} takes {figure(takes.low)} to {figure(takes.high)} V, but is fed from {battery.id} of"
            return _bad(part, "input", f"{words} {figure(fed)} V", takes.value, fed, battery)
    elif not port and part.kind in ("load", "lamp", "sensor", "inverter"):
        own = part.number("volts")
        if own is not None and not alike(own, fed):
            words = f"{part.id} is for {figure(own)} V, but is fed from {battery.id} of {figure(fed)} V"
            return _bad(part, "volts", words, own, fed, battery)
    else:
        return None
    return Content(part.id, "fits the {} V of {}", (figure(fed), battery.id))


def _bad(part: Part, fact: str, words: str, own: float, other: float, battery: Part) -> Bad:
    return Bad(
        subject=part.id,
        message=words,
        at=mark(part, fact, f"{figure(own)} V"),
        related=(battery.id,),
        marks=(mark(battery, "volts", f"{figure(other)} V"),),
        reason="too much voltage destroys it, too little and it does not work",
        remedy=f"feed {part.id} from a supply of its own voltage, or through a converter",
        values={"own_v": own, "supply_v": other},
        through=part.through,
    )
