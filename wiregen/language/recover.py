"""Reading on after a mistake: every mistake of a text in one run, and as much of its tree as can be had.

Slow and thorough; the reader comes here only when a text did not parse at once. The tokens come from lenient.py; here
the parser takes them, with a remedy for each way in which one may not fit.
"""

from __future__ import annotations

import re
from typing import Any

from lark import UnexpectedToken

from wiregen.language import phrases
from wiregen.language.build_tree import Token
from wiregen.language.lenient import VALUES, Mistakes, short
from wiregen.language.limits import MOST_MISTAKES

_LINE_ENDS = frozenset({"_NL", "$END", "CLOSE_BRACE"})


class Recovery:
    """One text being read on after its mistakes. `tokens` ends up as what was understood, for the formatter."""

    def __init__(self, parser: Any, tokens: list[Token], mistakes: Mistakes) -> None:
        self.parser = parser  # lark's interactive parser
        self.waiting = tokens[::-1]  # the next token is the last
        self.tokens: list[Token] = []
        self.mistakes = mistakes
        self.core: Token | None = None  # the --[ that is open
        self.depth = 0

    def run(self) -> Any:
        """The tree, whatever the text says; None in the last resort."""
        end = len(self.mistakes.source.text)
        last = Token("$END", "", end, end)
        self.waiting.insert(0, last)
        tree = None
        mended = stuck = 0
        while self.waiting:
            token = self.waiting.pop()
            try:
                tree = self.feed(token)
                stuck = 0
                continue
            except UnexpectedToken:
                mended += 1
            left = len(self.waiting)
            if stuck < 10:
                self.mend(token)
            else:  # no remedy helped: the token goes
                self.tell(f"{self.named(token)} does not fit here", token)
            stuck = 0 if len(self.waiting) <= left else stuck + 1
            if mended == MOST_MISTAKES + 1:  # the rest is not read
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
            self.extra_comma(token)
        elif kind == "TOLERANCE":
            self.stray_tolerance(token)
        elif kind == "OPEN_BRACE":
            self.stray_brace(last, token)
        elif kind in VALUES and last and last.type == "CLOSE_BRACE":
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
        elif kind == "_NL" and self.closes_below():
            self.tell(
                "a conductor goes on in the next line", core, marks=(self.mistakes.mark(self.waiting[-1], "here"),),
                reason="only a line that ends with a comma goes on", remedy="put it on one line, from `--[` to `]--`",
            )  # fmt: skip
            self.put(Token("_COMMA", ",", token.start, token.start))
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
            self.extra_comma(token)
        elif kind == "TOLERANCE":
            self.stray_tolerance(token)
        else:
            self.anything(token)

    def closes_below(self) -> bool:
        """Whether the next line closes the conductor that is open."""
        for token in reversed(self.waiting):
            if token.type == "CLOSE":
                return True
            if token.type not in VALUES and token.type not in ("_COMMA", "TOLERANCE"):
                return False
        return False

    def goes_on_below(self) -> bool:
        """Whether the next line begins with a value and is indented deeper than the statement that is being read."""
        ahead = self.waiting[-1]
        first = self.tokens[-1]
        for token in reversed(self.tokens):
            if token.type in ("_NL", "OPEN_BRACE", "CLOSE_BRACE"):
                break
            first = token
        return ahead.type in VALUES and self.column(ahead) > self.column(first)

    def column(self, token: Token) -> int:
        """Where on its line a token stands."""
        return token.start - self.mistakes.source.text.rfind("\n", 0, token.start)

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
        elif token.type == "_NL" and self.goes_on_below():
            self.tell(
                f"a line ends with `{link}`", last, words="goes on below?",
                reason="a path goes on where the next line begins with `--`",
                remedy="begin the next line with the dashes",
            )  # fmt: skip
            return
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

    def extra_comma(self, token: Token) -> None:
        """A comma that parts nothing: left out. Without doubt, unless the line ends there for no other reason."""
        twice = bool(self.tokens) and self.tokens[-1].type == "_COMMA"
        same_line = "\n" not in token.value and "\r" not in token.value
        self.tell("a comma too many", token, repaired=twice or same_line, remedy="leave out the comma")

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
        after_path = last is not None and last.type in VALUES
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
