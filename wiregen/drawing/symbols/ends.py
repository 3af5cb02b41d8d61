"""Where conductors come from and end: feeds, earths, and ends in the air (IEC 60617-2, -3, from memory)."""

from __future__ import annotations

from wiregen.drawing.symbols.base import BOLD, INK, THIN, Symbol


class Feed(Symbol):
    """An existing circuit of the vehicle, coming in from elsewhere: a flag that points at the conductor."""

    def lay(self) -> None:
        w, h, y = self.width, self.height, self.height / 2
        self.poly((0.3, 0.3), (w - 3.0, 0.3), (w - 1.2, y), (w - 3.0, h - 0.3), (0.3, h - 0.3), fill="white")
        self.line((w - 1.2, y), (w, y))
        self.arrow((1.2, y), (w - 2.6, y), lw=THIN)


class Earth(Symbol):
    """Earth (02-15-01): three strokes that grow shorter."""

    def lay(self) -> None:
        x = self.width / 2
        self.line((x, 0), (x, 2.2))
        for i, half in enumerate((2.6, 1.7, 0.8)):
            self.line((x - half, 2.2 + i * 1.1), (x + half, 2.2 + i * 1.1), lw=BOLD if i == 0 else 0.35)


class Frame(Symbol):
    """Frame or chassis (02-15-04): a stroke with slanting strokes below."""

    def lay(self) -> None:
        x = self.width / 2
        self.line((x, 0), (x, 2.4))
        self.line((x - 2.4, 2.4), (x + 2.4, 2.4), lw=BOLD)
        for dx in (-2.4, -0.2, 2.0):
            self.line((x + dx + 0.4, 2.4), (x + dx - 0.6, 4.6))


class Loose(Symbol):
    """A bare end in the air: an open ring."""

    def lay(self) -> None:
        y = self.height / 2
        self.line((0, y), (0.8, y))
        self.circle((1.6, y), 0.8, fill="white")


class Capped(Symbol):
    """An insulated end, stowed on purpose: a ring under a cap."""

    def lay(self) -> None:
        y = self.height / 2
        self.line((0, y), (0.6, y))
        self.circle((1.2, y), 0.6, lw=THIN, fill=INK)
        self.line((0.8, y - 1.2), (2.4, y - 1.2), (2.4, y + 1.2), (0.8, y + 1.2))
