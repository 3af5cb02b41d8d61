"""`wiregen study --size`: the smallest standard conductors and the fuses that fit, chosen together for the whole job.

A conductor has to carry what it carries in the worst case and what its fuse lets pass for good, in its hottest place;
to stand a short circuit until its fuse opens; and to keep, with all that lies on the same path, within the limit of
drop. Of all choices that do, the one with the least copper (mass) is taken. Sizes change currents and temperatures, so
the job is computed again with each choice until it stays the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from wiregen.catalogue import catalogue
from wiregen.circuit.company import SIGNALS
from wiregen.circuit.fault import ADIABATIC_LIMIT_S
from wiregen.circuit.figures import Figures
from wiregen.circuit.least_copper import Limit, Option, choose
from wiregen.circuit.protection import feeds, guards
from wiregen.circuit.run import study as compute
from wiregen.circuit.sizing import with_size
from wiregen.circuit.study import Study, Supply
from wiregen.circuit.unprotected import live_posts
from wiregen.circuit.wires import FAMILIES, copper_at, size_area
from wiregen.language.tree import Measure, Value
from wiregen.model.job import Conductor, Fact, Job

ROUNDS = 10
LEAST_LOAD = 0.01  # what carries less in every case has no load to be sized for [A]
CONTINUOUS = 1.25  # fuse over continuous current (reference: PV and battery circuits, read in a reprint)


@dataclass(frozen=True, slots=True)
class Sized:
    """What one conductor should be. decided_by: `ampacity`, `fuse`, `withstand`, `drop`, `minimum` or `nothing`."""

    conductor: str
    now: str
    size: str
    area_mm2: float
    mass_kg: float
    decided_by: str
    fuse: str | None


@dataclass(frozen=True, slots=True)
class FuseFit:
    """What one fuse should be rated: the smallest standard rating for its load; None where nothing flows."""

    fuse: str
    now_a: float | None
    rating_a: float | None
    load_a: float


@dataclass(frozen=True, slots=True)
class Sizing:
    """Sizes for a whole job. `over` are supplies that no size on offer brings within their limit.

    settled : computed again with these sizes, every other supply keeps its limit and every conductor its own needs
    exact : at the currents and temperatures of the study no other choice has less copper
    study : the job with these sizes, computed
    """

    conductors: tuple[Sized, ...]
    fuses: tuple[FuseFit, ...]
    mass_kg: float
    over: tuple[Supply, ...]
    settled: bool
    exact: bool
    study: Study


Row = Mapping[str, Any]


def size_job(job: Job) -> Sizing:
    """Sizes every conductor that carries current in some case or is fused. The others keep what they have: those
    without a length, those that came with a part, sense leads, bonds that only a fault uses."""
    first, _ = compute(job)
    guarded = _guards(first)
    sizes = {
        c.id: _rows(c)
        for c in job.conductors.values()
        if c.number("length") and not c.has("supplied") and (c.id in guarded or _load(first, c.id) > LEAST_LOAD)
    }
    picked = {id: _nearest(job.conductors[id], rows) for id, rows in sizes.items()}
    tried: list[_Round] = []
    floor = dict.fromkeys(sizes, 0)  # what withstand asked for once stays: a thinner cable clears more slowly
    ratings: dict[str, float] = {}  # of fuses, where the one that fits is another than the job's
    while len(tried) < ROUNDS and all((picked, ratings) != (r.picked, r.ratings) for r in tried):
        current, _ = compute(_with(job, sizes, picked, ratings))
        fuses = _fuses(job, current)
        least, why = _least(current, sizes, _passes(current, fuses))
        for id in sizes:
            if why[id] == "withstand":
                floor[id] = max(floor[id], least[id])
            if floor[id] > least[id]:
                least[id], why[id] = floor[id], "withstand"
        over = _over(current)
        following, exact, beyond = _cheapest(current, sizes, picked, least)
        sound = all((s.from_, s.to) in beyond for s in over) and all(picked[id] >= least[id] for id in sizes)
        fitting = {fit.fuse: fit.rating_a for fit in fuses if fit.rating_a and fit.rating_a != fit.now_a}
        sound = sound and fitting == ratings
        tried.append(_Round(picked, ratings, current, fuses, least, why, over, sound, exact))
        if fitting != ratings:
            floor = dict.fromkeys(sizes, 0)
        picked, ratings = following, fitting
    sound_ones = [r for r in tried if r.sound]
    best = min(sound_ones, key=lambda r: _mass(job, sizes, r.picked)) if sound_ones else tried[-1]
    return _sizing(job, sizes, best)


class _Round(NamedTuple):
    """One choice of sizes, computed. `sound`: everything keeps its limits as far as sizes on offer can."""

    picked: dict[str, int]
    ratings: dict[str, float]
    study: Study
    fuses: tuple[FuseFit, ...]
    least: dict[str, int]
    why: dict[str, str]
    over: tuple[Supply, ...]
    sound: bool
    exact: bool


def _over(study: Study) -> tuple[Supply, ...]:
    return tuple(
        s
        for s in study.supplies
        if s.drop_ratio is not None and s.limit_ratio is not None and s.drop_ratio > s.limit_ratio
    )


def _mass(job: Job, sizes: Mapping[str, list[Row]], picked: Mapping[str, int]) -> float:
    """Copper of all sized conductors. [kg]"""
    density = catalogue().constant("copper-density") * 1e-3
    return sum(
        float(sizes[id][k]["area_mm2"]) * (job.conductors[id].number("length") or 0.0) * density
        for id, k in picked.items()
    )


def _sizing(job: Job, sizes: Mapping[str, list[Row]], best: _Round) -> Sizing:
    guard = _guards(best.study)
    sized = []
    for id, rows in sizes.items():
        k = best.picked[id]
        sized.append(
            Sized(
                conductor=id,
                now=job.conductors[id].word("size"),
                size=_written(rows[k]),
                area_mm2=rows[k]["area_mm2"],
                mass_kg=_mass(job, sizes, {id: k}),
                decided_by="drop" if k > best.least[id] else best.why[id],
                fuse=guard.get(id),
            )
        )
    return Sizing(
        conductors=tuple(sized),
        fuses=best.fuses,
        mass_kg=sum(s.mass_kg for s in sized),
        over=best.over if best.sound else (),
        settled=best.sound,
        exact=best.exact,
        study=best.study,
    )


def _rows(conductor: Conductor) -> list[Row]:
    """The sizes on offer for a conductor, in its own family, rising."""
    size = conductor.measure("size")
    family = FAMILIES.get(size.dimension, "mm2") if size else "mm2"
    return [row for row in catalogue().rows("conductor") if row["family"] == family]


def _written(row: Row) -> str:
    return f"{row['size']} {row['family']}"


def _nearest(conductor: Conductor, rows: list[Row]) -> int:
    """The size to begin with: its own, else 10 mm2 or what comes next."""
    size = conductor.measure("size")
    area = size_area(size, rows) if size else 10.0
    return next((k for k, row in enumerate(rows) if row["area_mm2"] >= area * 0.998), len(rows) - 1)


def _with(job: Job, sizes: Mapping[str, list[Row]], picked: Mapping[str, int], ratings: Mapping[str, float]) -> Job:
    """The job with those sizes and fuse ratings."""
    conductors = dict(job.conductors)
    for id in picked:
        if not conductors[id].has("size"):
            span = conductors[id].span
            measure = Measure(10.0, 10.0, 10.0, "area", "mm2")
            fact = Fact("size", (Value("quantity", "10 mm2", span, measure),), span)
            conductors[id] = replace(conductors[id], facts={**conductors[id].facts, "size": fact})
    found = replace(job, conductors=conductors)
    for id, k in picked.items():
        row = sizes[id][k]
        found = with_size(found, [id], _written(row), row)
    parts = dict(found.parts)
    for id, amps in ratings.items():
        span = parts[id].span
        measure = Measure(amps, amps, amps, "current", "A")
        fact = Fact("rating", (Value("quantity", f"{amps:g} A", span, measure),), span)
        parts[id] = replace(parts[id], facts={**parts[id].facts, "rating": fact})
    return replace(found, parts=parts)


# ---------------------------------------------------------------- what each conductor needs by itself


def _guards(study: Study) -> dict[str, str]:
    """Conductor -> the fuse or breaker that stands guard over it."""
    job, network = study.job, study.network
    found = guards(job, network, (*live_posts(job, network), *feeds(job)))
    return {id: guard.device for id, guard in found.items() if guard.device}


def _fuses(job: Job, study: Study) -> tuple[FuseFit, ...]:
    """The smallest standard rating that carries each fuse's load for good, hot as its place is."""
    figures = Figures(study.job)
    found = []
    for part in study.job.parts.values():
        if part.kind not in ("fuse", "breaker") or not part.contacts:
            continue
        name = part.contacts[0].name
        load = max((abs(case.contacts.get((part.id, name)) or 0.0) for case in study.cases if case.solved), default=0.0)
        need = max(load * CONTINUOUS, load / figures.fuse_factor(part))
        ratings = figures.family(part)["ratings"]
        rating = next((float(r) for r in ratings if r >= need * (1 - 1e-9)), None) if load > 1e-6 else None
        found.append(FuseFit(part.id, job.parts[part.id].number("rating"), rating, load))
    return tuple(found)


def _load(study: Study, id: str) -> float:
    """The largest current of a conductor over the cases. [A]"""
    flows = [case.flows[id].current_a for case in study.cases]
    return max((abs(amps) for amps in flows if amps is not None), default=0.0)


def _passes(study: Study, fuses: tuple[FuseFit, ...]) -> dict[str, float]:
    """Conductor -> what its fuses let pass for good. [A]

    Its guard where it has one. A lead before its own fuse and a return carry what the fuses of their paths let pass:
    added up where several paths share it, at most what a fuse lets pass that stands on all of them. What bonds a
    battery to a body is the way back of a positive that touches the body: it bears the battery's largest fuse.
    """
    ratings = {fit.fuse: fit.rating_a or fit.now_a or 0.0 for fit in fuses}
    found = {id: ratings.get(device, 0.0) for id, device in _guards(study).items()}
    paths: dict[str, list[list[str]]] = {}
    for supply in study.supplies:
        on_path = [id for id in supply.path if ratings.get(id)]
        for id in supply.path:
            if id in study.job.conductors and id not in found and on_path:
                paths.setdefault(id, []).append(on_path)
    for id, ways in paths.items():
        last = {min(way, key=lambda fuse: ratings[fuse]) for way in ways}
        common = set(ways[0]).intersection(*ways)
        found[id] = min([sum(ratings[fuse] for fuse in sorted(last)), *(ratings[fuse] for fuse in sorted(common))])
    for id, battery in _bonds(study.job).items():
        beside = {fuse for s in study.supplies if battery in (s.from_, s.to) for fuse in s.path}
        found[id] = max(found.get(id, 0.0), *(ratings.get(fuse, 0.0) for fuse in sorted(beside)), 0.0)
    return found


def _bonds(job: Job) -> dict[str, str]:
    """Conductor -> the battery whose negative it leads to an earth or body."""
    found = {}
    for id, conductor in job.conductors.items():
        ends = [job.terminals[t] for t in (conductor.from_, conductor.to) if t in job.terminals]
        kinds = {job.parts[end.part].kind: end for end in ends if end.part in job.parts}
        battery = kinds.get("battery")
        if battery and battery.name == "-" and kinds.keys() & {"earth", "body"}:
            found[id] = battery.part
    return found


def _least(
    study: Study, sizes: Mapping[str, list[Row]], passes: Mapping[str, float]
) -> tuple[dict[str, int], dict[str, str]]:
    """For each conductor the smallest size that it needs by itself, and what decides it."""
    job = study.job
    figures = Figures(job)
    minimum, signal_minimum = float(figures.limits["minimum_mm2"]), figures.book.default("signal-lead")
    faults: dict[str, float] = {}
    for fault in study.faults:
        if fault.clearing_s and fault.withstand_s and fault.clearing_s <= ADIABATIC_LIMIT_S:
            ratio = (fault.clearing_s / fault.withstand_s) ** 0.5
            faults[fault.conductor] = max(faults.get(fault.conductor, 0.0), ratio)
    least, why = {}, {}
    for id, rows in sizes.items():
        conductor = job.conductors[id]
        wire = figures.wire(conductor)
        signal = any(job.terminals[t].name in SIGNALS for t in (conductor.from_, conductor.to) if t in job.terminals)
        needs = {
            "minimum": signal_minimum if signal else minimum,
            "ampacity": _area_for(job, conductor, rows, _load(study, id)),
            "fuse": _area_for(job, conductor, rows, passes.get(id, 0.0)),
            "withstand": (wire.area or 0.0) * faults.get(id, 0.0),
        }
        indices = {name: _index(rows, area) for name, area in needs.items()}
        best = max(indices.values())
        least[id] = best
        why[id] = next((name for name, k in indices.items() if k == best and best > 0), "nothing")
    return least, why


def _index(rows: list[Row], area: float) -> int:
    return next((k for k, row in enumerate(rows) if row["area_mm2"] >= area * (1 - 1e-3)), len(rows) - 1)


def _area_for(job: Job, conductor: Conductor, rows: list[Row], amps: float) -> float:
    """Copper area of the smallest size that carries a current in the conductor's hottest place. [mm2]"""
    if amps <= 0:
        return 0.0
    for row in rows:
        one = replace(job, conductors={conductor.id: conductor, **job.conductors})
        sized = with_size(one, [conductor.id], _written(row), row)
        ampacity = Figures(sized).wire(sized.conductors[conductor.id]).ampacity
        if ampacity is not None and ampacity >= amps * (1 - 1e-9):
            return float(row["area_mm2"])
    return float(rows[-1]["area_mm2"])


# ---------------------------------------------------------------- all together


def _cheapest(
    study: Study, sizes: Mapping[str, list[Row]], picked: Mapping[str, int], least: Mapping[str, int]
) -> tuple[dict[str, int], bool, set[tuple[str, str]]]:
    """Least copper with every limit of drop kept, by the currents and temperatures of the study; whether it is exact;
    the supplies (from, to) that no size on offer brings within their limit."""
    job = study.job
    figures = Figures(job)
    options = {}
    for id, rows in sizes.items():
        conductor = job.conductors[id]
        length = conductor.number("length") or 0.0
        wire = figures.wire(conductor)
        now = wire.ohm_20 or 1.0
        found = []
        for row in rows[least[id] :]:
            ohm = now * rows[picked[id]]["ohm_per_km"] and now * row["ohm_per_km"] / rows[picked[id]]["ohm_per_km"]
            found.append(Option(row["area_mm2"] * length, copper_at(wire._replace(ohm_20=ohm), _warm(study, id))))
        options[id] = found
    limits = []
    supplies = _worst_of_each_port(study)
    for supply in supplies:
        case = next(case for case in study.cases if case.name == supply.case)
        amps, rest = {}, supply.drop_v or 0.0
        for id in supply.path:
            flow = case.flows.get(id)
            if flow is None or flow.drop_v is None or not flow.resistance_ohm:
                continue
            rest -= abs(flow.drop_v)
            if id in options:
                amps[id] = abs(flow.drop_v) / flow.resistance_ohm
            else:
                rest += abs(flow.drop_v)
        limits.append(Limit(amps, (supply.limit_ratio or 0.0) * supply.of_v - rest))
    choice = choose(options, limits)
    beyond = {(s.from_, s.to) for s, met in zip(supplies, choice.met, strict=True) if not met}
    return {id: least[id] + k for id, k in choice.picked.items()}, choice.exact, beyond


def _worst_of_each_port(study: Study) -> list[Supply]:
    """Of the cases the one in which a port comes nearest to its limit; the others follow from computing again."""
    found: dict[tuple[str, str], Supply] = {}
    for supply in study.supplies:
        if supply.drop_ratio is None or not supply.limit_ratio:
            continue
        key = supply.from_, supply.to
        best = found.get(key)
        if best is None or supply.drop_ratio / supply.limit_ratio > (best.drop_ratio or 0.0) / (best.limit_ratio or 1):
            found[key] = supply
    return list(found.values())


def _warm(study: Study, id: str) -> float:
    """The highest working temperature of a conductor over the cases. [degC]"""
    found = [case.flows[id].temperature_c for case in study.cases]
    return max((t for t in found if t is not None), default=20.0)
