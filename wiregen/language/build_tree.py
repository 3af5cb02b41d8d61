"""What the parser does with each shape: tokens in, the data of tree.py out."""

from __future__ import annotations

import re
from typing import Any, NamedTuple

from wiregen.findings import Finding, Source, Span, mistake
from wiregen.language.limits import MOST_MISTAKES
from wiregen.language.quantities import Reading, read_quantity, with_tolerance
from wiregen.language.tree import Block, Core, File, Join, Line, Path, Phrase, Station, Value

_ESCAPED = re.compile(r'\\(["\\])')


class Token:
    """One token: its type (a name in the grammar), its text, where it stands. lark asks for `type` and `value`."""

    __slots__ = ("end", "start", "type", "value")

    def __init__(self, type: str, value: str, start: int, end: int) -> None:
        self.type = type
        self.value = value
        self.start = start
        self.end = end

    def __repr__(self) -> str:
        return f"Token({self.type}, {self.value!r}, {self.start}, {self.end})"


class Label(NamedTuple):
    """The value before a colon, told apart from the values after it."""

    value: Value


class TreeBuilder:
    """Callbacks for lark, one for each rule of the grammar. Set `source` before a text is read."""

    def __init__(self) -> None:
        self.begin(Source("", ""))

    def begin(self, source: Source) -> None:
        """Ready for another text."""
        self.source = source
        self.findings: list[Finding] = []
        self._readings: dict[str, Reading] = {}

    def start(self, children: list[Line]) -> File:
        """The whole text."""
        return File(tuple(children), Span(self.source, 0, len(self.source.text)), True)

    def line(self, children: list[Any]) -> Line:
        """One statement: label, path or phrase, further phrases."""
        label: Value | None = None
        at = 0
        if type(children[0]) is Label:
            label = children[0].value
            at = 1
        start = label.span.start if label else children[0].span.start
        span = Span(self.source, start, children[-1].span.end)
        if type(children[at]) is Path:
            return Line(label, children[at], tuple(children[at + 1 :]), span)
        return Line(label, None, tuple(children[at:]), span)

    def phrase(self, children: list[Any]) -> Phrase:
        """Label, values, block; the rules `phrase`, `head` and `detail` come here."""
        label: Value | None = None
        block: Block | None = None
        if type(children[-1]) is Block:
            block = children.pop()
        if type(children[0]) is Label:
            label = children.pop(0).value
        values = tuple([self.value(child) if type(child) is Token else child for child in children])
        start = label.span.start if label else values[0].span.start
        end = block.span.end if block else values[-1].span.end
        return Phrase(label, values, block, Span(self.source, start, end))

    def station(self, children: list[Any]) -> Station:
        """One stop of a path."""
        values = tuple([self.value(child) if type(child) is Token else child for child in children])
        return Station(values, Span(self.source, values[0].span.start, values[-1].span.end))

    def label(self, children: list[Token]) -> Label:
        """What stands before a colon."""
        return Label(self.value(children[0]))

    def block(self, children: list[Any]) -> Block:
        """Lines between braces."""
        return Block(tuple(children[1:-1]), Span(self.source, children[0].start, children[-1].end))

    def core(self, children: list[Any]) -> Core:
        """Phrases between `--[` and `]--`."""
        return Core(tuple(children[1:-1]), Span(self.source, children[0].start, children[-1].end))

    def path(self, children: list[Any]) -> Path:
        """Stations and links in turn."""
        links = tuple(
            [
                Join(Span(self.source, child.start, child.end)) if type(child) is Token else child
                for child in children[1::2]
            ]
        )
        return Path(tuple(children[::2]), links, Span(self.source, children[0].span.start, children[-1].span.end))

    def tolerance(self, children: list[Token]) -> Value:
        """`5.2 m +- 0.3 m`; where the tolerance is missing, recover.py has put a 0 there."""
        of, _, by = children
        return self.measured(with_tolerance(self.reading(of), self.reading(by)), Span(self.source, of.start, by.end))

    def value(self, token: Token) -> Value:
        """One token as a value."""
        text = token.value
        span = Span(self.source, token.start, token.end)
        kind = token.type
        if kind == "NAME":
            return Value("range" if ".." in text else "name" if text else "missing", text, span)
        if kind == "QUANTITY":
            return self.measured(self.reading(token), span)
        if kind == "TITLE":
            return Value("title", title_text(text), span)
        if kind == "TWO_COLOURS":
            return Value("colours", text, span)
        if kind == "SIGN":
            return Value("sign", text, span)
        return Value("blank", text[1:-1], span)

    def reading(self, token: Token) -> Reading:
        """What a QUANTITY token means; the same text means the same everywhere."""
        reading = self._readings.get(token.value)
        if reading is None:
            reading = self._readings[token.value] = read_quantity(token.value)
        return reading

    def measured(self, reading: Reading, span: Span) -> Value:
        """A number, quantity or range as a value; what is wrong with it becomes a finding."""
        text, measure, problem = reading
        if problem and len(self.findings) <= MOST_MISTAKES:
            if len(self.findings) == MOST_MISTAKES:
                problem = f"more than {MOST_MISTAKES} numbers make no sense; from here on they are not told"
            self.findings.append(mistake(problem, span))
        if ".." in text or " +- " in text:
            return Value("range", text, span, measure)
        return Value("number" if measure and measure.dimension == "count" else "quantity", text, span, measure)


def title_text(quoted: str) -> str:
    """What a title says, without its quotation marks."""
    inside = quoted[1:-1]
    return _ESCAPED.sub(r"\1", inside) if quoted[0] == '"' and "\\" in inside else inside


def quoted(text: str) -> str:
    """A title with its quotation marks, as it is written back."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
