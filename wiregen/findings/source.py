"""Texts and the places in them: the only module that turns offsets into lines, columns and excerpts."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple


@dataclass(frozen=True)
class Source:
    """One text as it was read. `path` is as the user gave it, with `/` between folders."""

    path: str
    text: str = field(repr=False)

    @cached_property
    def line_starts(self) -> list[int]:
        """Offset of the first code point of each line (lines end with LF; a CR before it belongs to the line)."""
        starts = [0]
        find = self.text.find
        at = find("\n")
        while at >= 0:
            starts.append(at + 1)
            at = find("\n", at + 1)
        return starts

    def position(self, offset: int) -> tuple[int, int]:
        """Line and column of an offset, both counted from 1 in code points."""
        line = bisect_right(self.line_starts, offset)
        return line, offset - self.line_starts[line - 1] + 1

    def line(self, number: int) -> str:
        """The text of one line, counted from 1, without its end."""
        start = self.line_starts[number - 1]
        end = self.line_starts[number] if number < len(self.line_starts) else len(self.text)
        return self.text[start:end].rstrip("\r\n")


class Span(NamedTuple):
    """A stretch of one text, from `start` up to but not including `end`, in code points."""

    source: Source
    start: int
    end: int

    def until(self, other: Span) -> Span:
        """From the start of this span to the end of another one in the same text."""
        return Span(self.source, self.start, max(self.end, other.end))

    @property
    def text(self) -> str:
        """What stands there."""
        return self.source.text[self.start : self.end]
