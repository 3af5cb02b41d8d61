"""Reading on after a mistake: every mistake of a text in one run, and as much of its tree as can be had.

Slow and thorough; the reader comes here only when a text did not parse at once. Three steps: tokens with slips told
apart (slips.py), braces balanced and commas before labels put in (both need what lies ahead), then the parser with a
remedy for each way in which a token may not fit.
"""

from __future__ import annotations

import re
from typing import Any

from lark import UnexpectedToken

from wiregen.findings import Finding, Mark, Source, Span, mistake
from wiregen.language import phrases
from wiregen.language.build_tree import Token
from wiregen.language.limits import DEEPEST, MOST_MISTAKES
from wiregen.language.slips import SLIPS, Slip, end_of_title

_SKIPPED = frozenset({"SPACE", "COMMENT", "GOES_ON"})
_VALUES = frozenset({"NAME", "QUANTITY", "TITLE", "TWO_COLOURS", "SIGN", "BLANK"})
_LINE_ENDS = frozenset({"_NL", "$END", "CLOSE_BRACE"})


class TooMany(Exception):
    """There are more mistakes than are told."""


class Mistakes:
    """The findings of one text, in the order in which they were met."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.found: list[Finding] = []

    def add(self, message: str, start: int, end: int, *, words: str = "", **more: Any) -> None:
        """One more mistake. Raises TooMany beyond the limit."""
        if len(self.found) >= MOST_MISTAKES:
            message = f"more than {MOST_MISTAKES} mistakes; the text from here on was not read"
            self.found.append(mistake(message, self.span(start, end)))
            raise TooMany
        self.found.append(mistake(message, self.span(start, end), words=words, **more))

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


# --- tokens, with slips told apart ---------------------------------------------------------------------------------


def lenient_tokens(pattern: re.Pattern[str], source: Source, mistakes: Mistakes) -> list[Token]:
    """The tokens of a text; slips are replaced by what is meant, and told. Stops early where there are too many."""
    text = source.text
    tokens: list[Token] = []
    at, end = 0, len(text)
    try:
        while at < end:
            match = pattern.match(text, at)
            assert match
            kind = match.lastgroup or ""
            stop = match.end()
            if kind in _SKIPPED:
                pass
            elif kind[0] == "S" and kind[1:].isdigit():
                stop = _slip(SLIPS[int(kind[1:])], match[0], at, tokens, mistakes)
            elif kind == "STRAY":
                while stop < end and (ahead := pattern.match(text, stop)) and ahead.lastgroup == "STRAY":
                    stop = ahead.end()
                _stray(text[at:stop], at, mistakes)
            elif kind == "COMMA":
                mistakes.add(
                    "a comma stands between two figures without a space", at, stop,
                    remedy="put a space after the comma, or write a decimal point", repaired=True,
                )  # fmt: skip
                tokens.append(Token("_COMMA", ",", at, stop))
            else:
                tokens.append(Token(kind.removesuffix("_"), match[0], at, stop))
                if kind in ("NAME", "TWO_COLOURS"):
                    _join_unit(pattern, tokens)
            at = stop
    except TooMany:
        pass
    return tokens


def _join_unit(pattern: re.Pattern[str], tokens: list[Token]) -> None:
    """Joins a number and its unit where only a slip stood between: `8 = mm2`, `40 (A)`."""
    if len(tokens) > 1 and tokens[-2].type == "QUANTITY" and tokens[-2].value[-1].isdigit():
        number, unit = tokens[-2:]
        joined = f"{number.value} {unit.value}"
        match = pattern.fullmatch(joined)
        if match and match.lastgroup == "QUANTITY":
            tokens[-2:] = [Token("QUANTITY", joined, number.start, unit.end)]


def _slip(slip: Slip, found: str, at: int, tokens: list[Token], mistakes: Mistakes) -> int:
    """One slip: told, and put down as what is meant. Returns where it ends."""
    repaired, message, remedy = slip.repaired, slip.message, slip.remedy
    if slip.token == "TITLE" and not repaired:
        found = found[: end_of_title(found)] or found
        if tokens and tokens[-1].type == "QUANTITY" and tokens[-1].end == at:
            remedy = "for inches write `20 inch`; text has a quotation mark at both ends"
    means = slip.means if isinstance(slip.means, str) else slip.means(found)
    last = tokens[-1] if tokens else None
    if slip.token == "OPEN" and found[0] == "-" and last and last.end == at and last.value.endswith(".-"):
        repaired = False
        message = "one dash too few: `.--[` may lack the terminal's sign or a dash of `--[`"
        remedy = f"write `{short(last.value)} --[`, or `{short(last.value)[:-1]}+ --[` if the positive one is meant"
    mistakes.add(
        message.format(found=short(found), means=short(means)), at, at + len(found),
        remedy=remedy.format(found=short(found), means=short(means)), repaired=repaired,
    )  # fmt: skip
    if slip.token:
        tokens.append(Token(slip.token, means, at, at + len(found)))
    return at + len(found)


def _stray(found: str, at: int, mistakes: Mistakes) -> None:
    """Characters that mean nothing in the language: left out, and told."""
    if found == "/":
        message, remedy = "a stroke stands between two letters (`green/white`) or in a gauge (`2/0 AWG`)", ""
    elif found.isprintable():
        message, remedy = f"`{short(found)}` means nothing in a netlist", "leave it out, or put it in quotation marks"
    else:
        name = " ".join(f"U+{ord(character):04X}" for character in found[:4])
        message, remedy = f"a character that cannot be seen stands here ({name})", "delete it"
    mistakes.add(message, at, at + len(found), remedy=remedy)


# --- what needs a look ahead ---------------------------------------------------------------------------------------


def balanced(tokens: list[Token], mistakes: Mistakes) -> list[Token]:
    """The tokens with every brace closed and none closed twice, and none nested too deep."""
    depth = unclosed = deepest = 0
    for token in tokens:
        if token.type == "OPEN_BRACE":
            depth += 1
            deepest = max(deepest, depth)
        elif token.type == "CLOSE_BRACE" and depth:
            depth -= 1
    unclosed = depth
    if deepest > DEEPEST:
        return _cut_deep(tokens, mistakes)
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
    """The tokens without what is nested too deep: one finding, whatever else is wrong with the braces."""
    out: list[Token] = []
    depth = 0
    told = False
    for token in tokens:
        if token.type == "OPEN_BRACE":
            depth += 1
            if depth > DEEPEST and not told:
                told = True
                mistakes.add(
                    f"braces are nested deeper than {DEEPEST} levels", token.start, token.end,
                    reason="what stands inside was not read", remedy="move what is inside to lines of its own",
                )  # fmt: skip
            if depth > DEEPEST:
                continue
        elif token.type == "CLOSE_BRACE":
            depth -= 1
            if depth < 0:
                depth = 0
                continue
            if depth >= DEEPEST:
                continue
        elif depth > DEEPEST:
            continue
        out.append(token)
    end = tokens[-1].end
    return out + [Token("CLOSE_BRACE", "}", end, end)] * min(depth, DEEPEST)


def with_label_commas(tokens: list[Token], mistakes: Mistakes) -> list[Token]:
    """The tokens with a comma before each label that follows a value: `6 mm2: 50 A 10 mm2: 70 A`."""
    out: list[Token] = []
    core = False
    for token in tokens:
        core = token.type == "OPEN" or (core and token.type not in ("CLOSE", "_NL"))
        labelled = token.type == "_COLON" and len(out) >= 2 and out[-1].type in ("QUANTITY", "BLANK")
        if labelled and not core and out[-2].type in _VALUES:
            label = out.pop()
            mistakes.add(
                f"a comma is missing before `{short(label.value)}:`", label.start, label.end,
                remedy="put a comma between two entries", repaired=True,
            )  # fmt: skip
            out += (Token("_COMMA", ",", label.start, label.start), label)
        out.append(token)
    return out


# --- the parser, with a remedy for each way in which a token may not fit -------------------------------------------


class Recovery:
    """One text being read on after its mistakes. `tokens` ends up as what was understood, for the formatter."""

    def __init__(self, parser: Any, tokens: list[Token], mistakes: Mistakes) -> None:
        self.parser = parser  # lark's interactive parser
        self.waiting = tokens[::-1]  # the next token is the last
        self.tokens: list[Token] = []
        self.mistakes = mistakes
        self.core: Token | None = None  # the --[ that is open
        self.depth = 0
        self.quiet = False

    def run(self) -> Any:
        """The tree, whatever the text says; None in the last resort."""
        end = len(self.mistakes.source.text)
        last = Token("$END", "", end, end)
        self.waiting.insert(0, last)
        stuck = 0
        while self.waiting:
            token = self.waiting.pop()
            try:
                tree = self.feed(token)
                stuck = 0
            except UnexpectedToken:
                left = len(self.waiting)
                try:
                    if stuck < 10:
                        self.mend(token)
                    else:  # no remedy helped: the token goes
                        self.tell(f"{self.named(token)} does not fit here", token)
                    stuck = 0 if len(self.waiting) <= left else stuck + 1
                except TooMany:
                    self.quiet = True
                    self.waiting = [last]
        return tree

    def feed(self, token: Token) -> Any:
        """Gives the parser a token; the tree comes with the last. Raises UnexpectedToken where it does not fit."""
        tree = self.parser.feed_token(token)
        self.tokens.append(token)
        if token.type == "OPEN":
            self.core = token
        elif token.type == "CLOSE":
            self.core = None
        elif token.type == "OPEN_BRACE":
            self.depth += 1
        elif token.type == "CLOSE_BRACE":
            self.depth -= 1
        return tree

    def tell(self, message: str, token: Token, **more: Any) -> None:
        """Adds a mistake at a token."""
        if not self.quiet:
            self.mistakes.add(message, token.start, token.end, **more)

    def fits(self, type: str) -> bool:
        """Whether a token of that type could stand here."""
        return type in self.parser.accepts()

    def put(self, *tokens: Token) -> None:
        """Puts tokens before those that wait."""
        self.waiting.extend(reversed(tokens))

    def missing(self, token: Token) -> Token:
        """What stands for a station that is not there, just before a token."""
        at = self.tokens[-1].end if self.tokens else token.start
        return Token("NAME", "", at, at)

    def mend(self, token: Token) -> None:
        """A token does not fit: tells why, and puts before the rest what is meant, or leaves it out."""
        kind = token.type
        last = self.tokens[-1] if self.tokens else None
        if last and last.type == "TOLERANCE":
            self.after_tolerance(last, token)
        elif self.core:
            self.in_core(self.core, token)
        elif last and last.type in ("JOIN", "CLOSE") and kind not in ("TOLERANCE", "_COLON", "OPEN_BRACE"):
            self.no_station(last, token)
        elif kind in ("JOIN", "OPEN"):
            self.no_start(last, token)
        elif kind == "CLOSE":
            self.tell("no conductor is open here for `]--` to close", token, remedy="a conductor begins with `--[`")
            if self.fits("JOIN"):
                self.put(Token("JOIN", "--", token.start, token.end))
        elif kind == "_COLON":
            self.tell(
                "no colon is needed", token, repaired=True,
                remedy="a colon stands only after a number, as in `1: 10 A` or `6 mm2: 50 A`",
            )  # fmt: skip
        elif kind == "_COMMA":
            self.tell("a comma too many", token, repaired=True, remedy="leave out the comma")
        elif kind == "TOLERANCE":
            self.stray_tolerance(token)
        elif kind == "OPEN_BRACE":
            self.stray_brace(last, token)
        elif kind in _VALUES and last and last.type == "CLOSE_BRACE":
            self.tell(
                f"`{short(token.value)}` follows a `}}` on the same line", token,
                reason="whether it begins a new statement is not clear; it was read as one",
                remedy="begin a new line after `}`, or put a comma if it is another fact",
            )  # fmt: skip
            self.put(Token("_NL", "\n", token.start, token.start), token)
        else:
            self.anything(token)

    def in_core(self, core: Token, token: Token) -> None:
        """Between `--[` and `]--`."""
        kind = token.type
        if kind == "JOIN":
            same_line = "\n" not in self.mistakes.source.text[self.tokens[-1].end : token.start]
            self.tell(
                "the conductor is not closed: `]` is missing before `--`", token, repaired=same_line,
                marks=(self.mistakes.mark(core, "begins here"),), remedy="write `]--`",
            )  # fmt: skip
            self.put(Token("CLOSE", "]--", token.start, token.end))
        elif kind in ("_NL", "$END", "OPEN_BRACE", "CLOSE_BRACE", "OPEN"):
            text = self.mistakes.source.text
            comment = re.match(r"[ \t]*#[ \t]*\d", text[self.tokens[-1].end : self.tokens[-1].end + 80])
            reason, remedy = "", "close it with `]--` and name what follows"
            if comment:
                reason, remedy = "`#` begins a comment", "write a gauge as `6 AWG`, without `#`"
            self.tell(
                "the conductor that begins here is not closed with `]--`", core, reason=reason, remedy=remedy
            )  # fmt: skip
            at = self.tokens[-1].end
            self.put(Token("CLOSE", "]--", at, at), Token("NAME", "", at, at), token)
        elif kind == "_COLON":
            self.tell("no colon is needed", token, repaired=True, remedy="leave out the `:`")
        elif kind == "_COMMA":
            self.tell("a comma too many", token, repaired=True, remedy="leave out the comma")
        elif kind == "TOLERANCE":
            self.stray_tolerance(token)
        else:
            self.anything(token)

    def after_tolerance(self, last: Token, token: Token) -> None:
        """`5.2 m +- m`"""
        self.tell(
            f"after `+-` stands a quantity, here stands {self.named(token)}", token if token.value.strip() else last,
            remedy="write the tolerance with its unit: `5.2 m +- 0.3 m`",
        )  # fmt: skip
        self.put(Token("QUANTITY", "0", last.end, last.end), token)

    def no_station(self, last: Token, token: Token) -> None:
        """A path stops after a link, or two links follow each other."""
        link = "--" if last.type == "JOIN" else "]--"
        if token.type in ("JOIN", "OPEN"):
            message = f"between `{link}` and `{'--' if token.type == 'JOIN' else '--['}` a part is missing"
            remedy = "name what the path passes through, or join the two into one"
        else:
            message = f"the path stops after `{link}`"
            remedy = "end it at a terminal such as `aux.+`, a part, `loose` or `capped`"
        self.tell(message, last, words="what follows?", remedy=remedy)
        if token.type == "CLOSE":
            self.put(self.missing(token))
        else:
            self.put(self.missing(token), token)

    def no_start(self, last: Token | None, token: Token) -> None:
        """A link where no station stands before it."""
        sign = "--" if token.type == "JOIN" else "--["
        missing = self.missing(token)
        if self.fits("NAME") and not (last and last.type == "_COMMA"):
            self.tell(
                f"nothing stands before `{sign}`", token,
                remedy="a path begins with a terminal such as `start.+`, or a part",
            )  # fmt: skip
            self.put(missing, token)
            return
        self.tell(
            f"`{sign}` follows a fact", token,
            reason="a path stands on a line of its own, from terminal to terminal",
            remedy="begin the path on a new line",
        )  # fmt: skip
        self.put(Token("_NL", "\n", token.start, token.start), missing, token)

    def stray_tolerance(self, token: Token) -> None:
        """`poles +-`, or a tolerance of something that is no quantity."""
        ahead = self.waiting[-1].type if self.waiting else ""
        if token.value == "+-" and ahead != "QUANTITY" and self.fits("SIGN"):
            self.tell("two signs need a space between them", token, repaired=True, remedy="write `+ -`")
            middle = token.start + 1
            self.put(Token("SIGN", "+", token.start, middle), Token("SIGN", "-", middle, token.end))
        else:
            self.tell("`+-` stands only between two quantities", token, remedy="write `5.2 m +- 0.3 m`")

    def stray_brace(self, last: Token | None, token: Token) -> None:
        """A `{` that no word stands before: it and the brace that closes it are left out, what is inside is read."""
        after_path = last is not None and last.type in _VALUES
        self.tell(
            "a path takes no braces" if after_path else "no word stands before this `{`", token,
            remedy="braces hold the lines that belong to the word before them",
        )  # fmt: skip
        depth = 1
        for at in range(len(self.waiting) - 1, -1, -1):
            kind = self.waiting[at].type
            depth += (kind == "OPEN_BRACE") - (kind == "CLOSE_BRACE")
            if not depth:
                brace = self.waiting[at]
                self.waiting[at : at + 1] = [Token("_NL", "\n", brace.start, brace.start)]
                if self.waiting[at - 1].type in _LINE_ENDS or self.waiting[at + 1 : at + 2] == []:
                    del self.waiting[at]
                break
        if self.fits("_NL") and self.waiting and self.waiting[-1].type not in _LINE_ENDS:
            self.put(Token("_NL", "\n", token.start, token.start))

    def anything(self, token: Token) -> None:
        """No remedy is known: the rest of the line is left out, up to the next brace or the end of the conductor."""
        if token.type == "_NL" and (not self.tokens or self.tokens[-1].type == "_NL"):
            return  # the end of a line that holds nothing
        fitting = self.parser.accepts()
        words = phrases.expected(fitting)
        self.tell(f"{self.named(token)} does not fit here; expected {words}", token, words=f"expected {words}")
        if token.type == "$END" and self.depth:
            self.put(Token("CLOSE_BRACE", "}", token.start, token.end), token)
        elif token.type in _LINE_ENDS:
            if "NAME" in fitting and fitting.isdisjoint(_LINE_ENDS):
                self.put(self.missing(token), token)
            elif token.type == "$END":
                self.put(token)
        elif token.type != "CLOSE":
            while self.waiting[-1].type not in ("$END", "_NL", "CLOSE", "OPEN_BRACE", "CLOSE_BRACE"):
                self.waiting.pop()

    def named(self, token: Token) -> str:
        """A token in words."""
        return f"`{short(token.value)}`" if token.value.strip() else phrases.WORDS.get(token.type, "nothing")
