"""Parts that stand between the rails: positive above, negative below, a lead to either (IEC 60617-6, from memory)."""

from __future__ import annotations

from wiregen.drawing.symbols.base import BOLD, THIN, Symbol


class Battery(Symbol):
    """Cells in series, the long plate positive (06-15-01)."""

    def lay(self) -> None:
        (x, top), (_, bottom) = self.port("+"), self.port("-")
        y = (top + bottom) / 2
        for dy in (-2.0, 0.8):
            self.line((x - 3.5, y + dy), (x + 3.5, y + dy))
            self.line((x - 1.6, y + dy + 1.2), (x + 1.6, y + dy + 1.2), lw=BOLD)
        self.line((x, top), (x, y - 2.0))
        self.line((x, y - 0.8), (x, y + 0.8), lw=THIN, dash="0.5,0.4")
        self.line((x, y + 2.0), (x, bottom))
        self.sign("+", (x + 2.1, y - 3.1))


class Rotating(Symbol):
    """A letter in a circle over the sign for direct current (06-04-01)."""

    letter = ""

    def lay(self) -> None:
        (x, top), (_, bottom) = self.port("+"), self.port("-")
        y, r = (top + bottom) / 2, min(self.width, bottom - top) / 2 - 0.2
        self.circle((x, y), r, fill="white")
        self.line((x, top), (x, y - r))
        self.line((x, y + r), (x, bottom))
        if r < 3:
            self.letters((x, y), self.letter, 2 * r * 0.55)
            return
        self.letters((x, y - 0.6), self.letter)
        direct(self, x, y + 1.9)


def direct(symbol: Symbol, x: float, y: float, half: float = 1.1) -> None:
    """The sign for direct current: a stroke over a broken one."""
    symbol.line((x - half, y - 0.4), (x + half, y - 0.4), lw=THIN)
    symbol.line((x - half, y + 0.4), (x + half, y + 0.4), lw=THIN, dash=f"{half / 2.5:.3g},{half / 2.5:.3g}")


class Alternator(Rotating):
    """A generator whose output is direct current."""

    letter = "G"


class Starter(Rotating):
    """A motor for direct current."""

    letter = "M"


class Panel(Symbol):
    """A solar panel: a cell in an outline, light falling on it (06-18-06)."""

    def lay(self) -> None:
        (x, top), (_, bottom) = self.port("+"), self.port("-")
        y = (top + bottom) / 2
        self.rect(x - 3.8, y - 3.6, 7.6, 7.2, fill="white")
        self.line((x, top), (x, y + 0.2))
        self.line((x - 2.4, y + 0.2), (x + 2.4, y + 0.2))
        self.line((x - 1.2, y + 1.4), (x + 1.2, y + 1.4), lw=BOLD)
        self.line((x, y + 1.4), (x, bottom))
        for dx in (-3.2, -1.9):
            self.arrow((x + dx, y - 3.0), (x + dx + 1.3, y - 0.9), lw=THIN, head=0.9)


class StandingLoad(Symbol):
    """Any consumer, upright: a rectangle."""

    def lay(self) -> None:
        (x, top), (_, bottom) = self.port("+"), self.port("-")
        y, w = (top + bottom) / 2, self.width - 1.0
        self.rect(x - w / 2, y - 3, w, 6, fill="white")
        self.line((x, top), (x, y - 3))
        self.line((x, y + 3), (x, bottom))


class StandingLamp(Symbol):
    """A cross in a circle, upright."""

    def lay(self) -> None:
        (x, top), (_, bottom) = self.port("+"), self.port("-")
        y, r = (top + bottom) / 2, self.width / 2 - 0.5
        d = r * 0.7071
        self.circle((x, y), r, fill="white")
        self.line((x, top), (x, y - r))
        self.line((x, y + r), (x, bottom))
        self.line((x - d, y - d), (x + d, y + d))
        self.line((x - d, y + d), (x + d, y - d))


class StandingMotor(Rotating):
    """M in a circle, upright."""

    letter = "M"


class StandingSensor(Symbol):
    """A resistor that depends on temperature, upright."""

    def lay(self) -> None:
        (x, top), (_, bottom) = self.port("+"), self.port("-")
        y = (top + bottom) / 2
        self.rect(x - 0.9, y - 2.5, 1.8, 5, fill="white")
        self.line((x, top), (x, y - 2.5))
        self.line((x, y + 2.5), (x, bottom))
        self.line((x - 2.4, y + 2.8), (x - 2.4, y + 1.6), (x + 2.4, y - 2.0), lw=THIN)
