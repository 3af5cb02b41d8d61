"""What several rules ask about the wiring: which sources are on a net, where a conductor leads, what closes a loop."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from heapq import heappop, heappush
from typing import NamedTuple

from wiregen.catalogue import catalogue
from wiregen.circuit.company import SIGNALS
from wiregen.circuit.network import Network, once
from wiregen.circuit.polarity import gives, nets, sign
from wiregen.circuit.study import Study
from wiregen.circuit.unprotected import passes
from wiregen.model.job import Conductor, Contact, Job, Part

CARRIES_ON = frozenset(
    {
        "fuse",
        "breaker",
        "switch",
        "isolator",
        "shunt",
        "diode",
        "relay",
        "splice",
        "busbar",
        "connector",
        "plug",
        "socket",
    }
    | {"voltage-relay", "low-voltage-disconnect", "fuse-block"}
)
"""Kinds that only lead on: what gets no farther than one of these ends nowhere."""

DRIVEN = frozenset({"relay", "voltage-relay", "low-voltage-disconnect"})


class Rails(NamedTuple):
    """Nets with everything that conducts closed: terminal -> net, net -> its terminals in the order of the file, net
    and sign -> the parts that give it that sign."""

    net: Mapping[str, str]
    members: Mapping[str, tuple[str, ...]]
    given: Mapping[tuple[str, str], tuple[str, ...]]

    def sources(self, terminal: str, its: str) -> tuple[str, ...]:
        """Parts that give a terminal's net its positive (`+`) or negative (`-`)."""
        return self.given.get((self.net[terminal], its), ())

    def batteries(self, job: Job, terminal: str, its: str) -> tuple[str, ...]:
        """Batteries whose post of that sign is on a terminal's net."""
        return tuple(part for part in self.sources(terminal, its) if job.parts[part].kind == "battery")


def rails(study: Study) -> Rails:
    """The nets of a study."""
    return rails_of(study.job, study.network)


@once
def rails_of(job: Job, network: Network) -> Rails:
    """The nets of a job."""
    net = nets(job, network)
    members: dict[str, list[str]] = {}
    given: dict[tuple[str, str], dict[str, None]] = {}
    for terminal, name in net.items():
        members.setdefault(name, []).append(terminal)
        its = sign(job, terminal)
        if its and gives(job, terminal):
            given.setdefault((name, its), {})[job.terminals[terminal].part] = None
    return Rails(
        net, {name: tuple(all_) for name, all_ in members.items()}, {key: tuple(parts) for key, parts in given.items()}
    )


def in_use(study: Study) -> Rails:
    """As `rails`, without the switches that are built open and that no case closes: a link for an emergency."""
    job = study.job
    closed = {t for case in job.cases.values() for s in case.settings if s.verb in ("on", "closed") for t in s.targets}
    idle = {
        id(edge)
        for edge in study.network.edges
        if isinstance(edge.item, Contact)
        and edge.item.kind == "switch"
        and not edge.item.closed
        and edge.subject not in closed
    }
    if not idle:
        return rails(study)
    left = {t: tuple(e for e in at if id(e) not in idle) for t, at in study.network.at.items()}
    return rails_of(job, Network(tuple(edge for edge in study.network.edges if id(edge) not in idle), left))


def signal_lead(study: Study, conductor: Conductor) -> bool:
    """Whether only sensing and control lies behind one of its ends.

    That is sense, trigger and indicator terminals of chargers, coils, sensors, and lamps on an indicator output.
    """
    job = study.job
    lines = nets(job, study.network)
    shown = _indicated(job, study.network)
    for end in (conductor.from_, conductor.to):
        reached = _devices(study, conductor, end)
        if reached and all(_controls(job, t, lines, shown) for t in reached):
            return True
    return False


@once
def _indicated(job: Job, network: Network) -> frozenset[str]:
    """The nets of indicator outputs."""
    lines = nets(job, network)
    return frozenset(lines[t] for t, at in job.terminals.items() if at.name == "indicator" and t in lines)


def _controls(job: Job, terminal: str, lines: Mapping[str, str], shown: Collection[str]) -> bool:
    part, name = job.part_of(terminal), job.terminals[terminal].name
    if part is None:
        return False
    if part.kind == "lamp":
        return any(lines.get(t) in shown for t in part.terminals)
    return name in SIGNALS or part.kind in DRIVEN or part.kind == "sensor"


def _devices(study: Study, conductor: Conductor, terminal: str) -> set[str]:
    """Terminals of devices, coils, sources and earths that one end of a conductor leads to, through what conducts."""
    seen = {terminal}
    queue = [terminal]
    found = set()
    while queue:
        here = queue.pop()
        part = study.job.part_of(here)
        contacts = [c for c in part.contacts if here in (c.a, c.b)] if part is not None else []
        if part is None or part.kind not in CARRIES_ON or (part.kind in DRIVEN and not contacts):
            found.add(here)
        for edge, there in study.network.around(here):
            if edge.item is not conductor and there not in seen and passes(edge):
                seen.add(there)
                queue.append(there)
    return found


def ports(part: Part) -> tuple[tuple[str, str], ...]:
    """Pairs of a positive and a negative terminal of one port; a charger's negative stud serves all of its ports."""
    pairs = []
    for terminal in part.terminals:
        if terminal.endswith("+"):
            minus = terminal[:-1] + "-"
            shared = f"{part.id}.-"
            found = minus if minus in part.terminals else shared if shared in part.terminals else None
            if found:
                pairs.append((terminal, found))
    return tuple(pairs)


class _Step(NamedTuple):
    """On the way to a goal: the terminal that comes next, and the conductor to it where it is one."""

    to: str
    conductor: Conductor | None


class _Ways:
    """The shortest ways to goals, through contacts and bodies: found once for each set of goals, outwards."""

    def __init__(self, job: Job, network: Network) -> None:
        self.network = network
        self.bodies = {earth: body.earths for body in job.bodies.values() for earth in body.earths}
        self.steps: dict[frozenset[str], Mapping[str, _Step | None]] = {}

    def to(self, goals: frozenset[str]) -> Mapping[str, _Step | None]:
        """Terminal -> the step from it towards the nearest goal, None at a goal; what has no way is not among them."""
        found = self.steps.get(goals)
        if found is None:
            found = self.steps[goals] = self._found(goals)
        return found

    def _found(self, goals: frozenset[str]) -> Mapping[str, _Step | None]:
        found: dict[str, _Step | None] = {}
        queue: list[tuple[float, int, str, _Step | None]] = [
            (0.0, k, goal, None) for k, goal in enumerate(sorted(goals))
        ]
        turn = len(queue)
        while queue:
            length, _, here, step = heappop(queue)
            if here in found:
                continue
            found[here] = step
            for earth in self.bodies.get(here, ()):
                if earth not in found:
                    turn += 1
                    heappush(queue, (length, turn, earth, _Step(here, None)))
            for edge, there in self.network.around(here):
                if there in found or not passes(edge):
                    continue
                turn += 1
                conductor = edge.item if isinstance(edge.item, Conductor) else None
                longer = length + (conductor.number("length") or 0.0) if conductor else length
                heappush(queue, (longer, turn, there, _Step(here, conductor)))
        return found


@once
def _ways(job: Job, network: Network) -> _Ways:
    return _Ways(job, network)


def way_back(study: Study, start: str, goals: Collection[str]) -> tuple[Conductor, ...] | None:
    """Conductors on the shortest way from a terminal to one of the goals, through contacts and bodies; None: no way."""
    steps = _ways(study.job, study.network).to(frozenset(goals))
    if start not in steps:
        return None
    path = []
    step = steps[start]
    while step is not None:
        if step.conductor is not None:
            path.append(step.conductor)
        step = steps[step.to]
    return tuple(path)


def lithium(battery: Part) -> bool:
    """Whether a battery says a lithium chemistry: it has a protection circuit, and its charge voltage no slope."""
    row = catalogue().row("chemistry", battery.word("chemistry"))
    return row is not None and not row["compensation_v_per_k"]
