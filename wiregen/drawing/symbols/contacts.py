"""Connectors by their cavities: a socket contact is a bow, a pin a bar (IEC 60617-3, 03-03-01 to -05, from memory)."""

from __future__ import annotations

from wiregen.drawing.symbols.base import INK, LINE, THIN, Symbol

BOW = 0.9  # radius of a socket contact [mm]


def socket(symbol: Symbol, x: float, y: float) -> None:
    """A socket contact, open to the right, its bow centred on x."""
    symbol.arc((x, y), BOW, 90, 270)


def pin(symbol: Symbol, x: float, y: float, length: float = 2.0) -> None:
    """A pin that ends at x and reaches to the right."""
    symbol.rect(x, y - 0.4, length, 0.8, lw=0.1, fill=INK)


class Connector(Symbol):
    """A mated pair: socket half at the left, pin half at the right, both housings in outline."""

    def lay(self) -> None:
        w, h, x = self.width, self.height, self.width / 2
        self.rect(0.8, 0, x - 0.8, h, lw=THIN, fill="white")
        self.rect(x, 0, x - 0.8, h, lw=THIN, fill="white")
        for port, (_, y) in self.ports("left"):
            self.line((0, y), (x - BOW, y))
            socket(self, x, y)
            pin(self, x - 0.3, y)
            self.line((x + 1.7, y), (w, y), lw=LINE)
            self.pole(port.name, 2.3, y)

    def pole(self, name: str, x: float, y: float) -> None:
        """The pole's name above its conductor."""
        if name in ("+", "-"):
            self.line((x - 0.6, y - 1.1), (x + 0.6, y - 1.1), lw=THIN)
            if name == "+":
                self.line((x, y - 1.7), (x, y - 0.5), lw=THIN)
        elif name:
            self.letters((x - 0.9, y - 0.5 - 1.25), name, 2.5, "start")


class Half(Symbol):
    """Half a pair; its conductors land on the contact."""

    def lay(self) -> None:
        w, x = self.width, self.width / 2
        self.rect(0, 0, w, self.height, lw=THIN, fill="white")
        for _, (_, y) in self.ports():
            self.contact(x, y)

    def contact(self, x: float, y: float) -> None:
        """One contact."""


class Plug(Half):
    """The half with the pins."""

    def contact(self, x: float, y: float) -> None:
        pin(self, x - 1.6, y, 3.2)


class Socket(Half):
    """The half with the sockets."""

    def contact(self, x: float, y: float) -> None:
        socket(self, x + 0.5, y)
