"""Whether a body that carries return current is joined to the negatives whose current it carries."""

from __future__ import annotations

from typing import NamedTuple

from wiregen.circuit.polarity import SINKS, gives, sign
from wiregen.circuit.questions import Rails, ports
from wiregen.circuit.study import Study
from wiregen.circuit.ways_back import homes
from wiregen.model.job import Body, Job, Part


class Returning(NamedTuple):
    """A port whose negative is on a body."""

    part: str
    plus: str
    minus: str


def carrying(study: Study) -> tuple[Body, ...]:
    """The bodies that may carry return current: something of the job lands on them, or they say so and have earths."""
    wired = study.network.at
    return tuple(
        body
        for body in study.job.bodies.values()
        if (body.word("state") == "bonded" and body.earths)
        or (body.word("state") != "isolated" and any(earth in wired and _lands(study, earth) for earth in body.earths))
    )


def _lands(study: Study, earth: str) -> bool:
    """Whether a conductor or a part is on an earth."""
    part = study.job.part_of(earth)
    return bool(study.network.at[earth]) or (part is not None and part.kind != "earth")


def on_nothing(study: Study, lines: Rails, body: Body) -> bool:
    """Whether no source's post is on a body, of either sign."""
    on = {lines.net[earth] for earth in body.earths if earth in lines.net}
    return not any(sign(study.job, t) and gives(study.job, t) for net in on for t in lines.members[net])


def returning(study: Study, lines: Rails, body: Body) -> tuple[Returning, ...]:
    """Every port of what a source feeds whose negative is on a body, in the order of the file.

    Indicator lamps and voltage relays included."""
    on = {lines.net[earth] for earth in body.earths if earth in lines.net}
    return tuple(
        Returning(part.id, plus, minus)
        for part in study.job.parts.values()
        if part.kind in SINKS
        for plus, minus in _ports(part)
        if lines.net.get(minus) in on and not gives(study.job, plus)
    )


def _ports(part: Part) -> tuple[tuple[str, str], ...]:
    if part.kind in ("voltage-relay", "low-voltage-disconnect"):
        return ((f"{part.id}.in", f"{part.id}.-"),)
    return ports(part)


def from_indicator(job: Job, lines: Rails, plus: str) -> bool:
    """Whether a lamp's positive is on a charger's indicator output."""
    return any(job.terminals[t].name == "indicator" for t in lines.members[lines.net[plus]])


def only_indicators(study: Study, lines: Rails, body: Body) -> bool:
    """Whether indicator lamps are all that returns through a body: one at least."""
    found = returning(study, lines, body)
    return bool(found) and all(from_indicator(study.job, lines, port.plus) for port in found)


def batteries_behind(job: Job, lines: Rails, plus: str) -> tuple[str, ...]:
    """The batteries that feed a port, that of an existing vehicle circuit included."""
    sources = [job.parts[id] for id in lines.sources(plus, "+")]
    named = dict.fromkeys((part.word("from") if part.kind == "feed" else part.id).lower() for part in sources)
    batteries = [part.id for part in job.parts.values() if part.kind == "battery"]
    return tuple(b for name in named for b in batteries if b.lower() == name)


def stranded(study: Study, lines: Rails, body: Body) -> dict[str, list[str]]:
    """Battery -> the devices that it feeds and that return through a body which does not lead back to it."""
    job = study.job
    home = homes(job, study.network)
    found: dict[str, list[str]] = {}
    behind: dict[str, tuple[str, ...]] = {}  # by the net of the positive
    for port in returning(study, lines, body):
        net = lines.net[port.plus]
        if net not in behind:
            behind[net] = batteries_behind(job, lines, port.plus)
        for battery in behind[net]:
            if battery != port.part and lines.net[port.minus] not in home.get(battery, ()):
                found.setdefault(battery, []).append(port.part)
    return found
