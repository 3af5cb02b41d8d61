"""missing-return: what a source feeds has its positive, but no way back to that source.

Hazard
    It does not work; or its current finds a way back through something that was never meant to carry it: a plug's
    shield, a data lead, the earth of a lamp.
Test
    Every load, lamp, inverter, starter, charger port, relay coil and voltage relay whose positive is fed: its negative
    has to reach that of a source that feeds it, through conductors, contacts, bodies and other devices. Sources joined
    at their positives (a charger's output and its battery, a panel and the next, two batteries) are joined at their
    negatives too.
Basis
    common practice
Bad
    start.+ -- F1 --[W1 red 2.5 mm2 1 m]-- pump.+
Good
    start.+ -- F1 --[W1 red 2.5 mm2 1 m]-- pump.+
    pump.- --[W2 black 2.5 mm2 1 m]-- start.-
Limits
    Where a body to which the source is not joined is all that the negatives land on, that is for body-not-bonded; an
    end that leads nowhere is for loose-end, an open connector for unmated-connector. Whether a body may carry the
    current is for isolated-body-return; whether the return is thick enough for undersized-return. A return over the
    output side of a charger with a common negative is one. An indicator lamp is for indicator-without-return.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.backwards import against
from wiregen.circuit.bonding import carrying, on_nothing, stranded
from wiregen.circuit.crossing import crossings
from wiregen.circuit.dead_ends import dead_nets
from wiregen.circuit.questions import Rails, rails
from wiregen.circuit.study import Study
from wiregen.circuit.ways_back import Lost, Port, coils, gets_to, giving, lost, lowest, taking
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, rule
from wiregen.rules.words import listed


@rule("missing-return", severity="danger", basis="common practice")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each device or source without a way back, or for all whose negatives lie together."""
    job = study.job
    lines = rails(study)
    found = lost(job, study.network)
    out = {port.part for each in found for port in each.ports}
    for port in (*taking(job), *coils(job, lines)):
        if port.part not in out and lines.sources(port.plus, "+"):
            yield Content(port.part, "{} gets back to a source", (port.minus,))
    crossed = bool(found) and bool(crossings(job, study.network) or against(job, study.network))
    elsewhere = _said_of_bodies(study, lines) if found else frozenset()
    dead = dead_nets(job, study.network)
    for each in found:
        part, _, minus = each.ports[0]
        if crossed:
            yield Content(part, "something is the wrong way round: ways back are judged when that is put right")
        elif {part, each.source} & elsewhere:
            yield Content(part, "returns through a body that is not joined to its source: see body-not-bonded")
        elif lines.net[minus] in dead and (dead[lines.net[minus]] or not each.cut):
            yield Content(part, "the lead of {} ends nowhere: see there", (minus,))
        else:
            yield _bad(study, lines, each)


def _said_of_bodies(study: Study, lines: Rails) -> frozenset[str]:
    """Devices and batteries of which body-not-bonded speaks."""
    found: set[str] = set()
    for body in carrying(study):
        on = {lines.net[earth] for earth in body.earths if earth in lines.net}
        if on_nothing(study, lines, body):
            found |= {port.part for port in taking(study.job) if lines.net[port.minus] in on}
        else:
            for battery, devices in stranded(study, lines, body).items():
                found |= {battery, *devices}
    return frozenset(found)


def _bad(study: Study, lines: Rails, each: Lost) -> Bad:
    job = study.job
    sources = {port.part: port for port in giving(job)}
    of = (job.parts[each.source].word("from") or each.source).lower()  # an existing circuit is from a battery
    battery = next((id for id in sources if id.lower() == of), "")
    home = each.cut or (lowest(job, lines, battery) if battery else f"the negative of {each.source}")
    port = each.ports[0]
    part = job.parts[port.part]
    ids = list(dict.fromkeys(port.part for port in each.ports))
    where, other = _leads(study, lines, port)
    if each.cut:
        where = f"{each.cut} is connected to nothing" + (f", and {where}" if other else "")
    joined = f"is joined to {each.source} at {port.plus}"
    message = f"{part.id} {joined if port in sources.values() else f'is fed at {port.plus} from {each.source}'}"
    return Bad(
        subject=part.id,
        message=f"{message}, but {where}" + (f" (so too {listed(ids[1:])})" if len(ids) > 1 else ""),
        at=at_name(part, "no way back"),
        related=(port.plus, port.minus, each.source, *ids[1:]),
        reason=f"{part.id} is dead, or its current returns through something not meant for it",
        remedy=f"lead {_bar(study, lines, each) or port.minus} back to {home}, in a conductor "
        + ("that bears what all of them draw" if ids[1:] else "of the same size")
        + (f"; or join {other} and {home}, if they belong together" if other else ""),
        values={"positive": port.plus, "negative": port.minus, "source": each.source},
        through=part.through,
    )


def _bar(study: Study, lines: Rails, each: Lost) -> str:
    """The bar or block on which the negatives of several devices lie together, `` where there is none."""
    job = study.job
    if len(each.ports) < 2:
        return ""
    for t in lines.members[lines.net[each.ports[0].minus]]:
        part = job.part_of(t)
        if part is not None and part.kind in ("busbar", "splice", "fuse-block"):
            return t if part.kind == "fuse-block" else part.id
    return ""


def _leads(study: Study, lines: Rails, port: Port) -> tuple[str, str]:
    """Where a negative leads, in words, and the negative of the source that it leads to (`` where it is none)."""
    job = study.job
    if not job.terminals[port.minus].used:
        return f"{port.minus} is connected to nothing", ""
    reached = gets_to(job, lines, port.minus)
    others = [p for p in giving(job) if p.part != port.part and lines.net[p.minus] in reached]
    if not others:
        return f"{port.minus} does not lead back to a source", ""
    batteries = [p for p in others if job.parts[p.part].kind == "battery"]
    other = (batteries or others)[0]
    return f"{port.minus} leads to {other.minus} only", other.minus
