"""What a trainer writes: stages of the installation, planted faults, worksheets. Data only; nothing is carried out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from wiregen.findings import Span
from wiregen.language.tree import Phrase, Value
from wiregen.model.cases import BUILT_IN
from wiregen.model.draft import Waiting
from wiregen.model.facts import gather
from wiregen.model.job import NO_FACTS, Fact, Lesson, Stage, Step
from wiregen.model.phrases import flat
from wiregen.model.references import Things, is_name, one, spread
from wiregen.model.spelling import did_you_mean
from wiregen.model.values import fits
from wiregen.model.vocabulary import STATEMENTS, conductor_table, kind_table, statement_table

LESSON_WORDS = {"fault": STATEMENTS["fault"]["verbs"], "worksheet": STATEMENTS["worksheet"]["verbs"]}


def read_stage(things: Things, waiting: Waiting) -> Stage | None:
    """`stage 1 "Batteries and the earth", start aux W20`."""
    words = waiting.line.phrases[0].values[1:]
    if not words or words[0].kind not in ("number", "name"):
        _say(things, waiting, "a stage has no number", waiting.line.span, 'write stage 1 "..." and what is new in it')
        return None
    title = ""
    members: list[str] = []
    own: list[str] = []
    rest = False
    for value in [*words[1:], *(v for p in waiting.line.phrases[1:] for v in p.values)]:
        if value.kind == "title" and not title:
            title = value.text
        elif value.kind == "name" and value.text.lower() == "rest":
            rest = True
        else:
            found = spread(things, value, waiting.scope)
            members += found
            own += found if value.kind == "name" and [id.lower() for id in found] == [value.text.lower()] else []
    return Stage(words[0].text, title, tuple(dict.fromkeys(members)), rest, words[0].span, tuple(dict.fromkeys(own)))


def read_lesson(things: Things, waiting: Waiting) -> Lesson | None:
    """A `fault` or a `worksheet` with its steps, which the teaching room carries out."""
    kind = waiting.word
    words = waiting.line.phrases[0].values[1:]
    if not words or words[0].kind not in ("number", "name"):
        example = 'write fault A "..." { ... }' if kind == "fault" else 'write worksheet 1 "..." { ... }'
        _say(things, waiting, f"a {kind} has no name", waiting.line.span, example)
        return None
    title = next((v.text for v in words[1:] if v.kind == "title"), "")
    for value in words[1:]:
        if value.kind not in ("title", "missing"):
            remedy = f"put what the {kind} does in braces"
            _say(things, waiting, f"{value.text} has no meaning here", value.span, remedy)
    steps: list[Step] = []
    for phrase in waiting.line.phrases:
        for line in phrase.block.lines if phrase.block else ():
            verb = ""
            if line.path:
                _say(things, waiting, "a path cannot stand here", line.span, f"a {kind} changes what is there")
                continue
            for part in flat(things.desk, line.phrases, waiting.scope):
                verb = _step(things, waiting, part, verb, steps)
    lines = [line for phrase in waiting.line.phrases for line in (phrase.block.lines if phrase.block else ())]
    if kind == "fault" and (steps or not lines) and all(step.verb == "teaches" for step in steps):
        remedy = "say what is wrong: change, move, swap, leave-out, break, joint, bridge or short, and where"
        _say(things, waiting, f"fault {words[0].text} changes nothing", words[0].span, remedy)
    return Lesson(kind, words[0].text, title, tuple(steps), words[0].span)  # type: ignore[arg-type]


def check_lessons(things: Things, lessons: list[Lesson], stages: list[Stage], cases: Iterable[str]) -> None:
    """Names of stages, faults and cases in worksheets must exist."""
    known = {
        "stage": [s.number for s in stages],
        "fault": [x.name for x in lessons if x.kind == "fault"],
        "case": [*cases, *BUILT_IN],
    }
    for lesson in lessons:
        for step in lesson.steps if lesson.kind == "worksheet" else ():
            for value in step.values[:1] if step.verb in known else ():
                if value.text.lower() not in [name.lower() for name in known[step.verb]]:
                    remedy = did_you_mean(value.text, known[step.verb]) or f"declare {step.verb} {value.text}"
                    things.desk.say(f"there is no {step.verb} {value.text}", value.span, remedy=remedy)


def _say(things: Things, waiting: Waiting, message: str, span: Span, remedy: str) -> None:
    things.desk.say(message, span, remedy=remedy, through=waiting.scope.through)


def _step(things: Things, waiting: Waiting, phrase: Phrase, verb: str, steps: list[Step]) -> str:
    """Read one step; a phrase without a verb goes on with the one before. Returns the verb."""
    values = phrase.values
    if not values:
        return verb
    first = values[0].text.lower()
    verbs = LESSON_WORDS[waiting.word]
    if values[0].kind == "name" and first in verbs:
        verb, values = first, values[1:]
    elif not verb:
        _say(
            things,
            waiting,
            f"{values[0].text} is no word of a {waiting.word}",
            values[0].span,
            did_you_mean(values[0].text, verbs) or f"a {waiting.word} may say: {', '.join(verbs)}",
        )
        return verb
    if waiting.word == "worksheet":
        targets, facts = _worksheet_step(things, waiting, phrase, verb, values), NO_FACTS
    else:
        targets, facts = _fault_step(things, waiting, phrase, verb, values)
    steps.append(Step(verb, values, phrase.span, facts, targets))
    return verb


def _fault_step(
    things: Things, waiting: Waiting, phrase: Phrase, verb: str, values: tuple[Value, ...]
) -> tuple[tuple[str, ...], Mapping[str, Fact]]:
    """The ids that a step of a planted fault names, and the facts that it changes."""
    if verb == "teaches":
        return (), NO_FACTS
    if not values:
        _say(things, waiting, f"{verb} does not say what", phrase.span, f"write {verb} and a name")
        return (), NO_FACTS
    if verb == "short":
        return _short(things, waiting, phrase, values), NO_FACTS
    if verb == "move":
        return _move(things, waiting, phrase, values), NO_FACTS
    if verb == "expect":
        names = tuple(v for at, v in enumerate(values) if at and values[at - 1].text.lower() == "on")
        if not names:
            remedy = "write expect and the rule's name, on, and the part or conductor that it names"
            _say(things, waiting, "expect does not say on what", phrase.span, remedy)
        return _ids(things, waiting, names), NO_FACTS
    if verb == "joint":
        if not any(fits(value, "resistance") for value in values[1:]):
            remedy = f"write how much it adds: joint {values[0].text} 50 mohm"
            _say(things, waiting, f"joint {values[0].text} does not say its resistance", phrase.span, remedy)
        for value in values[1:]:
            if fits(value, "resistance") and value.measure and value.measure.value <= 0.0:
                remedy = "write how much it adds, above zero"
                _say(things, waiting, f"a joint that adds {value.text} is impossible", value.span, remedy)
        return _ids(things, waiting, values[:1], terminal_first=True), NO_FACTS
    if verb == "change":
        return _change(things, waiting, phrase, values)
    return _ids(things, waiting, values, terminal_first=verb == "swap"), NO_FACTS


def _ids(things: Things, waiting: Waiting, values: Iterable[Value], *, terminal_first: bool = False) -> tuple[str, ...]:
    named = [value for value in values if is_name(value)]
    found = [one(things, value, waiting.scope, terminal_first=terminal_first) for value in named]
    return tuple(id for id in found if id)


def _move(things: Things, waiting: Waiting, phrase: Phrase, values: tuple[Value, ...]) -> tuple[str, ...]:
    """`move W9 from aux.- to start.-`: the conductor, the terminal that it leaves, where it lands (or `loose`)."""
    words = [value.text.lower() for value in values]
    if len(values) != 5 or words[1] != "from" or words[3] != "to":
        remedy = "write which conductor, and the two terminals: move W9 from aux.- to start.-"
        _say(things, waiting, "this move does not say what goes where", phrase.span, remedy)
        return ()
    conductor = one(things, values[0], waiting.scope)
    away = one(things, values[2], waiting.scope, terminal_first=True)
    there = "loose" if words[4] == "loose" else one(things, values[4], waiting.scope, terminal_first=True)
    if conductor is None or away is None or there is None:
        return ()
    if conductor not in things.conductors:
        remedy = "name the conductor whose end is moved"
        _say(things, waiting, f"{conductor} is no conductor and cannot be moved", values[0].span, remedy)
        return ()
    moved = things.conductors[conductor]
    ends = [end for end in (moved.from_, moved.to) if end == away or end in _terminals(things, away)]
    if len(ends) != 1:
        remedy = f"it runs from {moved.from_} to {moved.to}"
        _say(things, waiting, f"{conductor} does not end on {away}", values[2].span, remedy)
        return ()
    lands = there if there == "loose" or there in things.board.terminals else _any_stud(things, there)
    if not lands:
        _say(things, waiting, f"{there} is no terminal", values[4].span, "name the terminal where it lands, or loose")
        return ()
    if lands == ends[0]:
        _say(things, waiting, f"{conductor} is on {lands} already", values[4].span, "name where it lands instead")
        return ()
    return conductor, ends[0], lands


def _short(things: Things, waiting: Waiting, phrase: Phrase, values: tuple[Value, ...]) -> tuple[str, ...]:
    """`short dcdc.in.+`, `short light.+ to light.-`: the terminals that are joined by a short circuit."""
    if len(values) not in (1, 3) or (len(values) == 3 and values[1].text.lower() != "to"):
        remedy = "write where: short dcdc.in.+, or between what: short light.+ to light.-"
        _say(things, waiting, "this short does not say from where to where", phrase.span, remedy)
        return ()
    out = []
    for value in values[::2]:
        id = one(things, value, waiting.scope, terminal_first=True)
        if id is None:
            return ()
        at = id if id in things.board.terminals else _any_stud(things, id) or _first_side(things, id)
        if not at:
            _say(things, waiting, f"{id} is no terminal", value.span, f"name a terminal of it: short {id}.+")
            return ()
        if at in out:
            _say(things, waiting, f"both ends of this short are {at}", value.span, "name two terminals")
            return ()
        out.append(at)
    return tuple(out)


def _first_side(things: Things, id: str) -> str:
    """The first side of a connector's pole; `` for anything else."""
    owner, _, pole = id.rpartition(".")
    side = f"{owner}.a.{pole}"
    return side if side in things.board.terminals else ""


def _terminals(things: Things, id: str) -> tuple[str, ...]:
    """All terminals of a part, or both sides of a connector's pole."""
    part = things.board.parts.get(id)
    if part:
        return part.terminals
    owner, _, pole = id.rpartition(".")
    return (f"{owner}.a.{pole}", f"{owner}.b.{pole}")


def _any_stud(things: Things, id: str) -> str:
    """A stud of a busbar or splice, all of them one piece of metal; `` for anything else."""
    part = things.board.parts.get(id)
    return part.terminals[0] if part and part.kind in ("busbar", "splice") and part.terminals else ""


def _change(
    things: Things, waiting: Waiting, phrase: Phrase, values: tuple[Value, ...]
) -> tuple[tuple[str, ...], Mapping[str, Fact]]:
    """`change W1 5.2 m`, `change aux lifepo4`, `change dcdc profile agm`: what it reaches, and the new facts."""
    ids = _ids(things, waiting, values[:1])
    if not ids:
        return (), NO_FACTS
    id = ids[0]
    if id in things.conductors:
        table = conductor_table()
    elif id in things.board.parts:
        table = kind_table(things.board.parts[id].kind)
    elif things.desk.places.get(id):
        table = statement_table("place")
    else:
        remedy = "name a part, a conductor or a place"
        _say(things, waiting, f"{id} cannot be changed", values[0].span, remedy)
        return (), NO_FACTS
    rest = Phrase(None, values[1:], None, phrase.span)
    said = gather(things.desk, waiting.scope, table, (rest,), origin="change", subject=id)
    if not said.facts:
        _say(things, waiting, f"change {id} does not say to what", phrase.span, f"write change {id} and the new facts")
    return ids, said.facts


def _worksheet_step(
    things: Things, waiting: Waiting, phrase: Phrase, verb: str, values: tuple[Value, ...]
) -> tuple[str, ...]:
    """Check what a worksheet asks for: names to blank, a question with its answer."""
    if not values:
        _say(things, waiting, f"{verb} does not say what", phrase.span, f"write {verb} and a value")
    elif verb == "blank":
        return _ids(things, waiting, values[:1])
    elif verb == "ask":
        kinds = [v.kind for v in values]
        if kinds != ["title", "name", "title"] or values[1].text.lower() != "answer":
            _say(things, waiting, "a question has no answer", phrase.span, 'write ask "..." answer "..."')
    return ()
