"""Reading practice: what a meter reads at numbered points for a hidden fault, which fault it is, and why.

The fault is one of a few that the sheet names: the job's own, and others worked out from the netlist. Their readings
are all solved, and only faults that a reading tells apart from every other one and from the sound job are taken, so
that one of them alone fits. A fault that would open a fuse, or leave a case without an answer, has no steady readings.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from typing import NamedTuple

from wiregen.circuit.assemble import main_battery
from wiregen.circuit.case_result import result_of
from wiregen.circuit.cases import operating_cases
from wiregen.circuit.figures import Figures
from wiregen.circuit.network import Network
from wiregen.circuit.questions import ports
from wiregen.circuit.settle import settle
from wiregen.circuit.solve import Solver
from wiregen.circuit.study import CaseResult, Study
from wiregen.findings import Span
from wiregen.language.tree import Measure, Value
from wiregen.layout.words import printed
from wiregen.model.alter import CHANGING, altered
from wiregen.model.job import Job, Part, Step
from wiregen.teaching.captions import hundredths
from wiregen.teaching.case_figures import chosen_cases, largest, titled
from wiregen.teaching.draft import Draft, Item, Items, Table
from wiregen.teaching.fault_figures import through, told
from wiregen.teaching.sum import shown
from wiregen.teaching.worksheets import Sheets, read_out, shuffled

CHOICE = 5  # faults that a sheet names
TRIED = 24  # faults that are worked out, at most
POINTS = 8  # where the red lead goes, at most
TELLS = 0.08  # V: what a reading must differ by to tell two faults apart
ALIKE = 0.025  # V: nothing that a class would see
OPENS = 1.3  # times its rating: what carries that will open
LOST = 0.6  # V: what a joint of the tool's own takes, about
NAMED = frozenset(
    ("battery", "charger", "solar-controller", "mains-charger", "panel", "load", "lamp", "inverter", "starter", "fuse",
     "breaker", "switch", "isolator", "connector", "diode", "shunt")
)  # fmt: skip

Volts = Mapping[str, float | None]  # terminal -> V


class Suspect(NamedTuple):
    """A fault that it could be: `key` tells it from others, `words` say it, `steps` plant it, `teaches` why."""

    key: str
    words: str
    steps: tuple[Step, ...]
    teaches: tuple[str, ...] = ()


class Measured(NamedTuple):
    """A fault with what a meter reads, its black lead on the reference: terminal -> V, None where nothing holds it;
    and the case as solved with the fault."""

    suspect: Suspect
    volts: Volts
    case: CaseResult


class Exercise(NamedTuple):
    """A hidden fault of some that it could be, in the order of their letters; the sound readings, the case that is
    measured, where the black lead is, where the red one goes."""

    case: CaseResult
    black: str
    sound: Volts
    choice: tuple[Measured, ...]
    hidden: Measured
    points: tuple[str, ...]


def reading_sheets(study: Study, seed: int | None = None) -> Sheets:
    """A sheet and its answers; none where no two faults can be told apart."""
    found = exercise(study, seed)
    return _drafts(study.job, found, seed) if found else Sheets((), (), (), ())


def exercise(study: Study, seed: int | None = None) -> Exercise | None:
    """An exercise in the case with the largest current; without a seed the first fault that was planted is hidden."""
    job = study.job
    case = max(chosen_cases(study), key=largest, default=None)
    battery = main_battery(job)
    if case is None or battery is None or f"{battery.id}.-" not in job.terminals:
        return None
    black = f"{battery.id}.-"
    sound = _measured(job, case.name, black)
    if sound is None:
        return None
    usable = _usable(job, study.network, sound[1], black)
    choice = _choice(study, case, black, sound[1], usable, 1 if seed is None else seed)
    usable = tuple(t for t in usable if all(t in m.volts for m in choice))  # one fault may have left a part out
    points = _points(job, sound[1], choice, usable)
    if len(choice) < 2 or not points:
        return None
    keys = [m.suspect.key for m in choice]
    own = [f.key for f in _own(job) if f.key in keys]
    drawn = own[0] if own and seed is None else shuffled(sorted(keys), seed or 1, "hidden")[0]
    hidden = next(m for m in choice if m.suspect.key == drawn)
    return Exercise(case, black, sound[1], choice, hidden, points)


# ---------------------------------------------------------------- what it could be


def _choice(
    study: Study, case: CaseResult, black: str, sound: Volts, usable: Sequence[str], seed: int
) -> tuple[Measured, ...]:
    """The faults of a sheet: the job's own first, then drawn ones, each told from all the others by some reading."""
    suspects = [*_own(study.job), *_drawn(study, case, seed)]
    found: list[Measured] = []
    for suspect in suspects[:TRIED]:
        if len(found) == CHOICE:
            break
        there = _with(study.job, case, suspect, black)
        if there and all(_most(there[1], other, usable) >= TELLS for other in (sound, *(m.volts for m in found))):
            found.append(Measured(suspect, there[1], there[0]))
    order = shuffled([m.suspect.key for m in found], seed, "letters")
    return tuple(sorted(found, key=lambda m: order.index(m.suspect.key)))


def _own(job: Job) -> Iterator[Suspect]:
    """The planted faults of the command line, then those that the job names; what only a short makes is left out."""
    for lesson in sorted(job.lessons, key=lambda lesson: not lesson.name.startswith("given-")):
        steps = tuple(s for s in lesson.steps if s.verb in CHANGING and s.targets)
        if lesson.kind == "fault" and steps:
            words = ". ".join(told(job, step) for step in steps)
            teaches = tuple(v.text for step in lesson.steps if step.verb == "teaches" for v in step.values)
            yield Suspect(f"fault {lesson.name}", words, steps, teaches)


def _drawn(study: Study, case: CaseResult, seed: int) -> list[Suspect]:
    """Faults worked out from the netlist, in an order drawn by the seed: fuses gone, conductors broken, bad joints."""
    job = study.job
    least = 0.05 * largest(case)
    found: dict[str, Suspect] = {}
    for part in job.parts.values():
        amps = max((abs(case.contacts.get((part.id, c.name)) or 0.0) for c in part.contacts), default=0.0)
        if amps < least:
            continue
        if part.kind in ("fuse", "breaker"):
            found[part.id] = Suspect(part.id, f"{part.id} has opened", (_step("break", part.id, job),))
        for contact in part.contacts if part.kind == "connector" else ():
            amps = abs(case.contacts.get((part.id, contact.name)) or 0.0)
            if amps >= least:
                at = f"{part.id}.{contact.name}"
                found[at] = _joint(at, amps, job)
    for c in job.conductors.values():
        amps = abs(case.flows[c.id].current_a or 0.0) if c.id in case.flows else 0.0
        if c.named and amps >= least:
            found[f"break {c.id}"] = Suspect(f"break {c.id}", f"{c.id} is broken", (_step("break", c.id, job),))
            found[f"joint {c.id}"] = _joint(c.id, amps, job)
    return [found[key] for key in shuffled(list(found), seed, "suspects")]


def _joint(at: str, amps: float, job: Job) -> Suspect:
    """A bad joint that takes what a class can see."""
    milliohm = float(f"{LOST / amps * 1000:.1g}")
    text = f"{milliohm:g} mohm"
    span = job.span or next(iter(job.parts.values())).span
    measure = Measure(milliohm / 1000, milliohm / 1000, milliohm / 1000, "resistance", "mohm")
    step = Step("joint", (Value("name", at, span), Value("quantity", text, span, measure)), span, targets=(at,))
    where = f"at the end of {at}" if at in job.conductors else f"at {at}"
    return Suspect(f"joint {at}", f"A bad joint {where} adds {printed(text)}", (step,))


def _step(verb: str, id: str, job: Job) -> Step:
    span: Span = job.span or next(iter(job.parts.values())).span
    return Step(verb, (Value("name", id, span),), span, targets=(id,))


# ---------------------------------------------------------------- what a meter reads


def _with(job: Job, case: CaseResult, suspect: Suspect, black: str) -> tuple[CaseResult, Volts] | None:
    """The readings with a fault planted; None where there are no steady ones."""
    changed, problems = altered(job, suspect.steps)
    return None if problems or black not in changed.terminals else _measured(changed, case.name, black)


def _measured(job: Job, name: str, black: str) -> tuple[CaseResult, Volts] | None:
    """The case of that name, and all terminals against the black lead, nothing where they are of an island of their
    own; None where there is no steady answer."""
    state = next((s for s in operating_cases(job) if s.name == name), None)
    if state is None or any(measure.low != measure.high for measure in state.held.values()):
        return None
    figures = Figures(job)
    rest = settle(job, figures, state)
    case = result_of(job, figures, rest)
    zero = case.voltages.get(black)
    if not case.solved or case.troubles or zero is None or any(_opens(part, case) for part in job.parts.values()):
        return None
    island = Solver(rest.circuit).islands()
    return case, {
        terminal: volts - zero if volts is not None and island.get(terminal) == island[black] else None
        for terminal, volts in case.voltages.items()
    }


def _opens(part: Part, case: CaseResult) -> bool:
    """Whether a fuse or breaker would not stay in."""
    rating = part.number("rating")
    if part.kind not in ("fuse", "breaker") or not rating:
        return False
    return any(abs(case.contacts.get((part.id, c.name)) or 0.0) > OPENS * rating for c in part.contacts)


def _gap(one: Volts, other: Volts, terminal: str) -> float:
    """How far two readings are apart; one that nothing holds is told from any that is held well. [V]"""
    a, b = one.get(terminal), other.get(terminal)
    if a is None or b is None:
        return 0.0 if a is b else max(abs(a or 0.0), abs(b or 0.0))
    return abs(round(a, 2) - round(b, 2))


def _most(one: Volts, other: Volts, usable: Sequence[str]) -> float:
    """How well the best point that is there with both tells two faults apart. [V]"""
    return max((_gap(one, other, t) for t in usable if t in one and t in other), default=0.0)


# ---------------------------------------------------------------- where to put the red lead


def _usable(job: Job, network: Network, sound: Volts, black: str) -> tuple[str, ...]:
    """Terminals that a class finds by their names, with a voltage in the sound job, in the order of the wiring."""
    order = _walk(job, network, black)
    return tuple(t for t in order if job.terminals[t].used and _named(job, t) and t != black and sound[t] is not None)


def _points(job: Job, sound: Volts, choice: Sequence[Measured], usable: Sequence[str]) -> tuple[str, ...]:
    """The fewest terminals that tell all faults apart, then others that read otherwise; () where they do not."""
    every = [sound, *(m.volts for m in choice)]
    alike = list(combinations(range(len(every)), 2))
    chosen: list[str] = []
    while alike and len(chosen) < POINTS:
        told = {t: [(a, b) for a, b in alike if _gap(every[a], every[b], t) >= TELLS] for t in usable}
        best = max(usable, key=lambda t: len(told[t]))
        if not told[best]:
            return ()
        chosen.append(best)
        alike = [pair for pair in alike if pair not in told[best]]
    posts = [t for part in job.parts.values() for pair in ports(part) for t in pair]
    for t in (*posts, *usable):
        if len(chosen) < POINTS and t in usable and all(t != c and _unlike(every, t, c) for c in chosen):
            chosen.append(t)
    return () if alike else tuple(sorted(chosen, key=usable.index))


def _unlike(every: Sequence[Volts], one: str, other: str) -> bool:
    """Whether two terminals read otherwise in the sound job or with some fault."""
    return any(abs((v[one] or 0.0) - (v[other] or 0.0)) > ALIKE for v in every)


def _named(job: Job, terminal: str) -> bool:
    part = job.part_of(terminal)
    return part is not None and part.kind in NAMED and not part.block


def _walk(job: Job, network: Network, black: str) -> list[str]:
    """Terminals in the order in which a class walks them: from the battery's positive, breadth first."""
    start = black[:-1] + "+"
    seen = [start]
    queue = deque(seen)
    while queue:
        for _, there in network.around(queue.popleft()):
            if there not in seen:
                seen.append(there)
                queue.append(there)
    return [*seen, *(t for t in job.terminals if t not in seen)]


# ---------------------------------------------------------------- as drafts


def _drafts(job: Job, made: Exercise, seed: int | None) -> Sheets:
    case, black, sound, choice, hidden, points = made
    letters = {m.suspect.key: "ABCDEFGH"[k] for k, m in enumerate(choice)}
    right = letters[hidden.suspect.key]
    marks = (("−", black), *((str(k), t) for k, t in enumerate(points, 1)))
    rows = tuple((f"{k}  {t}", _said(hidden.volts[t])) for k, t in enumerate(points, 1))
    title = f"Meter readings: {titled(case)}"
    tail = "" if seed is None else f"-seed-{seed:02d}"
    corner = "" if seed is None else f"seed {seed}"
    caption: tuple[str, ...] = (
        f"{titled(case)}. Something is wrong. The black lead is on {black}, the red one at the numbered points.",
    )
    if any(hidden.volts[t] is None for t in points):
        caption = (*caption, "Nothing: the meter shows no steady figure.")
    of_faults = [Item(letters[m.suspect.key], (f"{m.suspect.words}.",), heading=False) for m in choice]
    across = _across(job, sound, hidden, points)
    last = letters[choice[-1].suspect.key]
    questions = [Item("(1)", (f"Which of A to {last} is it? The others do not fit the readings.",), "letter")]
    questions += [Item("(2)", (across.asked,), "V")] if across else []
    table = Table(("red lead at", "reads"), rows)
    words = "; ".join(f"{where}: {volts}" for where, volts in rows)
    sheet = Draft(
        "readings", f"readings{tail}", title, caption,
        f"{title}. {' '.join(caption)} {words}. {read_out(of_faults)} {read_out(questions)}",
        points=marks, blocks=(table, Items((*of_faults, *questions))), corner=corner or "worksheet", asks=True,
    )  # fmt: skip
    reasons = _reasons(job, case, hidden)
    answers = [Item("(1)", (f"{right}: {hidden.suspect.words}", *reasons))]
    answers += [Item("(2)", (f"{across.asked} {across.answer}", across.worked))] if across else []
    answers += [
        Item(letters[m.suspect.key], (_ruled_out(m, hidden, points),), heading=False) for m in choice if m is not hidden
    ]
    compared = tuple(
        (f"{k}  {t}", _said(sound[t]), _said(hidden.volts[t]), _why(sound[t], hidden.volts[t]))
        for k, t in enumerate(points, 1)
    )
    beside = Table(("red lead at", "sound", "reads", ""), compared)
    heading = title.replace("Meter readings", "Answers to the meter readings")
    told_ = "; ".join(f"{where}: sound {before}, reads {now}, {why}" for where, before, now, why in compared)
    answer = Draft(
        "answers", f"readings{tail}", heading, (), f"{heading}. {told_}. {read_out(answers)}", points=marks,
        blocks=(beside, Items(tuple(answers))), corner=" ".join(word for word in ("answers", corner) if word),
    )  # fmt: skip
    return Sheets((sheet,), (answer,), (), ())


class Across(NamedTuple):
    """A question about the voltage over one part."""

    asked: str
    worked: str
    answer: str


def _across(job: Job, sound: Volts, hidden: Measured, points: Sequence[str]) -> Across | None:
    """The voltage over the load, charger or battery that the fault changes most, of those whose posts are points."""
    found = []
    for part in job.parts.values():
        for plus, minus in ports(part):
            high, low = hidden.volts.get(plus), hidden.volts.get(minus)
            if plus not in points or minus not in points or high is None or low is None:
                continue
            if f"{round(high, 2) - round(low, 2):.2f}" == f"{high - low:.2f}":
                before = (sound[plus] or 0.0) - (sound[minus] or 0.0)
                asked = f"What is the voltage from {plus} to {minus}?"
                second = f"({_said(low)})" if low < -0.005 else _said(low)
                worked = f"{_said(high)} − {second} = {_said(high - low)}"
                found.append((abs(high - low - before), Across(asked, worked, _said(high - low))))
    return max(found, key=lambda each: each[0])[1] if found else None


def _reasons(job: Job, sound: CaseResult, hidden: Measured) -> list[str]:
    """Why it reads so: what a bad joint takes, what is cut off, else what loses most more; what the lesson teaches."""
    out = []
    for step in hidden.suspect.steps:
        ohm = next((v.measure.value for v in step.values if v.measure), None) if step.verb == "joint" else None
        amps = through(job, hidden.case, step.targets[0]) if ohm is not None else None
        if ohm is not None and amps is not None:
            lost = f"{shown(amps, 'A', 3)} × {shown(ohm, 'Ω', 3, whole=False)} = {shown(amps * ohm, 'V', 3)}"
            out.append(f"It takes U = I × R = {lost}.")
        elif step.verb == "break":
            out.append(f"No current flows in {step.targets[0]}: what it feeds is cut off.")
    if not out:
        out = _loses(sound, hidden.case)
    return [*out, *hidden.suspect.teaches]


def _loses(sound: CaseResult, faulty: CaseResult) -> list[str]:
    """The conductor that loses clearly more than in the sound job, the one that does most."""
    drops = [
        (abs(flow.drop_v) - abs(before.drop_v), id, abs(before.drop_v), abs(flow.drop_v))
        for id, flow in faulty.flows.items()
        if (before := sound.flows.get(id)) and before.drop_v is not None and flow.drop_v is not None
    ]
    more, id, before_v, now_v = max(drops, default=(0.0, "", 0.0, 0.0))
    if more < TELLS:
        return []
    return [f"{id} loses {shown(now_v, 'V', 3)}, in the sound job {shown(before_v, 'V', 3)}."]


def _said(volts: float | None) -> str:
    return "nothing" if volts is None else hundredths(volts)


def _why(sound: float | None, now: float | None) -> str:
    """What a reading tells."""
    if sound is None or now is None:
        return "as sound" if sound is now else "cut off" if now is None else "fed from elsewhere"
    gap = round(now, 2) - round(sound, 2)
    if abs(gap) <= ALIKE:
        return "as sound"
    if now < -0.5 <= sound:
        return "wrong way round"
    return f"{abs(gap):.2f} V {'less' if gap < 0 else 'more'}"


def _ruled_out(other: Measured, hidden: Measured, points: Sequence[str]) -> str:
    """The point that speaks most clearly against another fault."""
    at = max(points, key=lambda t: _gap(other.volts, hidden.volts, t))
    number = points.index(at) + 1
    return f"No: point {number} would read {_said(other.volts[at])}, not {_said(hidden.volts[at])}."
