"""The commissioning sheet: what to look at and measure, in the order that is safe, with the value to expect."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from collections.abc import Set as AbstractSet
from typing import Literal, NamedTuple

from wiregen.circuit.assemble import main_battery
from wiregen.circuit.cases import LOADS
from wiregen.circuit.energy import service_batteries
from wiregen.circuit.network import Edge
from wiregen.circuit.study import CaseResult, Study
from wiregen.layout.words import quantity
from wiregen.model.job import Contact, Link, Part
from wiregen.papers.document import Block, Cell, Column, Heading, Number, Paper, Points, Table, Text
from wiregen.papers.plain import DASH, figure, listed, number, size
from wiregen.papers.texts import Texts

# least pull-out force of a crimp by copper area [mm2, N]: IEC 60352-2 (from memory, not read)
PULL = ((0.5, 60.0), (0.75, 85.0), (1.0, 108.0), (1.5, 150.0), (2.5, 230.0), (4.0, 310.0), (6.0, 360.0), (10.0, 380.0))
METER = 0.005, 0.02  # a workshop meter's share and last digits [1, V] (common practice, no source)
FIRST_CASES = 4  # the number of the first part of the sheet that is about an operating case
LEAST = 0.1  # no voltage in a vehicle is foretold better [V] (common practice, no source)
BOX = Cell(box=True)


def commissioning(study: Study, texts: Texts) -> Paper:
    """Inspection, polarity, connection, settings, engine, sun; and how to take it out of service again."""
    say = texts.say
    order = connection_order(study)
    blocks: list[Block] = [Text(say("commissioning.how")), Text(say("commissioning.caution"), "caution")]
    blocks += [_crimps(study, texts), _checks(study, texts)]
    share, digits = METER
    blocks.insert(1, Text(say("commissioning.meter-note", share=figure(100 * share), digits=figure(digits)), "small"))
    done: set[str] = set()
    steps = list(_connecting(study, texts, order, done))
    panels = any(part.kind == "panel" for part in study.job.parts.values())
    late = list(_late(study, texts, done, panels))
    blocks.append(_numbered(texts, steps if panels else [*steps, *late], "steps", say("commissioning.steps")))
    blocks += _cases(study, texts, late if panels else [])
    sections = sum(isinstance(block, Heading) for block in blocks)
    blocks.append(Heading(say("commissioning.away", at=FIRST_CASES + sections)))
    blocks.append(Points((say("commissioning.disconnect-first"), *_away(study, texts, order)), numbered=True))
    return Paper("commissioning", say("commissioning.title"), tuple(blocks))


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


def _checks(study: Study, texts: Texts) -> Table:
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


class Step(NamedTuple):
    """Something to do, and what to expect: in words, or as a voltage."""

    do: str
    expect: str = ""
    volts: Number | None = None


def _numbered(texts: Texts, steps: Iterable[Step], name: str, heading: str = "") -> Table:
    """A table of steps; a voltage to expect has its tolerance beside it."""
    say = texts.say
    columns = (
        Column(say("commissioning.step"), 0.5, "right"),
        Column(say("commissioning.do"), 4.4),
        Column(say("commissioning.expect"), 1.7),
        Column(say("commissioning.tolerance"), 0.9),
        Column(say("commissioning.read"), 1),
        Column(say("commissioning.initials"), 0.9),
    )
    rows = tuple(
        (
            number(at),
            Cell(step.do),
            Cell(f"{step.volts.value:.2f} V", step.volts) if step.volts else Cell(step.expect),
            Cell(_tolerance(step.volts.value) + " V" if step.volts else ""),
            BOX,
            BOX,
        )
        for at, step in enumerate(steps, start=1)
    )
    return Table(say(f"commissioning.{name}-sheet"), columns, rows, heading)


def _tolerance(volts: float) -> str:
    share, digits = METER
    return f"± {max(abs(volts) * share + digits, LEAST):.2f}"


def _connecting(study: Study, texts: Texts, order: tuple[Part, ...], done: set[str]) -> Iterator[Step]:
    """Battery by battery: positive, negative, measured, then outward what opens, each fuse last on its side."""
    say = texts.say
    for battery in order:
        volts = _resting(study, battery)
        plus, minus = f"{battery.id}.+", f"{battery.id}.-"
        yield Step(say("commissioning.positive", battery=plus))
        yield Step(say("commissioning.negative", battery=minus))
        yield Step(say("commissioning.posts", plus=plus, minus=minus), volts=volts)
        yield from _outward(study, texts, battery, volts, done)
    for part in study.job.parts.values():
        if part.kind in ("charger", "mains-charger", "solar-controller") and part.has("profile"):
            yield Step(say("commissioning.profile", charger=part.id), quantity(part.fact("profile")))
        if part.kind == "charger" and _wired(study, f"{part.id}.trigger"):
            yield Step(say("commissioning.trigger", charger=part.id), say("commissioning.trigger-expect"))


def _late(study: Study, texts: Texts, done: set[str], sun: bool) -> Iterator[Step]:
    """What no battery makes live, behind the panels or a charger: connectors first, then what is put in or closed."""
    say = texts.say
    parts = study.job.parts.values()
    for part in (part for part in parts if part.kind in ("connector", "plug", "socket") and part.id not in done):
        half = (
            say("commissioning.late-half-sun", connector=part.id)
            if sun
            else say("commissioning.late-half", connector=part.id)
        )
        yield Step(half, say("commissioning.late-expect"))
        yield Step(say("commissioning.mate", connector=_mates(study, part)))
        done.update(_mated(study, part))
    for part in (part for part in parts if part.kind in ("fuse", "breaker", "isolator") and part.id not in done):
        yield _closed(part, texts)


def _closed(part: Part, texts: Texts) -> Step:
    """A fuse is put in, a breaker and an isolator are closed."""
    if part.kind == "isolator":
        return Step(texts.say("commissioning.close", isolator=part.id))
    words = texts.say("commissioning.fuse-in", fuse=part.id)
    if part.kind == "breaker":
        words = texts.say("commissioning.close", isolator=part.id)
    return Step(words, texts.say("commissioning.no-spark"))


def _outward(study: Study, texts: Texts, battery: Part, volts: Number, done: set[str]) -> Iterator[Step]:
    """From the positive post outward: fuses go in, isolators close, connectors are measured at the live half and
    mated. `done` is what was gone through before, from another battery."""
    say = texts.say
    job = study.job
    while True:
        plus = reached(study, f"{battery.id}.+", done)
        gates = [gate for at in plus for gate in _gates(study, at) if gate not in done]
        if not gates:
            return
        gate = job.parts[gates[0]]
        if gate.kind in ("connector", "plug", "socket"):
            live = next(at for at in plus if job.part_of(at) is gate)
            there = _opposite(study, gate, live, battery, done)
            words = say("commissioning.live-half", connector=gate.id, plus=live, minus=there)
            yield Step(words, volts=volts)
            yield Step(say("commissioning.mate", connector=_mates(study, gate)))
            done.update(_mated(study, gate))
        elif gate.block:
            ways = [id for id in gates if job.parts[id].block == gate.block]
            done.update(ways)
            yield Step(say("commissioning.fuses-in", block=gate.block), say("commissioning.no-spark"))
        else:
            yield _closed(gate, texts)
        done.add(gate.id)


def reached(study: Study, start: str, through: AbstractSet[str]) -> list[str]:
    """Terminals that are live from this one, the nearest first, with every fuse out, isolator open and connector apart
    but those of `through`."""
    found = [start]
    seen = {start}
    for at in found:
        for edge, other in study.network.around(at):
            if other not in seen and all(gate in through for gate in _opens(study, edge)):
                seen.add(other)
                found.append(other)
    return found


def _opens(study: Study, edge: Edge) -> tuple[str, ...]:
    """The parts that part an edge until they are put in, closed or mated. A relay joins nothing at rest."""
    if isinstance(edge.item, Contact):
        part = study.job.parts[edge.item.part]
        opens = edge.item.kind in ("fuse", "breaker", "pole", "relay") or part.kind == "isolator"
        return (part.id,) if opens else ()
    if isinstance(edge.item, Link) and edge.item.why == "mated":
        ends = (study.job.part_of(edge.a), study.job.part_of(edge.b))
        return tuple(part.id for part in ends if part is not None)
    return ()


def _gates(study: Study, terminal: str) -> Iterator[str]:
    """What opens right at a terminal, by the part that the terminal is on."""
    part = study.job.part_of(terminal)
    for edge, _ in study.network.around(terminal):
        opens = _opens(study, edge)
        if part is not None and part.id in opens and not (isinstance(edge.item, Contact) and edge.item.kind == "relay"):
            yield part.id


def _mated(study: Study, half: Part) -> set[str]:
    """A connector pair, or a plug with the socket that it goes into."""
    found = {half.id}
    for terminal in half.terminals:
        for edge, _ in study.network.around(terminal):
            if isinstance(edge.item, Link) and edge.item.why == "mated":
                found.update(_opens(study, edge))
    return found


def _mates(study: Study, half: Part) -> str:
    return " / ".join(sorted(_mated(study, half)))


def _opposite(study: Study, half: Part, live: str, battery: Part, done: AbstractSet[str]) -> str:
    """The negative contact beside a live one, where it has one; else the battery's post."""
    side = live.rpartition(".")[0]
    beside = [at for at in half.terminals if at != live and at.rpartition(".")[0] == side]
    negative = set(reached(study, f"{battery.id}.-", done))
    return next((at for at in beside if at in negative), f"{battery.id}.-")


def _wired(study: Study, terminal: str) -> bool:
    there = study.job.terminals.get(terminal)
    return there is not None and there.used


def _first_fuses(study: Study, battery: Part) -> tuple[str, ...]:
    """The fuses and breakers that stand first behind a battery's positive post: pulled before its leads come off."""
    gates = (gate for at in reached(study, f"{battery.id}.+", frozenset()) for gate in _gates(study, at))
    return tuple(dict.fromkeys(gate for gate in gates if study.job.parts[gate].kind in ("fuse", "breaker")))


def _resting(study: Study, battery: Part) -> Number:
    """The voltage at a battery's posts while nothing is drawn: its open-circuit voltage as the study takes it. [V]"""
    from wiregen.circuit.figures import Figures

    return Number(Figures(study.job).battery(battery).volts)


def _switched_on(study: Study, case: CaseResult, texts: Texts) -> str:
    """Which loads have to be on for the voltages of a case to be found."""
    loads = [part.id for part in study.job.parts.values() if part.kind in LOADS]
    on = [id for id in loads if abs(case.parts.get(id, {}).get("current_a") or 0.0) > 1e-6]
    if not on:
        return texts.say("commissioning.none-on")
    if len(on) == len(loads) > 1:
        return texts.say("commissioning.all-on")
    return texts.say("commissioning.on", loads=listed(on, texts.say("story.and")))


def _cases(study: Study, texts: Texts, late: list[Step]) -> Iterator[Block]:
    """A table for each operating case with an answer, engine off first, then engine, then sun."""
    say = texts.say
    columns = (
        Column(say("commissioning.point"), 3.4),
        Column(say("commissioning.expect"), 1.2, "right"),
        Column(say("commissioning.unit"), 0.5),
        Column(say("commissioning.tolerance"), 1, "right"),
        Column(say("commissioning.read"), 1.2),
        Column(say("commissioning.initials"), 0.9),
    )
    at = FIRST_CASES
    panels = [part for part in study.job.parts.values() if part.kind == "panel"]
    for when in ("engine-off", "engine", "sun"):
        cases = [case for case in study.cases if _when(study, case) == when]
        steps = (
            [*(_sunlit(panel, texts) for panel in panels), *late, Step(say("commissioning.uncover"))]
            if when == "sun" and panels
            else []
        )
        if not cases and not steps:
            continue
        yield Heading(say(f"commissioning.{when}", at=at))
        at += 1
        if steps:
            yield _numbered(texts, steps, "sun-steps")
        for case in cases:
            if not case.solved:
                yield Text(say("commissioning.unsolved", case=case.name), "small")
            elif rows := tuple(_readings(study, case, texts)):
                title = say("commissioning.case", case=case.name, title=case.title or case.name)
                note = _switched_on(study, case, texts)
                yield Table(say("commissioning.case-sheet", case=case.name), columns, rows, title, note)


def _sunlit(panel: Part, texts: Texts) -> Step:
    volts = panel.number("voc")
    known = texts.say("commissioning.panel-expect", volts=figure(volts))
    expect = known if volts is not None else texts.say("commissioning.panel-expect-unknown")
    return Step(texts.say("commissioning.panel", panel=panel.id), expect)


def _when(study: Study, case: CaseResult) -> Literal["engine-off", "engine", "sun"]:
    """The part of the sheet that a case belongs to: sun where a panel gives current, else by the alternator."""
    kinds = {part.id: part.kind for part in study.job.parts.values()}
    currents = {id: figures.get("current_a") for id, figures in case.parts.items()}
    if any(kinds.get(id) == "panel" and amps and abs(amps) > 1e-3 for id, amps in currents.items()):
        return "sun"
    stopped = any(kinds.get(id) == "alternator" and amps == 0.0 for id, amps in currents.items())
    if case.name.startswith("driving"):
        return "engine"
    dynamo = "alternator" in kinds.values()
    return "engine-off" if stopped or not dynamo or case.name.startswith("parked") else "engine"


def _readings(study: Study, case: CaseResult, texts: Texts) -> Iterator[tuple[Cell, ...]]:
    for part in study.job.parts.values():
        for plus, minus in _ports(part):
            here, there = case.voltages.get(plus), case.voltages.get(minus)
            if here is None or there is None:
                continue
            volts = here - there
            source = f"{_at(case, plus)}-{_at(case, minus)}"
            yield (
                Cell(texts.say("commissioning.between", plus=plus, minus=minus)),
                Cell(f"{round(volts, 2) + 0.0:.2f}", Number(volts, source)),
                Cell("V"),
                Cell(_tolerance(volts)),
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


def _away(study: Study, texts: Texts, order: tuple[Part, ...]) -> Iterator[str]:
    """The way back: the battery that was connected last comes off first, its fuses before its negative."""
    for battery in reversed(order):
        if near := _first_fuses(study, battery):
            words = listed(near, texts.say("story.and"))
            yield texts.say("commissioning.disconnect-fuses", fuses=words, battery=battery.id)
        yield texts.say("commissioning.disconnect", battery=battery.id)
