"""Text in, syntax tree out: `parse`."""

from __future__ import annotations

import re
from functools import cache

from lark import Lark, UnexpectedToken

from wiregen.findings import Finding, Source, mistake
from wiregen.language.build_tree import Token, TreeBuilder
from wiregen.language.parser import compiled, load
from wiregen.language.tree import File

_SKIPPED = frozenset({"SPACE", "COMMENT", "GOES_ON"})


class Machine:
    """The parser with its callbacks and its tokens' pattern, made once."""

    def __init__(self) -> None:
        self.builder = TreeBuilder()
        self.lark: Lark
        self.lark, pattern = load(self.builder)
        self.pattern: re.Pattern[str] = compiled(pattern)

    def tokens(self, text: str) -> list[Token]:
        """All tokens of a text, without spaces and comments; what no token begins with is STRAY, one character each."""
        found = []
        for match in self.pattern.finditer(text):
            kind = match.lastgroup
            if kind not in _SKIPPED:
                start, end = match.span()
                found.append(Token(kind or "", match[0], start, end))
        return found


@cache
def machine() -> Machine:
    """The one machine of this process."""
    return Machine()


def parse(source: Source) -> tuple[File, tuple[Finding, ...]]:
    """The syntax tree of a text and the mistakes in it. Never raises because of what the text says."""
    reader = machine()
    builder = reader.builder
    builder.begin(source)
    state = reader.lark.parse_interactive()
    feed = state.feed_token
    end = len(source.text)
    try:
        for token in reader.tokens(source.text):
            feed(token)  # type: ignore[arg-type]  # lark asks only for type and value
        tree: File = feed(Token("$END", "", end, end))  # type: ignore[arg-type]
    except UnexpectedToken as problem:
        token = problem.token
        return File((), builder.start([]).span, False), (mistake(f"unexpected {token.value!r}", None),)
    return tree, tuple(builder.findings)
