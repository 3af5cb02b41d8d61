"""The energy page: what a day takes, how long the batteries last, how long they take to fill, with a plot."""

from __future__ import annotations

from wiregen.circuit.study import Study
from wiregen.papers.document import Block, Cell, Column, Paper, Picture, Table, Text
from wiregen.papers.plain import listed, number
from wiregen.papers.plot import bars
from wiregen.papers.texts import Texts

ROWS = (
    ("daily_load_wh", "Wh"), ("daily_sun_wh", "Wh"), ("usable_wh", "Wh"), ("autonomy_h", "h"),
    ("recharge_alternator_h", "h"), ("recharge_sun_h", "h"),
)  # fmt: skip


def energy_page(study: Study, texts: Texts) -> Paper:
    """The day's balance as the study has it, and the three energies side by side."""
    say = texts.say
    energy = study.energy
    if not energy:
        return Paper("energy", say("energy.title"), (Text(say("energy.none")),))
    columns = (Column(say("energy.quantity"), 4), Column(say("energy.value"), 1, "right"), Column("", 1))
    rows = tuple(
        (Cell(say(f"energy.{key}")), number(energy[key], f"energy/{key}"), Cell(unit))
        for key, unit in ROWS
        if energy.get(key) is not None
    )
    blocks: list[Block] = [Text(say("energy.how")), Table(say("energy.sheet"), columns, rows)]
    shown = [
        (say(f"energy.bar-{key}"), value)
        for key in ("usable_wh", "daily_load_wh", "daily_sun_wh")
        if (value := energy.get(key))
    ]
    if shown:
        words = "; ".join(f"{name}: {value:.0f} Wh" for name, value in shown)
        blocks.append(Picture(bars(shown, "Wh"), words))
    taken = [a for a in study.assumptions if a.subject == "job" or "charge" in a.quantity or "duty" in a.quantity]
    if taken:
        heads = (
            Column(say("energy.of"), 2),
            Column(say("energy.quantity"), 2.4),
            Column(say("energy.value"), 1.2, "right"),
            Column(say("energy.basis"), 4),
        )
        alike: dict[tuple[str, str, str], list[str]] = {}
        for a in taken:
            said = f"{a.value:.4g}" if isinstance(a.value, float) else str(a.value)
            unit = "" if a.unit == "1" else a.unit
            alike.setdefault((a.quantity, f"{said} {unit}".strip(), a.basis), []).append(a.subject)
        lines = tuple(
            (Cell(listed(subjects)), Cell(quantity), Cell(taken_as), Cell(basis))
            for (quantity, taken_as, basis), subjects in alike.items()
        )
        blocks.append(Table(say("energy.assumed-sheet"), heads, lines, say("energy.assumed"), small=True))
    return Paper("energy", say("energy.title"), tuple(blocks))
