"""The least copper that keeps every drop within its limit: a choice among sizes, on plain numbers.

Each conductor has options, each with a mass and a resistance; each limit adds up current times resistance over its
conductors. Conductors of one limit alone are chosen together from the frontier of their combinations (no combination
has both less mass and less drop); what several limits share is tried point by point, with the rest chosen to fit.
Exact, unless shared conductors leave more than `MOST` combinations: then their frontiers are thinned, and `exact` is
false. Method: multiple-choice knapsack by dominance (textbooks of combinatorial optimisation).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from typing import NamedTuple

MOST = 200_000  # combinations of shared conductors that are tried
SLACK = 1e-9  # of a limit, for the rounding of sums


class Option(NamedTuple):
    """One size of a conductor. [kg, ohm]"""

    mass: float
    ohm: float


class Limit(NamedTuple):
    """Sum of amps[conductor] * ohm over its conductors is at most `volts`."""

    amps: Mapping[str, float]
    volts: float


class Choice(NamedTuple):
    """Index of the option for each conductor. `met` tells for each limit whether it can be kept at all."""

    picked: dict[str, int]
    met: tuple[bool, ...]
    exact: bool


class _Point(NamedTuple):
    """One combination of a group: its drop per unit of the group's scale, mass, indices."""

    drop: float
    mass: float
    picked: tuple[int, ...]


class _Group(NamedTuple):
    """Conductors that appear together: in the same limits, with currents in one proportion."""

    members: tuple[str, ...]
    scale: Mapping[int, float]  # limit -> what the group's drop counts in it
    frontier: list[_Point]  # drop falls as mass rises


def choose(options: Mapping[str, Sequence[Option]], limits: Sequence[Limit]) -> Choice:
    """The option of each conductor with the least mass in all. Options are given with mass rising, ohm falling.

    A limit that even the largest options break is left out, and told in `met`.
    """
    picked = dict.fromkeys(options, 0)
    met = []
    active: list[int] = []
    for j, limit in enumerate(limits):
        known = {id: amps for id, amps in limit.amps.items() if id in options}
        best = sum(amps * options[id][-1].ohm for id, amps in known.items())
        now = sum(amps * options[id][0].ohm for id, amps in known.items())
        met.append(best <= limit.volts * (1 + SLACK) + SLACK)
        if met[-1] and now > limit.volts * (1 + SLACK) + SLACK:
            active.append(j)
    exact = True
    for component in _components(options, limits, active):
        found, thorough = _solve(options, limits, component)
        picked.update(found)
        exact &= thorough
    return Choice(picked, tuple(met), exact)


def _components(
    options: Mapping[str, Sequence[Option]], limits: Sequence[Limit], active: Sequence[int]
) -> list[list[int]]:
    """Limits that share conductors, directly or through others."""
    found: list[tuple[set[str], list[int]]] = []
    for j in active:
        ids = {id for id in limits[j].amps if id in options}
        together = [c for c in found if c[0] & ids]
        merged = (ids.union(*(c[0] for c in together)), [j for c in together for j in c[1]] + [j])
        found = [c for c in found if c not in together] + [merged]
    return [sorted(limits_of) for _, limits_of in found]


def _solve(
    options: Mapping[str, Sequence[Option]], limits: Sequence[Limit], component: Sequence[int]
) -> tuple[dict[str, int], bool]:
    groups = _groups(options, limits, component)
    shared = [g for g in groups if len(g.scale) > 1]
    own = {next(iter(g.scale)): g for g in groups if len(g.scale) == 1}
    exact = True
    count = 1
    for group in shared:
        count *= len(group.frontier)
    if count > MOST:
        exact = False
        keep = max(int(MOST ** (1 / len(shared))), 2)
        shared = [g._replace(frontier=_thin(g.frontier, keep)) for g in shared]
    best: tuple[float, dict[str, int]] | None = None
    drops = {j: [-p.drop for p in g.frontier] for j, g in own.items()}  # rising, for bisection

    def rest(left: Mapping[int, float], mass: float) -> tuple[float, dict[str, int]] | None:
        picked: dict[str, int] = {}
        for j in component:
            group = own.get(j)
            if group is None:
                if left[j] < -SLACK * limits[j].volts - SLACK:
                    return None
                continue
            room = left[j] * (1 + SLACK) + SLACK
            i = bisect_right(drops[j], -room - 1e-15) if room >= 0 else len(group.frontier)
            while i < len(group.frontier) and group.frontier[i].drop > room:
                i += 1
            if i >= len(group.frontier):
                return None
            mass += group.frontier[i].mass
            picked.update(zip(group.members, group.frontier[i].picked, strict=True))
        return mass, picked

    def walk(k: int, left: dict[int, float], mass: float, picked: dict[str, int]) -> None:
        nonlocal best
        if best is not None and mass >= best[0]:
            return
        if k == len(shared):
            found = rest(left, mass)
            if found is not None and (best is None or found[0] < best[0]):
                best = found[0], {**picked, **found[1]}
            return
        group = shared[k]
        for point in group.frontier:
            room = {j: volts - group.scale.get(j, 0.0) * point.drop for j, volts in left.items()}
            members = dict(zip(group.members, point.picked, strict=True))
            walk(k + 1, room, mass + point.mass, {**picked, **members})

    walk(0, {j: limits[j].volts for j in component}, 0.0, {})
    if best is None:  # each limit alone can be kept, not all at once: everything as large as it comes
        return {id: len(options[id]) - 1 for j in component for id in limits[j].amps if id in options}, False
    return best[1], exact


def _groups(options: Mapping[str, Sequence[Option]], limits: Sequence[Limit], component: Sequence[int]) -> list[_Group]:
    by_shape: dict[tuple[tuple[int, float], ...], list[tuple[str, float]]] = {}
    for id in options:
        amps = {j: limits[j].amps[id] for j in component if limits[j].amps.get(id)}
        if not amps:
            continue
        largest = max(amps.values())
        shape = tuple((j, round(a / largest, 9)) for j, a in amps.items())
        if len(shape) == 1:
            shape = ((shape[0][0], 1.0),)
        by_shape.setdefault(shape, []).append((id, largest))
    groups = []
    for shape, members in by_shape.items():
        frontier = [_Point(0.0, 0.0, ())]
        for id, largest in members:
            frontier = _prune(
                [
                    _Point(p.drop + largest * option.ohm, p.mass + option.mass, (*p.picked, k))
                    for p in frontier
                    for k, option in enumerate(options[id])
                ]
            )
        groups.append(_Group(tuple(id for id, _ in members), dict(shape), frontier))
    return groups


def _prune(points: list[_Point]) -> list[_Point]:
    """The frontier of combinations: mass rises, drop falls."""
    found: list[_Point] = []
    for point in sorted(points):
        while found and found[-1].mass >= point.mass - 1e-15 and found[-1].drop >= point.drop:
            found.pop()
        if not found or point.mass < found[-1].mass:
            found.append(point)
    return found[::-1]


def _thin(points: list[_Point], keep: int) -> list[_Point]:
    """Every so many points of a frontier, its ends kept."""
    if len(points) <= keep:
        return points
    step = (len(points) - 1) / (keep - 1)
    return [points[round(i * step)] for i in range(keep)]
