"""The tokens of a text that did not parse: slips replaced by what is meant, labels and braces put right."""

from __future__ import annotations

import re
from typing import Any

from wiregen.findings import Edit, Finding, Mark, Source, Span, mistake
from wiregen.language.build_tree import Token
from wiregen.language.limits import DEEPEST, MOST_MISTAKES
from wiregen.language.slips import SLIPS, Slip, end_of_title

VALUES = frozenset({"NAME", "QUANTITY", "TITLE", "TWO_COLOURS", "SIGN", "BLANK"})
_SKIPPED = frozenset({"SPACE", "COMMENT", "GOES_ON"})


class Mistakes:
    """The findings of one text, in the order in which they were met. `full` when no more are told."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.found: list[Finding] = []
        self.full = False

    def add(self, message: str, start: int, end: int, **more: Any) -> None:
        """One more mistake; beyond the limit, one last finding that says so."""
        if self.full:
            return
        if len(self.found) == MOST_MISTAKES:
            self.full = True
            message, more = f"more than {MOST_MISTAKES} mistakes; from here on the text was not read", {}
        self.found.append(mistake(message, self.span(start, end), **more))

    def span(self, start: int, end: int) -> Span:
        """A stretch of the text, no longer than its first line and at least one character wide where there is one."""
        text = self.source.text
        line_end = text.find("\n", start, end)
        if line_end > start:
            end = line_end
        return Span(self.source, start, max(end, min(start + 1, len(text))))

    def mark(self, token: Token, words: str) -> Mark:
        """A second place that matters."""
        return Mark(self.span(token.start, token.end), words)


def short(text: str) -> str:
    """A piece of the user's text that fits into a message."""
    line = text.split("\n", 1)[0].strip()
    return line if len(line) <= 40 else f"{line[:37]}..."


def tokens_of(pattern: re.Pattern[str], source: Source, mistakes: Mistakes) -> list[Token]:
    """The tokens of a text, slips mended and told. Stops early where there are more mistakes than are told."""
    lexer = _Lexer(pattern, source, mistakes)
    at, end = 0, len(source.text)
    while at < end and not mistakes.full:
        at = lexer.take(at)
    return balanced(lexer.tokens, mistakes)


class _Lexer:
    """Takes one token after the other."""

    def __init__(self, pattern: re.Pattern[str], source: Source, mistakes: Mistakes) -> None:
        self.pattern = pattern
        self.text = source.text
        self.mistakes = mistakes
        self.tokens: list[Token] = []
        self.core = False  # between --[ and ]--
        self.labelled = False  # there was a label since the line or the block began
        self.bracketed = False  # a needless [ was left out, and its ] is to come

    def take(self, at: int) -> int:
        """The token that begins at an offset; returns where it ends."""
        match = self.pattern.match(self.text, at)
        assert match
        kind, stop = match.lastgroup or "", match.end()
        if kind in _SKIPPED:
            return stop
        if kind[0] == "S" and kind[1:].isdigit():
            return self.slip(SLIPS[int(kind[1:])], match[0], at)
        if kind == "STRAY":
            return self.stray(at, stop)
        if kind == "COMMA":
            self.mistakes.add(
                "a comma stands between two figures without a space", at, stop,
                remedy="put a space after the comma, or write a decimal point", repaired=True,
            )  # fmt: skip
            kind = "_COMMA"
        self.put(Token(kind.removesuffix("_"), match[0], at, stop))
        return stop

    def put(self, token: Token) -> None:
        """One more token; some are understood only with those before them."""
        kind, tokens = token.type, self.tokens
        last = tokens[-1] if tokens else None
        if kind == "_COLON" and not self.core and last and last.type in ("QUANTITY", "BLANK"):
            if self.labelled and len(tokens) > 1 and tokens[-2].type in VALUES:
                self.label_comma(last)
            self.labelled = True
        elif kind == "OPEN_BRACE" and len(tokens) > 1 and tokens[-1].type == "_NL" and tokens[-2].type in VALUES:
            self.brace_below(token)
        elif kind in ("NAME", "TWO_COLOURS") and last and last.type == "QUANTITY" and last.value[-1].isdigit():
            token = self.with_unit(last, token)
        if kind in ("_NL", "OPEN_BRACE"):
            self.labelled = False
        self.core = kind == "OPEN" or (self.core and kind not in ("CLOSE", "_NL"))
        tokens.append(token)

    def label_comma(self, label: Token) -> None:
        """`6 mm2: 50 A 10 mm2: 70 A`"""
        self.mistakes.add(
            f"a comma is missing before `{short(label.value)}:`", label.start, label.end,
            remedy="put a comma between two entries", repaired=True,
        )  # fmt: skip
        self.tokens.insert(-1, Token("_COMMA", ",", label.start, label.start))

    def brace_below(self, brace: Token) -> None:
        """A brace on a line of its own, below the word that it belongs to."""
        line_end = self.tokens.pop()
        self.mistakes.add(
            "this `{` stands on a line of its own", brace.start, brace.end, repaired="#" not in line_end.value,
            reason="it belongs to the line above, and was read so", remedy="put it at the end of the line above",
        )  # fmt: skip

    def with_unit(self, number: Token, unit: Token) -> Token:
        """A unit joined to its number where only a slip stood between them (`8 = mm2`, `40 (A)`); else as it is."""
        joined = f"{number.value} {unit.value}"
        match = self.pattern.fullmatch(joined)
        if not match or match.lastgroup != "QUANTITY":
            return unit
        self.tokens.pop()
        return Token("QUANTITY", joined, number.start, unit.end)

    def slip(self, slip: Slip, found: str, at: int) -> int:
        """One slip: told, and put down as what is meant. Returns where it ends."""
        if slip.token == "CLOSE" and not self.core and (found[0] in ")}" or found == "]"):
            return self.bracket(found[0], at)
        repaired, message, remedy = slip.repaired, slip.message, slip.remedy
        last = self.tokens[-1] if self.tokens else None
        if slip.token == "TITLE" and not repaired:
            found = found[: end_of_title(found)] or found
            if last and last.type == "QUANTITY" and last.end == at:
                remedy = f"for inches write `{short(last.value)} inch`; text has a quotation mark at both ends"
        means = slip.means if isinstance(slip.means, str) else slip.means(found)
        if slip.token == "OPEN" and found[0] == "-" and last and last.end == at and last.value.endswith(".-"):
            repaired = False
            message = "one dash too few: `.--[` may lack the terminal's sign or a dash of `--[`"
            name = short(last.value)
            remedy = f"write `{name} --[`, or `{name[:-1]}+ --[` if the positive one is meant"
        clear = repaired and slip.token and means and "\n" not in found
        self.mistakes.add(
            message.format(found=short(found), means=short(means)), at, at + len(found),
            remedy=remedy.format(found=short(found), means=short(means)), repaired=repaired,
            fix=(Edit(self.mistakes.span(at, at + len(found)), means),) if clear else (),
        )  # fmt: skip
        if found == "[" and not slip.token:
            self.bracketed = True
        if slip.token:
            self.put(Token(slip.token, means, at, at + len(found)))
        return at + len(found)

    def bracket(self, found: str, at: int) -> int:
        """A closing bracket that closes no conductor. Returns where it ends."""
        if found == "}":
            self.put(Token("CLOSE_BRACE", "}", at, at + 1))
        elif found == "]":
            if not self.bracketed:
                self.mistakes.add("nothing is open here for this `]` to close", at, at + 1, remedy="leave it out")
            self.bracketed = False
        else:
            self.mistakes.add("no round brackets are needed", at, at + 1, remedy="leave out the `)`", repaired=True)
        return at + 1

    def stray(self, at: int, stop: int) -> int:
        """Characters that mean nothing in the language: left out, and told. Returns where they end."""
        end = len(self.text)
        while stop < end and (ahead := self.pattern.match(self.text, stop)) and ahead.lastgroup == "STRAY":
            stop = ahead.end()
        found = self.text[at:stop]
        last = self.tokens[-1] if self.tokens else None
        if found == "/":
            message, remedy = "a stroke stands between two colours (`green/white`) or in a gauge (`2/0 AWG`)", ""
        elif found in ("°", "º", "˚"):
            message, remedy = "a degree sign stands without its letter", "write degC, or degF"
        elif found in ("'", "′", "’") and last and last.type == "QUANTITY" and last.end == at:
            message, remedy = f"`{found}` is no unit", f"for feet write `{short(last.value)} ft`"
        elif found.isprintable():
            message = f"`{short(found)}` means nothing in a netlist"
            remedy = "leave it out, or put it in quotation marks"
        else:
            name = " ".join(f"U+{ord(character):04X}" for character in found[:4])
            message, remedy = f"a character that cannot be seen stands here ({name})", "delete it"
        self.mistakes.add(message, at, stop, remedy=remedy)
        return stop


def balanced(tokens: list[Token], mistakes: Mistakes) -> list[Token]:
    """The tokens with every brace closed and none closed twice, and none nested too deep."""
    depth = deepest = 0
    for token in tokens:
        if token.type == "OPEN_BRACE":
            depth += 1
            deepest = max(deepest, depth)
        elif token.type == "CLOSE_BRACE" and depth:
            depth -= 1
    if deepest > DEEPEST:
        return _cut_deep(tokens, mistakes)
    unclosed = depth
    text = mistakes.source.text
    out: list[Token] = []
    stack: list[tuple[Token, int]] = []  # each open brace with the indentation of its line
    indent = -1
    for token in tokens:
        if indent < 0 and token.type != "_NL":
            indent = token.start - text.rfind("\n", 0, token.start) - 1
            closes = token.type == "CLOSE_BRACE"
            while unclosed and stack and (indent < stack[-1][1] if closes else indent <= stack[-1][1]):
                unclosed -= 1
                _close(stack.pop()[0], out, mistakes)
        if token.type == "_NL":
            indent = -1
        elif token.type == "OPEN_BRACE":
            stack.append((token, indent))
        elif token.type == "CLOSE_BRACE":
            if not stack:
                mistakes.add(
                    "nothing is open here for this `}` to close", token.start, token.end,
                    remedy="leave it out, or put in the `{` that it closes",
                )  # fmt: skip
                continue
            stack.pop()
        out.append(token)
    while stack:
        _close(stack.pop()[0], out, mistakes)
    return out


def _close(brace: Token, out: list[Token], mistakes: Mistakes) -> None:
    """Closes a brace at the end of what has been read, before the end of its line."""
    mistakes.add(
        "this `{` is not closed", brace.start, brace.end,
        reason="it was taken to end where the text steps out again", remedy="put a `}` after the last line inside",
    )  # fmt: skip
    at = len(out) - 1 if out and out[-1].type == "_NL" else len(out)
    end = out[at - 1].end
    out.insert(at, Token("CLOSE_BRACE", "}", end, end))


def _cut_deep(tokens: list[Token], mistakes: Mistakes) -> list[Token]:
    """The tokens without the statements that are nested too deep: one finding each, whatever else is wrong in them."""
    out: list[Token] = []
    depth = statement = 0  # levels of braces; where the outermost statement begins in `out`
    too_deep = False
    for token in tokens:
        if token.type == "OPEN_BRACE":
            depth += 1
            if depth > DEEPEST and not too_deep:
                too_deep = True
                mistakes.add(
                    f"braces are nested deeper than {DEEPEST} levels", token.start, token.end,
                    reason="the statement that they belong to was not read",
                    remedy="move what is inside to lines of its own",
                )  # fmt: skip
        elif token.type == "CLOSE_BRACE":
            if depth == 0:
                continue
            depth -= 1
            if depth == 0 and too_deep:
                del out[statement:]
                too_deep = False
                continue
        elif token.type == "_NL" and depth == 0:
            statement = len(out) + 1
        out.append(token)
    if too_deep:
        return out[:statement]
    last = tokens[-1].end
    return out + [Token("CLOSE_BRACE", "}", last, last)] * depth
