"""A diagnosis in words: what it can be and how sure, what speaks for it, what to measure next, what puts it right."""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.cases import State
from wiregen.diagnosis.diagnose import Diagnosis, Expected, Group
from wiregen.diagnosis.points import Probe, spoken
from wiregen.findings.cells import wrap
from wiregen.layout.shown import figure
from wiregen.model.job import Job

CAUTION = (
    "Measuring on live wiring can start fires and burn. Keep the probes apart, take off rings and watches, fuse the"
    " meter's leads, never put a meter in its current range across a battery: use a clamp. Local codes and the makers'"
    " instructions come first; repairs are for those who are licensed for them. What is ranked here is computed from"
    " the netlist: it is no statement that anything is safe, and no fault found is none either."
)
BAR = 100


def as_text(found: Diagnosis, width: int = BAR) -> str:
    """The whole diagnosis, ended by a line end."""
    blocks = [list(_head(found, width)), list(_ranking(found, width)), list(_following(found, width))]
    blocks.append(wrap(CAUTION, width, "", ""))
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _head(found: Diagnosis, width: int) -> Iterator[str]:
    job = found.job
    several = len(found.states) > 1
    cases = f"case{'s' if several else ''} {'; '.join(in_words(state) for state in found.states)}"
    words = f"{job.title or job.path}: {cases}. {found.tried} single faults tried on paper."
    yield from wrap(words, width, "", "")
    for symptom in found.symptoms:
        yield f"  symptom  {symptom.words}"
    for told in found.explained:
        yield f"  reading  {measured(told, several)}"


def in_words(state: State) -> str:
    """A case by its name, and what it is."""
    return f"{state.name} ({state.title})" if state.title else state.name


def measured(told: Expected, several: bool = False) -> str:
    """A reading taken beside what the sound job shows; with its case where there are several."""
    unit = told.probe.kind
    value = " swings" if told.swings else "" if told.measured is None else f" {_value(told.measured, unit)}"
    case = f" in {told.case.name}" if several else ""
    return f"{told.probe.words}{value}{case} (sound: {_value(told.sound, unit)})"


def _ranking(found: Diagnosis, width: int) -> Iterator[str]:
    if not found.readings and not found.symptoms:
        yield "Nothing is measured yet. Before anything is known, what is common comes first:"
    elif found.found:
        yield "Found, as far as readings can tell:"
    else:
        yield "What it can be, the likeliest first:"
    for number, group in enumerate(found.groups, 1):
        yield ""
        yield from _group(found, number, group, width)
    rest = 1.0 - found.nothing - found.other - found.unseen - sum(group.belief for group in found.groups)
    others = [("any other single fault", rest)] if rest >= 0.005 else []
    if found.unseen >= 0.005:
        subjects = list(dict.fromkeys(fault.subject for fault in found.hidden))
        named = ", ".join(subjects[:5]) + (" ..." if len(subjects) > 5 else "")
        others.append((f"a fault that does not show {_here(found)} ({named})", found.unseen))
    others.append(("nothing is wrong", found.nothing))
    others.append(("something that is not tried here, or several faults at once", found.other))
    yield ""
    yield from (f"{share(belief):>6}  {words}" for words, belief in others)
    if found.other >= 0.5 and found.readings:
        yield ""
        words = "No single fault explains these readings together. Take them again, the one that surprises most first."
        yield from wrap(words, width, "", "")


def _group(found: Diagnosis, number: int, group: Group, width: int) -> Iterator[str]:
    lead = " " * 8
    first = group.faults[0]
    ohm = f", about {figure(group.ohm, 'ohm')}" if group.ohm and found.readings else ""
    yield from wrap(f"{first.words}{ohm}", width, f"{share(group.belief):>6}  ", lead)
    if len(group.faults) > 1:
        others = "; ".join(fault.words for fault in group.faults[1:7])
        more = f"; and {len(group.faults) - 7} more" if len(group.faults) > 7 else ""
        yield from wrap(f"or, as no reading {_here(found)} tells them apart: {others}{more}", width, lead, lead)
    if group.blown:
        yield from wrap(f"it opens {', '.join(group.blown)}", width, lead, lead)
    if group.unsteady:
        words = f"with it {', '.join(group.unsteady[:4])} cannot run steadily: readings swing"
        yield from wrap(words, width, lead, lead)
    if found.readings:
        several = len(found.states) > 1
        shown = [
            f"{e.probe.words} {_value(e.faults[number - 1], e.probe.kind)}{f' in {e.case.name}' if several else ''}"
            for e in found.explained
        ]
        yield from wrap(f"lets expect: {'; '.join(shown)}", width, lead, lead)
    if number == 1 or found.groups[number - 1].belief >= 0.1:
        yield from wrap(f"remedy: {first.remedy}", width, lead, lead)


def _following(found: Diagnosis, width: int) -> Iterator[str]:
    if found.found:
        remedy = found.groups[0].faults[0].remedy
        words = f"Put it right: {remedy}. Then read again: it should show what the sound job shows."
        yield from wrap(words, width, "", "")
        return
    if not found.next:
        tried = [state.name for state in found.states]
        others = ", ".join(case for case in found.cases if case not in tried)
        words = f"No further reading {_here(found)} would tell more."
        yield from wrap(words + (f" Another case may: {others}." if others else ""), width, "", "")
        return
    yield "Measure next"
    first = found.next[0]
    yield from wrap(placing(found.job, first.probe), width, "  ", "  ")
    for at, each in enumerate(found.next):
        shown = [f"sound {_value(each.sound, each.probe.kind)}"]
        shown += [f"if it is {k}: {_value(v, each.probe.kind)}" for k, v in enumerate(each.faults, 1)]
        lead = "" if len(found.states) == 1 else f"in {in_words(each.case)}: "
        yield from wrap(("leave it there, and read it too " if at else "") + lead + "; ".join(shown), width, "  ", "  ")


def _here(found: Diagnosis) -> str:
    return "in these cases" if len(found.states) > 1 else "in this case"


def placing(job: Job, probe: Probe) -> str:
    """Where the meter goes."""
    if probe.kind == "A":
        return f"clamp around {probe.red}"
    red, black = (f"{lead} ({spoken(job, lead)})" for lead in (probe.red, probe.black))
    return f"red lead on {red}, black lead on {black}"


def share(belief: float) -> str:
    """A share of belief: whole per cent, never 0 or 100."""
    if belief < 0.01:
        return "<1 %"
    return ">99 %" if belief > 0.99 else f"{100.0 * belief:.0f} %"


def _value(value: float, unit: str) -> str:
    """As a meter shows it."""
    digits = 3 if abs(value) < 0.1 and unit == "V" else 2 if abs(value) < 20.0 else 1
    text = f"{value:.{digits}f}"
    return f"{'0' if not float(text) else text} {unit}"
