"""What may be printed beside conductors and parts by choice, and the lines that it takes: a stage before all layout.

Guarantees lines in print's own signs; how wide they are and where they stand is `label`'s work.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING

from wiregen.model.job import Job, Part

if TYPE_CHECKING:
    from wiregen.circuit.study import CaseResult, Study

OF_NETLIST = ("number", "colour", "size", "length")  # printed where nothing else is asked for
OF_CASE = ("current", "drop", "voltage")  # need an operating case
SHOWN = (*OF_NETLIST, *OF_CASE, "fault", "terminal")
TERMINAL_RULE = "last line at a part: terminals by DIN 72552"  # in the legend

Notes = Mapping[str, tuple[str, ...]]  # part or conductor -> lines below its own


def figure(value: float, unit: str) -> str:
    """A size of three digits with its unit: `12.4 A`, `63 mV`, `1.2 kA`; what is nothing in practice as 0."""
    size = abs(value)
    if size >= 1000:
        return f"{size / 1000:.3g} k{unit}"
    if size >= 1:
        return f"{size:.3g} {unit}"
    return f"{size * 1000:.3g} m{unit}" if size >= (1e-3 if unit == "A" else 1e-5) else f"0 {unit}"


def conductor_notes(study: Study, case: CaseResult | None, show: Collection[str]) -> dict[str, tuple[str, ...]]:
    """Current and drop, voltage at either end against the main reference, fault current at either end."""
    faults: dict[str, list[float]] = {}
    for fault in study.faults if "fault" in show else ():
        ends = faults.setdefault(fault.conductor, [])
        ends += [a for a in (fault.min_current_a, fault.max_current_a) if a is not None]
    out: dict[str, tuple[str, ...]] = {}
    for conductor in study.job.conductors.values():
        lines = []
        flow = case.flows.get(conductor.id) if case else None
        if flow and flow.current_a is not None and flow.drop_v is not None:
            current, drop = figure(flow.current_a, "A"), figure(flow.drop_v, "V")
            lines.append(" ".join(w for w, name in ((current, "current"), (drop, "drop")) if name in show))
        if case and "voltage" in show:
            a, b = (case.voltages.get(t) for t in (conductor.from_, conductor.to))
            if a is not None and b is not None:
                lines.append(_between(f"{a + 0.0:.2f}", f"{b + 0.0:.2f}", "V"))
        if (found := faults.get(conductor.id)) and max(found) > 0.0:
            lines.append(f"fault {_between(figure(min(found), 'A'), figure(max(found), 'A'), '')}")
        if lines := [line for line in lines if line]:
            out[conductor.id] = tuple(lines)
    return out


def _between(a: str, b: str, unit: str) -> str:
    words = a if a == b else f"{a} to {b}"
    return f"{words} {unit}".replace("-0.00", "0.00").strip().replace("-", "−")


def terminal_notes(job: Job) -> dict[str, tuple[str, ...]]:
    """The terminals of parts by DIN 72552, where it has a designation for them: a relay's are printed in any case.

    Seen (secondary): 15 switched positive, 30 direct from battery positive, 31 to battery negative, B+ and B- at the
    generator. A second battery's posts are left without: 30a has another use.
    """
    starters = {p.word("on") for p in job.parts.values() if p.kind in ("alternator", "starter") and p.has("on")}
    batteries = [p for p in job.parts.values() if p.kind == "battery"]
    main = [p.id for p in batteries if p.has("cranking") or p.id in starters] or [p.id for p in batteries[:1]]
    out: dict[str, tuple[str, ...]] = {}
    for part in job.parts.values():
        if line := _terminals(part, part.id in main):
            out[part.id] = (line,)
    return out


def _terminals(part: Part, main: bool) -> str:
    if part.kind == "battery":
        return "+ 30, − 31" if main else ""
    if part.kind == "alternator":
        return "+ B+, − B−"
    if part.kind == "starter":
        return "+ 30, − 31"
    if part.kind == "feed":
        return "15" if part.word("state") == "switched" else "30"
    return ""


def joined(*notes: Notes) -> dict[str, tuple[str, ...]]:
    """All lines of each subject, in the order of the arguments."""
    out: dict[str, tuple[str, ...]] = {}
    for some in notes:
        for subject, lines in some.items():
            out[subject] = (*out.get(subject, ()), *lines)
    return out
