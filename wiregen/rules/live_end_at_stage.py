"""live-end-at-stage: at a stage of the installation a live conductor ends in the air.

Hazard
    The bare end swings against the body or another part: a short circuit at the fitter's hand.
Test
    For each `stage`: what this and earlier stages name is there. A battery, panel or live feed makes live what it
    reaches through conductors, closed contacts and fuses that are in. A conductor there whose other end's part comes
    later must not be live, nor the pins of an open plug that is not shrouded.
Basis
    common practice: cables are run with the fuses out, each link goes in last on its side; negative on last, off first
Bad
    start.- --[W2 black 2.5 mm2 1 m]-- pump.-
    start.+ --[W1 red 2.5 mm2 150 mm]-- F1 --[W3 red 2.5 mm2 1 m]-- pump.+
    stage 1 "Battery and its lead", start W1 W2 W3 F1
    stage 2 "Pump", rest
Good
    start.- --[W2 black 2.5 mm2 1 m]-- pump.-
    start.+ --[W1 red 2.5 mm2 150 mm]-- F1 --[W3 red 2.5 mm2 1 m]-- pump.+
    stage 1 "Battery and its lead, link out", start W1 W2 W3 F1
    stage 2 "Pump, then the link", F1 rest
Limits
    A fuse that one stage names has its link in from that stage; name it again where the link goes in. A battery with
    nothing on its other post drives no current yet. Without `stage` statements there is no order to judge. Ends written
    `loose` are for loose-end.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.stages import Arrivals, BareEnd, arrivals, bare_ends
from wiregen.circuit.study import Study
from wiregen.findings import Mark
from wiregen.model.job import Stage
from wiregen.rules import exposed_live_pin
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, rule
from wiregen.rules.words import listed

PRACTICE = "common practice: run the cables with the fuses out, each link last on its side, the negative on last"


@rule("live-end-at-stage", severity="danger", basis=PRACTICE)
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each part that live ends wait for, at the first stage where they do."""
    job = study.job
    if not job.stages:
        return
    when = arrivals(job)
    groups: dict[tuple[int, str], list[BareEnd]] = {}
    exposed = {said.subject for said in exposed_live_pin.check.judge(study) if isinstance(said, Bad)}
    for end in bare_ends(job, study.network, when):
        connector = job.terminals[end.terminal].part
        if connector in exposed:
            yield Content(end.conductor, "ends in the half of {} that exposed-live-pin speaks of", (connector,))
            continue
        groups.setdefault((end.at, end.missing), []).append(end)
    for ends in groups.values():
        yield _bad(study, when, ends)
    for place, stage in enumerate(when.order):
        if all(at != place for at, _ in groups):
            yield Content(f"stage {stage.number}", "no bare end is live")


def _bad(study: Study, when: Arrivals, ends: list[BareEnd]) -> Bad:
    """Live ends that wait for one part, at one stage."""
    job, first = study.job, ends[0]
    stage = when.order[first.at]
    names = list(dict.fromkeys(end.conductor for end in ends))
    fuse = first.live.fuse
    later = when.order[first.lands].number if first.lands < len(when.order) else ""
    until = f"comes at stage {later}" if later else "is named by no stage"
    where = f"the open half {job.terminals[first.open_half].part}" if first.open_half else first.terminal
    through = f" through {fuse}" if fuse else ""
    them = "its end" if len(ends) == 1 else "their ends"
    are = "is" if len(names) == 1 else "are"
    message = (
        f"at stage {stage.number} {listed(names)} {are} live from {first.live.source}{through},"
        f" and {them} at {where} {'is' if len(ends) == 1 else 'are'} bare: {first.missing} {until}"
    )
    return Bad(
        subject=first.conductor,
        message=message,
        at=Mark(stage.span, f"{listed(names)} live and bare"),
        related=(*names[1:], first.terminal, first.missing, first.live.source, *((fuse,) if fuse else ())),
        marks=(at_name(job.conductors[first.conductor], f"ends bare at {first.terminal}"),),
        reason="a bare live end shorts the battery where it touches metal, at the fitter's hand",
        remedy=_remedy(names, first, stage, later),
        values={"stage": stage.number, "end": first.terminal, "source": first.live.source, "lands": later or None},
        through=job.conductors[first.conductor].through,
    )


def _remedy(names: list[str], first: BareEnd, stage: Stage, later: str) -> str:
    """What to move: the conductor to the stage of its part, or the link of the fuse before it."""
    fuse = first.live.fuse
    if not later:
        return f"name {first.missing} in stage {stage.number}, or {listed(names)} in the stage in which it comes"
    if first.open_half:
        keep = f"say `shrouded` of {first.open_half.rpartition('.')[0]} where its live pins are, or "
        move = f"move {first.missing} to stage {stage.number}"
        return keep + (f"name {fuse} again in stage {later}, so that its link goes in then" if fuse else move)
    moved = f"name {listed(names)} in stage {later} and not before"
    return moved + (f", or name {fuse} again in stage {later}, so that its link goes in last" if fuse else "")
