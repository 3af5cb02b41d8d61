"""What a job says about itself: limits, own figures, notes, acceptances, revisions, hints."""

from __future__ import annotations

from collections.abc import Iterable

from wiregen.findings import Mark, Span
from wiregen.language.tree import Measure, Phrase, Value
from wiregen.model.draft import CircuitDraft, Scope, Waiting
from wiregen.model.facts import Said, gather
from wiregen.model.job import Accept, Fact, Hint, Limit, Note, OwnFigures, Revision
from wiregen.model.references import Things, is_name, one, one_of, spread
from wiregen.model.spelling import did_you_mean
from wiregen.model.values import fits, is_date
from wiregen.model.vocabulary import GROUPS, STATEMENTS, statement_table


def words_of(waiting: Waiting) -> tuple[Value, ...]:
    """The words before the first comma, without the statement's own."""
    return waiting.line.phrases[0].values[1:]


def rest_of(waiting: Waiting, count: int) -> tuple[Phrase, ...]:
    """The phrases of a line without the statement's word and `count` more words."""
    first = waiting.line.phrases[0]
    return (Phrase(first.label, first.values[count + 1 :], first.block, first.span), *waiting.line.phrases[1:])


def _say(things: Things, waiting: Waiting, message: str, span: Span, remedy: str, marks: tuple[Mark, ...] = ()) -> None:
    things.desk.say(message, span, remedy=remedy, marks=marks, through=waiting.scope.through)


def _told(things: Things, waiting: Waiting, word: str, phrases: Iterable[Phrase]) -> Said:
    return gather(things.desk, waiting.scope, statement_table(word), phrases, subject=statement_table(word).means)


# ---------------------------------------------------------------- limits


def read_limit(things: Things, waiting: Waiting) -> Limit | None:
    """`limit 5 % start to dcdc.in of 13.8 V`; inside a circuit `limit 5 %`."""
    values = [v for phrase in waiting.line.phrases for v in phrase.values][1:]
    return limit_of(things, values, waiting.scope, waiting.line.phrases[0].values[0].span, waiting)


def limit_of(things: Things, values: list[Value], scope: Scope, span: Span, waiting: Waiting) -> Limit | None:
    """A limit from the values behind its word."""
    desk = things.desk
    ratio: Measure | None = None
    of: Measure | None = None
    names: list[Value] = []
    to: list[Value] | None = None
    at = 0
    while at < len(values):
        value = values[at]
        word = value.text.lower() if value.kind == "name" else ""
        if word == "of" and at + 1 < len(values) and fits(values[at + 1], "voltage"):
            of = values[at + 1].measure
            at += 1
        elif word == "to" and to is None:
            to = []
        elif is_name(value):
            (names if to is None else to).append(value)
        elif fits(value, "ratio") and ratio is None:
            ratio = value.measure
            if ratio and not 0 < ratio.low <= ratio.high <= 1:
                _say(
                    things,
                    waiting,
                    f"{value.text} is impossible as a limit of voltage drop",
                    value.span,
                    "write a percentage between 0 % and 100 %",
                )
                return None
        elif value.kind == "number":
            _say(things, waiting, f"{value.text} has no unit", value.span, f"write {value.text} %")
            return None
        elif value.kind != "missing":
            _say(
                things,
                waiting,
                f"{value.text} has no meaning in a limit",
                value.span,
                "write limit 5 % start to dcdc.in, and `of 13.8 V` for another base",
            )
            return None
        at += 1
    if ratio is None:
        _say(things, waiting, "a limit has no percentage", span, "write limit 5 %")
        return None
    of_v = of.value if of else None
    through = scope.through
    if not names and to is None:
        circuit = scope.circuit if scope.own_circuit else None
        if circuit is None:
            return Limit(ratio.value, span, None, (), False, of_v, through)
        if not circuit.ends:
            _say(
                things,
                waiting,
                f"circuit {circuit.id} has no path for its limit",
                span,
                "add the path, or name both ends",
            )
            return None
        return Limit(ratio.value, span, circuit.ends[0], (circuit.ends[1],), True, of_v, through)
    if len(names) != 1 or not to:
        at_span = names[-1].span if names else span
        _say(
            things,
            waiting,
            "a limit runs from one source to the ports it feeds",
            at_span,
            "write limit 5 % start to dcdc.in",
        )
        return None
    source = one(things, names[0], scope, terminal_first=True)
    ids: list[str] = []
    named = True
    for value in to:
        entry = desk.find(value.text, scope) if value.kind == "name" else None
        if value.text.lower() in GROUPS or (entry and entry.category in ("group", "circuit")) or value.kind == "range":
            named = False
            ids += spread(things, value, scope)
        else:
            id = one(things, value, scope, terminal_first=True)
            ids += [id] if id else []
    if source is None or (not ids and named):
        return None
    return Limit(ratio.value, span, source, tuple(dict.fromkeys(ids)), named, of_v, through)


def circuit_limit(things: Things, circuit: CircuitDraft, scope: Scope) -> Limit | None:
    """The limit in a circuit's first line: between the two ends of its first path."""
    fact = circuit.facts.get("limit")
    if not fact or not fact.measure:
        return None
    if not circuit.ends:
        things.desk.say(f"circuit {circuit.id} has no path for its limit", fact.span, remedy="add the path")
        return None
    return Limit(fact.measure.value, fact.span, circuit.ends[0], (circuit.ends[1],), True, None, circuit.through)


# ---------------------------------------------------------------- own figures


def read_own_figures(things: Things, waiting: Waiting) -> tuple[OwnFigures, list[Limit]]:
    """`own-figures "Table 3" { ampacity { 2.5 mm2: 27 A } tail 0.25 m ... }`."""
    desk, scope = things.desk, waiting.scope
    rows: list[tuple[Measure, Measure, Span]] = []
    voltages: dict[str, Measure] = {}
    limits: list[Limit] = []
    plain: list[Phrase] = []
    first = waiting.line.phrases[0].values[0]
    for phrase in flat_figures(rest_of(waiting, 0)):
        word = phrase.values[0].text.lower() if phrase.values and not phrase.label else ""
        if word == "ampacity":
            if not phrase.block:
                _say(things, waiting, "ampacity has no rows", phrase.values[0].span, "write ampacity { 6 mm2: 50 A }")
            for line in phrase.block.lines if phrase.block else ():
                label = line.label
                for at, row in enumerate(line.phrases):
                    row_label = row.label if at or label is None else label
                    _ampacity_row(things, waiting, row, row_label, rows)
        elif word == "limit":
            limit = limit_of(things, list(phrase.values[1:]), scope, phrase.values[0].span, waiting)
            limits += [limit] if limit else []
        elif word == "voltage":
            if len(phrase.values) == 3 and phrase.values[1].kind == "name" and fits(phrase.values[2], "voltage"):
                id = one(things, phrase.values[1], scope)
                measure = phrase.values[2].measure
                if id and measure:
                    voltages[id] = measure
            else:
                _say(
                    things,
                    waiting,
                    "voltage takes a battery's name and a voltage",
                    phrase.values[0].span,
                    "write voltage start 12.6 V",
                )
        elif phrase.values or phrase.label:
            plain.append(Phrase(phrase.label, phrase.values, None, phrase.span))
    said = _told(things, waiting, "own-figures", plain)
    title = said.facts.pop("title", None)
    for limit in limits:
        said.facts.setdefault("limit", Fact("limit", (), limit.span))
    del desk
    return OwnFigures(title.word if title else "", first.span, said.facts, tuple(rows), voltages), limits


def flat_figures(phrases: Iterable[Phrase]) -> Iterable[Phrase]:
    """The phrases of own figures; an `ampacity` keeps its braces."""
    for phrase in phrases:
        if phrase.values and phrase.values[0].text.lower() == "ampacity":
            yield phrase
            continue
        yield Phrase(phrase.label, phrase.values, None, phrase.span)
        if phrase.block:
            for line in phrase.block.lines:
                yield from flat_figures(line.phrases)


def _ampacity_row(
    things: Things, waiting: Waiting, row: Phrase, label: Value | None, rows: list[tuple[Measure, Measure, Span]]
) -> None:
    sizes = ("area", "gauge", "auto-size")
    if label is None or label.measure is None or label.measure.dimension not in sizes:
        at = label.span if label else row.span
        _say(things, waiting, "an ampacity row begins with a size", at, "write 6 mm2: 50 A")
        return
    value = row.values[0] if row.values else None
    if value is None or value.measure is None or value.measure.dimension != "current" or value.measure.low <= 0:
        _say(
            things,
            waiting,
            f"the row {label.text} has no current",
            value.span if value else label.span,
            f"write {label.text}: 50 A",
        )
        return
    if len(row.values) > 1:
        _say(
            things,
            waiting,
            f"{row.values[1].text} has no meaning in an ampacity row",
            row.values[1].span,
            "put a comma or a new line between two rows",
        )
    for size, _, span in rows:
        if size == label.measure:
            _say(
                things,
                waiting,
                f"{label.text} has two rows",
                label.span,
                "keep one of them",
                (Mark(span, "first here"),),
            )
            return
    rows.append((label.measure, value.measure, label.span))


# ---------------------------------------------------------------- notes, acceptances, revisions


def read_note(things: Things, waiting: Waiting) -> Note | None:
    """`note F1 "On the inner guard.", for trainer`."""
    words = words_of(waiting)
    if not words or words[0].kind != "name":
        _say(things, waiting, "a note does not say what it is about", waiting.line.span, 'write note F1 "..."')
        return None
    about = 1
    if len(words) > 2 and words[1].text.lower() == "to" and words[1].kind == "name":
        about = 4 if len(words) > 3 and words[3].measure else 3
    subject = one_of(things, words[:about], waiting.scope)
    behind = words[about:]
    if behind and not any(v.kind in ("title", "missing") for v in behind):
        meant = " ".join(v.text for v in behind)
        _say(things, waiting, "the text of a note stands in quotation marks", behind[0].span, f'write "{meant}"')
        return None
    said = _told(things, waiting, "note", rest_of(waiting, about))
    text = said.facts.get("text")
    if text is None:
        _say(things, waiting, "a note has no text", words[0].span, 'write its text in quotation marks: "..."')
        return None
    audience = said.facts["for"].word.lower() if "for" in said.facts else ""
    return Note(subject, text.word, audience, words[0].span) if subject else None


def read_accept(things: Things, waiting: Waiting) -> Accept | None:
    """`accept RULE on ID because "...", by "JK", until 2027-03-01`."""
    words = words_of(waiting)
    if not words or words[0].kind != "name":
        _say(
            things,
            waiting,
            "accept does not name a rule",
            waiting.line.span,
            'write accept missing-indicator on dcdc because "..."',
        )
        return None
    wrong_date = _dates(things, waiting, waiting.line.phrases)
    phrases, further = _between([p for p in rest_of(waiting, 1) if p not in wrong_date])
    said = _told(things, waiting, "accept", phrases)
    subject = None
    if "on" not in said.facts:
        _say(
            things,
            waiting,
            f"accept {words[0].text} does not say on what",
            words[0].span,
            "write on and the name of the part or conductor",
        )
    else:
        subject = one_of(things, (*said.facts["on"].values, *further), waiting.scope)
    because = said.facts.get("because")
    if because is None or not because.word.strip():
        _say(
            things,
            waiting,
            f"accept {words[0].text} gives no reason",
            words[0].span,
            'write because "...", so that whoever reads it later knows why',
        )
        return None
    if subject is None:
        return None
    by, until = said.facts.get("by"), said.facts.get("until")
    return Accept(
        words[0].text.lower(),
        subject,
        because.word,
        by.word if by else None,
        until.word if until else None,
        words[0].span,
    )


def _between(phrases: Iterable[Phrase]) -> tuple[list[Phrase], tuple[Value, ...]]:
    """The phrases without what follows the name behind `on` where that is `to fridge.-` or `to fridge.- 2`."""
    kept = []
    further: tuple[Value, ...] = ()
    for phrase in phrases:
        values = phrase.values
        for i in range(1, len(values) - 2):
            if values[i - 1].text.lower() == "on" and values[i + 1].text.lower() == "to" and not further:
                end = i + 4 if i + 3 < len(values) and values[i + 3].measure else i + 3
                further = values[i + 1 : end]
                phrase = Phrase(phrase.label, (*values[: i + 1], *values[end:]), phrase.block, phrase.span)
        kept.append(phrase)
    return kept, further


def _dates(things: Things, waiting: Waiting, phrases: Iterable[Phrase]) -> list[Phrase]:
    """Phrases `until X` whose X is no date; reported."""
    wrong = []
    for phrase in phrases:
        values = phrase.values
        if len(values) == 2 and values[0].text.lower() == "until" and not is_date(values[1].text):
            _say(
                things, waiting, f"{values[1].text} is no date", values[1].span, "write year, month and day: 2027-03-01"
            )
            wrong.append(phrase)
    return wrong


def read_revision(things: Things, waiting: Waiting) -> Revision | None:
    """`revision B 2026-03-14 "Output fuse raised to 40 A", by "JK"`."""
    words = words_of(waiting)
    if not words or words[0].kind not in ("name", "number"):
        _say(
            things,
            waiting,
            "a revision has no letter or number",
            waiting.line.span,
            'write revision A 2026-03-14 "First issue"',
        )
        return None
    count = 1
    date = ""
    if len(words) > 1 and words[1].kind != "title":
        count = 2
        if is_date(words[1].text):
            date = words[1].text
        else:
            _say(things, waiting, f"{words[1].text} is no date", words[1].span, "write year, month and day: 2026-03-14")
    said = _told(things, waiting, "revision", rest_of(waiting, count))
    text, by = said.facts.get("text"), said.facts.get("by")
    return Revision(words[0].text, date, text.word if text else "", by.word if by else "", words[0].span)


# ---------------------------------------------------------------- hints


def read_hints(things: Things, waiting: Waiting) -> list[Hint]:
    """`draw { row start F1 X1 / sheet 2 "Control leads", control }`."""
    hints: list[Hint] = []
    phrases = rest_of(waiting, 0)
    lines = [tuple(p for p in phrases if p.values)] if phrases[0].values else []
    for phrase in phrases:
        lines += [line.phrases for line in phrase.block.lines if not line.path] if phrase.block else []
    for line in lines:
        if not line or not line[0].values:
            continue
        word = line[0].values[0]
        kind = word.text.lower()
        if kind not in STATEMENTS["draw"]["verbs"]:
            _say(
                things,
                waiting,
                f"{word.text} is no hint for the drawing",
                word.span,
                did_you_mean(word.text, STATEMENTS["draw"]["verbs"]) or "a hint is a row or a sheet",
            )
            continue
        number, title, members = "", "", []
        values = [v for p in line for v in p.values][1:]
        for at, value in enumerate(values):
            if kind == "sheet" and at == 0 and value.kind == "number":
                number = value.text
            elif value.kind == "title":
                title = value.text
            else:
                members += spread(things, value, waiting.scope)
        hints.append(Hint(kind, number, title, tuple(dict.fromkeys(members)), word.span))
    return hints
