"""An operating case in colour: current by line weight, arrows and figures, potential by shade, losses by heat."""

from __future__ import annotations

from collections.abc import Iterable

from wiregen.circuit.questions import ports
from wiregen.circuit.study import CaseResult, Study
from wiregen.drawing.look import Look
from wiregen.layout.switched import closed_in
from wiregen.model.job import Job, Part
from wiregen.teaching import look
from wiregen.teaching.captions import amps, called, hundredths, several, titled_part, watts
from wiregen.teaching.draft import Draft, Scale, Table

STEPS = 9  # shades along a conductor
NOTHING = 0.005  # A: less is not worth an arrow
DIM = 0.5  # V: less is no panel in the light
FEW = 3  # cases that a set shows
ROWS = 9  # of the places where most is lost


def case_drafts(study: Study) -> list[Draft]:
    """Each case that is worth a picture: its currents and potentials, then its losses; then two cases side by side."""
    chosen = chosen_cases(study)
    drafts: list[Draft] = []
    for case in chosen:
        drafts.append(_flow(study, case))
        if any(w >= 0.05 for w in losses(study.job, case).values()):
            drafts.append(_losses(study, case))
    if len(chosen) > 1:
        drafts.append(_pair(study, chosen[0], chosen[1]))
    return drafts


def chosen_cases(study: Study) -> list[CaseResult]:
    """The job's own cases, else the tool's: solved, with a current somewhere, no two alike."""
    own = [c for c in study.cases if c.name in study.job.cases]
    out: list[CaseResult] = []
    for case in own or study.cases:
        if case.solved and largest(case) > NOTHING and all(not _alike(case, other) for other in out):
            out.append(case)
    return out[:FEW]


def _alike(one: CaseResult, other: CaseResult) -> bool:
    return all(
        abs((flow.current_a or 0.0) - ((other.flows[id].current_a if id in other.flows else 0.0) or 0.0)) < 0.1
        for id, flow in one.flows.items()
    )


def largest(case: CaseResult) -> float:
    """The largest current in any conductor. [A]"""
    return max((abs(flow.current_a or 0.0) for flow in case.flows.values()), default=0.0)


def losses(job: Job, case: CaseResult) -> dict[str, float]:
    """Conductor, or part whose contacts lose something -> power lost in it. [W]"""
    out = {
        id: abs(flow.current_a * flow.drop_v)
        for id, flow in case.flows.items()
        if flow.current_a is not None and flow.drop_v is not None
    }
    for part in job.parts.values():
        if part.kind == "charger":
            continue
        lost = 0.0
        for contact in part.contacts:
            current = case.contacts.get((part.id, contact.name))
            a, b = case.voltages.get(contact.a), case.voltages.get(contact.b)
            if current is not None and a is not None and b is not None and contact.closed:
                lost += abs(current * (a - b))
        if lost > 0.0:
            out[part.id] = lost
    return out


def extremes(case: CaseResult, terminals: Iterable[str]) -> tuple[float, float]:
    """The lowest and the highest potential of those. [V]"""
    known = [v for t in terminals if (v := case.voltages.get(t)) is not None]
    return (min(known), max(known)) if known else (0.0, 0.0)


def flow_looks(job: Job, case: CaseResult, most: float) -> tuple[dict[str, Look], dict[str, bool]]:
    """Weight by current, shade by potential from end to end; and the way of each current."""
    low, high = extremes(case, _wired(job))
    looks: dict[str, Look] = {}
    arrows: dict[str, bool] = {}
    for c in job.conductors.values():
        flow = case.flows.get(c.id)
        current = flow.current_a if flow else None
        a, b = case.voltages.get(c.from_), case.voltages.get(c.to)
        paint: tuple[str, ...] = ()
        if a is not None and b is not None:
            paint = tuple(look.shade(a + (b - a) * k / (STEPS - 1), low, high) for k in range(STEPS))
            if len(set(paint)) == 1:
                paint = paint[:1]
        if current is None or abs(current) < NOTHING:
            looks[c.id] = Look(core=look.THINNEST, paint=paint)
            continue
        looks[c.id] = Look(core=look.core(current, most), paint=paint)
        arrows[c.id] = current > 0
    return looks, arrows


def _wired(job: Job) -> list[str]:
    return [end for c in job.conductors.values() for end in (c.from_, c.to)]


def amps_lines(case: CaseResult) -> dict[str, tuple[str, ...]]:
    """The current in each conductor."""
    return {id: (amps(f.current_a),) for id, f in case.flows.items() if f.current_a and abs(f.current_a) >= NOTHING}


def titled(case: CaseResult) -> str:
    """The case's title, or its name."""
    return case.title or case.name


def _flow(study: Study, case: CaseResult) -> Draft:
    job = study.job
    looks, arrows = flow_looks(job, case, largest(case))
    low, high = extremes(case, _wired(job))
    scale = Scale(
        "Potential: the darker, the higher",
        look.ramp(look.LIGHTEST, look.DARKEST),
        hundredths(low),
        hundredths(high),
    )
    rows = tuple(_part_rows(job, case))
    caption = (*_sources_and_loads(job, case), "The thicker the line, the larger the current; arrows show its way.")
    title = f"{titled(case)}: where the current goes"
    said = [
        f"{called(c)} carries {amps(case.flows[c.id].current_a or 0.0)} to {c.to if arrows[c.id] else c.from_}"
        for c in job.conductors.values()
        if c.id in arrows
    ]
    description = f"{title}. {' '.join(caption)} {'; '.join(said)}."
    return Draft(
        "cases", f"case-{case.name}", title, caption, description, looks, amps_lines(case), arrows=arrows,
        blocks=(scale, Table(("", "voltage", "current"), rows)), closed=closed_in(case),
    )  # fmt: skip


def _part_rows(job: Job, case: CaseResult) -> Iterable[tuple[str, ...]]:
    """Voltage across and current into each port of sources, chargers and loads."""
    for part in job.parts.values():
        if part.kind in ("connector", "plug", "socket", "fuse-block", "busbar"):
            continue
        said = case.parts.get(part.id, {})
        for plus, minus in ports(part):
            a, b = case.voltages.get(plus), case.voltages.get(minus)
            if a is None or b is None:
                continue
            port = plus[len(part.id) + 1 : -2]
            if dark(part, port, a - b):
                continue
            current = said.get(f"{port}put_current_a" if port in ("in", "out") else "current_a")
            if part.kind == "alternator" and not current:
                continue
            name = f"{part.id} {port}".strip()
            yield name, hundredths(a - b), "" if current is None else ("−" if current <= -0.005 else "") + amps(current)


def dark(part: Part, port: str, volts: float) -> bool:
    """Whether a port is that of a panel which no light reaches: what a meter reads there tells nothing."""
    return (part.kind == "panel" or port == "solar") and volts < DIM


def _sources_and_loads(job: Job, case: CaseResult) -> list[str]:
    gives: list[str] = []
    takes: list[str] = []
    for part in job.parts.values():
        current = case.parts.get(part.id, {}).get("current_a")
        if current is None or abs(current) < NOTHING:
            continue
        if part.kind in ("battery", "alternator", "panel"):
            word = f"{_with_alternator(job, case, part)} {amps(current)}"
            (takes if current > 0 else gives).append(word)
        elif part.kind in ("load", "lamp", "inverter", "starter"):
            takes.append(f"{titled_part(part)} {amps(current)}")
    out = []
    if gives:
        out.append(f"Gives: {several(gives, 5)}.")
    if takes:
        out.append(f"Takes: {several(takes, 5)}.")
    return out


def _with_alternator(job: Job, case: CaseResult, part: Part) -> str:
    """A battery that a case holds at a voltage stands for itself and the alternator on it."""
    for other in job.parts.values():
        on = other.word("on").lower() == part.id.lower()
        if other.kind == "alternator" and on and case.parts.get(other.id, {}).get("current_a") is None:
            return f"{titled_part(part)} with its alternator"
    return titled_part(part)


def _losses(study: Study, case: CaseResult) -> Draft:
    job = study.job
    lost = losses(job, case)
    most = max(lost.values(), default=0.0)
    looks = {
        id: Look(paint=(look.heat(w / most),), weight=1.8) if id in job.conductors
        else Look(halo=look.heat(w / most), reach=0.8)
        for id, w in lost.items() if w >= 0.005
    }  # fmt: skip
    looks |= {c: look.QUIET for c in job.conductors if c not in looks}
    lines = {
        id: (watts(w),) for id, w in lost.items() if w >= 0.005 and (id in job.conductors or _roomy(job.parts[id]))
    }
    ranked = sorted(lost.items(), key=lambda item: (-item[1], item[0]))
    total = sum(lost.values())
    rows = tuple((id, watts(w), f"{100 * w / total:.0f} %") for id, w in ranked[:ROWS] if w >= 0.005)
    worst = called(job.conductors[ranked[0][0]]) if ranked[0][0] in job.conductors else ranked[0][0]
    caption = (
        f"{watts(total)} in all turn into heat in cables, fuses and joints; most in {worst}: {watts(most)}.",
        "Power lost is current times drop: twice the current, four times the heat.",
    )
    scale = Scale("Power lost", look.ramp(look.COLDEST, look.HOTTEST), "0 W", watts(most))
    title = f"{titled(case)}: where power is lost"
    description = (
        f"{title}. {' '.join(caption)} " + "; ".join(f"{id} {watts(w)}" for id, w in ranked[:ROWS] if w >= 0.005) + "."
    )
    return Draft(
        "cases", f"loss-{case.name}", title, caption, description, looks, lines,
        blocks=(scale, Table(("", "lost", "share"), rows)), closed=closed_in(case),
    )  # fmt: skip


def _roomy(part: Part) -> bool:
    """Whether a line below its name does not drive the name away from its symbol."""
    return part.kind in ("connector", "battery", "busbar", "load", "lamp")


def _pair(study: Study, one: CaseResult, other: CaseResult) -> Draft:
    """Two cases on one picture: both currents at each conductor, the voltages of both in the table."""
    job = study.job
    most = max(largest(one), largest(other))
    looks, arrows = {}, {}
    lines: dict[str, tuple[str, ...]] = {}
    for id in job.conductors:
        a, b = (abs(_amps(case, id)) for case in (one, other))
        lines[id] = (f"{amps(a).removesuffix(' A')}|{amps(b)}",)
        only = "" if min(a, b) >= NOTHING or max(a, b) < NOTHING else ("one" if a > b else "other")
        looks[id] = Look(
            core=look.core(max(a, b), most), opacity=1.0 if max(a, b) >= NOTHING else 0.45,
            halo={"one": "#ffe08a", "other": "#a9c6ef"}.get(only, ""), reach=0.9,
        )  # fmt: skip
        if (current := _amps(one, id) or _amps(other, id)) and abs(current) >= NOTHING:
            arrows[id] = current > 0
    before, after = dict(_volts(job, one)), dict(_volts(job, other))
    rows = tuple((name, before[name], after.get(name, "")) for name in before)
    first, second = titled(one), titled(other)
    caption = (
        f"Left of the bar: {first}.",
        f"Right of it: {second}.",
        "Marked: current in one of the two only.",
    )
    title = f"Two cases side by side: {one.name} | {other.name}"
    said = "; ".join(f"{id}: {words[0]}" for id, words in lines.items())
    return Draft(
        "cases", f"pair-{one.name}-{other.name}", title, caption, f"{title}. {' '.join(caption)} {said}.", looks, lines,
        arrows=arrows, blocks=(Table(("", one.name, other.name), rows),),
    )  # fmt: skip


def _amps(case: CaseResult, conductor: str) -> float:
    flow = case.flows.get(conductor)
    return (flow.current_a if flow else None) or 0.0


def _volts(job: Job, case: CaseResult) -> Iterable[tuple[str, str]]:
    for name, volts, _ in _part_rows(job, case):
        yield name, volts


__all__ = ["amps_lines", "case_drafts", "chosen_cases", "dark", "flow_looks", "losses", "titled"]
