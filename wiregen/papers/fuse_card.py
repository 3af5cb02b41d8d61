"""The card that stays in the vehicle: which fuse sits where, how large it is, what it feeds."""

from __future__ import annotations

from wiregen.circuit.study import Study
from wiregen.papers.document import Cell, Column, Paper, Table, Text
from wiregen.papers.plain import DASH, listed, number, place_words, rating
from wiregen.papers.texts import Texts
from wiregen.papers.wiring import fed_by


def fuse_card(study: Study, texts: Texts) -> Paper:
    """One row for each fuse and breaker, in the order of the file."""
    say = texts.say
    job = study.job
    columns = (
        Column(say("fuses.fuse"), 1.2),
        Column(say("fuses.place"), 2),
        Column(say("fuses.rating"), 0.8, "right", "A"),
        Column(say("fuses.kind"), 1.4),
        Column(say("fuses.feeds"), 4),
    )
    rows = []
    for part in job.parts.values():
        if part.kind not in ("fuse", "breaker"):
            continue
        where = place_words(job, part.place)
        if part.block:
            where = say("fuses.way", block=part.block, way=part.way or "") + (f", {where}" if where else "")
        users = [_named(study, id) for id in fed_by(study, part)]
        amps = part.number("rating")
        kind = part.word("type") or texts.say(f"kinds.{part.kind}")
        rows.append(
            (
                Cell(part.id, strong=True),
                Cell(where or DASH),
                number(amps) if amps is not None else Cell(rating(part) or DASH),
                Cell(kind),
                Cell(listed(users) or part.title or DASH),
            )
        )
    table = Table(say("fuses.sheet"), columns, tuple(rows))
    if not rows:
        return Paper("fuses", say("fuses.title"), (Text(say("fuses.none"), "caution"),))
    return Paper("fuses", say("fuses.title"), (Text(say("fuses.like-for-like"), "caution"), table))


def _named(study: Study, id: str) -> str:
    return study.job.parts[id].title or id
