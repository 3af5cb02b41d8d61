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
    The sense lead of a charger is for unterminated-sense-lead, half a connector for unmated-connector. A negative that
    ends at a bar, while something that needs it has no negative at all, is for missing-return.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.crossing import crossings
from wiregen.circuit.dead_ends import bare, dead_ends
from wiregen.circuit.questions import Rails, rails
from wiregen.circuit.study import Study
from wiregen.circuit.ways_back import homes, lost
from wiregen.findings import Mark
from wiregen.model.job import Conductor, Job
from wiregen.rules import missing_indicator, missing_trigger, unterminated_sense_lead
from wiregen.rules.verdict import Bad, Content, Verdict, rule
from wiregen.rules.words import listed


@rule("loose-end", severity="warning", basis="common practice; unused ends are insulated and stowed")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each conductor with an end that leads nowhere."""
    job = study.job
    lines = rails(study)
    found = dead_ends(job, study.network)
    back = _awaited(study) if found else frozenset()
    for conductor in job.conductors.values():
        dead = found.get(conductor.id)
        if not dead:
            yield Content(conductor.id, "leads from {} to {}", (conductor.from_, conductor.to))
            continue
        if not any(map(bare, dead)) and (lines.net[dead[0]] in back):
            yield Content(conductor.id, "something has no way back that belongs at {}: see missing-return", (dead[0],))
            continue
        if not any(map(bare, dead)) and _of_control(study, lines, conductor, dead[0]):
            yield Content(conductor.id, "what it leaves without {} is said already", (dead[0],))
            continue
        live = lines.sources(conductor.from_, "+")
        first = conductor.to_span if dead[0] == conductor.to else conductor.from_span
        where = listed("in the air" if bare(end) else f"at {end}" for end in dead)
        open_ = any(map(bare, dead))
        yield Bad(
            subject=conductor.id,
            message=f"{conductor.id} ends {where}" + (f" and is live from {live[0]}" if live else ""),
            at=Mark(first or conductor.span, "bare" if open_ else "nothing leads on from here"),
            related=(*dead, *live),
            reason="a live end that touches metal shorts its source"
            if live and open_
            else "a circuit that somebody believes to work does not",
            remedy=f"lead {conductor.id} on to where it belongs, or cap and stow it and write `capped`",
            values={"live": bool(live), "bare": open_},
            through=conductor.through,
            severity="danger" if live and open_ else "warning",
        )


def _awaited(study: Study) -> frozenset[str]:
    """The nets that lack a lead to a device's or a source's bare negative terminal: missing-return says so."""
    job = study.job
    if crossings(job, study.network):
        return frozenset()
    lines = rails(study)
    home = homes(job, study.network)
    found: set[str] = set()
    for each in lost(job, study.network):
        if each.cut:
            found |= {lines.net[port.minus] for port in each.ports}
        else:
            found |= home.get(each.source, frozenset())
    return frozenset(found)


def _of_control(study: Study, lines: Rails, conductor: Conductor, end: str) -> bool:
    """Whether a charger's trigger, indicator or sense that should go on from here has a finding of its own."""
    job = study.job
    net = lines.members[lines.net[conductor.from_]]
    chargers = {job.terminals[t].part for t in net if job.terminals[t].name in ("trigger", "indicator")}
    for judging in (missing_trigger, missing_indicator):
        if any(isinstance(said, Bad) and said.subject in chargers for said in judging.check.judge(study)):
            return True
    part = job.part_of(end)
    sensing = {t for t in part.terminals if _sensed(job, lines, t)} if part is not None else set()
    leads = {c.id for c in job.conductors.values() if sensing & {c.from_, c.to}}
    return any(isinstance(said, Bad) and said.subject in leads for said in unterminated_sense_lead.check.judge(study))


def _sensed(job: Job, lines: Rails, terminal: str) -> bool:
    return any(job.terminals[t].name == "sense" for t in lines.members[lines.net[terminal]])
