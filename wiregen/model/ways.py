"""Way rows of a fuse block: `3: 15 A FX3 --[P3 N3 4 mm2 2 m]-- load D3 9 A "Pump", back NB1`."""

from __future__ import annotations

from wiregen.language.tree import Line, Phrase, Value
from wiregen.model.draft import Desk, Row, Scope
from wiregen.model.facts import gather
from wiregen.model.job import Origin
from wiregen.model.vocabulary import kind_table

MOST_WAYS = 200


def is_back(phrase: Phrase) -> bool:
    """Whether a phrase of a way row tells where the load returns to: `back NB1`."""
    return bool(phrase.values) and phrase.values[0].kind == "name" and phrase.values[0].text.lower() == "back"


def read_rows(desk: Desk, line: Line, scope: Scope, block: str, origin: Origin = "own") -> list[Row]:
    """The rows of one line: one for each label in it, spread out where the label is a range."""
    rows: list[Row] = []
    if line.path:
        label = line.label
        if label is None:
            return rows
        first = line.path.stations[0]
        fuse = Phrase(label, first.values, None, first.span)
        made = _row(desk, fuse, (), scope, block, origin)
        if len(made) > 1:
            desk.say(
                "several ways cannot share one path",
                label.span,
                remedy="write a row for each way",
                through=scope.through,
            )
            return made
        for row in made:
            row.line = line
        return made
    phrases = list(line.phrases)
    if line.label is not None and phrases:
        phrases[0] = Phrase(line.label, phrases[0].values, phrases[0].block, phrases[0].span)
    groups: list[list[Phrase]] = []
    for phrase in phrases:
        if phrase.label is not None or not groups:
            groups.append([phrase])
        else:
            groups[-1].append(phrase)
    for group in groups:
        if group[0].label is not None:
            rows += _row(desk, group[0], tuple(group[1:]), scope, block, origin)
    return rows


def _row(desk: Desk, phrase: Phrase, more: tuple[Phrase, ...], scope: Scope, block: str, origin: Origin) -> list[Row]:
    label = phrase.label
    assert label is not None
    ways = _ways(desk, label, scope, block)
    empty = [v for v in phrase.values if v.kind == "name" and v.text.lower() == "empty"]
    if empty:
        for value in phrase.values:
            if value not in empty and value.kind != "title":
                desk.say(
                    f"way {label.text} of {block} is empty and yet says {value.text}",
                    value.span,
                    remedy="leave out one of the two",
                    through=scope.through,
                )
        rows = [Row(way, label.span, scope) for way in ways]
        for row in rows:
            row.fuse = None
        return rows
    said = gather(
        desk,
        scope,
        kind_table("fuse"),
        (Phrase(None, phrase.values, phrase.block, phrase.span), *more),
        origin=origin,
        subject=f"way {label.text} of {block}",
        names=1,
    )
    if said.names and len(ways) > 1:
        desk.say(
            f"{said.names[0].text} cannot name the fuses of several ways",
            said.names[0].span,
            remedy="leave the name out, or write a row for each way",
            through=scope.through,
        )
        said.names.clear()
    rows = []
    for way in ways:
        row = Row(way, label.span, scope)
        row.fuse = dict(said.facts)
        row.name = said.names[0] if said.names else None
        rows.append(row)
    return rows


def _ways(desk: Desk, label: Value, scope: Scope, block: str) -> list[str]:
    measure = label.measure
    if measure and measure.dimension == "count" and measure.low >= 1 and measure.high <= MOST_WAYS:
        low, high = int(measure.low), int(measure.high)
        if low == measure.low and high == measure.high:
            return [str(way) for way in range(low, high + 1)]
    if label.kind != "missing":
        desk.say(
            f"{label.text} is no way of {block}",
            label.span,
            remedy=f"ways are numbered from 1 to {MOST_WAYS}, such as 3: or 4..6:",
            through=scope.through,
        )
    return []
