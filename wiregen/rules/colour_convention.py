"""colour-convention: a conductor's colour says something else than what it carries.

Hazard
    The next person trusts the colour. Green/yellow is bonding wherever it is seen; red on a return, or black on a
    battery's positive, invites a reversed connection.
Test
    Green/yellow on a conductor that lands on a positive or negative terminal; plain red on a net that is negative
    alone; plain black on a net that a battery's positive post feeds. Polarity itself is never taken from a colour.
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
from wiregen.circuit.polarity import gives, sign
from wiregen.circuit.questions import rails
from wiregen.circuit.study import Study
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule


@rule("colour-convention", severity="advice", basis="IEC 60757; ABYC E-11 colour tables (read in reprints)")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each net and colour that do not go together, on its first conductor."""
    job = study.job
    if crossings(job, study.network):
        yield Content("job", "positive meets negative somewhere: colours are judged when that is put right")
        return
    lines = rails(study)
    said: dict[tuple[str, str], list[str]] = {}
    words: dict[tuple[str, str], str] = {}
    for conductor in job.conductors.values():
        net = lines.net[conductor.from_]
        marks = {sign(job, t) for t in lines.members[net] if sign(job, t) and gives(job, t)}
        colours = conductor.colours
        wrong = ""
        if set(colours) == {"green", "yellow"} and any(sign(job, t) for t in (conductor.from_, conductor.to)):
            wrong = "is green and yellow, which is kept for bonding, but is part of a circuit"
        elif colours == ("red",) and marks == {"-"}:
            wrong = "is red, but negative"
        elif colours == ("black",) and marks == {"+"} and lines.batteries(job, conductor.from_, "+"):
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
