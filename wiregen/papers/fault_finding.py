"""Fault finding: symptom, likely causes, where to put the meter."""

from __future__ import annotations

from wiregen.papers.document import Block, Cell, Column, Paper, Table, Text
from wiregen.papers.texts import Texts


def fault_finding(rows: tuple[tuple[str, str, str, str], ...], texts: Texts) -> Paper:
    """Rows of symptom, cause, where to measure, what to expect if it is that; without rows the page tells where to
    begin and leaves room for notes."""
    say = texts.say
    columns = (
        Column(say("faults.symptom"), 2),
        Column(say("faults.cause"), 2.4),
        Column(say("faults.measure"), 2.4),
        Column(say("faults.expect"), 2),
    )
    blocks: list[Block] = [Text(say("faults.how"))]
    if rows:
        blocks.append(Table(say("faults.sheet"), columns, tuple(tuple(Cell(word) for word in row) for row in rows)))
    else:
        empty = tuple((Cell(box=True),) * 4 for _ in range(8))
        blocks.append(Table(say("faults.sheet"), columns, empty, note=say("faults.to-come")))
    return Paper("faults", say("faults.title"), tuple(blocks))
