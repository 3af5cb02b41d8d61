"""The drop from a source to each port that it feeds, both legs, every part on the way."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from heapq import heappop, heappush
from typing import NamedTuple

from wiregen.circuit.assemble import Branch, Circuit, charger_minus
from wiregen.circuit.cases import CHARGERS, LOADS
from wiregen.circuit.devices import Accumulator
from wiregen.circuit.figures import Figures
from wiregen.circuit.solve import Solution
from wiregen.circuit.study import Supply
from wiregen.model.job import Job, Limit, Part

POINT = 1e-7  # what a joint counts for in looking for the path of least resistance [ohm]


Graph = Mapping[str, list[tuple[str, float, str]]]  # terminal -> (other, ohm, subject)
Step = tuple[str, str, str]  # subject, from terminal, to terminal


class Way(NamedTuple):
    """Where power goes in: from a source's posts to a port. For a charger's output the port is the battery."""

    source: str
    source_plus: str
    source_minus: str
    port: str
    plus: str
    minus: str
    part: Part
    there: tuple[Step, ...]


def supplies_of(job: Job, figures: Figures, circuit: Circuit, solution: Solution) -> tuple[Supply, ...]:
    """The supplies of one case: every load, charger input and charger output with a current, and what else a limit
    of the job names."""
    ways = _Ways(_graph(job, circuit, solution))
    posts = _posts(circuit)
    found: list[Supply] = []
    judged: set[int] = set()
    for way in _supplied(job, circuit, solution, ways, posts):
        i = _limit_for(job, way)
        limit = None
        if i is not None:
            judged.add(i)
            limit = job.limits[i]
            if limit.from_ and not way.source.endswith(".out"):
                way = _from(ways, way, limit.from_, posts) or way
        back = ways.path(way.minus, way.source_minus)
        drop = _sum(solution, (way.source_plus, way.plus), (way.minus, way.source_minus)) if back is not None else None
        ratio, basis = _ratio(figures, limit, way.part)
        found.append(
            _supply(
                circuit,
                solution,
                way.source,
                way.port,
                drop,
                _base(figures, limit, way),
                ratio,
                basis,
                (*way.there, *(back or ())),
            )
        )
    for i, limit in enumerate(job.limits):
        if i in judged or limit.from_ is None:
            continue
        for to in limit.to:
            path = ways.path(limit.from_, to)
            if path and to in solution.voltages and limit.from_ in solution.voltages:
                drop = _sum(solution, (limit.from_, to))
                drop = None if drop is None else abs(drop)
                of_v = limit.of_v or figures.system
                basis = "the job's own limit, on this leg alone"
                high, low = solution.voltages[limit.from_], solution.voltages[to]
                leg = _turned(path) if low is not None and high is not None and low > high else tuple(path)
                found.append(_supply(circuit, solution, limit.from_, to, drop, of_v, limit.ratio, basis, leg))
    return tuple(found)


def _supply(
    circuit: Circuit,
    solution: Solution,
    source: str,
    port: str,
    drop: float | None,
    of_v: float,
    ratio: float,
    basis: str,
    path: tuple[Step, ...],
) -> Supply:
    losses: dict[str, float] = {}
    for subject, a, b in path:
        lost = _sum(solution, (a, b))
        losses[subject] = losses.get(subject, 0.0) + (lost or 0.0)
    return Supply(
        case=circuit.state.name,
        from_=source,
        to=port,
        drop_v=drop,
        drop_ratio=None if drop is None else drop / of_v,
        of_v=of_v,
        limit_ratio=ratio,
        path=tuple(id for id in losses if not id.startswith("joint at ")),
        basis=basis,
        losses=losses,
    )


def _sum(solution: Solution, *legs: tuple[str, str]) -> float | None:
    """Voltages lost along the legs, added up. [V]"""
    total = 0.0
    for start, end in legs:
        high, low = solution.voltages.get(start), solution.voltages.get(end)
        if high is None or low is None:
            return None
        total += high - low
    return total


def _supplied(
    job: Job, circuit: Circuit, solution: Solution, ways: _Ways, posts: Mapping[str, tuple[str, str]]
) -> Iterable[Way]:
    goals = {plus: source for source, (plus, _) in posts.items()}
    currents = _currents(circuit, solution)
    for part in job.parts.values():
        if part.kind in CHARGERS:
            plus, minus = f"{part.id}.in.+", charger_minus(job, part, "in")
            port = f"{part.id}.in"
        elif part.kind in LOADS or part.kind == "starter":
            plus, minus, port = f"{part.id}.+", f"{part.id}.-", part.id
        else:
            continue
        if plus in job.terminals and abs(currents.get((part.id, "in"), 0.0)) > 1e-9:
            nearest = ways.search(plus, goals)
            if nearest:
                source = goals[nearest[0]]
                yield Way(source, *posts[source], port, plus, minus, part, _turned(nearest[1]))
        if part.kind in CHARGERS and abs(currents.get((part.id, "out"), 0.0)) > 1e-9:
            plus, minus = f"{part.id}.out.+", charger_minus(job, part, "out")
            nearest = ways.search(plus, goals)
            if nearest:
                source = goals[nearest[0]]
                battery = job.parts[source]
                yield Way(f"{part.id}.out", plus, minus, source, *posts[source], battery, tuple(nearest[1]))


def _limit_for(job: Job, way: Way) -> int | None:
    """Which limit holds for a way: one that names its port wins over one for a group, that over the default."""
    names = {way.port, way.part.id, way.plus}
    sources = {way.source, way.source_plus, way.source.removesuffix(".out")}
    best: tuple[int, int] | None = None
    for i, limit in enumerate(job.limits):
        rank = -1
        if limit.from_ is None and not limit.to:
            rank = 0
        elif names & set(limit.to):
            output = way.source.endswith(".out")
            if limit.from_ in sources or not (output or limit.from_ in names):
                rank = 2 if limit.named else 1
        elif limit.from_ in names and sources & set(limit.to):  # written from the battery to the charger
            rank = 2
        if rank >= 0 and (best is None or rank >= best[0]):
            best = rank, i
    return best[1] if best else None


def _ratio(figures: Figures, limit: Limit | None, part: Part) -> tuple[float, str]:
    """The allowed drop and where it is from. What feeds much else (a charger, a battery) is a main conductor."""
    if limit:
        return limit.ratio, "the job's own limit"
    column = "drop_main" if part.kind in CHARGERS or part.kind == "battery" else "drop_other"
    return float(figures.limits[column]), figures.book.basis(figures.limits, "drop_source")


def _base(figures: Figures, limit: Limit | None, way: Way) -> float:
    """The voltage that per cent are of: what the limit names, else the nominal voltage on that side."""
    if limit and limit.of_v:
        return limit.of_v
    side = way.port[len(way.part.id) + 1 :]
    return figures.nominal(way.part, f"{side}.+", f"{side}.-") if side else figures.nominal(way.part)


def _posts(circuit: Circuit) -> dict[str, tuple[str, str]]:
    """Sources at work in the case by part id, with their positive and negative terminals. Batteries come first."""
    found: dict[str, tuple[str, str]] = {}
    for branch in (*circuit.branches, *circuit.ideal):
        if branch.key[0] == "part" and branch.volts:
            found[branch.key[1]] = (branch.a, branch.b)
    for device in circuit.devices:
        if isinstance(device, Accumulator):
            found[device.part] = (device.ports[0].plus, device.ports[0].minus)
    return found


def _currents(circuit: Circuit, solution: Solution) -> dict[tuple[str, str], float]:
    """What flows through each port of each part in the case. [A]"""
    found = {(key[1], "in"): amps for key, amps in solution.currents.items() if key[0] == "part" and len(key) == 2}
    for device, flow in zip(circuit.devices, solution.ports, strict=True):
        if not device.ports[0].plus.endswith(".trigger"):
            for amps, port in zip(flow, device.ports, strict=True):
                found[device.part, port.name] = found.get((device.part, port.name), 0.0) + amps
    return found


def _graph(job: Job, circuit: Circuit, solution: Solution) -> Graph:
    graph: dict[str, list[tuple[str, float, str]]] = {}
    for branch in (*circuit.branches, *circuit.ideal):
        subject = _subject(job, branch)
        if subject is None or branch.volts:
            continue
        ohm = max(branch.ohm, POINT)
        graph.setdefault(branch.a, []).append((branch.b, ohm, subject))
        graph.setdefault(branch.b, []).append((branch.a, ohm, subject))
    for device, flow in zip(circuit.devices, solution.ports, strict=True):
        a, b = device.ports[0].plus, device.ports[0].minus
        if flow[0] > 1e-9 and any(c.kind == "diode" and (c.a, c.b) == (a, b) for c in job.parts[device.part].contacts):
            ohm = max((_sum(solution, (a, b)) or 0.0) / flow[0], POINT)
            graph.setdefault(a, []).append((b, ohm, device.part))
            graph.setdefault(b, []).append((a, ohm, device.part))
    return graph


def _subject(job: Job, branch: Branch) -> str | None:
    """What a branch belongs to: `` for plain metal, `joint at X1.+` where one is planted, the half named first for a
    mated pole, None for no way on."""
    key = branch.key
    if key[0] in ("conductor", "contact", "body"):
        return key[1]
    if key[0] == "joint":
        return f"joint at {key[1]}"
    if key[0] != "link":
        return None
    return job.terminals[key[1]].part if branch.ohm and key[1] in job.terminals else ""


class _Ways:
    """The ways of least resistance to goals: found once for each set of goals, from there outwards."""

    def __init__(self, graph: Graph) -> None:
        self.graph = graph
        self.known: dict[tuple[str, ...], dict[str, tuple[str, str]]] = {}

    def search(self, start: str, goals: Iterable[str]) -> tuple[str, list[Step]] | None:
        """The nearest goal by resistance and the steps on the way from `start` to it, plain joints left out."""
        key = tuple(goals)
        found = self.known.get(key)
        if found is None:
            found = self.known[key] = self._found(key)
        if start not in found:
            return None
        path: list[Step] = []
        here = start
        while True:
            there, subject = found[here]
            if there == here:
                return here, path
            if subject:
                path.append((subject, here, there))
            here = there

    def _found(self, goals: tuple[str, ...]) -> dict[str, tuple[str, str]]:
        """Terminal -> the next one on its way and what lies between; a goal is its own next one."""
        best: dict[str, tuple[float, str]] = {goal: (0.0, goal) for goal in goals}
        onward: dict[str, tuple[str, str]] = {goal: (goal, "") for goal in goals}
        heap: list[tuple[float, str, str]] = [(0.0, goal, goal) for goal in sorted(goals)]
        done: set[str] = set()
        while heap:
            ohm, goal, at = heappop(heap)
            if at in done:
                continue
            done.add(at)
            for other, more, subject in self.graph.get(at, ()):
                total = ohm + more, goal
                if other not in best or total < best[other]:
                    best[other] = total
                    onward[other] = (at, subject)
                    heappush(heap, (*total, other))
        return onward

    def path(self, start: str, goal: str) -> list[Step] | None:
        """The steps from a terminal to another."""
        found = self.search(start, (goal,))
        return found[1] if found else None


def _from(ways: _Ways, way: Way, from_: str, posts: Mapping[str, tuple[str, str]]) -> Way | None:
    """The same way from the source that a limit names, where there is a path."""
    source = from_ if from_ in posts else next((s for s, ends in posts.items() if from_ in ends), None)
    if source is None or source == way.source:
        return None
    found = ways.search(way.plus, (posts[source][0],))
    if found is None:
        return None
    return way._replace(
        source=source, source_plus=posts[source][0], source_minus=posts[source][1], there=_turned(found[1])
    )


def _turned(path: list[Step]) -> tuple[Step, ...]:
    """The same way from its other end."""
    return tuple((subject, b, a) for subject, a, b in reversed(path))
