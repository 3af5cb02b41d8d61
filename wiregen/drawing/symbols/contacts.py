"""Connectors by their cavities: a socket contact is a bow, a pin a bar (IEC 60617-3, 03-03-01 to -05, from memory)."""

from __future__ import annotations

from wiregen.drawing.symbols.base import THIN, Symbol

BOW = 1.2  # radius of a socket contact [mm]
METAL = 0.5  # width of strokes that are contacts [mm]
SIDE = 0.8  # of the housing to the terminals [mm]
STEP = 0.6  # by which the half with the pins is lower, at both ends, than the one that takes it [mm]


def socket(symbol: Symbol, x: float, y: float) -> None:
    """A socket contact, open to the right, its bow centred on x."""
    symbol.arc((x, y), BOW, 90, 270, lw=METAL)


def pin(symbol: Symbol, x: float, y: float, length: float = 2.2) -> None:
    """A pin that ends at x and reaches to the right."""
    symbol.line((x, y), (x + length, y), lw=1.1)


class Housing(Symbol):
    """What connectors and their halves share."""

    def pole(self, name: str, x: float, y: float) -> None:
        """The pole's name above its conductor, from x on."""
        if name in ("+", "-"):
            self.sign(name, (x + 0.8, y - 1.4))
        else:
            self.letters((x, y - 0.6 - 1.25), name, 2.5, "start")


class Connector(Housing):
    """A mated pair: socket half at the left, pin half at the right, both housings in outline."""

    def lay(self) -> None:
        w, h, x = self.width, self.height, self.width / 2
        self.rect(SIDE, 0, x + 1.4 - SIDE, h, fill="white")
        self.rect(x - 1.2, STEP, x + 1.2 - SIDE, h - 2 * STEP, fill="white")
        for port, (_, y) in self.ports("left"):
            self.line((0, y), (x + 0.9 - BOW, y), lw=METAL)
            socket(self, x + 0.9, y)
            pin(self, x + 0.4, y)
            self.line((x + 2.6, y), (w, y), lw=METAL)
            self.pole(port.name, 1.6, y)


class Half(Housing):
    """Half a pair, not filled: its conductors lie under it as far as the contact."""

    def lay(self) -> None:
        self.rect(0, 0, self.width, self.height, lw=THIN)
        for port, (x, y) in self.ports():
            self.contact(x, y)
            self.pole(port.name, 0.8, y - 0.4)

    def contact(self, x: float, y: float) -> None:
        """One contact."""


class Plug(Half):
    """The half with the pins."""

    def contact(self, x: float, y: float) -> None:
        pin(self, x - 1.6, y, 3.2)


class Socket(Half):
    """The half with the sockets."""

    def contact(self, x: float, y: float) -> None:
        socket(self, x + BOW, y)
