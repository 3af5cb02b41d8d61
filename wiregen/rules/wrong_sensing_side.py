"""wrong-sensing-side: a low-voltage disconnect measures at its loads and not at the battery.

Hazard
    It opens once when the battery is low and never closes again; or it never closes at all.
Test
    Each low-voltage disconnect with its own contact open: the battery has to be on the side of `in`, where it measures.
Basis
    common practice; the maker's drawing
Bad
    low-voltage-disconnect K1 30 A, opens-below 11.5 V, closes-above 12.5 V
    start.+ -- F1 --[W1 red 4 mm2 1 m]-- K1.out
    K1.in --[W2 red 4 mm2 1 m]-- pump --[W3 black 4 mm2 1 m]-- start.-
    K1.- --[W4 black 1 mm2 1 m]-- start.-
Good
    low-voltage-disconnect K1 30 A, opens-below 11.5 V, closes-above 12.5 V
    start.+ -- F1 --[W1 red 4 mm2 1 m]-- K1.in
    K1.out --[W2 red 4 mm2 1 m]-- pump --[W3 black 4 mm2 1 m]-- start.-
    K1.- --[W4 black 1 mm2 1 m]-- start.-
Limits
    A voltage relay is taken to measure on both sides, and is not judged. Where a source of another kind is on the side
    of `in`, or the same battery on both, nothing is said.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.crossing import crossings
from wiregen.circuit.network import Network
from wiregen.circuit.polarity import gives, nets, sign
from wiregen.circuit.study import Study
from wiregen.model.job import Part
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, rule
from wiregen.rules.words import listed


@rule("wrong-sensing-side", severity="warning", basis="common practice; the maker's drawing")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each disconnect that is turned round."""
    job = study.job
    found = [part for part in job.parts.values() if part.kind == "low-voltage-disconnect"]
    if not found or crossings(job, study.network):
        return
    for part in found:
        inside, outside = (_sources(study, part, f"{part.id}.{side}") for side in ("in", "out"))
        batteries = [id for id in outside if job.parts[id].kind == "battery"]
        if inside or not batteries:
            yield Content(part.id, "measures where it has to")
        else:
            yield _bad(part, batteries)


def _sources(study: Study, part: Part, terminal: str) -> list[str]:
    """What gives a positive on one side of a relay while its own contact is open."""
    job = study.job
    own = {id(edge) for edge in study.network.edges if edge.kind == "contact" and edge.subject == part.id}
    rest = Network(
        tuple(edge for edge in study.network.edges if id(edge) not in own),
        {t: tuple(edge for edge in at if id(edge) not in own) for t, at in study.network.at.items()},
    )
    net = nets(job, rest)
    return [job.terminals[t].part for t in net if net[t] == net.get(terminal) and sign(job, t) == "+" and gives(job, t)]


def _bad(part: Part, batteries: list[str]) -> Bad:
    return Bad(
        subject=part.id,
        message=f"{part.id} measures at {part.id}.in, but {listed(batteries)} {'are' if batteries[1:] else 'is'} at "
        f"{part.id}.out",
        at=at_name(part, "the wrong way round"),
        related=(f"{part.id}.in", f"{part.id}.out", *batteries),
        reason="once it has opened it measures nothing, and never closes again",
        remedy=f"let what lands on {part.id}.in and on {part.id}.out change places",
        values={"battery": batteries[0]},
        through=part.through,
    )
