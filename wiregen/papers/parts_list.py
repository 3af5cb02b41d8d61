"""The parts list, with spares, and the consumables counted from the joints."""

from __future__ import annotations

from math import ceil

from wiregen.circuit.study import Study
from wiregen.model.job import Part
from wiregen.papers.document import Cell, Column, Paper, Table
from wiregen.papers.office import Office
from wiregen.papers.plain import DASH, listed, number, rating, size
from wiregen.papers.schedule import cut_length
from wiregen.papers.texts import Texts
from wiregen.papers.wiring import UNCRIMPED, termination

FITTED = frozenset({"body", "earth", "feed"})  # nothing to buy
SLEEVE = 0.04  # heat-shrink for one crimp [m] (common practice, no source)


def parts_list(study: Study, office: Office, texts: Texts) -> Paper:
    """Parts of one kind and rating in one row; then lugs, sleeves, ties and grommets."""
    return Paper("parts", texts.say("parts.title"), (_parts(study, office, texts), _consumables(study, office, texts)))


def _parts(study: Study, office: Office, texts: Texts) -> Table:
    say = texts.say
    kinds: dict[tuple[str, str, str], list[Part]] = {}
    for part in study.job.parts.values():
        if part.kind in FITTED:
            continue
        words = [word for word in (part.word("type"), part.word("control")) if word and word not in rating(part)]
        same = (part.kind, " ".join((rating(part), *words)).strip(), _ratings(part))
        kinds.setdefault(same, []).append(part)
    rows = []
    for (kind, sold_by, bears), parts in kinds.items():
        spares = office.spare_fuses if kind == "fuse" else 0
        titles = list(dict.fromkeys(part.title for part in parts if part.title))
        rows.append(
            (
                number(len(parts)),
                Cell(texts.say(f"kinds.{kind}"), strong=True),
                Cell(sold_by or DASH),
                Cell(bears or DASH),
                Cell(listed(part.id for part in parts) + (f" ({listed(titles)})" if titles else "")),
                number(spares) if spares else Cell(DASH),
            )
        )
    columns = (
        Column(say("parts.count"), 0.8, "right"),
        Column(say("parts.part"), 1.6),
        Column(say("parts.rating"), 1.8),
        Column(say("parts.bears"), 1.8),
        Column(say("parts.names"), 4),
        Column(say("parts.spares"), 0.9, "right"),
    )
    return Table(say("parts.sheet"), columns, tuple(rows), note=say("parts.note"))


def _ratings(part: Part) -> str:
    """What it has to bear beside what it is sold by."""
    from wiregen.layout.words import quantity

    names = () if part.kind == "battery" else ("volts", "breaks", "ingress", "holder")
    return ", ".join(quantity(part.fact(name)) for name in names if part.has(name))


def _consumables(study: Study, office: Office, texts: Texts) -> Table:
    say = texts.say
    job = study.job
    counts: dict[tuple[str, str], int] = {}
    crimps = ties = grommets = 0
    cables: set[str] = set()
    for conductor in job.conductors.values():
        if conductor.cable is None or conductor.cable not in cables:  # the cores of a cable lie in one sheath
            grommets += max(0, len(conductor.route) - 1)
            metres = cut_length(conductor, office)
            ties += ceil(metres / office.tie_spacing) if metres else 0
            cables.update(() if conductor.cable is None else (conductor.cable,))
        for terminal in (conductor.from_, conductor.to):
            kind = termination(job, conductor, terminal).kind
            if kind in UNCRIMPED:
                continue
            crimps += 1
            key = (kind, size(conductor) or DASH)
            counts[key] = counts.get(key, 0) + 1
    ordered = sorted(counts.items(), key=lambda item: (item[0][0], _area(item[0][1])))
    rows = [
        (number(count), Cell(say(f"ends.{kind}"), strong=True), Cell(sold), Cell(say(f"parts.{kind}-how")))
        for (kind, sold), count in ordered
    ]
    spacing = f"{1000 * office.tie_spacing:.0f}"
    rows += [
        (
            number(count),
            Cell(say(f"parts.{what}"), strong=True),
            Cell(DASH),
            Cell(say(f"parts.{what}-how", spacing=spacing)),
        )
        for what, count in (("sleeve", crimps), ("tie", ties), ("grommet", grommets))
    ]
    columns = (
        Column(say("parts.count"), 0.8, "right"),
        Column(say("parts.consumable"), 2.4),
        Column(say("parts.size"), 1.4),
        Column(say("parts.how"), 4.4),
    )
    return Table(say("parts.consumables-sheet"), columns, tuple(rows), heading=say("parts.consumables"))


def _area(size: str) -> tuple[float, str]:
    first = size.split(" ")[0]
    return (float(first) if first.replace(".", "", 1).isdigit() else 1000.0, size)
