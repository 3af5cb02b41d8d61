"""missing-feed: a device has its negative, but its positive leads to no source.

Hazard
    It does not work, and nobody sees why: the fault is a lead that was never run.
Test
    Every load, lamp, inverter, starter and charger input that is wired: its positive has to reach the positive of a
    source through conductors, contacts and other devices. And every battery, panel and mains charger of which one post
    is wired.
Basis
    common practice
Bad
    start.+ -- F1 --[W1 red 2.5 mm2 1 m]-- pump.+
    pump.- --[W2 black 2.5 mm2 1 m]-- start.-
    lamp1.- --[W3 black 2.5 mm2 1 m]-- start.-
Good
    start.+ -- F1 --[W1 red 2.5 mm2 1 m]-- pump.+
    pump.- --[W2 black 2.5 mm2 1 m]-- start.-
    F1.out --[W4 red 2.5 mm2 1 m]-- lamp1.+
    lamp1.- --[W3 black 2.5 mm2 1 m]-- start.-
Limits
    A job without any source is not judged, nor is a device of which nothing is wired, nor the positive of a battery
    that has an alternator or an existing circuit of the vehicle on it. Where the positive ends at an end
    that leads nowhere or at an open connector, loose-end and unmated-connector say so; an end that leads nowhere and
    that a source reaches is taken to be the missing lead's, and a lamp without a positive to be for the indicator
    output of a charger on which nothing is. What something unknown may feed (a terminal of a kind that
    the netlist itself makes) is not judged.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.crossing import crossings
from wiregen.circuit.dead_ends import dead_nets
from wiregen.circuit.polarity import CHARGERS, is_source, sign
from wiregen.circuit.questions import CARRIES_ON, Rails, rails
from wiregen.circuit.study import Study
from wiregen.circuit.ways_back import SENSING, Port, giving, highest, lost, taking
from wiregen.model.job import Job
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, rule
from wiregen.rules.words import listed


@rule("missing-feed", severity="warning", basis="common practice")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each device that nothing feeds, or for all whose positives lie together."""
    job = study.job
    lines = rails(study)
    used = job.terminals
    fed = {port.part for port in taking(job) if lines.sources(port.plus, "+")}
    found: dict[str, list[Port]] = {}
    for port in taking(job):
        if port.part in fed:
            yield Content(port.part, "is fed by a source")
        elif _wired(job, port) and not _unknown(job, lines, port):
            found.setdefault(lines.net[port.plus], []).append(port)
    at_work = {part.word(fact).lower() for part in job.parts.values() for fact in ("from", "on") if part.has(fact)}
    alone = [
        port
        for port in giving(job)
        if used[port.minus].used
        and not used[port.plus].used
        and port.part.lower() not in at_work
        and any(sign(job, t) for t in lines.members[lines.net[port.minus]] if used[t].part != port.part)
    ]
    asked = {lines.net[port.minus] for together in found.values() for port in together}
    asked |= {lines.net[port.minus] for each in lost(job, study.network) for port in each.ports}
    asked |= {
        lines.net[port.minus]
        for port in giving(job)
        if job.parts[port.part].kind in CHARGERS and not lines.batteries(job, port.plus, "+") and port.part in fed
    }
    torn = {job.parts[used[each.cut].part].kind for each in lost(job, study.network) if each.cut}  # a chain: said there
    found |= {
        port.plus: [port]
        for port in alone
        if job.parts[port.part].kind not in CHARGERS | torn and lines.net[port.minus] not in asked
    }
    if not lines.given or not found:
        return
    if crossings(job, study.network):
        yield Content("job", "positive meets negative somewhere: what feeds a device is judged when that is put right")
        return
    dead = dead_nets(job, study.network)
    waiting = any(any(lines.sources(t, "+") for t in lines.members[net]) for net in dead)
    dark = any(t.name == "indicator" and not t.used and t.part in fed for t in used.values())
    for net, together in found.items():
        port = together[0]
        open_ = not used[port.plus].used
        if net in dead or (waiting and open_) or (dark and open_ and job.parts[port.part].kind == "lamp"):
            yield Content(port.part, "what should feed {} ends nowhere: see there", (port.plus,))
        else:
            yield _bad(study, together)


def _wired(job: Job, port: Port) -> bool:
    """Whether something is on a port: on its positive, or on a negative that is not shared with other ports."""
    part = job.parts[port.part]
    if part.kind in SENSING or part.kind == "sensor":
        return False
    shared = part.kind in CHARGERS and port.minus == f"{part.id}.-"
    return job.terminals[port.plus].used or (job.terminals[port.minus].used and not shared)


def _unknown(job: Job, lines: Rails, port: Port) -> bool:
    """Whether something is on a positive that may feed it: a device in series, a changeover, an output of any kind."""
    for terminal in lines.members[lines.net[port.plus]]:
        part = job.part_of(terminal)
        if part is None:
            continue
        if any(lines.net[c.a] != lines.net[c.b] for c in part.contacts if c.kind == "relay" and terminal in (c.a, c.b)):
            return True
        if part.kind not in CARRIES_ON and not terminal.endswith("+"):
            return True
    return False


def _bad(study: Study, together: list[Port]) -> Bad:
    job = study.job
    port = together[0]
    part = job.parts[port.part]
    others = [other.part for other in together[1:] if other.part != part.id]
    used = job.terminals[port.plus].used
    kind = "panel" if port.plus.endswith("solar.+") else "battery"
    other = highest(job, rails(study), kind) or f"a {kind}"
    goal = "what it is to work with" if is_source(part, "+") else other
    return Bad(
        subject=part.id,
        message=f"{port.minus} is wired, but nothing is connected to {port.plus}"
        if not used
        else f"{port.plus} leads to no source" + (f" (so too {listed(others)})" if others else ""),
        at=at_name(part, "nothing feeds it"),
        related=(port.plus, port.minus, *others),
        reason=f"{listed(dict.fromkeys((part.id, *others)))} {'are' if others else 'is'} dead",
        remedy=f"lead {port.plus} through a fuse to {goal}, or take {part.id} out of the netlist",
        values={"positive": port.plus, "negative": port.minus},
        through=part.through,
    )
