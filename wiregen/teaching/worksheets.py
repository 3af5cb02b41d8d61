"""Worksheets: numbered blanks in the diagram, their questions beside it; and the answer sheet with every sum in full.

Drawn from `worksheet` statements, else a sheet of the tool's own. A seed draws the same exercise on other parts, the
same draw on every machine and in every version.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from hashlib import sha256
from typing import NamedTuple, TypeVar

from wiregen.circuit.stages import arrivals
from wiregen.circuit.study import CaseResult, Study
from wiregen.drawing.look import Look
from wiregen.findings import Finding, Span, mistake
from wiregen.layout.words import printed, quantity
from wiregen.model.job import Job, Lesson
from wiregen.model.spelling import did_you_mean
from wiregen.teaching.captions import several
from wiregen.teaching.case_figures import chosen_cases, largest, titled
from wiregen.teaching.draft import Blank, Draft, Item, Items
from wiregen.teaching.fault_figures import missed
from wiregen.teaching.order import staged
from wiregen.teaching.plant import planted
from wiregen.teaching.stage_figures import stage_drafts
from wiregen.teaching.sum import FIGURES, QUANTITIES, Sum, carried_on
from wiregen.teaching.sums import sums

SHORT = 0.05  # m: a conductor that is no longer takes nothing worth a sum
MANY = 6  # blanks on one sheet, or questions in words
MOST = 8  # of both together
REDRAWS = 12  # until the blanks of a sheet get along with one another
ROOM = "0 0000 mW"  # the widest that a blank is kept room for
DRAWN = (
    ("conductor", ("drop",)),
    ("conductor", ("power", "resistance", "temperature", "length", "size")),
    ("part", ("choice",)),
    ("part", ("current", "power", "voltage")),
    ("conductor", ("ampacity", "fault")),
    ("circuit", ("drop", "share", "left")),
)
"""What the tool's own sheet asks for: one of each row."""
WORTH = 0.05  # of the largest current: what carries less is not asked for by the tool
WARM = "Copper, T in °C: R = R at 20 °C × (1 + α × (T − 20)), α = 0.00393 (IEC 60287-1-1)."
GIVING = ("battery", "starter", "load", "lamp", "inverter", "charger", "panel", "alternator", "fuse")
TELLING = ("open-circuit", "volts", "rating", "draws", "resistance")  # facts that a sum takes
BARE = ("volts", "rating", "draws")  # they say what they are by their unit
Key = tuple[str, str]
T = TypeVar("T")


class Wanted(NamedTuple):
    """A blank that a sheet asks for: subject, quantity, and where the netlist says so."""

    subject: str
    quantity: str
    span: Span


class Sheets(NamedTuple):
    """Sheets to hand out, their answers in the same order, what is wrong with a `worksheet` statement, and what was
    expected of a planted fault and did not come."""

    sheets: tuple[Draft, ...]
    answers: tuple[Draft, ...]
    problems: tuple[Finding, ...]
    missed: tuple[str, ...]


def shuffled(items: Sequence[T], seed: int | str, salt: str) -> list[T]:
    """The items in an order drawn by the seed, by their texts alone."""
    return sorted(items, key=lambda item: sha256(f"{seed}\n{salt}\n{item!r}".encode()).digest())


def worksheets(study: Study, findings: Sequence[Finding], seed: int | None = None) -> Sheets:
    """The sheets of a job, as written, or drawn anew by a seed."""
    asked = [lesson for lesson in study.job.lessons if lesson.kind == "worksheet"]
    if not asked:
        return _own(study, seed)
    parts = [_written(study, findings, lesson, seed) for lesson in asked]
    return Sheets(*(tuple(each for part in parts for each in part[k]) for k in range(4)))  # type: ignore[arg-type]


# ---------------------------------------------------------------- as written


def _written(study: Study, findings: Sequence[Finding], lesson: Lesson, seed: int | None) -> Sheets:
    """The sheets of one `worksheet` statement."""
    said = {step.verb: step for step in lesson.steps}
    faulty, told, not_found, wrong = study, list[str](), list[str](), list[Finding]()
    if "fault" in said:
        name = said["fault"].values[0].text.lower()
        fault = planted(study, findings, next(f for f in study.job.lessons if _is_fault(f) and f.name.lower() == name))
        faulty, not_found, wrong = fault.study, missed(fault), list(fault.problems)
        if "hide" not in said:
            told = [f"The check says {f.rule}: {printed(f.message)}." for f in fault.new[:2]]
    case = _case(faulty, said["case"].values[0].text if "case" in said else "")
    if case is None:
        where = said["case"].span if "case" in said else lesson.span
        message = f"worksheet {lesson.name} has no case that can be worked out"
        wrong.append(mistake(message, where, remedy="name another case"))
        return Sheets((), (), tuple(wrong), tuple(not_found))
    known = sums(faulty, case)
    wanted = [
        Wanted(step.targets[0], value.text.lower(), value.span)
        for step in lesson.steps
        if step.verb == "blank" and step.targets
        for value in step.values[1:]
    ]
    pools = [_pool(faulty, case, known, w) for w in wanted]
    asked, not_asked = _settled(wanted, known)
    for again in range(REDRAWS) if seed is not None and not not_asked else ():
        asked, stuck = _settled(_redrawn(wanted, pools, f"{seed} {again}"), known)
        if not stuck:  # no two blanks need each other
            break
    else:
        asked, not_asked = _settled(wanted, known)
    wrong += [_refused(faulty, case, known, w) for w in not_asked]
    asks = [
        (printed(s.values[0].text), printed(s.values[2].text))
        for s in lesson.steps
        if s.verb == "ask" and len(s.values) == 3
    ]
    roomy = [s.where for pool in pools for s in pool if s.where] if seed is not None else []
    if asks and not wanted:
        told = [*_given(faulty.job), *told]
    if not wanted and (seed is not None or not asks):
        asked, roomy = _chosen(faulty, case, known, seed)
    looks = _stage_looks(study, said["stage"].values[0].text) if "stage" in said else {}
    title = f"Worksheet {lesson.name}: {lesson.title}" if lesson.title else f"Worksheet {lesson.name}"
    made = _drafts(case, asked, asks, title, f"worksheet-{lesson.name.lower()}", told, looks, roomy, seed)
    return Sheets(*made, tuple(wrong), tuple(not_found))


def _given(job: Job) -> list[str]:
    """What the netlist says of parts and conductors, for questions in words."""
    out = []
    for part in (p for p in job.parts.values() if p.kind in GIVING and not p.block):
        facts = [
            quantity(part.fact(name)) if name in BARE else f"{name} {quantity(part.fact(name))}"
            for name in TELLING
            if part.measure(name) and not (name == "volts" and (part.has("open-circuit") or part.kind == "fuse"))
        ]
        if facts:
            out.append(f"{part.id}: {', '.join(facts)}.")
    leads = [
        f"{c.id} {quantity(c.fact('size'))} {quantity(c.fact('length'))}"
        for c in job.conductors.values()
        if c.named and c.has("size") and (c.number("length") or 0.0) >= SHORT
    ]
    return [*out, f"{', '.join(leads)}."] if leads else out


def _is_fault(lesson: Lesson) -> bool:
    return lesson.kind == "fault"


def _case(study: Study, name: str) -> CaseResult | None:
    """The case of that name, or the first that is worth a picture."""
    if not name:
        return next(iter(chosen_cases(study)), None)
    return next((case for case in study.cases if case.name.lower() == name.lower() and case.solved), None)


def _kind(study: Study, subject: str) -> str:
    job = study.job
    return "conductor" if subject in job.conductors else "part" if subject in job.parts else "circuit"


def _pool(study: Study, case: CaseResult, known: Sequence[Sum], like: Wanted) -> list[Sum]:
    """Sums for the same quantity of things of the same kind, of those that are worth it."""
    kind = _kind(study, like.subject)
    return [
        s for s in known if s.quantity == like.quantity and _kind(study, s.subject) == kind and _worth(study, case, s)
    ]


def _redrawn(wanted: Sequence[Wanted], pools: Sequence[Sequence[Sum]], seed: str) -> list[Wanted]:
    """The same exercise on other parts, no two blanks at one of them."""
    out: list[Wanted] = []
    for at, (old, pool) in enumerate(zip(wanted, pools, strict=True)):
        subjects = list(dict.fromkeys(s.subject for s in pool))
        free = [s for s in shuffled(subjects, seed, f"{at} {old.quantity}") if all(s != other.subject for other in out)]
        out.append(old._replace(subject=free[0]) if free else old)
    return out


def _refused(study: Study, case: CaseResult, known: Sequence[Sum], wanted: Wanted) -> Finding:
    """Why a blank has no answer."""
    kind = _kind(study, wanted.subject)
    if wanted.quantity not in QUANTITIES[kind]:
        remedy = did_you_mean(wanted.quantity, QUANTITIES[kind])
        remedy = remedy or f"a sheet may ask of a {kind}: {', '.join(QUANTITIES[kind])}"
        return mistake(f"{wanted.quantity} of {wanted.subject} cannot be asked for", wanted.span, remedy=remedy)
    there = list(dict.fromkeys(s.quantity for s in known if s.subject == wanted.subject))
    others = list(dict.fromkeys(s.subject for s in known if s.quantity == wanted.quantity and s.subject))
    there_is = (
        f"name another case, or ask for it of {several(others)}" if others else "name another part, or another case"
    )
    remedy = f"it can be asked for {', '.join(there)}" if there else there_is
    reason = f"in {titled(case)} there is no sum with one answer for it, or another blank takes away what it needs"
    message = f"{wanted.quantity} of {wanted.subject} cannot be worked out on this sheet"
    return mistake(message, wanted.span, reason=reason, remedy=remedy)


def _stage_looks(study: Study, number: str) -> Mapping[str, Look]:
    """How things look at a stage."""
    order = arrivals(replace(study.job, stages=staged(study))).order
    at = next((k for k, stage in enumerate(order) if stage.number.lower() == number.lower()), None)
    return {} if at is None else stage_drafts(study)[at + 1].looks


def _settled(wanted: Sequence[Wanted], known: Sequence[Sum]) -> tuple[list[Sum], list[Wanted]]:
    """A sum for each blank that takes nothing that another blank asks for, or carries on with its answer; and the
    blanks for which there is none."""
    asked = {(w.subject, w.quantity) for w in wanted}
    numbers = {key: str(k) for k, key in enumerate(dict.fromkeys((w.subject, w.quantity) for w in wanted), 1)}
    done: dict[Key, Sum] = {}
    moved = True
    while moved:
        moved = False
        for key in numbers:
            options = [s for s in known if s.key == key and key not in done and s.uses & asked <= set(done)]
            options = [s for s in options if not (s.size and (s.subject, "size") in asked)]
            for option in sorted(options, key=lambda s: len(s.uses & asked)):
                found = carried_on(option, done) if option.uses & asked else option
                if found is not None:
                    done[key] = found
                    moved = True
                    break
    return [done[key] for key in numbers if key in done], [w for w in wanted if (w.subject, w.quantity) not in done]


# ---------------------------------------------------------------- the tool's own


def _own(study: Study, seed: int | None) -> Sheets:
    """A sheet where the job has no `worksheet`: one blank of each of `DRAWN`."""
    case = _case(study, "")
    if case is None:
        return Sheets((), (), (), ())
    chosen, roomy = _chosen(study, case, sums(study, case), seed)
    if not chosen:
        return Sheets((), (), (), ())
    return Sheets(*_drafts(case, chosen, (), f"Worksheet: {titled(case)}", "worksheet", (), {}, roomy, seed), (), ())


def _chosen(study: Study, case: CaseResult, known: Sequence[Sum], seed: int | None) -> tuple[list[Sum], list[str]]:
    """One blank of each row of `DRAWN`, none of which gives another away; and what else could have one."""
    known = [s for s in known if _worth(study, case, s)]
    chosen: list[Sum] = []
    for row, (kind, quantities) in enumerate(DRAWN):
        pool = {s.key: s for s in known if s.quantity in quantities and _kind(study, s.subject) == kind}
        for key in shuffled(list(pool), 1 if seed is None else seed, str(row)):
            if all(_apart(pool[key], other) for other in chosen):
                chosen.append(pool[key])
                break
    roomy = [s.where for s in known if s.where and any(s.quantity in quantities for _, quantities in DRAWN)]
    return chosen, roomy


def _apart(one: Sum, other: Sum) -> bool:
    """Whether neither gives the other away, and both have a place of their own."""
    return one.subject != other.subject and one.key not in other.uses and other.key not in one.uses


def _worth(study: Study, case: CaseResult, asked: Sum) -> bool:
    """Whether a class would see why it is asked: not of what hardly carries anything."""
    conductor, flow = study.job.conductors.get(asked.subject), case.flows.get(asked.subject)
    if conductor is not None and (conductor.number("length") or 0.0) < SHORT:
        return False
    amps = (flow.current_a if flow else case.parts.get(asked.subject, {}).get("current_a")) or 0.0
    if asked.quantity == "temperature" and flow is not None:
        return abs(amps) >= 0.2 * (flow.ampacity_a or float("inf"))
    if asked.quantity in ("current", "voltage", "drop", "power", "choice", "rating") and asked.subject in case.parts:
        return abs(amps or case.parts[asked.subject].get("input_current_a") or 0.0) >= WORTH * largest(case)
    return flow is None or asked.quantity in ("ampacity", "colour") or abs(amps) >= WORTH * largest(case)


# ---------------------------------------------------------------- as drafts


def _drafts(
    case: CaseResult,
    asked: Sequence[Sum],
    asks: Sequence[tuple[str, str]],
    title: str,
    name: str,
    told: Sequence[str],
    looks: Mapping[str, Look],
    roomy: Sequence[str],
    seed: int | None,
) -> tuple[tuple[Draft, ...], tuple[Draft, ...]]:
    """The sheets and their answers; what one sheet has no room for goes on to another."""
    numbers = {s.key: str(k) for k, s in enumerate(asked, 1)}
    sheets: list[Draft] = []
    answers: list[Draft] = []
    parts = _parts(asked, asks)
    letter = iter(range(len(asks)))
    for at, (some, more) in enumerate(parts):
        lines: dict[str, list[str]] = {}
        blanks: dict[tuple[str, int], Blank] = {}
        questions, worked = [], []
        for s in some:
            number = numbers[s.key]
            if s.where:
                lines.setdefault(s.where, []).append(s.answer)
                blanks[s.where, len(lines[s.where])] = Blank(number, s.unit)
            figures = f" To {s.figures} figures." if s.figures and s.figures != FIGURES[0] else ""
            question = (f"{_capital(s.asked)}:", f"{_capital(s.data(numbers))}.{figures}")
            questions.append(Item(f"({number})", question, None if s.where else s.unit))
            worked.append(Item(f"({number})", (f"{_capital(s.asked)}: {s.answer}", *s.worked)))
        for question_, answer in more:
            name_ = f"({'abcdefghijklmnopqrstuvwxyz'[next(letter) % 26]})"
            questions.append(Item(name_, (question_,), ""))
            worked.append(Item(name_, (question_, answer)))
        part = f"-{at + 1}" if len(parts) > 1 else ""
        titles = f"{title} ({at + 1} of {len(parts)})" if part else title
        task = " Work out what belongs in the numbered fields, to three figures." if some else ""
        caption = (f"{titled(case)}.{task}", *told)
        if any("α" in s.formula for s in some):
            caption = (*caption, WARM)
        tail = "" if seed is None else f"-seed-{seed:02d}"
        corner = "" if seed is None else f"seed {seed}"
        room = dict.fromkeys(roomy, (ROOM,)) | {id: (ROOM,) * len(said) for id, said in lines.items()}
        description = f"{titles}. {' '.join(caption)} {read_out(questions)}"
        sheets.append(
            Draft(
                "worksheets", f"{name}{part}{tail}", titles, caption, description, looks, room=room, blanks=blanks,
                blocks=(Items(tuple(questions)),), corner=corner or "worksheet", asks=True,
            )
        )  # fmt: skip
        heading = titles.replace("Worksheet", "Answers", 1)
        answers.append(
            Draft(
                "answers", f"{name}{part}{tail}", heading, (f"{titled(case)}.",), f"{heading}. {read_out(worked)}",
                looks, {id: tuple(said) for id, said in lines.items()}, room, blanks, True,
                " ".join(word for word in ("answers", corner) if word), blocks=(Items(tuple(worked)),),
            )
        )  # fmt: skip
    return tuple(sheets), tuple(answers)


def _parts(asked: Sequence[Sum], asks: Sequence[tuple[str, str]]) -> list[tuple[Sequence[Sum], list[tuple[str, str]]]]:
    """What stands on each sheet: blanks first, then the questions in words."""
    parts: list[tuple[Sequence[Sum], list[tuple[str, str]]]] = [
        (asked[k : k + MANY], []) for k in range(0, max(len(asked), 1), MANY)
    ]
    for ask in asks:
        blanks, questions = parts[-1]
        if len(questions) >= min(MANY, MOST - len(blanks)):
            parts.append(((), []))
        parts[-1][1].append(ask)
    return parts


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def read_out(items: Sequence[Item]) -> str:
    """Questions or answers as running text, each paragraph with a stop."""
    return " ".join(f"{item.number} {' '.join(_stopped(words) for words in item.words)}" for item in items)


def _stopped(words: str) -> str:
    return words if words[-1:] in ".:?!" else f"{words}."
