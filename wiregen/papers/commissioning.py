"""The commissioning sheet: what to look at and measure, in the order that is safe, with the value to expect."""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.assemble import main_battery
from wiregen.circuit.energy import service_batteries
from wiregen.circuit.study import CaseResult, Study
from wiregen.model.job import Part
from wiregen.papers.document import Block, Cell, Column, Number, Paper, Points, Table, Text
from wiregen.papers.plain import DASH, figure, number, size
from wiregen.papers.texts import Texts

# least pull-out force of a crimp by copper area [mm2, N]: IEC 60352-2 (from memory, not read)
PULL = ((0.5, 60.0), (0.75, 85.0), (1.0, 108.0), (1.5, 150.0), (2.5, 230.0), (4.0, 310.0), (6.0, 360.0), (10.0, 380.0))
METER = 0.005, 0.02  # a workshop meter's share and last digits [1, V] (common practice, no source)
BOX = Cell(box=True)


def commissioning(study: Study, texts: Texts) -> Paper:
    """Inspection, polarity, connection, settings, then each operating case; and how to take it apart again."""
    say = texts.say
    order = connection_order(study)
    blocks: list[Block] = [Text(say("commissioning.how")), Text(say("commissioning.caution"), "caution")]
    blocks.append(_crimps(study, texts))
    blocks.append(_continuity(study, texts))
    blocks.append(_steps(study, texts, order))
    blocks += _cases(study, texts)
    away = [say("commissioning.disconnect-first"), *(_away(texts, part) for part in reversed(order))]
    blocks.append(Points(tuple(away), numbered=True))
    return Paper("commissioning", say("commissioning.title"), tuple(blocks), landscape=False)


def connection_order(study: Study) -> tuple[Part, ...]:
    """The batteries in the order in which they are connected: auxiliary ones first, the start battery last."""
    main = main_battery(study.job)
    others = [battery for battery in service_batteries(study.job) if main is None or battery.id != main.id]
    rest = [
        part
        for part in study.job.parts.values()
        if part.kind == "battery" and part not in others and (main is None or part.id != main.id)
    ]
    return (*others, *rest, *((main,) if main else ()))


def _crimps(study: Study, texts: Texts) -> Table:
    say = texts.say
    columns = (
        Column(say("commissioning.conductor"), 1.2),
        Column(say("commissioning.size"), 1),
        Column(say("commissioning.from"), 1.6),
        Column(say("commissioning.pulled"), 0.8),
        Column(say("commissioning.to"), 1.6),
        Column(say("commissioning.pulled"), 0.8),
        Column(say("commissioning.least"), 0.8, "right", "N"),
        Column(say("commissioning.initials"), 0.9),
    )
    rows = []
    for conductor in study.job.conductors.values():
        if conductor.has("supplied"):
            continue
        rows.append(
            (
                Cell(conductor.id if conductor.named else DASH, strong=True),
                Cell(size(conductor) or DASH),
                Cell(conductor.from_),
                BOX,
                Cell(conductor.to),
                BOX,
                _pull(study, conductor.id),
                BOX,
            )
        )
    note = say("commissioning.pull-note")
    return Table(say("commissioning.crimps-sheet"), columns, tuple(rows), say("commissioning.crimps"), note)


def _pull(study: Study, id: str) -> Cell:
    from wiregen.circuit.wires import copper_area

    area = copper_area(study.job.conductors[id])
    if not area:
        return Cell(DASH)
    fitting = [force for least, force in PULL if area >= least - 1e-9]
    if not fitting or area > 10.0 + 1e-9:
        return Cell(DASH)
    return number(fitting[-1])


def _continuity(study: Study, texts: Texts) -> Table:
    """End to end, before any battery is connected: no meter of the workshop shows the milliohms, so it is yes or no."""
    say = texts.say
    columns = (
        Column(say("commissioning.check"), 4.2),
        Column(say("commissioning.expect"), 2),
        Column(say("commissioning.read"), 1.2),
        Column(say("commissioning.initials"), 0.9),
    )
    lines: list[tuple[str, str]] = [(say("commissioning.fuses-out"), say("commissioning.yes"))]
    job = study.job
    for part in job.parts.values():
        if part.kind in ("connector", "plug"):
            lines.append((say("commissioning.polarity", connector=part.id), say("commissioning.polarity-expect")))
    lines.append((say("commissioning.continuity"), say("commissioning.continuity-expect")))
    for body in job.bodies.values():
        if body.word("state") == "isolated":
            lines.append((say("commissioning.isolated", body=body.id), say("commissioning.isolated-expect")))
    lines.append((say("commissioning.short"), say("commissioning.short-expect")))
    rows = tuple((Cell(check), Cell(expect), BOX, BOX) for check, expect in lines)
    return Table(say("commissioning.checks-sheet"), columns, rows, say("commissioning.checks"))


def _steps(study: Study, texts: Texts, order: tuple[Part, ...]) -> Table:
    say = texts.say
    columns = (
        Column(say("commissioning.step"), 0.5, "right"),
        Column(say("commissioning.do"), 4.6),
        Column(say("commissioning.expect"), 2),
        Column(say("commissioning.read"), 1.1),
        Column(say("commissioning.initials"), 0.9),
    )
    lines = list(_connecting(study, texts, order))
    rows = tuple((number(at), Cell(words), Cell(expect), BOX, BOX) for at, (words, expect) in enumerate(lines, start=1))
    return Table(say("commissioning.steps-sheet"), columns, rows, say("commissioning.steps"))


def _connecting(study: Study, texts: Texts, order: tuple[Part, ...]) -> Iterator[tuple[str, str]]:
    """What to do, and what to expect: battery by battery, each with its own fuses last."""
    say = texts.say
    job = study.job
    fuses = _first_fuses(study)
    for battery in order:
        volts = _resting(study, battery)
        yield say("commissioning.positive", battery=battery.id), ""
        yield say("commissioning.negative", battery=battery.id), ""
        if volts is not None:
            yield say("commissioning.posts", battery=battery.id), f"{figure(volts)} V"
        for fuse in fuses.get(battery.id, ()):
            yield say("commissioning.fuse-in", fuse=fuse), say("commissioning.no-spark")
    for part in job.parts.values():
        if part.kind in ("charger", "mains-charger", "solar-controller") and part.has("profile"):
            fact = part.fact("profile")
            words = " ".join(value.text for value in fact.values) if fact else ""
            yield say("commissioning.profile", charger=part.id), words
    for part in job.parts.values():
        if part.kind == "charger" and _wired(study, f"{part.id}.trigger"):
            yield say("commissioning.trigger", charger=part.id), say("commissioning.trigger-expect")
    for part in job.parts.values():
        if part.kind == "panel":
            yield say("commissioning.panel", panel=part.id), say("commissioning.panel-expect")


def _wired(study: Study, terminal: str) -> bool:
    there = study.job.terminals.get(terminal)
    return there is not None and there.used


def _first_fuses(study: Study) -> dict[str, tuple[str, ...]]:
    """The fuses that stand first behind each battery's posts: they go in last on their side."""
    from wiregen.circuit.unprotected import live_posts, onward

    found: dict[str, dict[str, None]] = {}
    posts = live_posts(study.job, study.network)
    for post in posts:
        part = study.job.part_of(post)
        nearest = onward(study.job, study.network, post, None, set(posts) - {post}).protected_by
        if part and nearest:
            found.setdefault(part.id, {})[nearest] = None
    return {battery: tuple(fuses) for battery, fuses in found.items()}


def _resting(study: Study, battery: Part) -> float | None:
    """The voltage at a battery's posts while nothing runs: of the case with the engine off that draws least."""
    quiet = [case for case in study.cases if case.solved and case.name.startswith("parked")]
    for case in quiet:
        plus, minus = case.voltages.get(f"{battery.id}.+"), case.voltages.get(f"{battery.id}.-")
        if plus is not None and minus is not None:
            return plus - minus
    return None


def _cases(study: Study, texts: Texts) -> Iterator[Block]:
    """A table for each operating case with an answer: voltages at named points, currents of chargers."""
    say = texts.say
    columns = (
        Column(say("commissioning.point"), 3.4),
        Column(say("commissioning.expect"), 1.2, "right"),
        Column(say("commissioning.unit"), 0.5),
        Column(say("commissioning.tolerance"), 1, "right"),
        Column(say("commissioning.read"), 1.2),
        Column(say("commissioning.initials"), 0.9),
    )
    for case in study.cases:
        if not case.solved:
            yield Text(say("commissioning.unsolved", case=case.name), "small")
            continue
        rows = tuple(_readings(study, case, texts))
        if rows:
            heading = say("commissioning.case", case=case.name, title=case.title or case.name)
            sheet = say("commissioning.case-sheet", case=case.name)
            yield Table(sheet, columns, rows, heading)


def _readings(study: Study, case: CaseResult, texts: Texts) -> Iterator[tuple[Cell, ...]]:
    for part in study.job.parts.values():
        for plus, minus in _ports(part):
            here, there = case.voltages.get(plus), case.voltages.get(minus)
            if here is None or there is None:
                continue
            volts = here - there
            source = f"{_at(case, plus)}-{_at(case, minus)}"
            share, digits = METER
            yield (
                Cell(texts.say("commissioning.between", plus=plus, minus=minus)),
                Cell(f"{volts:.2f}", Number(volts, source)),
                Cell("V"),
                Cell(f"± {max(abs(volts) * share + digits, 0.1):.2f}"),
                BOX,
                BOX,
            )
        amps = case.parts.get(part.id, {}).get("output_current_a")
        if part.kind == "charger" and amps is not None:
            yield (
                Cell(texts.say("commissioning.output", charger=part.id)),
                Cell(f"{amps:.1f}", Number(amps, f"cases/{case.name}/parts/{part.id}/output_current_a")),
                Cell("A"),
                Cell("± 10 %"),
                BOX,
                BOX,
            )


def _at(case: CaseResult, terminal: str) -> str:
    return f"cases/{case.name}/terminals/{terminal}/voltage_v"


def _ports(part: Part) -> Iterator[tuple[str, str]]:
    """Pairs of points where a meter is put: battery posts, both sides of a charger, a panel's leads, an inverter."""
    if part.kind in ("battery", "panel", "inverter"):
        yield f"{part.id}.+", f"{part.id}.-"
    elif part.kind in ("charger", "solar-controller", "mains-charger"):
        for side in ("in", "solar", "out"):
            plus, minus = f"{part.id}.{side}.+", f"{part.id}.{side}.-"
            if plus in part.terminals:
                yield plus, minus if minus in part.terminals else f"{part.id}.-"


def _away(texts: Texts, battery: Part) -> str:
    return texts.say("commissioning.disconnect", battery=battery.id)
