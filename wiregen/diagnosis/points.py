"""Where a meter can be put: readings that a person can take, and how hard each is to get at.

How hard is a factor, 1 for what lies open: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Literal, NamedTuple

from wiregen.circuit.assemble import main_battery
from wiregen.circuit.questions import ports
from wiregen.model.job import Job, Part

REACH: Mapping[str, float] = {  # kind of part -> how hard its terminals are to reach
    "connector": 1.0, "plug": 1.0, "socket": 1.0, "battery": 1.0, "fuse": 1.0, "breaker": 1.0, "fuse-block": 1.0,
    "busbar": 1.0, "shunt": 1.1, "switch": 1.3, "isolator": 1.1, "charger": 1.1, "solar-controller": 1.1,
    "mains-charger": 1.2, "relay": 1.3, "voltage-relay": 1.3, "low-voltage-disconnect": 1.2, "inverter": 1.3,
    "earth": 1.2, "feed": 1.6, "load": 1.8, "lamp": 1.8, "sensor": 2.0, "alternator": 1.8, "starter": 2.0,
    "diode": 1.5, "panel": 2.5, "splice": 30.0,
}  # fmt: skip
LONG_LEAD = 1.25  # a lead from part to part
CLAMP = 1.15  # a clamp around one conductor, which has to lie free
WORDS: Mapping[str, str] = {
    "connector": "face of the connector", "plug": "face of the plug", "socket": "face of the socket",
    "battery": "post", "fuse": "end of the fuse", "breaker": "terminal of the breaker", "fuse-block": "terminal of the"
    " fuse block", "busbar": "stud of the bar", "earth": "bare metal at the earth point", "splice": "splice, which has"
    " to be opened",
}  # fmt: skip


class Probe(NamedTuple):
    """One reading that can be taken: a voltage from `red` to `black`, or the current in `red`, a conductor or a
    two-sided part. `reach` is how hard it is, 1 the least."""

    kind: Literal["V", "A"]
    red: str
    black: str
    reach: float

    @property
    def words(self) -> str:
        """The reading as `--reading` takes it, without its figure."""
        return f"{self.red} to {self.black}" if self.kind == "V" else self.red


def probes(job: Job) -> tuple[Probe, ...]:
    """All readings that are worth proposing, each once, the easiest kinds first, in the order of the file."""
    found: dict[tuple[str, frozenset[str]], Probe] = {}
    for probe in _probes(job):
        key = probe.kind, frozenset((probe.red, probe.black))
        known = found.get(key)
        if known is None or probe.reach < known.reach:
            found[key] = probe if known is None else known._replace(reach=probe.reach)
    return tuple(found.values())


def _probes(job: Job) -> Iterator[Probe]:
    for part in job.parts.values():
        for plus, minus in _faces(part):
            if _used(job, plus) or _used(job, minus):
                yield Probe("V", plus, minus, reach_of(job, plus))
    for part in job.parts.values():
        for contact in part.contacts:
            if contact.kind != "solid":
                yield Probe("V", contact.a, contact.b, reach_of(job, contact.a))
    main = main_battery(job)
    near = _nearest(job)
    for terminal, at in job.terminals.items():
        for ground in dict.fromkeys([f"{main.id}.-", near.get(terminal, "")] if main else []):
            if ground not in ("", terminal) and at.part in job.parts and _used(job, terminal):
                hard = max(reach_of(job, terminal), 1.0) * LONG_LEAD
                yield Probe("V", terminal, ground, hard)
    for link in job.links:
        if link.why in ("joined", "mounted", "mated"):
            yield Probe("V", link.a, link.b, max(reach_of(job, link.a), reach_of(job, link.b)))
    for conductor in job.conductors.values():
        ends = conductor.from_, conductor.to
        if any(end.startswith(("loose:", "capped:")) for end in ends):
            continue
        hard = max(reach_of(job, end) for end in ends)
        yield Probe("V", *ends, hard * LONG_LEAD)
        yield Probe("A", conductor.id, "", CLAMP * min(reach_of(job, end) for end in ends))
    for body in job.bodies.values():
        for one, other in zip(body.earths, body.earths[1:], strict=False):
            yield Probe("V", one, other, max(reach_of(job, one), reach_of(job, other)) * LONG_LEAD)


def _nearest(job: Job) -> Mapping[str, str]:
    """The negative post of the battery that is nearest to each terminal, by the conductors and parts between."""
    around: dict[str, list[str]] = {}
    pairs = [(conductor.from_, conductor.to) for conductor in job.conductors.values()]
    pairs += [(link.a, link.b) for link in job.links]
    pairs += [(part.terminals[0], other) for part in job.parts.values() for other in part.terminals[1:]]
    for one, other in pairs:
        around.setdefault(one, []).append(other)
        around.setdefault(other, []).append(one)
    posts = [f"{part.id}.-" for part in job.parts.values() if part.kind == "battery"]
    found = {post: post for post in posts if post in job.terminals}
    todo = list(found)
    for at in todo:
        for other in around.get(at, ()):
            if other not in found:
                found[other] = found[at]
                todo.append(other)
    return found


def _faces(part: Part) -> Iterator[tuple[str, str]]:
    """Pairs of a plus and a minus side by side on a part; the two poles of each face of a connector."""
    if part.kind in ("connector", "plug", "socket"):
        for face in ("a", "b") if part.kind == "connector" else ("",):
            stem = f"{part.id}.{face}" if face else part.id
            if f"{stem}.+" in part.terminals and f"{stem}.-" in part.terminals:
                yield f"{stem}.+", f"{stem}.-"
        return
    yield from ports(part)


def _used(job: Job, terminal: str) -> bool:
    return job.terminals[terminal].used or any(
        terminal in (contact.a, contact.b) for part in [job.part_of(terminal)] if part for contact in part.contacts
    )


def reach_of(job: Job, terminal: str) -> float:
    """How hard a terminal is to reach."""
    part = job.part_of(terminal)
    return REACH.get(part.kind, 1.5) if part else 1.5


def spoken(job: Job, terminal: str) -> str:
    """What a terminal is, in the trade's words."""
    part = job.part_of(terminal)
    return WORDS.get(part.kind, f"terminal of {part.id}") if part else "end in the air"
