"""The cable schedule and the cut list."""

from __future__ import annotations

from wiregen.circuit.study import Study
from wiregen.model.job import Conductor
from wiregen.papers.cutting import Cutting, cut
from wiregen.papers.document import Block, Cell, Column, Number, Paper, Table, Text
from wiregen.papers.office import Office
from wiregen.papers.plain import DASH, colours, figure, listed, number, size
from wiregen.papers.texts import Texts
from wiregen.papers.wiring import End, busiest, length, protecting, termination


def schedule(study: Study, office: Office, texts: Texts) -> Paper:
    """Each conductor with all that is needed to make, fit and check it; then what to cut from which reel."""
    say = texts.say
    columns = (
        Column(say("schedule.name"), 1.1),
        Column(say("schedule.from"), 1.7),
        Column(say("schedule.to"), 1.7),
        Column(say("schedule.colour"), 1.5),
        Column(say("schedule.size"), 1.1),
        Column(say("schedule.length"), 0.9, "right", "m"),
        Column(say("schedule.cut"), 0.9, "right", "m"),
        Column(say("schedule.end-from"), 2.1),
        Column(say("schedule.end-to"), 2.1),
        Column(say("schedule.fuse"), 1.2),
        Column(say("schedule.current"), 0.9, "right", "A"),
        Column(say("schedule.case"), 1.4),
        Column(say("schedule.carries"), 0.9, "right", "A"),
        Column(say("schedule.margin"), 0.9, "right", "%"),
        Column(say("schedule.drop"), 0.9, "right", "mV"),
    )
    fuses = protecting(study)
    rows = tuple(_row(study, conductor, fuses, office, texts) for conductor in study.job.conductors.values())
    note = say("schedule.note", share=figure(100 * office.cut_share), ends=figure(office.cut_ends))
    blocks: tuple[Block, ...] = (Table(say("schedule.sheet"), columns, rows, note=note, small=True),)
    return Paper("schedule", say("schedule.title"), (*blocks, *cut_list(study, office, texts)), landscape=True)


def _row(
    study: Study, conductor: Conductor, fuses: dict[str, tuple[str, ...]], office: Office, texts: Texts
) -> tuple[Cell, ...]:
    id = conductor.id
    busy = busiest(study, id)
    metres = length(conductor)
    cut_m = cut_length(conductor, office)
    ampacity = busy.flow.ampacity_a if busy else None
    ends = [
        end_words(termination(study.job, conductor, terminal), texts) for terminal in (conductor.from_, conductor.to)
    ]
    current = abs(busy.flow.current_a) if busy and busy.flow.current_a is not None else None
    drop = abs(busy.flow.drop_v) if busy and busy.flow.drop_v is not None else None
    where = f"cases/{busy.case.name}/conductors/{id}" if busy else ""
    margin = 100.0 * (1.0 - current / ampacity) if current is not None and ampacity else None
    return (
        Cell(id if conductor.named else DASH, strong=True),
        Cell(conductor.from_),
        Cell(conductor.to),
        Cell(colours(conductor)),
        Cell(size(conductor) or DASH),
        number(metres),
        number(cut_m),
        Cell(ends[0]),
        Cell(ends[1]),
        Cell(listed(fuses.get(id, ())) or DASH),
        number(current, f"{where}/current_a"),
        Cell(busy.case.name if busy else DASH),
        number(ampacity, f"{where}/ampacity_a"),
        Cell(DASH) if margin is None else Cell(figure(margin), Number(margin)),
        number(drop, f"{where}/drop_v", 1000.0),
    )


def end_words(end: End, texts: Texts) -> str:
    """The end in words: `contact in cavity +`, `ferrule; takes 4..16 mm²`."""
    words = texts.say(f"ends.{end.kind}")
    if end.cavity:
        words = f"{words} {end.cavity}"
    return texts.say("ends.takes", end=words, sizes=end.takes) if end.takes else words


def cut_length(conductor: Conductor, office: Office) -> float | None:
    """The length to cut: as run, with the allowance for bends and for both ends. [m]"""
    metres = length(conductor)
    if metres is None or conductor.has("supplied"):
        return None
    return round(metres * (1.0 + office.cut_share) + office.cut_ends, 2)


def cuttings(study: Study, office: Office, texts_cable: str) -> dict[tuple[str, str], Cutting]:
    """How each cable is cut from reels, by (size and material, colour), in the order of the file.

    Cores of one cable are one piece of that cable, counted once by its sheath.
    """
    pieces: dict[tuple[str, str], list[tuple[str, float]]] = {}
    seen: set[str] = set()
    for conductor in study.job.conductors.values():
        metres = cut_length(conductor, office)
        cable = study.job.cables.get(conductor.cable or "")
        if metres is None or (cable and cable.id in seen):
            continue
        if cable:
            seen.add(cable.id)
            kind = f"{len(cable.cores)} x {size(conductor) or DASH}"
            key, name = (kind, texts_cable), cable.id
        else:
            words = [size(conductor) or DASH, conductor.word("material")]
            key, name = (" ".join(word for word in words if word), colours(conductor)), conductor.id
        pieces.setdefault(key, []).append((name, metres))
    return {key: cut(own, office.reels) for key, own in pieces.items()}


def cut_list(study: Study, office: Office, texts: Texts) -> tuple[Block, ...]:
    """One row for each reel: the pieces that come off it, and what is left."""
    say = texts.say
    columns = (
        Column(say("cut.cable"), 1.6),
        Column(say("cut.colour"), 1.4),
        Column(say("cut.reel"), 0.8, "right", "m"),
        Column(say("cut.pieces"), 6),
        Column(say("cut.used"), 0.8, "right", "m"),
        Column(say("cut.left"), 0.8, "right", "m"),
    )
    rows: list[tuple[Cell, ...]] = []
    proven = True
    bought = used = 0.0
    for (kind, colour), cutting in cuttings(study, office, say("cut.sheathed")).items():
        proven = proven and cutting.best
        bought += cutting.bought_m
        used += cutting.used_m
        for reel in cutting.reels:
            pieces = ", ".join(f"{name} {figure(metres)}" for name, metres in reel.pieces)
            taken = reel.length_m - reel.left_m
            rows.append(
                (Cell(kind, strong=True), Cell(colour), number(reel.length_m), Cell(pieces), number(taken),
                 number(round(reel.left_m, 9)))
            )  # fmt: skip
    if not rows:
        return (Text(say("cut.nothing")),)
    share = 100.0 * (1.0 - used / bought) if bought else 0.0
    totals = say("cut.totals", bought=figure(bought), used=figure(used), waste=figure(share))
    proof = say("cut.best") if proven else say("cut.found")
    note = f"{totals} {proof}"
    return (Table(say("cut.sheet"), columns, tuple(rows), heading=say("cut.title"), note=note, small=True),)
