"""charger-without-battery: the output of a charger reaches no battery, or the one that it is fed from.

Hazard
    The battery stays empty; and many chargers give nothing, or the wrong voltage, where they find no battery.
Test
    Every DC-DC charger and solar controller that is fed, and every mains charger that is wired: the positive of its
    output has to reach that of a battery, through fuses, switches and relays in whatever state. And that battery is
    not the one that feeds it, with all switches and relays open.
Basis
    common practice
Bad
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 4 mm2 1 m]-- F1 -- pump.+
    dcdc.out.- --[B2 black 4 mm2 1 m]-- pump.-
Good
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
Limits
    A charger without a profile whose output feeds something is taken to be a converter. Where its output ends at an end
    that leads nowhere or at an open connector, that is told by loose-end and unmated-connector; where it feeds a solar
    port, by regulated-solar-input.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.crossing import crossings
from wiregen.circuit.dead_ends import dead_nets
from wiregen.circuit.isolation import fed as reached
from wiregen.circuit.polarity import CHARGERS
from wiregen.circuit.questions import rails
from wiregen.circuit.study import Study
from wiregen.circuit.ways_back import Port, giving, taking
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, rule


@rule("charger-without-battery", severity="warning", basis="common practice")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each charger that charges nothing."""
    job = study.job
    outputs = [
        p for p in giving(job) if job.parts[p.part].kind in CHARGERS or job.parts[p.part].kind == "mains-charger"
    ]
    if not outputs:
        return
    lines = rails(study)
    dead = dead_nets(job, study.network)
    fed = {port.part for port in taking(job) if lines.sources(port.plus, "+")}
    for port in outputs:
        part = job.parts[port.part]
        used = job.terminals[port.plus].used
        batteries = lines.batteries(job, port.plus, "+")
        itself = _itself(study, port)
        if itself:
            yield Bad(
                subject=part.id,
                message=f"{part.id} charges {itself}, which it is fed from",
                at=at_name(part, "in a circle"),
                related=(itself, port.plus, f"{part.id}.in.+"),
                reason=f"it takes more from {itself} than it gives back, and the battery that it is for stays empty",
                remedy=f"lead {port.plus} through a fuse to the positive of the battery that it is for",
                values={"output": port.plus},
                through=part.through,
            )
        elif batteries:
            yield Content(part.id, "charges {}", (batteries[0],))
        elif part.id not in fed and not used:
            continue
        elif crossings(job, study.network) or lines.net[port.plus] in dead:
            yield Content(part.id, "its output is judged when what is wrong with {} is put right", (port.plus,))
        elif any(t.endswith("solar.+") for t in lines.members[lines.net[port.plus]]):
            yield Content(part.id, "feeds the solar port of another: see regulated-solar-input")
        elif used and not part.has("profile"):
            yield Content(part.id, "says no profile, and so is a converter")
        else:
            yield Bad(
                subject=part.id,
                message=f"{port.plus} reaches no battery" if used else f"nothing is connected to {port.plus}",
                at=at_name(part, "charges nothing"),
                related=(port.plus,),
                reason="what it should charge stays empty, and many chargers give nothing where they find no battery",
                remedy=f"lead {port.plus} through a fuse to the positive of the battery that it is for",
                values={"output": port.plus},
                through=part.through,
            )


def _itself(study: Study, port: Port) -> str:
    """The battery on a charger's output that is on its input too while every switch and relay is open, else ``."""
    into = f"{port.part}.in.+"
    if into not in study.job.terminals:
        return ""
    reach = reached(study.network, (into,), lambda contact: contact.kind in ("switch", "relay", "diode"))
    batteries = [p.part for p in giving(study.job) if study.job.parts[p.part].kind == "battery" and p.plus in reach]
    return batteries[0] if batteries and port.plus in reach else ""
