"""centre-tap: something is fed from some of the batteries in series, and not from all of them.

Hazard
    The battery that is tapped is never full, the other one is overcharged: both fail early, and on a 24 V vehicle the
    pair is bought together.
Test
    Every load, lamp, inverter and charger input with one of its terminals between two batteries in series.
Basis
    common practice
Bad
    job "24 V" { system 24 V, each insulation 105 degC }
    battery b1 12 V 100 Ah flooded, vented
    battery b2 12 V 100 Ah flooded, vented
    fuse F1 10 A strip, volts 58 V, breaks 5 kA
    fuse F2 10 A strip, volts 58 V, breaks 5 kA
    load radio 3 A
    load fan 3 A
    b1.+ --[C1 red 50 mm2 200 mm]-- b2.-
    b2.+ -- F2 --[W3 red 2.5 mm2 1 m]-- fan --[W4 black 2.5 mm2 1 m]-- b1.-
    b1.+ -- F1 --[W1 red 2.5 mm2 1 m]-- radio --[W2 black 2.5 mm2 1 m]-- b1.-
Good
    job "24 V" { system 24 V, each insulation 105 degC }
    battery b1 12 V 100 Ah flooded, vented
    battery b2 12 V 100 Ah flooded, vented
    fuse F1 10 A strip, volts 58 V, breaks 5 kA
    load radio 3 A
    b1.+ --[C1 red 50 mm2 200 mm]-- b2.-
    b2.+ -- F1 --[W1 red 2.5 mm2 1 m]-- radio --[W2 black 2.5 mm2 1 m]-- b1.-
Limits
    Where a charger of its own, or an equaliser (a charger with its output between the batteries), gives back to the
    battery that is tapped, nothing is said. Sensors and voltage relays take next to nothing and are not judged.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.crossing import crossings
from wiregen.circuit.polarity import CHARGERS, middles, posts
from wiregen.circuit.questions import Rails, rails
from wiregen.circuit.study import Study
from wiregen.circuit.ways_back import SENSING, Port, giving, taking
from wiregen.model.job import Job
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, rule
from wiregen.rules.words import listed


@rule("centre-tap", severity="warning", basis="common practice")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each place between two batteries from which something is fed."""
    job = study.job
    batteries = [part for part in job.parts.values() if part.kind == "battery"]
    if len(batteries) < 2:
        return
    lines = rails(study)
    pluses = {lines.net[ends[0]] for part in batteries if (ends := posts(part))}
    taps = pluses & middles(job, lines.net)
    if not taps:
        yield Content("job", "nothing lies between two batteries in series")
        return
    if crossings(job, study.network):
        yield Content("job", "positive meets negative somewhere: what is tapped is judged when that is put right")
        return
    charged = {
        lines.net[t]
        for port in giving(job)
        if job.parts[port.part].kind in CHARGERS | {"mains-charger"}
        for t in (port.plus, port.minus)
    }
    found: dict[str, list[Port]] = {}
    for port in taking(job):
        kind = job.parts[port.part].kind
        tap = next((lines.net[t] for t in (port.plus, port.minus) if lines.net[t] in taps), None)
        if tap is None or kind in SENSING or kind == "sensor":
            continue
        if tap in charged:
            yield Content(port.part, "takes from a battery in series that has a charger of its own")
        else:
            found.setdefault(tap, []).append(port)
    for tap, ports in found.items():
        yield _bad(study, tap, ports)


def _bad(study: Study, tap: str, ports: list[Port]) -> Bad:
    job = study.job
    lines = rails(study)
    first = ports[0]
    part = job.parts[first.part]
    ids = list(dict.fromkeys(port.part for port in ports))
    if lines.net[first.plus] == tap:
        one = _stacked(job, lines, tap, lines.net[first.minus], ("+", "-"))
    else:
        one = _stacked(job, lines, tap, lines.net[first.plus], ("-", "+"))
    chain = (*_stacked(job, lines, tap, "", ("+", "-")), *_stacked(job, lines, tap, "", ("-", "+")))
    other = [id for id in chain if id not in one]
    are = "are" if one[1:] else "is"
    return Bad(
        subject=part.id,
        message=f"{listed(ids)} {'take' if ids[1:] else 'takes'} from {listed(one)}, which {are} in series with "
        f"{listed(other)}, and from no other",
        at=at_name(part, f"fed from {listed(one)} alone"),
        related=(*ids[1:], *one, *other),
        marks=tuple(at_name(job.parts[id], "is drained alone") for id in one),
        reason=f"{listed(one)} {are} never full, and {listed(other)} overcharged",
        remedy=f"feed {listed(ids)} from all of them through a converter, or fit an equaliser or a charger for "
        f"{listed(one)}",
        values={"taps": ", ".join(one)},
        through=part.through,
    )


def _stacked(job: Job, lines: Rails, tap: str, until: str, posts: tuple[str, str]) -> list[str]:
    """Batteries in series from one net to another or to the end of the chain, entered by the first of `posts`."""
    near, far = posts
    found: list[str] = []
    nets = [tap]
    for net in nets:  # grows while it is walked
        for part in job.parts.values():
            if part.kind != "battery" or part.id in found or net == until:
                continue
            if lines.net[f"{part.id}.{near}"] == net:
                found.append(part.id)
                nets.append(lines.net[f"{part.id}.{far}"])
    return found
