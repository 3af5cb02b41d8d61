"""loose-end: a conductor ends in the air, or at a joint from which nothing leads on.

Hazard
    A bare end that is live touches the body and shorts the battery; one that is not live is a circuit that somebody
    believes to work.
Test
    Every end written `loose`, and every conductor that gets no farther than a splice, fuse, switch, busbar or mated
    connector. An end that is `capped` is insulated and stowed on purpose.
Basis
    common practice; unused ends are insulated and stowed
Bad
    splice SP1
    start.+ -- F1 --[W1 red 2.5 mm2 1 m]-- SP1 --[W2 red 2.5 mm2 1 m]-- pump.+
    pump.- --[W3 black 2.5 mm2 1 m]-- start.-
    SP1 --[W4 red 2.5 mm2 1 m]-- loose
Good
    splice SP1
    start.+ -- F1 --[W1 red 2.5 mm2 1 m]-- SP1 --[W2 red 2.5 mm2 1 m]-- pump.+
    pump.- --[W3 black 2.5 mm2 1 m]-- start.-
    SP1 --[W4 red 2.5 mm2 1 m]-- capped "for the heater, later"
Limits
    The sense lead of a charger is for unterminated-sense-lead, half a connector for unmated-connector.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.questions import behind, pulled, rails
from wiregen.circuit.study import Study
from wiregen.findings import Mark
from wiregen.model.job import Conductor
from wiregen.rules.verdict import Bad, Content, Verdict, rule
from wiregen.rules.words import listed


@rule("loose-end", severity="warning", basis="common practice; unused ends are insulated and stowed")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each conductor with an end that leads nowhere."""
    job = study.job
    lines = rails(study)
    for conductor in job.conductors.values():
        net = lines.members[lines.net[conductor.from_]]
        if any(job.terminals[t].name == "sense" for t in net):
            continue
        ends = [(conductor.from_, conductor.from_span), (conductor.to, conductor.to_span)]
        dead = [(end, span) for end, span in ends if _nowhere(study, conductor, end)]
        if not dead:
            yield Content(conductor.id, "leads from {} to {}", (conductor.from_, conductor.to))
            continue
        live = lines.sources(job, conductor.from_, "+")
        where = listed("in the air" if end.startswith("loose:") else f"at {end}" for end, _ in dead)
        bare = any(end.startswith("loose:") for end, _ in dead)
        yield Bad(
            subject=conductor.id,
            message=f"{conductor.id} ends {where}" + (f" and is live from {live[0]}" if live else ""),
            at=Mark(dead[0][1] or conductor.span, "bare" if bare else "nothing leads on from here"),
            related=(*(end for end, _ in dead), *live),
            reason="a live end that touches metal shorts its source"
            if live and bare
            else "a circuit that somebody believes to work does not",
            remedy=f"lead {conductor.id} on to where it belongs, or cap and stow it and write `capped`",
            values={"live": bool(live), "bare": bare},
            through=conductor.through,
            severity="danger" if live and bare else "warning",
        )


def _nowhere(study: Study, conductor: Conductor, end: str) -> bool:
    """Whether this end is bare, or the last of a chain that reaches nothing."""
    if end.startswith("loose:"):
        return True
    reaches, others = behind(study, conductor, end)
    return not (end.startswith("capped:") or reaches or others or pulled(study, end))
