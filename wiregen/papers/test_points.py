"""Test points: what a meter reads at each point of the sound system, in each operating case."""

from __future__ import annotations

from wiregen.circuit.assemble import main_battery
from wiregen.circuit.study import CaseResult, Study
from wiregen.diagnosis.points import reach_of, spoken
from wiregen.model.job import Job
from wiregen.papers.document import Block, Cell, Column, Number, Paper, Table, Text
from wiregen.papers.plain import DASH
from wiregen.papers.texts import Texts

OPEN = 1.35  # points that are harder to reach are left out
CASES = 7  # columns of one table, at most


def test_points(study: Study, texts: Texts) -> Paper:
    """One row for each point that lies open, one column for each case."""
    say, job = texts.say, study.job
    main = main_battery(job)
    if main is None:
        return Paper("points", say("points.title"), (Text(say("points.none")),))
    reference = f"{main.id}.-"
    cases = [case for case in study.cases if case.solved]
    blocks: list[Block] = [Text(say("points.how", reference=reference)), Text(say("points.tolerance"), "small")]
    for at in range(0, max(len(cases), 1), CASES):
        shown = cases[at : at + CASES]
        columns = (
            Column(say("points.point"), 1.5),
            Column(say("points.what"), 1.8),
            *(Column(say("points.in-case", case=case.name), 1.0, "right", "V") for case in shown),
        )
        rows = tuple(
            (Cell(point), Cell(spoken(job, point)), *(_cell(case, point) for case in shown))
            for point in _points(job, reference)
        )
        name = say("points.sheet") if not at else f"{say('points.sheet')} {at // CASES + 1}"
        blocks.append(Table(name, columns, rows, small=True))
    return Paper("points", say("points.title"), tuple(blocks))


def _points(job: Job, reference: str) -> list[str]:
    """Terminals that lie open, in the order of the file; of a bar one stud, of a fuse in a block its far end."""
    found: list[str] = []
    bars: set[str] = set()
    for terminal, at in job.terminals.items():
        part = job.parts.get(at.part)
        if part is None or terminal == reference or reach_of(job, terminal) > OPEN:
            continue
        if not (at.used or part.contacts) or (part.kind in ("charger", "solar-controller") and not at.used):
            continue
        if part.kind == "busbar":
            if part.id in bars:
                continue
            bars.add(part.id)
        if part.block and terminal.endswith(".in"):
            continue
        if part.kind == "fuse-block" and at.name not in ("in", "-"):
            continue
        found.append(terminal)
    return found


def _cell(case: CaseResult, terminal: str) -> Cell:
    volts = case.voltages.get(terminal)
    if volts is None:
        return Cell(DASH)
    text = f"{volts:.2f}"
    return Cell(text if float(text) else "0", Number(volts, f"cases/{case.name}/terminals/{terminal}/voltage_v"))
