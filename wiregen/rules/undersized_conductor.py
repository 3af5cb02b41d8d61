"""undersized-conductor: a conductor is too thin for the current it carries, or loses too much voltage.

Hazard
    Too thin for its current, it runs hotter than its insulation bears, and no fuse opens at a current that is meant
    to flow. Too thin for its length, what it feeds gets too little voltage: chargers cut out, lamps are dim, motors
    draw more.
Test
    Each conductor's current in every operating case against its ampacity in the hottest place on its route; and the
    voltage lost from each source to each port, out and back through everything on the way, against the limit that the
    job sets. Of a drop that is too large, the conductor that loses the most is named, where conductors decide it (what
    is lost in contacts, diodes or the body is for voltage-drop). Conductors that are too thin by one `each` are one
    finding, on the one that is strained most.
Basis
    Ampacity: the table that belongs to the job's `limits` (33 CFR 183.425 table 5; ISO 10133 / ISO 13297 annex A,
    which stands in for AS/NZS 3001.2 too), with the place's and bundle's factors. Drop: the job's own limit, else that
    of its limits.
Bad
    start.+ --[red 6 mm2 100 mm]-- F1 --[W2 red 0.5 mm2 6 m]-- heater.+
    heater.- --[black 4 mm2 6 m]-- start.-
Good
    start.+ --[red 6 mm2 100 mm]-- F1 --[W2 red 6 mm2 3 m]-- heater.+
    heater.- --[black 6 mm2 3 m]-- start.-
Limits
    Starter current lasts seconds: a case in which a starter turns is not judged for ampacity. A conductor too thin
    for its fuse is for oversized-fuse, one that takes more than its share of a parallel way for
    unequal-parallel-conductors. While positive meets negative somewhere, currents mean nothing and are not
    judged. A charger that hunts because its supply sags is judged as it is while it runs.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from wiregen.circuit.parallel import shares
from wiregen.circuit.protection import OPEN, feeds, guards
from wiregen.circuit.study import CaseResult, Study, Supply
from wiregen.circuit.unprotected import live_posts
from wiregen.circuit.wires import copper_area
from wiregen.findings import Span
from wiregen.model.job import Conductor
from wiregen.rules.currents import Strain, strain, uneven, unsure
from wiregen.rules.drops import decided_by, excess, too_large, worst_supplies
from wiregen.rules.fixes import put
from wiregen.rules.minimum_size import least_area
from wiregen.rules.unnamed import name_in
from wiregen.rules.verdict import Bad, Content, Unjudged, Verdict, at_name, mark, rule
from wiregen.rules.words import amps, apart, beyond, clearly_more, figure, listed, percent, volts

COOLER = 0.9
"""What a drop may shrink to as conductors that carry less get cooler: a bound for the search, it decides nothing."""


@rule("undersized-conductor", severity="danger", basis="the ampacity table and drop limits that the job has chosen")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each conductor: for its current, for the drop it causes, or for both."""
    job = study.job
    if why := unsure(study):
        yield Content("job", "{}: currents say nothing until that is put right", (why,))
        return
    drops: dict[str, list[Supply]] = {}
    for supply in worst_supplies(study):
        unknown = [job.conductors[i] for i in supply.path if i in job.conductors and _incomplete(job.conductors[i])]
        yield from (_unjudged(conductor) for conductor in unknown)
        if supply.drop_ratio is None or supply.limit_ratio is None:
            continue
        if too_large(supply):
            taker = decided_by(job, supply)
            if taker is None:
                drops.setdefault(_heaviest(study, supply), []).append(supply)
            else:
                yield Content(supply.to, "loses too much, but most in {}: voltage-drop says so", (taker,))
        elif not unknown:
            told = (percent(supply.drop_ratio), percent(supply.limit_ratio), supply.case)
            yield Content(supply.to, "loses {} at most, {} allowed, in {}", told)
    hot: dict[Span, list[tuple[Conductor, Strain]]] = {}
    unequal = uneven(study)
    for conductor in job.conductors.values():
        load = strain(study, conductor)
        if conductor.id in unequal:
            yield Content(conductor.id, "takes more than its share: unequal-parallel-conductors says so")
        elif load is not None and load.too_much:
            hot.setdefault(conductor.where("size"), []).append((conductor, load))
        elif conductor.id in drops:
            continue
        elif load is not None:
            yield Content(
                conductor.id,
                "carries {} at most, bears {}, in {}",
                (amps(load.current), amps(load.ampacity), load.case),
            )
        elif not conductor.has("size") and _carries(study, conductor):
            yield _unjudged(conductor)
    for alike in hot.values():  # one size, written once: one cause
        worst, load = alike[0]
        for conductor, strained in alike[1:]:
            if clearly_more(strained.current / strained.ampacity, load.current / load.ampacity):
                worst, load = conductor, strained
        others = [conductor.id for conductor, _ in alike if conductor is not worst]
        lost = [supply for conductor, _ in alike for supply in drops.pop(conductor.id, [])]
        yield _undersized(study, worst, load, lost, others)
    for name, lost in drops.items():
        yield _undersized(study, job.conductors[name], None, lost, [])


def _case(study: Study, name: str) -> CaseResult:
    return next(case for case in study.cases if case.name == name)


def _heaviest(study: Study, supply: Supply) -> str:
    """The conductor on the way that loses the most, the first of equals."""
    flows = _case(study, supply.case).flows
    lost = {i: abs(flows[i].drop_v or 0.0) for i in supply.path if i in flows}
    most = max(lost.values(), default=0.0)
    return next(i for i, volts in lost.items() if volts >= most * (1 - 1e-6))


def _own_loss(case: CaseResult, conductor: Conductor) -> float:
    """What part of the higher of the voltages at its ends it loses, 0 to 1."""
    ends = [abs(case.voltages.get(end) or 0.0) for end in (conductor.from_, conductor.to)]
    return min(abs(case.flows[conductor.id].drop_v or 0.0) / max(*ends, 1.0), 1.0)


def _carries(study: Study, conductor: Conductor) -> bool:
    """Whether any case sends more than a signal through it (10 mA, a careful choice of ours)."""
    return any(
        abs(case.flows[conductor.id].current_a or 0.0) > 0.01 for case in study.cases if conductor.id in case.flows
    )


def _incomplete(conductor: Conductor) -> bool:
    return not (conductor.has("size") and conductor.has("length"))


def _unjudged(conductor: Conductor) -> Unjudged:
    fact, example = ("size", "2.5 mm2") if not conductor.has("size") else ("length", "1.2 m")
    return Unjudged(
        conductor.id,
        f"the {fact} of {conductor.id}",
        f"write the {fact} in {conductor.id}, as in --[{name_in(conductor)}{example}]--",
        at_name(conductor, f"no {fact}"),
        conductor.through,
    )


def _undersized(study: Study, conductor: Conductor, hot: Strain | None, drops: list[Supply], others: list[str]) -> Bad:
    """The finding on one conductor, and on the others that are too thin by the same words of the netlist."""
    size = conductor.word("size")
    said, why, basis = [], [], []
    values: dict[str, float | int | str | bool | None] = {"size": size}
    related = list(others)
    case = None
    if hot:
        case = hot.case
        carries, bears = apart(hot.current, hot.ampacity)
        said.append(f"{conductor.id} carries {carries} A in {hot.case}, but its {size} bears {bears} A where it runs")
        if others:
            said[-1] += f" (so too {listed(others)})"
        why.append(f"{conductor.id} gets hotter than its insulation bears, at a current that no fuse takes for a fault")
        basis.append(study.ampacity_basis.get(conductor.id, ""))
        values |= {"current_a": hot.current, "ampacity_a": hot.ampacity}
    if drops:
        worst = max(drops, key=excess)
        assert worst.drop_v is not None and worst.drop_ratio is not None and worst.limit_ratio is not None
        case = case or worst.case
        heaviest = _heaviest(study, worst)
        own = abs(_case(study, worst.case).flows[heaviest].drop_v or 0.0)
        loses, allowed = apart(worst.drop_ratio * 100, worst.limit_ratio * 100)
        gets = "would get" if _case(study, worst.case).troubles else "gets"
        said.append(
            f"{worst.to} {gets} {volts(worst.drop_v)} ({loses} % of {figure(worst.of_v)} V) less than {worst.from_}"
            f" in {worst.case}, {allowed} % is allowed; {heaviest} loses the most, {volts(own)}"
        )
        ports = [worst.to, *(supply.to for supply in drops if supply is not worst)]
        why.append(f"{listed(ports)} get{'' if ports[1:] else 's'} too little voltage")
        basis.append(worst.basis)
        related += [worst.from_, *(supply.to for supply in drops), *(i for i in worst.path if i != conductor.id)]
        flow = _case(study, worst.case).flows[conductor.id].current_a
        values |= {
            "drop_v": worst.drop_v,
            "drop_percent": worst.drop_ratio * 100,
            "limit_percent": worst.limit_ratio * 100,
            "of_v": worst.of_v,
            "own_drop_v": own,
            "supply_from": worst.from_,
            "supply_to": worst.to,
        }
        values.setdefault("current_a", abs(flow) if flow is not None else None)
    remedy, fits, ids = _remedy(study, [conductor.id, *others], hot, drops)
    values["size_that_passes"] = fits
    return Bad(
        subject=conductor.id,
        message="; ".join(said),
        at=mark(conductor, "size", f"bears {amps(hot.ampacity)}" if hot else "loses the most"),
        related=tuple(dict.fromkeys(related)),
        case=case,
        reason="; ".join(why),
        remedy=remedy,
        values=values,
        through=conductor.through,
        basis="; ".join(dict.fromkeys(filter(None, basis))),
        severity="danger" if hot else "warning",
        fix=put([study.job.conductors[i] for i in ids], "size", fits),
    )


def _fuses(study: Study, own: list[str]) -> dict[str, float]:
    """Conductor -> what the fuse before it lets through for good [A], for those that share with no other."""
    job = study.job
    shared = shares(study)
    guarded = guards(job, study.network, (*live_posts(job, study.network), *feeds(job)))
    return {id: guarded[id].rating for id in own if id not in shared and id in guarded and guarded[id].rating != OPEN}


def _remedy(study: Study, own: list[str], hot: Strain | None, drops: list[Supply]) -> tuple[str, str | None, list[str]]:
    """The size that passes, found by computing the job again; for these conductors, then for all on their path.

    Nothing where the study is not to be computed again (`remedies`)."""
    if not study.remedies:
        return "", None, []
    from wiregen.circuit.sizing import Size, larger_sizes, passing_size

    conductor = study.job.conductors[own[0]]
    lets = _fuses(study, own) if hot is not None else {}
    area = copper_area(conductor) or 0.0
    least = max(least_area(study, study.job.conductors[name]) for name in own)
    ports = {(supply.case, supply.from_, supply.to) for supply in drops}

    def passes(again: Study) -> bool:
        if hot is not None:
            loads = [strain(again, again.job.conductors[name]) for name in own]
            if any(load is None or load.too_much for load in loads):
                return False
        return all(
            supply.drop_ratio is not None and not beyond(supply.drop_ratio, supply.limit_ratio or 0.0)
            for supply in again.supplies
            if (supply.case, supply.from_, supply.to) in ports
        )

    cases = {supply.case for supply in drops} | ({hot.case} if hot is not None else set())
    seen = replace(study, cases=tuple(case for case in study.cases if case.name in cases))
    loads = {name: strain(seen, study.job.conductors[name]) for name in own} if hot is not None else {}
    lost = [s.drop_ratio or 0.0 for s in study.supplies if s.case in cases and not set(own).isdisjoint(s.path)]
    lost += [_own_loss(case, study.job.conductors[id]) for case in seen.cases for id in own]
    ease = 1.0 - min(max(lost), 0.7)  # at constant power a current falls as the voltage recovers

    def likely(ids: list[str], size: Size) -> bool:
        """By the ampacity of the size, and what the fuse lets through; by the least size; and by proportion: a drop
        shrinks as the area grows."""
        if beyond(least, area * size.times):
            return False
        for id, load in loads.items():
            before, after = study.ampacities.get(id), size.bears[id]
            if load is None or not before or not after or beyond(lets.get(id, 0.0), after):
                return False
            if beyond(load.current * size.eased, load.ampacity * after / before):
                return False
        for supply in drops:
            flows = _case(study, supply.case).flows
            saved = sum(abs(flows[i].drop_v or 0.0) for i in ids if i in supply.path) * (1 - 1 / size.times)
            cooler = 1.0 if size.eased == 1.0 else COOLER
            left = ((supply.drop_v or 0.0) - saved) * size.eased * cooler
            if beyond(left, (supply.limit_ratio or 0.0) * supply.of_v):
                return False
        return True

    alone = passing_size(study, own, cases, lambda size: likely(own, size), passes, ease)
    if not drops:
        words = f"size {listed(own)} at {alone}" if alone else "share the current between several conductors"
        return words, alone, own
    worst = max(drops, key=excess)
    size = conductor.number("size")
    alike = [i for i in worst.path if i in study.job.conductors and study.job.conductors[i].number("size") == size]
    path = [*own, *(i for i in dict.fromkeys(alike) if i not in own)]
    near = [written for written, _ in larger_sizes(conductor)[:2]]
    together = None
    if len(path) > len(own) and alone not in near:
        together = passing_size(study, path, cases, lambda size: likely(path, size), passes, ease)
    if together and alone and together != alone:
        return f"size {listed(own)} at {alone}, or {listed(path)} at {together}", alone, own
    if alone:
        return f"size {listed(own)} at {alone}, or shorten {'them' if own[1:] else 'it'}", alone, own
    if together:
        return f"size {listed(path)} at {together}, or shorten them", together, path
    return f"shorten the way from {worst.from_} to {worst.to}, or move {worst.to} nearer", None, []
