"""colour-convention: a conductor's colour says something else than what it carries.

Hazard
    The next person trusts the colour. Green/yellow is bonding wherever it is seen; red on a return, or black on a
    battery's positive, invites a reversed connection.
Test
    Green/yellow on a conductor that carries current in some case, or lands on a positive or negative terminal without
    leading to an earth; plain red on a net that is negative alone; plain black on a net that a battery's positive post
    feeds; there too plain green or yellow, where the job's limits are `abyc`. Polarity itself is never taken from a
    colour.
Basis
    green/yellow: IEC 60757 and ABYC E-11 (read in reprints); red and black: ABYC E-11 tables (read in reprints)
Bad
    start.+ -- F1 --[W1 red 2.5 mm2 1 m]-- pump.+
    pump.- --[W2 green/yellow 2.5 mm2 1 m]-- start.-
Good
    start.+ -- F1 --[W1 red 2.5 mm2 1 m]-- pump.+
    pump.- --[W2 black 2.5 mm2 1 m]-- start.-
Limits
    In German vehicle practice black is the ignition feed: leads from a `feed` are left alone. Between batteries or
    panels in series either colour is right.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.crossing import crossings
from wiregen.circuit.polarity import sign
from wiregen.circuit.questions import rails
from wiregen.circuit.study import Study
from wiregen.model.job import Conductor
from wiregen.rules.limits import named
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule

LEAK = 0.01
"""What a bond may carry all the same [A]. A choice of ours, common practice, no source."""


@rule("colour-convention", severity="advice", basis="IEC 60757; ABYC E-11 colour tables (read in reprints)")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each net and colour that do not go together, on its first conductor."""
    job = study.job
    if crossings(job, study.network):
        yield Content("job", "positive meets negative somewhere: colours are judged when that is put right")
        return
    lines, boat = rails(study), named(job) == "abyc"
    said: dict[tuple[str, str], list[str]] = {}
    words: dict[tuple[str, str], str] = {}
    for conductor in job.conductors.values():
        net = lines.net[conductor.from_]
        marks = {its for its in ("+", "-") if (net, its) in lines.given}
        colours = conductor.colours
        wrong = ""
        positive = marks == {"+"} and bool(lines.batteries(job, conductor.from_, "+"))
        if set(colours) == {"green", "yellow"} and _in_circuit(study, conductor):
            wrong = "is green and yellow, which is kept for bonding, but is part of a circuit"
        elif boat and colours == ("green",) and positive:
            wrong = "is green, which ABYC E-11 keeps for bonding, but positive"
        elif boat and colours == ("yellow",) and positive:
            wrong = "is yellow, a negative by ABYC E-11, but positive"
        elif colours == ("red",) and marks == {"-"}:
            wrong = "is red, but negative"
        elif colours == ("black",) and positive:
            wrong = "is black, but positive"
        if wrong:
            said.setdefault((net, wrong), []).append(conductor.id)
            words[net, wrong] = wrong
        elif colours:
            yield Content(conductor.id, "{} suits it", ("/".join(colours),))
    for key, names in said.items():
        first = job.conductors[names[0]]
        yield Bad(
            subject=first.id,
            message=f"{first.id} {words[key]}" + (f"; so are {len(names) - 1} more on its net" if names[1:] else ""),
            at=mark(first, "colour", "says something else"),
            related=tuple(names[1:]),
            reason="the next person trusts the colour",
            remedy="use the colour that the trade expects, or sleeve both ends in it",
            values={"colour": "/".join(first.colours)},
            through=first.through,
        )


def _in_circuit(study: Study, conductor: Conductor) -> bool:
    """Whether a conductor is more than a bond to the body: it carries more than 10 mA, or supplies something."""
    job = study.job
    ends = (conductor.from_, conductor.to)
    if any(abs(case.flows[conductor.id].current_a or 0.0) > LEAK for case in study.cases if conductor.id in case.flows):
        return True
    earths = {earth for body in job.bodies.values() for earth in body.earths}
    return any(sign(job, t) for t in ends) and not earths & set(ends)
