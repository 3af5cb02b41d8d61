"""Text in, syntax tree out: `parse`."""

from __future__ import annotations

import gc
from functools import cache
from itertools import pairwise
from threading import Lock
from typing import Any, NamedTuple

from lark import UnexpectedToken

from wiregen.findings import Finding, Source, Span, mistake
from wiregen.language.build_tree import Token, TreeBuilder
from wiregen.language.limits import DEEPEST, LONGEST_LINE, MOST_MISTAKES
from wiregen.language.parser import compiled, load
from wiregen.language.tree import File

_SKIPPED = frozenset({"SPACE", "COMMENT", "GOES_ON"})


class Reading(NamedTuple):
    """A text as it was read: its tree, its mistakes, and the tokens that were understood."""

    tree: File
    findings: tuple[Finding, ...]
    tokens: list[Token]


class Machine:
    """The parser with its callbacks and the pattern of its tokens, made once."""

    def __init__(self) -> None:
        self.builder = TreeBuilder()
        self.lark, self.scanner = load(self.builder)
        self.pattern = compiled(self.scanner)
        self.lock = Lock()

    def tokens(self, text: str) -> list[Token] | None:
        """All tokens of a text without spaces and comments; None where a character begins no token."""
        found = []
        for match in self.pattern.finditer(text):
            kind = match.lastgroup
            if kind not in _SKIPPED:
                if kind == "STRAY":
                    return None
                start, end = match.span()
                found.append(Token(kind or "", match[0], start, end))
        return found

    def start(self, source: Source) -> Any:
        """lark's parser, ready for the tokens of a text."""
        self.builder.begin(source)
        return self.lark.parse_interactive()


@cache
def machine() -> Machine:
    """The one machine of this process."""
    return Machine()


def read(source: Source) -> Reading:
    """A text as it is understood. Never raises because of what the text says. One text at a time, whatever the threads.

    The garbage collector rests meanwhile: a tree is many small objects, none of them garbage, and going through them
    again and again would double the time that a large text takes.
    """
    reader = machine()
    with reader.lock:
        collecting = gc.isenabled()
        gc.disable()
        try:
            return _read(reader, source)
        finally:
            if collecting:
                gc.enable()


def _read(reader: Machine, source: Source) -> Reading:
    if len(source.text) > LONGEST_LINE and (found := _long_lines(source)):
        return Reading(File((), Span(source, 0, 0), False), found, [])
    tokens = reader.tokens(source.text)
    if tokens is not None and (source.text.count("{") <= DEEPEST or _depth(tokens) <= DEEPEST):
        parser = reader.start(source)
        feed = parser.feed_token
        end = len(source.text)
        try:
            for token in tokens:
                feed(token)
            tokens.append(Token("$END", "", end, end))
            tree: File = feed(tokens[-1])
            findings = tuple(reader.builder.findings)
            return Reading(tree._replace(complete=False) if findings else tree, findings, tokens)
        except UnexpectedToken:
            pass
    return _read_on(reader, source)


def _long_lines(source: Source) -> tuple[Finding, ...]:
    """A mistake for each line that is longer than anybody writes: such a text is machine waste, and is not read."""
    starts = [*source.line_starts, len(source.text) + 1]
    return tuple(
        mistake(
            f"this line is {end - start - 1:,} characters long; a line may have {LONGEST_LINE:,}",
            Span(source, start, start + 1),
            reason="nothing of this text was read",
            remedy="check that this is a netlist; break the line after a comma",
        )
        for start, end in pairwise(starts)
        if end - start - 1 > LONGEST_LINE
    )[:MOST_MISTAKES]


def _read_on(reader: Machine, source: Source) -> Reading:
    """The same with recovery from mistakes."""
    from wiregen.language import lenient, recover, slips

    mistakes = lenient.Mistakes(source)
    tokens = lenient.tokens_of(slips.pattern(reader.scanner), source, mistakes)
    recovery = recover.Recovery(reader.start(source), tokens, mistakes)
    tree: File = recovery.run() or reader.builder.start([])
    found = [*mistakes.found, *reader.builder.findings]
    found.sort(key=lambda finding: finding.at.span.start if finding.at else 0)
    lost = any(finding.lost for finding in found)
    return Reading(tree._replace(complete=not lost), tuple(found), recovery.tokens)


def _depth(tokens: list[Token]) -> int:
    """How deep braces are nested."""
    depth = deepest = 0
    for token in tokens:
        if token.type == "OPEN_BRACE":
            depth += 1
            deepest = max(deepest, depth)
        elif token.type == "CLOSE_BRACE":
            depth -= 1
    return deepest


def parse(source: Source) -> tuple[File, tuple[Finding, ...]]:
    """The syntax tree of a text and the mistakes in it. Never raises because of what the text says.

    >>> tree, mistakes = parse(Source("a.wnet", "fuse F1 10 A, at boot"))
    >>> [[value.text for value in phrase.values] for phrase in tree.lines[0].phrases]
    [['fuse', 'F1', '10 A'], ['at', 'boot']]
    """
    reading = read(source)
    return reading.tree, reading.findings
