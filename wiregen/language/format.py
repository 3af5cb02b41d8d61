"""The one plain layout of a netlist: `format_text`.

What it decides: one statement a line, four spaces for each level of braces and four more for a line that goes on, one
space between words, none inside `--[ ]--`, units in their plain spelling, at most one empty line.
What it leaves to the author: the order of everything, every comment, where a line goes on, and columns: two or more
spaces between words stay, so that what stood under each other still does.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from wiregen.findings import Finding, Source, mistake
from wiregen.language.build_tree import Token, quoted, title_text
from wiregen.language.quantities import read_quantity
from wiregen.language.reader import read
from wiregen.language.shape import shape

_INDENT = 4
_WIDEST = 60  # spaces between two words
_LINE_END = re.compile(r"\r\n|\r|\n")
_FIXED = {
    "OPEN": "--[",
    "CLOSE": "]--",
    "JOIN": "--",
    "OPEN_BRACE": "{",
    "CLOSE_BRACE": "}",
    "_COLON": ":",
    "_COMMA": ",",
    "TOLERANCE": "+-",
}
_ENDS = frozenset({"CLOSE_BRACE", "CLOSE", "$END"})
_NO_SPACE_BEFORE = frozenset({"_COMMA", "_COLON", "CLOSE"})


def format_text(source: Source) -> tuple[str, tuple[Finding, ...]]:
    """The text in the plain layout, and its mistakes. A text that was not wholly understood is given back as it is.

    Formatting changes nothing of what a text says: the result is read again and compared before it is given out.

    >>> format_text(Source("a.wnet", "b.+--[ W1  red,6mm2 ]--F1"))
    ('b.+ --[W1  red, 6 mm2]-- F1\\n', ())
    """
    reading = read(source)
    if not reading.tree.complete:
        return source.text, reading.findings
    text = _Layout().text(_pieces(source.text, reading.tokens))
    again = read(Source(source.path, text))
    if again.findings or shape(again.tree) != shape(reading.tree):
        at = reading.findings[0].at if reading.findings else None
        sorry = mistake(
            "this text cannot be formatted without changing what it says", at.span if at else reading.tree.span,
            remedy="mend the slips in it by hand first",
        )  # fmt: skip
        return source.text, (*reading.findings, sorry)
    return text, reading.findings


class _Piece(NamedTuple):
    """One token that is printed, and what stands before it. The last piece of a text is its end."""

    kind: str
    text: str
    start: int
    gap: str  # the source between the token before and this one
    ends: bool  # whether a statement ends before it
    breaks: bool  # whether it stands on another line than the token before


def _pieces(source: str, tokens: list[Token]) -> list[_Piece]:
    """The tokens to print. Commas at the end of a statement, a block or a conductor are left out."""
    pieces: list[_Piece] = []
    end = 0
    comma: Token | None = None
    ends = False
    for token in tokens:
        kind = token.type
        if kind == "_NL":
            ends = True
            continue
        if kind == "_COMMA":
            comma = token
            continue
        if comma and not ends and not (kind in _ENDS and (kind != "CLOSE" or "\n" not in comma.value)):
            pieces.append(_Piece("_COMMA", ",", comma.start, source[end : comma.start], False, False))
            end = min(comma.start + 1, token.start)
        comma = None
        gap = source[end : token.start]
        breaks = ends or (kind != "OPEN_BRACE" and bool(_LINE_END.search(gap)))
        pieces.append(_Piece(kind, _spelled(token), token.start, gap, ends, breaks))
        end = token.end
        ends = False
    return pieces


def _spelled(token: Token) -> str:
    """A token in its plain spelling."""
    if token.type == "QUANTITY":
        return read_quantity(token.value).text
    if token.type == "TITLE":
        return quoted(title_text(token.value))
    return _FIXED.get(token.type, token.value)


def _long_blocks(pieces: list[_Piece]) -> set[int]:
    """The numbers of the braces, opening and closing, whose block has more than one line."""
    long: set[int] = set()
    waiting: list[tuple[int, int]] = []
    breaks = 0
    for number, piece in enumerate(pieces):
        breaks += piece.breaks
        if piece.kind == "OPEN_BRACE":
            waiting.append((number, breaks))
        elif piece.kind == "CLOSE_BRACE":
            opening, so_far = waiting.pop()
            if breaks > so_far:
                long |= {opening, number}
    return long


class _Layout:
    """Puts the pieces of one text into lines."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.line = ""  # the line being written, without indentation
        self.origin = 0  # where its first token stands in the source
        self.indent = 0  # of that line, in levels
        self.depth = 0

    def text(self, pieces: list[_Piece]) -> str:
        """The whole text."""
        long = _long_blocks(pieces)
        before = ""
        for number, piece in enumerate(pieces):
            opened = before == "OPEN_BRACE" and number - 1 in long
            closes = piece.kind == "CLOSE_BRACE" and number in long
            ends = not number or piece.ends or opened or closes or piece.kind == "$END"
            if ends or piece.breaks:
                self.end_line(piece, first=not number, fresh=opened or not number, goes_on=not ends)
                self.depth -= closes
                self.line, self.origin, self.indent = piece.text, piece.start, self.depth + (not ends)
            else:
                self.line += self.space(before, piece) + piece.text
            self.depth += piece.kind == "OPEN_BRACE" and number in long
            before = piece.kind
        return "".join(f"{line}\n" for line in self.lines)

    def end_line(self, piece: _Piece, *, first: bool, fresh: bool, goes_on: bool) -> None:
        """Ends the line before a piece: its comment, then the comments and empty lines between.

        `fresh` where no empty line belongs: at the start of the text or of a block.
        """
        parts = _LINE_END.split(piece.gap)
        comments = [part[part.index("#") :].rstrip() if "#" in part else "" for part in parts]
        if not first:
            if comments[0]:
                column = piece.start - len(piece.gap) + piece.gap.index("#") - self.origin
                self.line += " " * max(2, min(column - len(self.line), _WIDEST)) + comments[0]
            self.lines.append(" " * _INDENT * self.indent + self.line)
        last = piece.kind == "$END"
        for comment in comments[0 if first else 1 : None if last else -1]:
            if comment:
                self.lines.append(" " * _INDENT * (self.depth + goes_on) + comment)
                fresh = False
            elif not goes_on and not fresh and self.lines[-1]:
                self.lines.append("")
        while (last or piece.kind == "CLOSE_BRACE") and self.lines and not self.lines[-1]:
            self.lines.pop()

    def space(self, before: str, piece: _Piece) -> str:
        """The space between two tokens of one line."""
        if piece.kind in _NO_SPACE_BEFORE or before == "OPEN" or (before, piece.kind) == ("OPEN_BRACE", "CLOSE_BRACE"):
            return ""
        if piece.gap.strip(" ") or len(piece.gap) < 2 or "BRACE" in before + piece.kind:
            return " "
        return " " * max(1, min(piece.start - self.origin - len(self.line), _WIDEST))
