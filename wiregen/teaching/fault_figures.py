"""A planted fault: what was done, which rule finds it, what a meter reads beside the sound job, what gets hot."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from wiregen.circuit.insist import insisted
from wiregen.circuit.questions import ports
from wiregen.circuit.study import CaseResult, Study
from wiregen.drawing.look import Look
from wiregen.layout.shown import figure
from wiregen.layout.words import printed, quantity
from wiregen.model.alter import CHANGING
from wiregen.model.job import Job, Step
from wiregen.teaching import look
from wiregen.teaching.captions import called, hundredths, several
from wiregen.teaching.case_figures import chosen_cases, dark, titled
from wiregen.teaching.draft import Dash, Draft, Key, Table
from wiregen.teaching.plant import Planted

HOTTER = 2.0  # K: less is no reason to speak of heat
WARMING = 0.1  # A: less does not heat a conductor; it is only in a hotter place
HARDLY = 0.1  # V: less is told from the sound job only by who knows what that reads
ROWS = 7
METERED = ("battery", "charger", "load", "lamp", "inverter", "panel", "mains-charger", "solar-controller", "starter")


class Reading(NamedTuple):
    """What a meter reads between two terminals, red lead first. None: nothing holds a voltage there. [V]"""

    red: str
    black: str
    sound: float | None
    faulty: float | None

    @property
    def change(self) -> float:
        """How far the two are apart; a voltage that is gone counts whole. [V]"""
        return abs((self.sound or 0.0) - (self.faulty or 0.0))


def fault_drafts(sound: Study, fault: Planted, steps: Sequence[Step]) -> list[Draft]:
    """What was done; then what a meter reads and what gets hot."""
    return [_done(sound, fault, steps), _read(sound, fault)]


def missed(fault: Planted) -> list[str]:
    """What the fault says that the rules find, and they do not."""
    there = several(f"{f.rule} on {f.subject}" for f in fault.new) or "nothing"
    return [
        f"fault {fault.name}: expected {e.rule} on {e.subject}, which does not come; new is {there}"
        for e in fault.expected
        if not e.found
    ]


def headed(fault: Planted) -> str:
    """The fault as a title."""
    return fault.title or f"Fault {fault.name.removeprefix('given-')}"


# ---------------------------------------------------------------- what was done


def _done(sound: Study, fault: Planted, steps: Sequence[Step]) -> Draft:
    job = sound.job
    looks: dict[str, Look] = {}
    lines: dict[str, tuple[str, ...]] = {}
    dashes: list[Dash] = []
    said = []
    for step in steps:
        if step.verb not in CHANGING or not step.targets:
            continue
        said.append(told(job, step))
        for id in touched(job, step):
            away = step.verb in ("leave-out", "move") and id in job.conductors
            looks[id] = look.PALE if away else look.CHANGED
        if step.verb == "move":
            conductor, away_from, lands = step.targets
            moved = job.conductors[conductor]
            if lands != "loose":
                stays = moved.to if moved.from_ == away_from else moved.from_
                dashes.append(Dash(conductor, stays, lands))
        mark = _mark(job, step)
        if mark:
            lines[touched(job, step)[0]] = (mark,)
    found = [f"The check says {f.rule}: {printed(f.message)}." for f in fault.new[:2]]
    if len(fault.new) > 2:
        found.append(f"{len(fault.new) - 2} more findings come with it.")
    if not fault.new:
        found.append("No rule finds it from the netlist: only a meter does.")
    caption = (*(f"{words}." for words in said), *fault.teaches, *found)
    title = f"Fault: {fault.title or said[0]}" if fault.title or said else headed(fault)
    keys = {
        "changed": Key(look.CHANGED, "changed") if look.CHANGED in looks.values() else None,
        "away": Key(look.PALE, "taken away") if look.PALE in looks.values() else None,
        "now": Key(look.CHANGED, "where it is now", dashed=True) if dashes else None,
    }
    blocks = tuple(key for key in keys.values() if key)
    description = f"{title}. {' '.join(caption)}"
    return Draft(
        "faults", f"fault-{_name(fault)}", title, caption, description, looks, lines, dashes=tuple(dashes),
        blocks=blocks,
    )  # fmt: skip


def _name(fault: Planted) -> str:
    return fault.name.lower()


def touched(job: Job, step: Step) -> list[str]:
    """The parts and conductors that a step changes, the first named first."""
    ids = step.targets[:1] if step.verb in ("move", "change", "joint") else step.targets
    out: list[str] = []
    for id in ids:
        if id in job.conductors or id in job.parts:
            out.append(id)
        elif part := job.part_of(id):
            out.append(part.id)
        else:  # a connector's pole, or a place with all that runs through it
            owner = id.rpartition(".")[0]
            out += [owner] if owner in job.parts else []
            out += [c.id for c in job.conductors.values() if any(leg.place == id for leg in c.route)]
    return list(dict.fromkeys(out)) or list(ids)


def _mark(job: Job, step: Step) -> str:
    """A word at what was changed; at a part a short one, so that its name keeps its place."""
    lead = touched(job, step)[0] in job.conductors
    words = " ".join(v.text for v in step.values[1:])
    if step.verb == "joint":
        added = printed(next((f"+{v.text}" for v in step.values if v.measure), ""))
        return added if lead or _roomy(job, step) else "!"
    if step.verb == "change":
        return printed(words) if lead or _roomy(job, step) else "!"
    long = {"leave-out": "left out", "break": "broken", "bridge": "bridged", "swap": "swapped", "move": "moved"}
    return long.get(step.verb, "") if lead or _roomy(job, step) else "!"


def _roomy(job: Job, step: Step) -> bool:
    part = job.parts.get(touched(job, step)[0])
    return part is not None and part.kind in ("battery", "charger", "connector", "alternator", "panel")


def told(job: Job, step: Step) -> str:
    """What a step does, as a sentence without its stop."""
    ids = step.targets
    if step.verb == "change":
        pairs = []
        owner = job.conductors.get(ids[0]) or job.parts.get(ids[0]) or job.places.get(ids[0])
        for name, fact in step.facts.items():
            old = quantity(owner.fact(name)) if owner else ""
            new = printed(" ".join(v.text for v in fact.values) or name)
            pairs.append(f"{new} in place of {old}" if old else new)
        return f"{ids[0]} is {', '.join(pairs)}"
    if step.verb == "move":
        where = "hangs loose" if ids[2] == "loose" else f"lands on {ids[2]}"
        return f"{ids[0]} {where} and not on {ids[1]}"
    if step.verb == "joint":
        added = printed(next((v.text for v in step.values if v.measure), ""))
        return f"A bad joint at {ids[0]} adds {added}"
    if step.verb == "swap" and len(ids) == 1:
        crossed = ids[0] in job.parts and job.parts[ids[0]].kind in ("connector", "plug", "socket")
        return f"The two {'poles' if crossed else 'leads'} of {ids[0]} are swapped"
    what = several(ids)
    verb = {"leave-out": "left out", "break": "broken", "bridge": "bridged by a piece of metal", "swap": "swapped"}
    return f"{what} {'is' if len(ids) == 1 else 'are'} {verb.get(step.verb, step.verb)}"


# ---------------------------------------------------------------- what a meter reads, what gets hot


def readings(job: Job, sound: CaseResult, faulty: CaseResult | None) -> list[Reading]:
    """Between plus and minus of every source, charger and load, in the order of the file."""
    out = []
    for part in job.parts.values():
        if part.kind not in METERED:
            continue
        for plus, minus in ports(part):
            before = volts(sound, plus, minus)
            if before is not None and not dark(part, plus[len(part.id) + 1 : -2], before):
                out.append(Reading(plus, minus, before, volts(faulty, plus, minus) if faulty else None))
    return out


def volts(case: CaseResult, red: str, black: str) -> float | None:
    """What a meter reads between two terminals; None where nothing holds a voltage. [V]"""
    a, b = case.voltages.get(red), case.voltages.get(black)
    return None if a is None or b is None else a - b


def telling_case(sound: Study, faulty: Study) -> tuple[CaseResult, CaseResult | None] | None:
    """The case in which the fault shows most, of the sound job and of the faulty one (there while a part that hunts
    runs)."""
    faulty = insisted(faulty)
    pairs = []
    for k, case in enumerate(chosen_cases(sound)):
        other = next((c for c in faulty.cases if c.name == case.name), None)
        shown = max((r.change for r in readings(sound.job, case, other)), default=0.0)
        shown += sum(rise for _, _, rise in hotter(case, other)) / 20.0 if other else 0.0
        pairs.append((-shown if shown > 0.02 else 0.0, k, case, other))
    return min(pairs, key=lambda p: p[:2])[2:] if pairs else None


def hotter(sound: CaseResult, faulty: CaseResult | None) -> list[tuple[str, float, float]]:
    """Conductors that run clearly hotter with the fault: id, their temperature, the rise; hottest first. [degC, K]"""
    out = []
    for id, flow in faulty.flows.items() if faulty else ():
        before = sound.flows[id].temperature_c if id in sound.flows else None
        amps = abs(flow.current_a or 0.0)
        if (
            before is not None
            and amps >= WARMING
            and flow.temperature_c is not None
            and flow.temperature_c - before >= HOTTER
        ):
            out.append((id, flow.temperature_c, flow.temperature_c - before))
    return sorted(out, key=lambda h: (-h[1], h[0]))


def _read(sound: Study, fault: Planted) -> Draft:
    job = sound.job
    title = f"{headed(fault)}: what a meter reads"
    found = telling_case(sound, fault.study)
    if found is None:
        caption: tuple[str, ...] = ("No case of this job has a current to be measured.",)
        return Draft("faults", f"fault-{_name(fault)}-meter", title, caption, f"{title}. {caption[0]}")
    before, after = found
    taken = readings(job, before, after)
    if len(taken) > ROWS:
        keep = sorted(range(len(taken)), key=lambda k: (-taken[k].change, k))[:ROWS]
        taken = [taken[k] for k in sorted(keep)]
    unsteady = not _steady(after)
    rows = tuple(
        (f"{k} {_port(r)}", _said(r.sound), "unsteady" if unsteady else _said(r.faulty)) for k, r in enumerate(taken, 1)
    )
    hot = hotter(before, after)
    most = max((t for _, t, _ in hot), default=0.0)
    looks = {id: Look(weight=1.6, paint=(look.heat(t / most),), halo="#ffd24d", reach=0.9) for id, t, _ in hot}
    lines = {id: (f"{t:.0f} °C",) for id, t, _ in hot}
    caption = tuple(_verdict(job, fault, before, after, taken, hot))
    points = tuple((str(k), r.red) for k, r in enumerate(taken, 1))
    description = f"{title}. {' '.join(caption)} " + "; ".join(
        f"point {k}, {r.red} to {r.black}: sound {_said(r.sound)}, with the fault {_said(r.faulty)}"
        for k, r in enumerate(taken, 1)
    )
    return Draft(
        "faults", f"fault-{_name(fault)}-meter", title, caption, f"{description}.", looks, lines, points=points,
        blocks=(Table(("red lead on + of", "sound", "fault"), rows),),
    )  # fmt: skip


def _steady(case: CaseResult | None) -> bool:
    """Whether a meter reads what the case says: not so where its power cannot be brought at all."""
    return case is not None and (case.solved or case.insisted == "kept on") and case.insisted != "wanted"


def _port(reading: Reading) -> str:
    return reading.red.removesuffix(".+")


def _said(value: float | None) -> str:
    return "nothing" if value is None else hundredths(value)


def _verdict(
    job: Job,
    fault: Planted,
    before: CaseResult,
    after: CaseResult | None,
    taken: Sequence[Reading],
    hot: Sequence[tuple[str, float, float]],
) -> list[str]:
    out = [f"{titled(before)}. Black lead on the same port's −."]
    if after is None or after.troubles or not after.solved:
        why = after.troubles[0].words if after and after.troubles else "the circuit does not settle"
        out.append(f"With the fault: {why}." + (" The table tells it while it runs." if _steady(after) else ""))
    elif taken and 0.02 <= max(r.change for r in taken) < HARDLY:
        out.append(f"A meter hardly shows it: by {max(r.change for r in taken):.2f} V at most.")
    elif taken and max(r.change for r in taken) >= HARDLY:
        worst = max(taken, key=lambda r: r.change)
        out.append(f"It shows most at {_port(worst)}: {_said(worst.faulty)} in place of {_said(worst.sound)}.")
    else:
        out.append("None of these readings tells it from the sound job.")
    if hot:
        id, celsius, rise = hot[0]
        out.append(f"{called(job.conductors[id])} gets hottest: {celsius:.0f} °C, {rise:.0f} K more than before.")
    lossy = _lossy(fault, after)
    if lossy:
        out.append(lossy)
    out += _short(fault)
    return out


def _lossy(fault: Planted, after: CaseResult | None) -> str:
    """Where a planted joint takes power: it is hot in one small place."""
    job = fault.study.job
    for at, ohm in job.joints.items():
        amps = through(job, after, at)
        if amps is not None and amps * amps * ohm >= 0.1:
            watts = amps * amps * ohm
            return f"The joint at {at} turns {figure(watts, 'W')} into heat in one spot ({figure(amps, 'A')})."
    return ""


def through(job: Job, case: CaseResult | None, at: str) -> float | None:
    """The current through a joint: of the conductor, the pole, or all that lands on the terminal. [A]"""
    if case is None or not case.solved:
        return None
    if at in job.conductors:
        amps = case.flows[at].current_a
        return None if amps is None else abs(amps)
    owner, _, pole = at.rpartition(".")
    if (owner, pole) in case.contacts:
        amps = case.contacts[owner, pole]
        return None if amps is None else abs(amps)
    landing = [c for c in job.conductors.values() if at in (c.from_, c.to)]
    total = sum((case.flows[c.id].current_a or 0.0) * (1 if c.from_ == at else -1) for c in landing)
    return abs(total)


def _short(fault: Planted) -> list[str]:
    """What a short circuit would do to the conductor that a rule names, where no fuse would open."""
    for finding in fault.new:
        open_ = [f for f in fault.study.faults if f.conductor == finding.subject and f.cleared_by is None]
        driven = [(f.max_current_a, f) for f in open_ if f.max_current_a]
        if driven:
            amps, short = min(driven, key=lambda d: d[0])
            bears = f"; the cable bears it for {figure(short.withstand_s, 's')}" if short.withstand_s else ""
            return [f"A short at {short.terminal} would drive {figure(amps, 'A')} and no fuse would open{bears}."]
    return []


__all__ = [
    "Reading", "fault_drafts", "headed", "missed", "readings", "telling_case", "through", "told", "touched", "volts",
]  # fmt: skip
