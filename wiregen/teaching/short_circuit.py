"""A short circuit in slow motion: before, the first instant, each device that opens, and how it ends; then each race
between a fuse and its cable on the paper of time and current.

Everything is the study's: the lowest fault (weak batteries, hot cables), for which fuses take longest.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from wiregen.circuit.fault import ADIABATIC_LIMIT_S
from wiregen.circuit.figures import Figures
from wiregen.circuit.short import Phase, Short, opening_times, short
from wiregen.circuit.study import CaseResult, Study
from wiregen.drawing.look import Look
from wiregen.layout.shown import figure
from wiregen.model.alter import CHANGING
from wiregen.model.job import Job, Lesson
from wiregen.teaching import look
from wiregen.teaching.captions import amps, called, named, several, titled_part
from wiregen.teaching.case_figures import chosen_cases, titled
from wiregen.teaching.draft import Draft, Key, Mark, Scale, Table
from wiregen.teaching.fault_figures import told, touched
from wiregen.teaching.time_current import Race, race_plot

ROWS = 7
HEATED = 0.6  # width of a line with a band of heat behind it [mm]
PLOTS = 3  # races that a set shows
ALIKE = 0.02  # currents this near one another are one current in a row of devices


class Place(NamedTuple):
    """Where the short is. `minus` is None for the battery's own negative, `name` `` where the job says no place."""

    terminal: str
    minus: str | None = None
    name: str = ""
    title: str = ""
    told: tuple[str, ...] = ()  # what else the fault does, and what it teaches
    changed: tuple[str, ...] = ()  # parts and conductors that it does that to


def places(job: Job, lesson: Lesson) -> list[Place]:
    """The shorts that a planted fault speaks of, on the sound job."""
    others = [step for step in lesson.steps if step.verb in CHANGING and step.targets]
    teaches = tuple(v.text for step in lesson.steps if step.verb == "teaches" for v in step.values)
    said = (*(f"{told(job, step)}." for step in others), *teaches)
    changed = tuple(id for step in others for id in touched(job, step))
    return [
        Place(step.targets[0], dict(enumerate(step.targets)).get(1), lesson.name, lesson.title, said, changed)
        for step in lesson.steps
        if step.verb == "short" and step.targets
    ]


def main_feed(study: Study) -> Place | None:
    """The far end of the main feed: behind the largest fuse, where least current flows; None where nothing is fed, or
    only with what its conductor carries for good."""
    job = study.job
    best: tuple[float, float, int] | None = None
    found = None
    for turn, fault in enumerate(study.faults):
        if not fault.min_current_a:
            continue
        guard = job.parts.get(fault.cleared_by or "")
        carries = study.ampacities.get(fault.conductor)
        if guard is None and carries is not None and fault.min_current_a <= carries:
            continue
        rating = (guard.number("rating") or guard.number("fused") or 0.0) if guard else 0.0
        rank = (-rating, fault.min_current_a, turn)
        if best is None or rank < best:
            best, found = rank, Place(fault.terminal)
    return found


def short_drafts(study: Study, place: Place) -> list[Draft]:
    """The frames of one short and its plots; [] where no voltage drives one."""
    figures = Figures(study.job)
    made = short(study.job, figures, place.terminal, place.minus)
    if made is None or made.phases[0].amps is None:
        return []
    name = f"short-{place.name.lower()}" if place.name else "short"
    film = _Film(study, place, made, name)
    drafts = [_before(film), _flows(film, figures)]
    drafts += [_opens(film, at) for at in range(1, len(made.phases))]
    if made.cleared_s is None:
        drafts.append(_never(film))
    return drafts + _races(film, figures)


class _Film(NamedTuple):
    study: Study
    place: Place
    short: Short
    name: str

    @property
    def job(self) -> Job:
        return self.study.job

    @property
    def headed(self) -> str:
        return self.place.title or f"A short at {_spot(self.job, self.place.terminal)}"

    @property
    def path(self) -> list[str]:
        """Conductors that carry the short in any phase."""
        carried = {id for phase in self.short.phases for id in phase.currents}
        return [id for id in self.job.conductors if id in carried]

    @property
    def most(self) -> float:
        return max((abs(a) for phase in self.short.phases for a in phase.currents.values()), default=0.0)

    @property
    def marks(self) -> tuple[Mark, ...]:
        return (Mark("short", self.place.terminal), Mark("short", self.short.minus))


def _spot(job: Job, terminal: str) -> str:
    """A terminal as a class would call it: a bar without its stud, a pole without its side."""
    part = job.part_of(terminal)
    if part and part.kind in ("busbar", "splice"):
        return part.id
    if part and part.kind == "connector":
        return f"{part.id}.{terminal[len(part.id) + 3 :]}"
    return terminal


def _draft(
    film: _Film,
    name: str,
    title: str,
    caption: Iterable[str],
    looks: Mapping[str, Look],
    lines: Mapping[str, tuple[str, ...]],
    arrows: Mapping[str, bool],
    marks: tuple[Mark, ...],
    blocks: tuple[Table | Scale | Key, ...],
) -> Draft:
    words = tuple(caption)
    job = film.job
    said = "; ".join(f"{called(job.conductors[id])} {line[0]}" for id, line in lines.items() if id in job.conductors)
    description = f"{title}. {' '.join(words)} {said}.".replace(" .", "")
    return Draft(
        "shorts", f"{film.name}-{name}", title, words, description, looks, lines, arrows=arrows, marks=marks,
        blocks=blocks,
    )  # fmt: skip


# ---------------------------------------------------------------- frames


def _before(film: _Film) -> Draft:
    job, path = film.job, film.path
    cases = chosen_cases(film.study)
    lines: dict[str, tuple[str, ...]] = {}
    arrows: dict[str, bool] = {}
    ends = _spot(job, film.place.terminal), _spot(job, film.short.minus)
    caption = [f"The short will be from {ends[0]} to {ends[1]}, metal on metal, at the stars."]
    if cases:
        flows, case = max(((_of_case(case, path), case) for case in cases), key=lambda f: _largest(f[0]))
        lines = {id: (amps(a),) for id, a in flows.items()}
        arrows = {id: a > 0 for id, a in flows.items() if abs(a) >= 0.005}
        caption.append(f"{titled(case)}: {amps(_largest(flows))} at most flows in the cables that will feed it.")
    guards = [id for phase in film.short.phases for id in phase.guards]
    in_way = list(dict.fromkeys(guards))
    caption.append(
        f"In its way: {several(named(job.parts[id]) for id in in_way)}." if in_way else "No fuse is in its way."
    )
    caption += film.place.told
    looks = {id: look.STRONG if id in path else look.QUIET for id in job.conductors}
    looks |= {id: look.CHANGED for id in film.place.changed if id in job.conductors or id in job.parts}
    rows = tuple((id, _size(job, id), figure(job.conductors[id].number("length") or 0.0, "m")) for id in path)[:ROWS]
    return _draft(
        film, "1-before", f"{film.headed}: before", caption, looks, lines, arrows, film.marks,
        (Key(look.STRONG, "will feed it"), Table(("", "size", "length"), rows)),
    )  # fmt: skip


def _of_case(case: CaseResult, path: list[str]) -> dict[str, float]:
    return {id: case.flows[id].current_a or 0.0 for id in path if id in case.flows}


def _largest(flows: Mapping[str, float]) -> float:
    return max((abs(a) for a in flows.values()), default=0.0)


def _size(job: Job, id: str) -> str:
    size = job.conductors[id].fact("size")
    return size.values[0].text.replace("mm2", "mm²") if size and size.values else ""


def _flows(film: _Film, figures: Figures) -> Draft:
    made, job = film.short, film.job
    phase = made.phases[0]
    sources = [f"{titled_part(job.parts[id])} {amps(a)}" for id, a in phase.sources.items() if a > 0]
    caption = [
        f"Only resistance limits it: at least {amps(phase.amps or 0.0)} (weak battery, hot cable)"
        + (f", at most {amps(made.highest_a)} (full, cold)." if made.highest_a else "."),
        f"Fed by {several(sources)}." if sources else "",
    ]
    if not phase.guards:
        caption.append("No fuse is in its way.")
    looks = _looks(film, phase)
    rows = []
    for id, current in phase.guards.items():
        part = job.parts[id]
        rating = part.number("rating") or part.number("fused")
        seconds = _time(figures, job, id, current)
        rows.append(
            (
                id,
                amps(current),
                f"{current / rating:.3g}" if rating else "",
                figure(seconds, "s") if seconds else "never",
            )
        )
    blocks: tuple[Table | Key, ...] = (Key(look.FAULT, "carries the short"),)
    if rows:
        blocks = (*blocks, Table(("", "carries", "× rating", "opens in"), tuple(rows[:ROWS])))
    return _draft(
        film, "2-flows", f"{film.headed}: the first instant", [c for c in caption if c], looks,
        _lines(film, phase), _arrows(phase), film.marks, blocks,
    )  # fmt: skip


def _time(figures: Figures, job: Job, id: str, current: float) -> float | None:
    """In which time a device opens at a current, at the latest; None where it need not. [s]"""
    return opening_times(job, figures, {id: current}).get(id)


def _opens(film: _Film, at: int) -> Draft:
    made, job = film.short, film.job
    phase = made.phases[at]
    who = several(phase.opened)
    verb = "opens" if len(phase.opened) == 1 else "open"
    last = at == len(made.phases) - 1
    caption = [f"{who} {verb} after {figure(phase.start_s, 's')}, at the latest."]
    if phase.amps:
        gone = (made.phases[at - 1].amps or 0.0) - phase.amps
        caption.append(f"{amps(phase.amps)} still flows" + (f", {amps(gone)} less." if gone > 0.5 else "."))
    elif last:
        caption.append("Nothing flows any more: the short is cleared.")
    caption += _burnt(film, phase.start_s)
    hottest = _hottest(film, phase)
    if hottest and not made.burns:
        id, share = hottest[0]
        caption.append(f"Most heat is in {called(job.conductors[id])}: {_share(share)} of what it stands.")
    marks = (*film.marks, *(Mark("open", id) for p in made.phases[: at + 1] for id in p.opened))
    cleared = "cleared too late" if made.burns and made.burns[0][0] <= phase.start_s else "cleared"
    ending = cleared if last and made.cleared_s is not None else f"{who} {verb}"
    return _draft(
        film, f"{at + 2}-opens", f"{film.headed}: {ending}", caption, _looks(film, phase), _lines(film, phase),
        _arrows(phase), marks, _heat_blocks(film, hottest),
    )  # fmt: skip


def _never(film: _Film) -> Draft:
    made = film.short
    phase = made.phases[-1]
    caption = [
        f"Nothing that is in its way has to open: {amps(phase.amps or 0.0)} flows on."
        if phase.guards
        else f"No fuse is in its way: {amps(phase.amps or 0.0)} flows on until something melts.",
    ]
    caption += _burnt(film, None)
    heat = dict(phase.heat) | {id: 1.0 for _, id in made.burns}
    hottest = _hottest(film, phase._replace(heat=heat))
    looks = _looks(film, phase._replace(heat=heat))
    marks = (*film.marks, *(Mark("open", id) for p in made.phases for id in p.opened))
    return _draft(
        film, f"{len(made.phases) + 2}-never", f"{film.headed}: never cleared", caption, looks,
        _lines(film, phase), _arrows(phase), marks, _heat_blocks(film, hottest),
    )  # fmt: skip


def _burnt(film: _Film, until: float | None) -> list[str]:
    """Conductors that have more heat than they stand by then."""
    job = film.job
    together: dict[tuple[str, bool], list[str]] = {}
    for seconds, id in film.short.burns:
        if until is None or seconds <= until:
            key = figure(seconds, "s"), seconds <= ADIABATIC_LIMIT_S
            together.setdefault(key, []).append(called(job.conductors[id]))
    said = []
    for (when, sure), who in together.items():
        one = len(who) == 1
        end = f"and burn{'s' if one else ''}" if sure else "and may burn"
        said.append(
            f"After {when} {several(who, 5)} {'has' if one else 'have'} all the heat that a cable stands, {end}."
        )
    return said[:3]


def _hottest(film: _Film, phase: Phase) -> list[tuple[str, float]]:
    heat = {id: min(share, 1.0) for id, share in phase.heat.items() if share >= 0.0005}
    return sorted(heat.items(), key=lambda item: (-item[1], list(film.job.conductors).index(item[0])))


def _share(share: float) -> str:
    return f"{100 * share:.2g} %" if share < 0.995 else "100 %"


def _heat_blocks(film: _Film, hottest: list[tuple[str, float]]) -> tuple[Table | Scale | Key, ...]:
    rows = tuple((id, _share(share)) for id, share in hottest[:ROWS])
    scale = Scale("Heat, of what a cable stands", look.ramp(look.COLDEST, look.HOTTEST), "0", "100 %")
    return (scale, Table(("", "heat"), rows)) if rows else (scale,)


def _looks(film: _Film, phase: Phase) -> dict[str, Look]:
    """Current by weight, heat by the band behind; what the short does not reach is quiet."""
    out = {}
    for id in film.job.conductors:
        current = abs(phase.currents.get(id, 0.0))
        share = min(1.0, phase.heat.get(id, 0.0))
        if id not in film.path:
            out[id] = look.QUIET
            continue
        seen = look.FAULT._replace(core=look.core(current, film.most)) if current else look.NORMAL
        if share >= 0.0005:  # band and line keep clear of the words beside them
            seen = seen._replace(core=HEATED, halo=look.heat(share), reach=0.5)
        out[id] = seen
    return out


def _lines(film: _Film, phase: Phase) -> dict[str, tuple[str, ...]]:
    return {id: (amps(phase.currents.get(id, 0.0)),) for id in film.path}


def _arrows(phase: Phase) -> dict[str, bool]:
    return {id: current > 0 for id, current in phase.currents.items()}


# ---------------------------------------------------------------- time and current


def _races(film: _Film, figures: Figures) -> list[Draft]:
    """A plot for each device that opens; where none does, for the one that is nearest to it, or for the cable alone."""
    made = film.short
    turns = [(id, made.phases[at]) for at in range(len(made.phases) - 1) for id in made.phases[at + 1].opened]
    last = made.phases[-1]
    if last.amps:
        ratings = {id: film.job.parts[id].number("rating") or film.job.parts[id].number("fused") for id in last.guards}
        ratios = {id: last.guards[id] / rating for id, rating in ratings.items() if rating}
        turns.append((max(ratios, key=lambda id: ratios[id]) if ratios else "", last))
    drawn = [_race(film, figures, id, phase) for id, phase in turns]
    return [draft for draft in drawn if draft is not None][:PLOTS]


def _race(film: _Film, figures: Figures, device: str, phase: Phase) -> Draft | None:
    """A device against the weakest cable in a row with it; None where there is neither."""
    job = film.job
    current = phase.guards[device] if device else phase.amps or 0.0
    cable = _in_row(film, figures, phase, current)
    if not device and not cable:
        return None
    seconds = _time(figures, job, device, current) if device else None
    wire = figures.wire(job.conductors[cable]) if cable else None
    race = Race(
        device=named(job.parts[device]) if device else "",
        rating=(job.parts[device].number("rating") or job.parts[device].number("fused") or 0.0) if device else 0.0,
        gates=figures.gates(job.parts[device]) if device else (),
        melts=not device or job.parts[device].kind != "breaker",
        cable=f"{cable} {_size(job, cable)}".strip() if cable else "",
        area=(wire.area or 0.0) if wire else 0.0,
        k=figures.withstand_k(wire) if wire else 0.0,
        carries=film.study.ampacities.get(cable) if cable else None,
        lowest=current,
        highest=film.short.highest_a if len(phase.sources) == 1 and phase.start_s == 0.0 else None,
        opens=seconds,
    )
    stands = race.stands(current)
    lead = called(job.conductors[cable]) if cable else ""
    raced = (
        f"{device} against {lead}" if device and lead else f"when {device} opens" if device else f"what {lead} stands"
    )
    title = f"{film.headed}: {raced}"
    said = []
    if device:
        family = figures.family(job.parts[device])
        when = f"opens within {figure(seconds, 's')}" if seconds is not None else "need not open at all"
        said.append(f"At {amps(current)} {device} {when}.")
        said.append(f"Between the two edges of its band a fuse may open: {figures.book.basis(family)}.")
    if stands is not None:
        said.append(
            f"{cable} stands that for {figure(stands, 's')} (I²t = k²S², k = {race.k:.0f}; IEC 60364-4-43, read in a"
            " reprint)" + (", and gives off heat beyond 5 s." if stands > ADIABATIC_LIMIT_S else ".")
        )
        burnt = [at for at, id in film.short.burns if id == cable]
        opened = next((p.start_s for p in film.short.phases if device in p.opened), None)
        if phase.start_s and opened is not None:
            said.append(f"Both have had a part of it before: {device} opens {figure(opened, 's')} after the beginning.")
        if not device:
            said.append("No fuse ends it.")
        elif opened is None or (burnt and burnt[0] <= opened):
            said.append("The cable burns before the fuse has to open." if burnt else "The cable carries it for good.")
        else:
            said.append("The fuse wins.")
    description = f"{title}: time against current, both on logarithmic scales. {' '.join(said)}"
    mark = device.lower() if device else "cable"
    return Draft(
        "shorts", f"{film.name}-race-{mark}", title, tuple(said), description, plot=race_plot(race)
    )  # fmt: skip


def _in_row(film: _Film, figures: Figures, phase: Phase, current: float) -> str:
    """The conductor with the same current that stands it for the shortest time; `` where there is none."""
    weakest: tuple[float, str] | None = None
    for id, carried in phase.currents.items():
        wire = figures.wire(film.job.conductors[id])
        if wire.area is None or abs(abs(carried) - current) > ALIKE * current:
            continue
        strength = figures.withstand_k(wire) * wire.area
        if weakest is None or strength < weakest[0]:
            weakest = strength, id
    return weakest[1] if weakest else ""
