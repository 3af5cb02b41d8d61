"""Random netlist texts for hypothesis: sound ones in every spelling the language takes, and damaged ones.

The texts are sound in shape only: what the words mean is left to chance. They are made from a seed and a size, so that
they come fast and a failure shrinks to a small text.
"""

from __future__ import annotations

from random import Random

from hypothesis import strategies as st

from wiregen.language.spellings import UNITS

WORDS = ("battery", "fuse", "at", "start", "aux", "F1", "max-charge", "red", "via", "é9", "87a", "2026-03-14", "x_1")
TERMINALS = ("start.+", "dcdc.in.-", "K1.87a", "FB1.12", "T1.F.out", "L1..L8", "loose", "+", "-", "green/white")
SPELLINGS = tuple(sorted({s for plain, (_, _, others) in UNITS.items() for s in (plain, *others)} - {"AWG"}))
NUMBERS = ("0", "1", "8", "40", "1.5", "0.75", "-10", "−3", "1.7241e-8", "5e3", "100")
GAUGES = ("2/0 AWG", "6 AWG", "AWG 6", "AWG 2/0", "4/0AWG", "3/8 inch", "1/0 AWG")
TITLES = ('""', '"a \\"b\\" \\\\"', "“x”", '"#"', '"{ } --[ ]--"', '"é\u2028\x0b🚐"', '"\\x"', "„y”")
REMARKS = ("# a remark", "#", '#"quoted" { } --[ ]--', "#é # ;")
JUNK = (
    *"[]{}()<>,;:=\"'.#/\\%$-+",
    *("--", "--[", "]--", "—", "–", "…", "±", "+-", "\n", "\r", "\0", "\u200b", "5,2 m", ".5", "°", "1e999 A", " ", ""),
)


class Writer:
    """Writes a text by chance. `left` is how many more statements it may have."""

    def __init__(self, seed: int, size: int) -> None:
        self.random = Random(seed)
        self.left = size

    def one(self, *choices: str) -> str:
        """One of several."""
        return self.random.choice(choices)

    def chance(self, odds: int) -> bool:
        """True once in so many."""
        return self.random.randrange(odds) == 0

    def space(self) -> str:
        """At least one space."""
        return self.one(" ", " ", " ", " ", "  ", "     ", "\t", "\xa0")

    def gap(self) -> str:
        """Any number of spaces."""
        return self.one("", "", " ", "  ")

    def line_end(self) -> str:
        """The end of a line with comments and empty lines."""
        end = "\r\n" if self.chance(12) else "\n"
        remark = self.gap() + self.one(*REMARKS) if self.chance(6) else self.gap()
        more = self.one("\n", "\n\n", f"  {self.one(*REMARKS)}\n") if self.chance(5) else ""
        return remark + end + more

    def quantity(self) -> str:
        """A number, mostly with a unit, in any spelling."""
        kind = self.random.randrange(10)
        unit, gap, number = self.one(*SPELLINGS), self.gap(), self.one(*NUMBERS)
        if kind == 0:
            return self.one(*GAUGES)
        if kind == 1:
            return number
        if kind == 2:
            return f"1{gap + unit if self.chance(2) else ''}{self.one('..', ' .. ')}500{gap}{unit}"
        if kind == 3:
            return f"5 {unit}{self.one('+-', '±', ' +- ')}{self.one(f'0.3 {unit}', '0.3')}"
        return number + gap + unit

    def value(self) -> str:
        """One word, quantity, sign, pair of colours, title or blank."""
        kind = self.random.randrange(10)
        if kind < 4:
            return self.one(*WORDS)
        if kind < 6:
            return self.one(*TERMINALS)
        return self.quantity() if kind < 8 else self.one(*TITLES, "<size>", "<feed-length>")

    def values(self, most: int = 4) -> str:
        """Values with spaces between them."""
        text = self.value()
        for _ in range(self.random.randrange(most)):
            value = self.value()
            if not (value.startswith("AWG") and text[-1].isdigit()):  # `8 AWG 6` is 8 AWG and 6
                text += self.space() + value
        return text

    def core(self) -> str:
        """A conductor."""
        details = [self.values() for _ in range(self.random.randrange(4))]
        text = f"--{self.gap()}[{self.gap()}"
        for number, detail in enumerate(details):
            text += (self.one(", ", " ,", ",\n   ", ", # why\n ") if number else "") + detail
        return f"{text}{self.gap()}]{self.gap()}--"

    def path(self) -> str:
        """Stations with links between them, over one line or several."""
        text = self.values(2)
        for _ in range(self.random.randint(1, 3)):
            text += self.one(" ", " ", "  ", "\n    ", "\n  # a remark\n    ", " # why\n")
            text += ("--" if self.chance(3) else self.core()) + self.space() + self.values(2)
        return text

    def block(self, depth: int) -> str:
        """Lines in braces."""
        if self.chance(2):
            inside = self.statement(depth - 1) if self.left > 0 and not self.chance(4) else ""
            return f"{{{self.gap()}{inside}{self.gap()}}}"
        text = "{" + self.line_end()
        while self.left > 0 and not self.chance(3):
            text += self.gap() + self.statement(depth - 1) + self.line_end()
        return text + self.gap() + "}"

    def statement(self, depth: int = 3) -> str:
        """One statement."""
        self.left -= 1
        text = self.one("", "", "", "1: ", "4..6 : ", "2.5 mm2:", "<n>: ")
        if self.chance(2):
            text += self.path()
        else:
            text += self.values()
            if depth and self.chance(3):
                text += self.gap() + self.block(depth)
        while self.chance(3):
            text += self.gap() + "," + self.one(" ", "  ", "\n   ", " # why\n\n ") + self.values()
            if depth and self.chance(6):
                text += " " + self.block(depth)
        return text

    def text(self) -> str:
        """A whole text."""
        text = self.one("", "\n", "# head\n", "\ufeff", "\n\n# head\n\n")
        while self.left > 0:
            text += self.one("", "  ", "\t") + self.statement() + self.line_end()
        return text if self.chance(2) else text.rstrip("\r\n")

    def damaged(self) -> str:
        """A text with a few pieces cut out, doubled or put in."""
        text = self.text()
        for _ in range(self.random.randint(1, 4)):
            at = self.random.randint(0, len(text))
            text = text[:at] + self.one(*JUNK) + text[at + self.random.choice((0, 0, 1, 4)) :]
        return text


def netlist_texts(most: int = 8) -> st.SearchStrategy[str]:
    """Texts that are sound in shape, of up to about `most` statements."""
    return st.builds(lambda size, seed: Writer(seed, size).text(), st.integers(0, most), st.integers(0, 2**32))


def damaged_texts(most: int = 5) -> st.SearchStrategy[str]:
    """Texts that were sound before a few pieces were cut out or put in."""
    return st.builds(lambda size, seed: Writer(seed, size).damaged(), st.integers(0, most), st.integers(0, 2**32))
