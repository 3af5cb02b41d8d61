"""What was probably meant by words that a statement cannot hold: the remedies of wiregen.model.facts.

Every function gives the text of a remedy, "" where nothing better can be said.
"""

from __future__ import annotations

from wiregen.language.quantities import quantity_meant
from wiregen.language.tree import Value
from wiregen.model.spelling import close, did_you_mean
from wiregen.model.values import is_colour
from wiregen.model.vocabulary import COLOURS, MEANS, OTHER_COLOURS, OTHER_UNITS, OTHER_WORDS, Table, means


def option_meant(value: Value, options: tuple[str, ...], word: str) -> str:
    """What to write after a fact's word in place of a value that will not do."""
    if value.kind == "name":
        words = [o[1:] for o in options if o.startswith("=")]
        words += sorted(COLOURS) if "colour" in options else []
        for other in {**OTHER_WORDS, **OTHER_COLOURS}.get(value.text.lower(), "").split():
            if other in words:
                return f"write {other}"
        return did_you_mean(value.text, words) or f"write {word} and {means(options)}"
    if value.kind == "title" and "name" in options:
        return f"write its name, without quotation marks: {word} {value.text.replace(' ', '-')}"
    return f"write {word} and {means(options)}"


def sayable_bare(table: Table) -> list[str]:
    """What may be said without a word before it, as messages call it."""
    wanted = [option for _, options in table.bare for option in options]
    return [MEANS[o] for o in wanted if o in MEANS and o not in ("text", "colour")]


def usual_slip(table: Table, subject: str, last: str, values: tuple[Value, ...], at: int) -> str:
    """What puts right a slip that is made often: a name of two words, a comma in a list, `2x100 Ah`.

    `last` is the fact read before the value at `at`.
    """
    value = values[at]
    if value.kind == "sign" and "poles" in table.facts:
        return "write the poles without a comma: poles + -"
    if is_colour(value) and "cores" in table.facts:
        return f"put the word before them: cores {value.text}"
    quantity = quantity_meant(value.text, values[at + 1].text if at + 1 < len(values) else "", OTHER_UNITS)
    if quantity:
        return f"write {quantity}"
    count, times, each = value.text.partition("x")
    if times and count.isdigit() and each.isdigit() and "parallel" in table.facts:
        unit = values[at + 1].text if at + 1 < len(values) else ""
        return f"write {each} {unit}".rstrip() + f", parallel {count}, or series {count}"
    if value.kind != "name" or "colour" in table.facts or value.text.lower() in OTHER_WORDS:
        return ""
    if did_you_mean(value.text, table.facts):
        return ""
    before = values[at - 1] if at else None
    items = table.facts.get(last, ())
    if before and before.kind == "name" and items and items[-1].options == ("name",):
        return f"a name is one word: {last} {before.text}-{value.text}"
    start = value.span.start
    head = value.span.source.text[max(0, start - 200) : start].rstrip()
    if not before and head.lower().endswith(subject.lower()):
        return f"a name is one word: {subject}-{value.text}"
    return ""


def word_meant(table: Table, text: str) -> str:
    """The word or colour that was meant, or what may be said."""
    if "colour" in table.facts:
        one, _, two = text.lower().partition("/")
        if one in OTHER_COLOURS or two in OTHER_COLOURS:
            return "write " + "/".join(OTHER_COLOURS.get(c, c) for c in (one, two) if c)
        known = [*sorted(COLOURS), *OTHER_COLOURS]
        near = [(close(c, known) or ("",))[0] for c in (one, two) if c]
        if all(near) and (two or near[0] in OTHER_COLOURS):
            return "write " + "/".join(OTHER_COLOURS.get(c, c) for c in near)
        if two:
            return "colours are " + ", ".join(sorted(COLOURS))
    words = [*table.facts, *table.words]
    for other in OTHER_WORDS.get(text.lower(), "").split():
        if other in words:
            return f"write {other}"
    if "colour" in table.facts:
        words += sorted(COLOURS)
    return did_you_mean(text, words) or f"{table.means} may say: {', '.join(_sayable(table))}"


def _sayable(table: Table) -> list[str]:
    """What a line of this kind may hold: the words themselves where a fact has words of its own, else its name."""
    said: list[str] = []
    for name in table.own:
        said += [word for word, fact in table.words.items() if fact == name] or [name]
    return said
