"""Operating cases: what each one sets, those of the case it is like first."""

from __future__ import annotations

from wiregen.findings import Mark
from wiregen.language.tree import Line, Phrase, Value
from wiregen.model.draft import Waiting
from wiregen.model.facts import gather
from wiregen.model.job import Case, Facts, Setting
from wiregen.model.references import Things, is_name, spread
from wiregen.model.spelling import did_you_mean
from wiregen.model.vocabulary import GROUPS, STATEMENTS, VERBS, Table, conductor_table, kind_table, shape, table

MOST_CASES = 100
DEEPEST_LIKE = 50  # cases like cases
HELD = frozenset({"battery", "alternator", "feed", "charger", "mains-charger", "solar-controller", "panel"})


def read_cases(things: Things, lines: list[Waiting]) -> dict[str, Case]:
    """All cases, by name in the order of the file."""
    desk = things.desk
    raw: dict[str, tuple[Waiting, Value, str, Value | None, list[Phrase]]] = {}
    for waiting in lines:
        words = waiting.line.phrases[0].values
        if len(words) < 2 or words[1].kind != "name":
            desk.say(
                "a case has no name",
                words[0].span,
                remedy="write case driving, and what it sets",
                through=waiting.scope.through,
            )
            continue
        name = words[1]
        if name.text.lower() in raw:
            desk.say(
                f"case {name.text} is declared twice",
                name.span,
                words="again here",
                marks=(Mark(raw[name.text.lower()][1].span, "first here"),),
                remedy="give one another name",
            )
            continue
        if len(raw) >= MOST_CASES:
            if len(raw) == MOST_CASES:
                desk.say(
                    "too many cases",
                    name.span,
                    reason=f"a job may have up to {MOST_CASES} operating cases",
                    remedy="leave the least telling ones out",
                    through=waiting.scope.through,
                )
            break
        title, like, phrases = _head(things, waiting, words)
        raw[name.text.lower()] = (waiting, name, title, like, phrases)
    own = {key: _settings(things, row[4], row[0]) for key, row in raw.items()}
    cases: dict[str, Case] = {}
    for key, (waiting, name, title, _, _) in raw.items():
        text = key if key in BUILT_IN else name.text
        settings, start = _inherited(things, key, raw, own, waiting)
        cases[text] = Case(text, title, tuple(settings), name.span, start)
    return cases


def _head(things: Things, waiting: Waiting, words: tuple[Value, ...]) -> tuple[str, Value | None, list[Phrase]]:
    """The title, the case it is like, and the phrases that set something."""
    title, like = "", None
    rest: list[Value] = []
    at = 2
    while at < len(words):
        value = words[at]
        if value.kind == "title" and not title:
            title = value.text
        elif value.kind == "name" and value.text.lower() == "like" and at + 1 < len(words):
            at += 1
            like = words[at]
        else:
            rest.append(value)
        at += 1
    first = waiting.line.phrases[0]
    phrases: list[Phrase] = []
    if rest:
        phrases.append(Phrase(None, tuple(rest), first.block, first.span))
    elif first.block:
        phrases += [p for line in first.block.lines for p in _plain(things, line, waiting)]
    phrases += waiting.line.phrases[1:]
    kept = []
    for phrase in phrases:
        if phrase.values and phrase.values[0].text.lower() == "like" and len(phrase.values) == 2:
            like = phrase.values[1]
        else:
            kept.append(phrase)
    return title, like, kept


def _plain(things: Things, line: Line, waiting: Waiting) -> tuple[Phrase, ...]:
    """The phrases of a line in a case's braces."""
    if line.path:
        things.desk.say(
            "a path cannot stand in a case",
            line.span,
            remedy="close the braces before it",
            through=waiting.scope.through,
        )
        return ()
    return line.phrases


def _inherited(
    things: Things,
    key: str,
    raw: dict[str, tuple[Waiting, Value, str, Value | None, list[Phrase]]],
    own: dict[str, list[Setting]],
    waiting: Waiting,
) -> tuple[list[Setting], str]:
    """The settings of the cases that a case is like, the farthest first, then its own; and the tool's own case that
    the farthest one is like."""
    chain: list[str] = []
    at: str | None = key
    while at:
        if at in chain:
            like = raw[chain[-1]][3]
            if like and at == key == min(chain, key=list(raw).index):
                things.desk.say(
                    f"case {raw[key][1].text} is like itself",
                    like.span,
                    remedy="leave one `like` out",
                    through=waiting.scope.through,
                )
            break
        chain.append(at)
        like = raw[at][3]
        if like is None:
            break
        low = like.text.lower()
        if low not in raw:
            if low not in BUILT_IN:
                things.desk.unknown(
                    "case",
                    like.text,
                    like.span,
                    waiting.scope,
                    [r[1].text for r in raw.values()],
                    "declare it, or leave `like` out",
                )
            break
        at = low
        if len(chain) > DEEPEST_LIKE:
            things.desk.say(
                f"case {raw[key][1].text} is like a case that is like too many others",
                like.span,
                reason=f"cases may be like cases up to {DEEPEST_LIKE} deep",
                remedy="write its settings out",
                through=waiting.scope.through,
            )
            break
    settings = [setting for step in reversed(chain) for setting in own[step]]
    last = raw[chain[-1]][3]
    start = last.text.lower() if last else ""
    return settings, start if start in BUILT_IN and start not in raw else ""


BUILT_IN = frozenset({"driving", "driving-low", "driving-dark", "parked-sun", "parked-dark", "cranking"})


def _settings(things: Things, phrases: list[Phrase], waiting: Waiting) -> list[Setting]:
    settings: list[Setting] = []
    for phrase in phrases:
        settings += _setting(things, phrase, waiting)
    return settings


def _setting(things: Things, phrase: Phrase, waiting: Waiting) -> list[Setting]:
    """What one phrase sets."""
    desk, scope, values = things.desk, waiting.scope, phrase.values
    if not values:
        return []
    first, last = values[0], values[-1]
    if is_name(first) and first.text.lower() in VERBS:
        return _verb(things, first, values[1:], waiting)
    if len(values) > 1 and last.kind == "name" and last.text.lower() in VERBS:
        return _verb(things, last, values[:-1], waiting)
    if first.text.lower() == "sun" and desk.find(first.text, scope) is None:
        fact = _facts(things, table("a case", {}, ({"sun": "ratio"},)), values, phrase, waiting, "").get("sun")
        return [Setting("sun", ("",), fact.span, fact.measure)] if fact else []
    names: list[Value] = []
    for value in values:
        if not is_name(value) or (names and _fact_word(things, value, waiting)):
            break
        names.append(value)
    rest = values[len(names) :]
    if not names:
        desk.say(
            f"{first.text} sets nothing in a case",
            first.span,
            remedy=f"name what it sets: start 12.6 V, ign on, or off loads (verbs: {' '.join(sorted(VERBS))})",
            through=scope.through,
        )
        return []
    if not rest and not phrase.block:
        strangers = [n.text for n in (names[-1], names[0]) if not desk.find(n.text.partition(".")[0], scope)]
        near = next((said for text in strangers if (said := did_you_mean(text, VERBS))), "")
        desk.say(
            f"{' '.join(n.text for n in names)} does not say what it is to be",
            names[-1].span,
            remedy=near or f"write one of {' '.join(sorted(VERBS))} or a quantity after it",
            through=scope.through,
        )
        return []
    if rest and rest[0].kind == "name" and len(rest) == 1 and did_you_mean(rest[0].text, VERBS):
        desk.say(
            f"{rest[0].text} is no state",
            rest[0].span,
            remedy=did_you_mean(rest[0].text, VERBS),
            through=scope.through,
        )
        return []
    made: list[Setting] = []
    for name in names:
        for id in spread(things, name, scope):
            setting = _quantity(things, id, name, rest, phrase, waiting)
            if setting:
                made.append(setting)
    return made


def _fact_word(things: Things, value: Value, waiting: Waiting) -> bool:
    """Whether a word after a name is one of its facts rather than another name."""
    return things.desk.find(value.text, waiting.scope) is None and value.text.lower() not in GROUPS


def _verb(things: Things, verb: Value, targets: tuple[Value, ...], waiting: Waiting) -> list[Setting]:
    if not targets:
        things.desk.say(
            f"{verb.text} does not say what",
            verb.span,
            remedy=f"write {verb.text} and the names",
            through=waiting.scope.through,
        )
        return []
    ids: list[str] = []
    for target in targets:
        ids += spread(things, target, waiting.scope)
    span = (
        verb.span.until(targets[-1].span)
        if verb.span.start < targets[0].span.start
        else (targets[0].span.until(verb.span))
    )
    return [Setting(verb.text.lower(), tuple(dict.fromkeys(ids)), span)] if ids else []


def _quantity(
    things: Things, id: str, name: Value, rest: tuple[Value, ...], phrase: Phrase, waiting: Waiting
) -> Setting | None:
    """A source held at a voltage, a place at a temperature, or facts of a part in this case."""
    desk, scope = things.desk, waiting.scope
    measure = rest[0].measure if rest else None
    span = name.span.until(rest[-1].span) if rest else name.span
    if id in desk.places:
        if measure and measure.dimension == "temperature" and len(rest) == 1:
            return Setting("ambient", (id,), span, measure)
        facts = _facts(things, table("a place in a case", {"ambient": "temperature"}, ()), rest, phrase, waiting, id)
        ambient = facts.get("ambient")
        return Setting("ambient", (id,), span, ambient.measure) if ambient else None
    part = things.board.parts.get(id)
    if part is None:
        if id in things.conductors:
            facts = _facts(things, conductor_table(), rest, phrase, waiting, id)
            return Setting("facts", (id,), span, None, facts) if facts else None
        desk.say(
            f"{name.text} cannot be set in a case", name.span, remedy="name a part or a place", through=scope.through
        )
        return None
    if measure and measure.dimension == "voltage" and len(rest) == 1 and part.kind in HELD:
        if measure.low <= 0:
            desk.say(
                f"{rest[0].text} is impossible as the voltage of {id}",
                rest[0].span,
                remedy="check the number and its unit",
                through=scope.through,
            )
            return None
        return Setting("volts", (id,), span, measure)
    if measure and measure.dimension == "count" and len(rest) == 1 and part.kind in HELD:
        _say_number(things, rest[0], waiting)
        return None
    kind = kind_table(part.kind)
    extra = {name_: shape(text) for name_, text in STATEMENTS["case"]["settings"].items()}
    wide = kind._replace(facts={**extra, **kind.facts})
    facts = _facts(things, wide, rest, phrase, waiting, id)
    return Setting("facts", (id,), span, None, facts) if facts else None


def _say_number(things: Things, value: Value, waiting: Waiting) -> None:
    things.desk.say(
        f"{value.text} has no unit", value.span, remedy=f"write {value.text} V", through=waiting.scope.through
    )


def _facts(things: Things, of: Table, rest: tuple[Value, ...], phrase: Phrase, waiting: Waiting, id: str) -> Facts:
    one = Phrase(None, rest, phrase.block, phrase.span)
    return gather(things.desk, waiting.scope, of, (one,), subject=id).facts
