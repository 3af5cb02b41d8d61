"""Values to facts: what each word and quantity of a statement says, and every way in which it can be wrong."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from wiregen.findings import Mark, Span
from wiregen.language.quantities import known_elsewhere, likely_unit
from wiregen.language.tree import Phrase, Value
from wiregen.model.draft import Desk, Scope
from wiregen.model.job import Fact, Origin
from wiregen.model.meant import option_meant, sayable_bare, usual_slip, word_meant
from wiregen.model.phrases import flat
from wiregen.model.spelling import close, did_you_mean, listed
from wiregen.model.values import any_fits, fits, is_colour
from wiregen.model.vocabulary import (
    COLOURS,
    OTHER_COLOURS,
    OTHER_UNITS,
    RANGES,
    Item,
    Table,
    means,
)

MOST_FOREIGN_UNITS = 5  # looked up in one reading
REPEATED = frozenset({"contact", "fits"})  # may be said more than once: kept as `fits in.+`, `contact 87`


class Said(NamedTuple):
    """What a statement says: facts by name, words that are no facts, and the phrases of its `each`."""

    facts: dict[str, Fact]
    names: list[Value]
    each: list[Phrase]


class Gathering:
    """Reads the phrases of one statement against its table."""

    def __init__(self, desk: Desk, scope: Scope, table: Table, origin: Origin, subject: str, names: int) -> None:
        self.desk = desk
        self.scope = scope
        self.table = table
        self.origin = origin
        self.subject = subject or table.means
        self.room_for_names = names
        self.said = Said({}, [], [])
        self.last = ""
        self.span: Span

    def phrase(self, phrase: Phrase) -> None:
        """Read one phrase."""
        values = phrase.values
        self.span = phrase.span
        if self.said.each and self.last == "each" and self._goes_on_each(values[0]):
            self.said.each.append(phrase)
            return
        if self.last == "via" and len(values) == 2 and values[0].kind == "name" and fits(values[1], "length"):
            word = values[0].text.lower()
            if word not in self.table.facts and word not in self.table.words:
                old = self.said.facts.get("via")
                if old is None:  # lost with its mistake, which was told
                    return
                span = self._over(old.span, values[-1])
                self.said.facts["via"] = Fact("via", (*old.values, *values), span, old.origin, self.scope.through)
                return
        self.last = ""
        at = 0
        while at < len(values):
            at = self._step(values, at)

    def _over(self, head: Span, last: Value) -> Span:
        """From a fact's word to its last value; the value alone where it was written elsewhere and fills a blank."""
        here = self.span
        inside = last.span.source is here.source and here.start <= last.span.start and last.span.end <= here.end
        return head.until(last.span) if inside else last.span

    def _unfilled(self, value: Value) -> None:
        """Say that a blank is not filled here."""
        kit = self.desk.kits.get(self.scope.kit.kit.lower()) if self.scope.kit else None
        if kit is None:
            self.say(f"<{value.text}> is a blank, and this is no kit", value.span, remedy="write the value itself")
            return
        blanks = [blank for blank, _ in kit.takes]
        self.say(
            f"kit {kit.name} has no blank {value.text}",
            value.span,
            remedy=did_you_mean(value.text, blanks) or f"list it: takes {', '.join([*blanks, value.text])}",
        )

    def _goes_on_each(self, first: Value) -> bool:
        word = first.text.lower()
        own = first.kind == "name" and (word in self.table.facts or word in self.table.words)
        return not own and not any(any_fits(first, options) for _, options in self.table.bare)

    def _step(self, values: tuple[Value, ...], at: int) -> int:
        """Read one fact, bare value or name from `at` on; returns where the next one begins."""
        value = values[at]
        if value.kind == "missing":
            return at + 1
        if value.kind == "blank":
            self._unfilled(value)
            return at + 1
        if value.kind == "name":
            word = value.text.lower()
            if word == "each" and "each" in self.table.facts:
                self.said.each.append(Phrase(None, values[at + 1 :], None, self.span))
                self.last = "each"
                return len(values)
            if word in self.table.facts:
                return self._fact(word, values, at)
            if word in self.table.words:
                self._bare_word(word, value)
                return at + 1
        for name, options in self.table.bare:
            if any_fits(value, options):
                if name == "title" and name in self.said.facts:
                    break
                self.keep(name, (value,), value.span)
                return at + 1
        if value.kind == "name" and len(self.said.names) < self.room_for_names and not self._slip(value):
            self.said.names.append(value)
            return at + 1
        return self._stranger(values, at)

    def _bare_word(self, word: str, value: Value) -> None:
        name = self.table.words[word]
        self.keep(name, () if name == word else (value,), value.span)

    def _slip(self, value: Value) -> bool:
        """Whether a name can only be a colour or a fact that is spelt wrong."""
        if (
            any(c.isdigit() or c == "." for c in value.text)
            or "colour" not in self.table.facts
            or "colour" in self.said.facts
        ):
            return False
        word = value.text.lower()
        if word in OTHER_COLOURS:
            return True
        near = did_you_mean(word, COLOURS)
        return bool(near) and len(word) > 2

    def _fact(self, word: str, values: tuple[Value, ...], at: int) -> int:
        """Read a fact with its word, from `at` on."""
        head = values[at]
        items = self.table.facts[word]
        start = at + 1
        if items and items[0].options == ("legs",):
            end = self._legs(values, start)
        else:
            end = start
            for item in items:
                end = self._item(word, head, item, values, end)
                if end < 0:
                    return -end
        taken = values[start:end]
        if word == "insulation" and not taken:
            if end < len(values) and values[end].text.lower() in self.table.words:
                return end
            self.missing(word, head, items[0])
            return end
        self.keep(word, taken, self._over(head.span, taken[-1]) if taken else head.span)
        self.last = word
        return end

    def _item(self, word: str, head: Value, item: Item, values: tuple[Value, ...], at: int) -> int:
        """Take the values of one item; -(next) where that cannot be done."""
        if item.many in ("*", "+"):
            end = at
            while end < len(values) and any_fits(values[end], item.options):
                end += 1
            if end == at and item.many == "+":
                return self._wrong(word, head, item, values, at)
            return end
        if at < len(values) and any_fits(values[at], item.options):
            return at + 1
        if item.many == "?":
            return at
        return self._wrong(word, head, item, values, at)

    def _legs(self, values: tuple[Value, ...], at: int) -> int:
        while at < len(values) and (values[at].kind == "name" or fits(values[at], "length")):
            if values[at].text.lower() in self.table.facts:
                break
            at += 1
        return at

    def _wrong(self, word: str, head: Value, item: Item, values: tuple[Value, ...], at: int) -> int:
        """Say why the value of a fact will not do; returns minus where to go on."""
        if at >= len(values):
            self.missing(word, head, item)
            return -at
        value = values[at]
        wanted = means(item.options)
        if value.kind == "missing":
            return -(at + 1)
        if value.kind == "number" and "count" not in item.options:
            return -self.bare_number(values, at, f"{word} takes {wanted}")
        if value.kind == "name" and self._known(value):
            self.missing(word, head, item)
            return -at
        self.say(
            f"{word} takes {wanted}, and {value.text} is not one",
            value.span,
            words=f"for {word}",
            remedy=option_meant(value, item.options, word),
        )
        return -(at + 1)

    def _known(self, value: Value) -> bool:
        word = value.text.lower()
        return word in self.table.facts or word in self.table.words

    def missing(self, word: str, head: Value, item: Item) -> None:
        """Say that a fact has no value."""
        wanted = means(item.options)
        self.say(
            f"{word} of {self.subject} has no value",
            head.span,
            words="and then?",
            remedy=f"write {wanted} after {word}",
        )

    def bare_number(self, values: tuple[Value, ...], at: int, remedy: str) -> int:
        """Say that a number has no unit; returns where to go on behind it and the word that was meant as one."""
        value = values[at]
        after = values[at + 1] if at + 1 < len(values) else None
        end = at + 1
        unit = ""
        if after and after.kind == "name" and not self._known(after) and not is_colour(after):
            end += 1
            unit = f" ({after.text} is no unit)"
            plain = OTHER_UNITS.get(after.text.lower()) or likely_unit(after.text)
            remedy = f"write {value.text} {plain}" if plain else self._foreign_unit(after.text) or remedy
            if plain == "degC" and end < len(values) and values[end].text in ("C", "F"):
                remedy = f"write {value.text} deg{values[end].text}"
                end += 1
        self.say(
            f"{value.text} has no unit{unit}",
            value.span,
            words="of what?",
            reason="a bare number may be read as any of several units",
            remedy=remedy,
        )
        return end

    def _foreign_unit(self, word: str) -> str:
        """What pint knows of a unit that the language does not have; asked a few times only, for it is slow."""
        if self.desk.foreign_units >= MOST_FOREIGN_UNITS:
            return ""
        self.desk.foreign_units += 1
        return known_elsewhere(word)

    def _stranger(self, values: tuple[Value, ...], at: int) -> int:
        """Say why a value has no meaning here; returns where to go on."""
        value = values[at]
        if value.kind == "number":
            fit = sayable_bare(self.table)
            return self.bare_number(values, at, "write " + listed(fit) if fit else "write its unit, or leave it out")
        if value.kind in ("quantity", "range"):
            if value.measure:  # what could not be read was reported where it stands
                self._unplaced(value)
            return at + 1
        if value.kind == "title":
            self.say(
                f"{self.subject} has a second text in quotation marks",
                value.span,
                remedy='write note before it if it is a remark: note "..."',
            )
            return at + 1
        if self.last and self._ill_fitting(value):
            return at + 1
        word = value.text.lower()
        if "colour" in self.table.facts and (word in OTHER_COLOURS or close(word, COLOURS) or value.kind == "colours"):
            self.say(
                f"{value.text} is no colour", value.span, words="not understood", remedy=self._word_meant(value.text)
            )
            return at + 1
        self.say(
            f"{value.text} is no word for {self.subject}",
            value.span,
            words="not understood",
            remedy=usual_slip(self.table, self.subject, self.last, values, at) or self._word_meant(value.text),
        )
        at += 1
        while at < len(values) and not (values[at].kind == "name" and self._known(values[at])):
            at += 1  # the values of the word that was not understood
        return at

    def _ill_fitting(self, value: Value) -> bool:
        """Whether a word was meant as a further value of the fact before it; says so."""
        items = self.table.facts.get(self.last, ())
        if not items or not items[-1].many or not set(items[-1].options) - {"name", "any", "end", "legs"}:
            return False
        options = items[-1].options
        if any_fits(value, options):
            both = f"write {self.last} both" if "=both" in options else "keep one of them"
            self.say(f"{self.last} takes one value, and {value.text} is a second one", value.span, remedy=both)
            return True
        self.say(
            f"{self.last} takes {means(options)}, and {value.text} is not one",
            value.span,
            words=f"for {self.last}",
            remedy=option_meant(value, options, self.last),
        )
        return True

    def _unplaced(self, value: Value) -> None:
        """Say that a quantity needs its word here."""
        takes = [word for word, items in self.table.facts.items() if items and any_fits(value, items[0].options)]
        bare = sayable_bare(self.table)
        meant = f"; or was it meant as {listed(bare)}?" if bare else ""
        self.say(
            f"{value.text} has no meaning of its own for {self.subject}",
            value.span,
            words="what is this?",
            reason=f"it could be {listed(takes)}" if takes else "",
            remedy=f"put the word before it: {takes[0]} {value.text}{meant}" if takes else "leave it out",
        )

    def _word_meant(self, text: str) -> str:
        """The word that was meant; not asked once enough is said, for the search is slow."""
        return "" if self.desk.full else word_meant(self.table, text)

    def keep(self, name: str, values: tuple[Value, ...], span: Span) -> None:
        """Keep a fact, unless it is said twice or impossible."""
        key = name
        if name in REPEATED:
            self._keep_repeated(name, values, span)
            return
        if name == "coil":
            values = tuple(sorted(values, key=lambda v: v.measure is None or v.measure.dimension == "count"))
        if key in self.said.facts:
            self._twice(name, values, span)
            return
        if all(self.possible(name, value) for value in values):
            self.said.facts[key] = Fact(name, values, span, self.origin, self.scope.through)

    def _keep_repeated(self, name: str, values: tuple[Value, ...], span: Span) -> None:
        if name == "fits":
            size = values[-1:]
            if self.possible(name, values[-1]):
                for end in values[:-1]:
                    self.said.facts[f"fits {end.text.lower()}"] = Fact(
                        name, size, span, self.origin, self.scope.through
                    )
                if len(values) == 1:
                    self.said.facts[name] = Fact(name, size, span, self.origin, self.scope.through)
            return
        key = " ".join([name, *(v.text.lower() for v in values[:2])])
        self.said.facts[key] = Fact(name, values, span, self.origin, self.scope.through)

    def _twice(self, name: str, values: tuple[Value, ...], span: Span) -> None:
        first = self.said.facts[name]
        marks = (Mark(first.span, "first here"),)
        if name == "length" and "size" in self.table.facts and "size" not in self.said.facts:
            self.say(
                f"two lengths, no size: {first.word} and {values[0].text}",
                span,
                words="again a length",
                marks=marks,
                remedy=f"for copper area write mm2, as in {_number(first.word)} mm2; for auto cable, sold by"
                f" outside diameter, {_number(first.word)} auto-mm",
            )
            return
        self.say(f"{self.subject} says {name} twice", span, words="again here", marks=marks, remedy="keep one of them")

    def possible(self, name: str, value: Value) -> bool:
        """Whether a value can be; says so where it cannot."""
        measure = value.measure
        if measure is None or value.kind == "name":
            return True
        if measure.dimension == "count":
            if name not in RANGES:
                return True
            if measure.value != int(measure.value) or value.kind == "range":
                self.say(f"{name} is a whole number, and {value.text} is not", value.span, remedy=f"write {name} 8")
                return False
        low, high = RANGES.get(name, (None, None))
        if low is None or high is None:
            if measure.dimension == "gauge":
                good = measure.low >= -3 and measure.high <= 40
            elif measure.dimension == "temperature":
                good = measure.low >= -273.15
            elif measure.dimension in ("ratio-slope", "voltage-slope", "current-slope"):
                good = True
            else:
                good = measure.low > 0
        else:
            good = low <= measure.low and measure.high <= high
        if not good:
            because = "it must be above zero" if low is None else f"it lies between {low:g} and {high:g}"
            if measure.dimension == "ratio" and low is not None and high is not None:
                because = f"it lies between {low * 100:g} % and {high * 100:g} %"
            elif measure.dimension == "gauge":
                because = "gauges run from 4/0 AWG to 40 AWG"
            self.say(
                f"{value.text} is impossible as the {name} of {self.subject}",
                value.span,
                reason=because,
                remedy="check the number and its unit",
            )
        return good

    def say(
        self,
        message: str,
        span: Span,
        *,
        words: str = "",
        reason: str = "",
        remedy: str = "",
        marks: tuple[Mark, ...] = (),
    ) -> None:
        """Keep one mistake of this statement."""
        self.desk.say(message, span, words=words, reason=reason, remedy=remedy, marks=marks, through=self.scope.through)


def _number(text: str) -> str:
    return text.split(" ")[0]


def gather(
    desk: Desk,
    scope: Scope,
    table: Table,
    phrases: Iterable[Phrase],
    *,
    origin: Origin = "own",
    subject: str = "",
    names: int = 0,
) -> Said:
    """Read the phrases of a statement (and of the braces in it). Up to `names` words may be names."""
    gathering = Gathering(desk, scope, table, origin, subject, names)
    for phrase in flat(desk, phrases, scope):
        if phrase.label:
            desk.say(
                f"{phrase.label.text}: is a label, and {table.means} has no rows",
                phrase.label.span,
                remedy="leave the label out",
                through=scope.through,
            )
        if phrase.values:
            gathering.phrase(phrase)
    return gathering.said
