"""Fault finding: symptom, likely causes, where to put the meter, what it reads then and in the sound system."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from wiregen.diagnosis.table import RESISTS, Row
from wiregen.papers.document import Block, Cell, Column, Paper, Table, Text
from wiregen.papers.texts import Texts

ALIKE = 3  # causes named together, at most


def fault_finding(rows: Sequence[Row], texts: Texts) -> Paper:
    """The rows by symptom; without rows the page leaves room for notes."""
    say = texts.say
    columns = (
        Column(say("faults.symptom"), 1.7),
        Column(say("faults.cause"), 3.4),
        Column(say("faults.measure"), 2.2),
        Column(say("faults.expect"), 1.0, "right"),
        Column(say("faults.sound"), 1.0, "right"),
    )
    blocks: list[Block] = [Text(say("faults.caution"), "caution")]
    if rows:
        blocks.append(Text(say("faults.how", ohm=f"{RESISTS[-1]:g}")))
        blocks.append(Table(say("faults.sheet"), columns, tuple(_cells(rows, texts)), small=True))
    else:
        empty = tuple((Cell(box=True),) * len(columns) for _ in range(8))
        blocks.append(Table(say("faults.sheet"), columns, empty, note=say("faults.to-come")))
    return Paper("faults", say("faults.title"), tuple(blocks))


def _cells(rows: Sequence[Row], texts: Texts) -> list[tuple[Cell, ...]]:
    found = []
    for (symptom, case), group in groupby(rows, key=lambda row: (row.symptom, row.case)):
        for at, row in enumerate(group):
            words = texts.say("faults.in-case", symptom=_capital(symptom), case=case) if not at else ""
            first, *others = [fault.words for fault in row.causes[: ALIKE + 1]]
            cause = texts.say("faults.alike", first=first, others="; ".join(others)) if others else first
            found.append((Cell(words, strong=not at), Cell(cause), *_reading(row, texts)))
    return found


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _reading(row: Row, texts: Texts) -> tuple[Cell, ...]:
    probe = row.probe
    if probe is None:
        return Cell(texts.say("faults.nothing")), Cell(), Cell()
    if probe.kind == "A":
        where = texts.say("faults.amps", conductor=probe.red)
        return Cell(where), Cell(_swinging(row, "A", 1, texts)), Cell(_shown(abs(row.sound), "A", 1))
    where = texts.say("faults.volts", red=probe.red, black=probe.black)
    return Cell(where), Cell(_swinging(row, "V", 2, texts)), Cell(_shown(row.sound, "V", 2))


def _swinging(row: Row, unit: str, digits: int, texts: Texts) -> str:
    """What it reads, or between what it swings."""
    if row.swing < 5.0 * 10.0**-digits:
        return _shown(row.expected, unit, digits)
    low, high = (_shown(row.expected + by, unit, 1) for by in (-row.swing, row.swing))
    return texts.say("faults.swings", low=low.removesuffix(f" {unit}"), high=high)


def _shown(value: float, unit: str, digits: int) -> str:
    text = f"{value:.{digits}f}"
    return f"{text if float(text) else '0'} {unit}".replace("-", "−")
