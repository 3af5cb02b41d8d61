"""The study as a table that a fitter reads at the bench: volts, per cent, amps, temperature, margin, assumptions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from textwrap import wrap
from typing import TYPE_CHECKING

from wiregen.circuit.cases import LOADS
from wiregen.circuit.study import Assumption, CaseResult, Study

if TYPE_CHECKING:
    from wiregen.circuit.size_job import Sizing

NARROWEST = 60
Cell = str


def as_text(study: Study, width: int = 100) -> str:
    """The whole study, ended by a line end. Lines of words are wrapped to `width`; tables are as wide as they are."""
    width = max(width, NARROWEST)
    blocks = [_heading(study)]
    blocks += [_case(study, case, width) for case in study.cases]
    blocks += [block for block in (_faults(study, width), _energy(study)) if block]
    blocks.append(_assumptions(study.assumptions, width))
    blocks.append(_closing(width))
    return "\n\n".join("\n".join(block) for block in blocks) + "\n"


def sizes_text(sizing: Sizing, width: int = 100) -> str:
    """The chosen sizes as a table, ended by a line end."""
    rows = [
        (s.conductor, s.now or "not said", s.size, s.decided_by, s.fuse or "", f"{s.mass_kg * 1e3:.0f} g")
        for s in sizing.conductors
    ]
    head = ("conductor", "now", "least", "decided by", "guarded by", "copper")
    lines = ["Least copper that meets ampacity, withstand, fuse and drop", "", *_table(head, rows, "lrrllr")]
    lines += ["", f"  {sizing.mass_kg * 1e3:.0f} g of copper in all"]
    fits = [
        (f.fuse, _number(f.load_a, "A", 1), _number(f.now_a, "A", 1), _number(f.rating_a, "A", 1)) for f in sizing.fuses
    ]
    if fits:
        lines += ["", *_table(("fuse", "load", "now", "fits"), fits, "lrrr")]
    words = []
    for s in sizing.over:
        words.append(f"No size on offer brings {s.from_} to {s.to} within {_percent(s.limit_ratio)} in case {s.case}.")
    if not sizing.settled:
        words.append("The search did not settle: compute the job again with these sizes before relying on them.")
    words.append("A thicker cable is always allowed. Lugs, bends and mechanical strength are not looked at.")
    for text in words:
        lines += ["", *wrap(text, max(width, NARROWEST))]
    return "\n".join(lines) + "\n"


def _heading(study: Study) -> list[str]:
    title = study.job.title or study.job.path
    return [f"Study of {title}", "=" * (len(title) + 9)]


def _case(study: Study, case: CaseResult, width: int) -> list[str]:
    lines = [f"Case {case.name}: {case.title}" if case.title else f"Case {case.name}"]
    for trouble in case.troubles:
        lines += wrap(f"! {trouble.words}", width, subsequent_indent="  ")
    if not case.solved:
        return [*lines, "  no steady answer, so no figures are given"]
    if case.ranged:
        words = f"{', '.join(case.ranged)} in a range: each current and drop is the larger of both ends"
        lines += wrap(words, width, initial_indent="  ", subsequent_indent="  ")
    supplies = [s for s in study.supplies if s.case == case.name]
    if supplies:
        rows = [
            (
                f"{s.from_} to {s.to}",
                _number(s.drop_v, "V", 3),
                _percent(s.drop_ratio),
                f"of {s.of_v:g} V",
                _percent(s.limit_ratio),
                _verdict(s.drop_ratio, s.limit_ratio),
                _ranged(s.drop_v, s.nominal_drop_v),
            )
            for s in supplies
        ]
        lines += ["", *_table(("supply, both legs", "drop", "", "", "limit", "", ""), rows, "lrrlrll")]
    flows = []
    for id, flow in case.flows.items():
        margin = None
        if flow.ampacity_a is not None and flow.current_a is not None:
            margin = flow.ampacity_a - abs(flow.current_a)
        flows.append(
            (
                id,
                _number(flow.current_a, "A", 2),
                _number(flow.drop_v, "V", 3),
                _number(flow.temperature_c, "degC", 0),
                _number(flow.ampacity_a, "A", 0),
                _number(margin, "A", 0),
            )
        )
    if flows:
        lines += ["", *_table(("conductor", "current", "drop", "at", "carries", "margin"), flows, "lrrrrr")]
    parts = [(id, _part(values)) for id, values in case.parts.items()]
    parts = [(id, words) for id, words in parts if words]
    if parts:
        lines += ["", *_table(("part", ""), parts, "ll")]
    seen = {id for id, _ in parts}
    dead = [p.id for p in study.job.parts.values() if p.kind in LOADS and p.id in case.parts and p.id not in seen]
    if dead:
        words = f"no current in {', '.join(dead)}"
        lines += ["", *wrap(words, width, initial_indent="  ", subsequent_indent="      ")]
    return lines


def _part(values: object) -> str:
    assert isinstance(values, dict)
    words = []
    for side in ("input", "output", "solar"):
        amps = values.get(f"{side}_current_a")
        if amps:
            volts, watts = values.get(f"{side}_voltage_v"), values.get(f"{side}_power_w")
            words.append(f"{side} {amps:.2f} A at {_number(volts, 'V', 2)}, {_number(watts, 'W', 0)}")
    amps = values.get("current_a")
    if amps is not None and abs(amps) >= 5e-4:
        words.append(f"{amps:.2f} A")
        if values.get("drop_v") is not None:
            words.append(f"loses {values['drop_v'] * 1e3:.0f} mV")
        elif values.get("voltage_v") is not None:
            words.append(f"at {values['voltage_v']:.2f} V")
    return ", ".join(words)


def _faults(study: Study, width: int) -> list[str]:
    if not study.faults:
        return []
    dead = [f.conductor for f in study.faults if f.max_current_a == 0]
    rows = [
        (
            f"{f.conductor} at {f.terminal}",
            _number(f.max_current_a, "A", 0),
            _number(f.min_current_a, "A", 0),
            f.cleared_by or "nothing",
            _seconds(f.clearing_s),
            _seconds(f.withstand_s),
        )
        for f in study.faults
        if f.max_current_a != 0
    ]
    head = ("bolted fault on", "highest", "lowest", "cleared by", "within", "cable stands")
    lines = ["Short circuits", "", *_table(head, rows, "lrrlrr")] if rows else ["Short circuits"]
    if any("?" in row[4:] for row in rows):
        lines += ["", "  ? is not known, or the fault lies where its current does not pass through the cable itself."]
    if dead:
        text = f"A fault to the negative drives no current into {', '.join(dict.fromkeys(dead))}."
        lines += ["", *wrap(text, width, initial_indent="  ", subsequent_indent="      ", break_on_hyphens=False)]
    return lines


def _energy(study: Study) -> list[str]:
    words = {
        "daily_load_wh": ("loads in a day", "Wh", 0),
        "usable_wh": ("usable in the batteries", "Wh", 0),
        "autonomy_h": ("runs without charge for", "h", 1),
        "recharge_alternator_h": ("recharged by the alternator in", "h", 1),
        "recharge_sun_h": ("recharged by full sun in", "h", 1),
        "daily_sun_wh": ("brought by the sun in a day", "Wh", 0),
    }
    rows = [
        (text, _number(study.energy[key], unit, digits))
        for key, (text, unit, digits) in words.items()
        if study.energy.get(key) is not None
    ]
    return ["Energy", "", *_table(("", ""), rows, "lr")] if rows else []


def _assumptions(assumptions: Sequence[Assumption], width: int) -> list[str]:
    lines = ["Assumed, because the netlist does not say"]
    if not assumptions:
        return [*lines, "  nothing"]
    for a in assumptions:
        value = f"{a.value:.4g}" if isinstance(a.value, float) else str(a.value)
        unit = "" if a.unit == "1" else a.unit
        text = f"{a.subject}: {a.quantity} {value} {unit}".rstrip() + f"; {a.basis}"
        lines += wrap(text, width, initial_indent="  ", subsequent_indent="      ")
    return lines


def _closing(width: int) -> list[str]:
    return wrap(
        "Computed from what the netlist says and the assumptions above. It is no statement that the installation is"
        " safe: follow the makers' instructions and local codes, and have the work checked by a qualified person.",
        width,
    )


def _number(value: float | None, unit: str, digits: int) -> Cell:
    if value is None:
        return "?"
    text = f"{value:.{digits}f}"
    if text.startswith("-") and not float(text):
        text = text[1:]
    return f"{text} {unit}"


def _percent(ratio: float | None) -> Cell:
    return "?" if ratio is None else f"{100 * ratio:.2f} %"


def _verdict(ratio: float | None, limit: float | None) -> Cell:
    if ratio is None or limit is None:
        return "not judged"
    return "within" if ratio <= limit else "OVER"


def _ranged(worst: float | None, nominal: float | None) -> Cell:
    if worst is None or nominal is None or worst == nominal:
        return ""
    return f"worst of its ranges; {_number(nominal, 'V', 3)} as written"


def _seconds(value: float | None) -> Cell:
    if value is None:
        return "?"
    return f"{value:.2g} s" if value < 100 else f"{value:.0f} s"


def _table(head: Sequence[Cell], rows: Iterable[Sequence[Cell]], align: str) -> list[str]:
    """Columns under their headings, `l` left and `r` right aligned, two spaces apart."""
    lines = [list(head), *(list(row) for row in rows)]
    widths = [max(len(line[i]) for line in lines) for i in range(len(head))]
    found = []
    for line in lines:
        cells = [
            cell.rjust(size) if side == "r" else cell.ljust(size)
            for cell, size, side in zip(line, widths, align, strict=True)
        ]
        found.append(("  " + "  ".join(cells)).rstrip())
    return [line for line in found if line.strip()]
