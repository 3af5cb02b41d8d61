"""The drop from a source to each port that it feeds, both legs, every part on the way."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from heapq import heappop, heappush

from wiregen.circuit.assemble import Circuit, Key, charger_minus
from wiregen.circuit.cases import CHARGERS, LOADS
from wiregen.circuit.devices import Accumulator
from wiregen.circuit.figures import Figures
from wiregen.circuit.solve import Solution
from wiregen.circuit.study import Supply
from wiregen.model.job import Job, Limit, Part

POINT = 1e-7  # what a joint counts for in looking for the path of least resistance [ohm]


def supplies_of(job: Job, figures: Figures, circuit: Circuit, solution: Solution) -> tuple[Supply, ...]:
    """The supplies of one case: every port that a limit names, and every load and charger input that draws."""
    graph = _graph(circuit)
    posts = _posts(circuit, job)
    found: list[Supply] = []
    for port, plus, minus, part in ports(job):
        limit = limit_for(job, port, part)
        drawing = _current(circuit, solution, part, port)
        if abs(drawing) < 1e-9:
            continue
        out = _nearest(graph, plus, {p: s for s, (p, _) in posts.items()})
        if out is None:
            continue
        source, there = out
        if limit and limit.from_:
            source, there = _from(graph, plus, limit.from_, posts) or out
        source_plus, source_minus = posts[source]
        back = _path(graph, minus, source_minus)
        drop = None
        volts = [solution.voltages.get(t) for t in (source_plus, plus, minus, source_minus)]
        if back is not None and None not in volts:
            high, plus_v, minus_v, low = (v or 0.0 for v in volts)
            drop = (high - plus_v) + (minus_v - low)
        of_v = _base(job, figures, limit, part, port)
        ratio, basis = _limit(figures, limit, part)
        path = (*reversed(there), *(back or ()))
        found.append(
            Supply(
                case=circuit.state.name,
                from_=source,
                to=port,
                drop_v=drop,
                drop_ratio=None if drop is None else drop / of_v,
                of_v=of_v,
                limit_ratio=ratio,
                path=tuple(dict.fromkeys(path)),
                basis=basis,
            )
        )
    return tuple(found)


def ports(job: Job) -> Iterable[tuple[str, str, str, Part]]:
    """Every port that takes power: its id, its positive and negative terminal, its part."""
    for part in job.parts.values():
        if part.kind in LOADS or part.kind == "starter":
            yield part.id, f"{part.id}.+", f"{part.id}.-", part
        elif part.kind in CHARGERS and f"{part.id}.in.+" in job.terminals:
            yield f"{part.id}.in", f"{part.id}.in.+", charger_minus(job, part, "in"), part


def limit_for(job: Job, port: str, part: Part) -> Limit | None:
    """The limit that holds for a port: one that names it wins over one for a group, that over the default."""
    named = [limit for limit in job.limits if limit.named and (port in limit.to or part.id in limit.to)]
    grouped = [limit for limit in job.limits if not limit.named and _covers(job, limit, port, part)]
    default = [limit for limit in job.limits if limit.from_ is None and not limit.to]
    for limits in (named, grouped, default):
        if limits:
            return limits[-1]
    return None


def _covers(job: Job, limit: Limit, port: str, part: Part) -> bool:
    for target in limit.to:
        if target in (port, part.id):
            return True
        if part.id in job.groups.get(target, ()):
            return True
        if (target == "loads" and part.kind in LOADS) or (target == "chargers" and part.kind in CHARGERS):
            return True
    return False


def _limit(figures: Figures, limit: Limit | None, part: Part) -> tuple[float, str]:
    if limit:
        return limit.ratio, "the job's own limit"
    own = figures.own("limit")
    if own is not None:
        return own, "the job's own figures"
    column = "drop_main" if part.kind in CHARGERS else "drop_other"
    return float(figures.limits[column]), figures.book.basis(figures.limits, "drop_source")


def _base(job: Job, figures: Figures, limit: Limit | None, part: Part, port: str) -> float:
    """The voltage that per cent are of: what the limit names, else the nominal voltage on that side."""
    if limit and limit.of_v:
        return limit.of_v
    side = port[len(part.id) + 1 :]
    return figures.nominal(part, f"{side}.+", f"{side}.-") if side else figures.nominal(part)


def _posts(circuit: Circuit, job: Job) -> dict[str, tuple[str, str]]:
    """Sources at work in the case by part id, with their positive and negative terminals. Batteries come first."""
    found: dict[str, tuple[str, str]] = {}
    for branch in (*circuit.branches, *circuit.ideal):
        if branch.key[0] == "part" and branch.volts:
            found[branch.key[1]] = (branch.a, branch.b)
    for device in circuit.devices:
        if isinstance(device, Accumulator):
            found[device.part] = (device.ports[0].plus, device.ports[0].minus)
    return found


def _current(circuit: Circuit, solution: Solution, part: Part, port: str) -> float:
    """What a port draws in the case. [A]"""
    total = solution.currents.get(("part", part.id), 0.0)
    for device, flow in zip(circuit.devices, solution.ports, strict=True):
        if device.part == part.id:
            total += sum(f for f, p in zip(flow, device.ports, strict=True) if p.name == "in" and p.plus != p.minus)
    return total


Graph = Mapping[str, list[tuple[str, float, str]]]  # terminal -> (other, ohm, subject)


def _graph(circuit: Circuit) -> Graph:
    graph: dict[str, list[tuple[str, float, str]]] = {}
    for branch in (*circuit.branches, *circuit.ideal):
        subject = _subject(branch.key)
        if subject is None or branch.volts:
            continue
        ohm = max(branch.ohm, POINT)
        graph.setdefault(branch.a, []).append((branch.b, ohm, subject))
        graph.setdefault(branch.b, []).append((branch.a, ohm, subject))
    return graph


def _subject(key: Key) -> str | None:
    if key[0] in ("conductor", "contact", "body"):
        return key[1]
    return "" if key[0] == "link" else None


def _search(graph: Graph, start: str, goals: Mapping[str, str]) -> tuple[str, list[str]] | None:
    """The nearest goal by resistance and the subjects on the way from `start` to it."""
    best: dict[str, float] = {start: 0.0}
    came: dict[str, tuple[str, str]] = {}
    heap: list[tuple[float, str]] = [(0.0, start)]
    done: set[str] = set()
    while heap:
        ohm, at = heappop(heap)
        if at in done:
            continue
        done.add(at)
        if at in goals:
            path = []
            where = at
            while where != start:
                where, subject = came[where]
                if subject:
                    path.append(subject)
            return at, path[::-1]
        for other, more, subject in graph.get(at, ()):
            total = ohm + more
            if total < best.get(other, 1e99):
                best[other] = total
                came[other] = (at, subject)
                heappush(heap, (total, other))
    return None


def _nearest(graph: Graph, start: str, goals: Mapping[str, str]) -> tuple[str, list[str]] | None:
    found = _search(graph, start, goals)
    return (goals[found[0]], found[1]) if found else None


def _from(
    graph: Graph, plus: str, from_: str, posts: Mapping[str, tuple[str, str]]
) -> tuple[str, list[str]] | None:
    source = from_ if from_ in posts else next((s for s, (p, m) in posts.items() if from_ in (p, m)), None)
    if source is None:
        return None
    return _nearest(graph, plus, {posts[source][0]: source})


def _path(graph: Graph, start: str, goal: str) -> list[str] | None:
    found = _search(graph, start, {goal: goal})
    return found[1] if found else None
