"""Parts drawn as an outline with their ports named inside: chargers, inverters, relays, blocks, own types."""

from __future__ import annotations

from itertools import pairwise

from wiregen.drawing.symbols.base import BAR, INK, LINE, THIN, Symbol
from wiregen.drawing.symbols.upright import direct
from wiregen.layout import text

INSET = 1.0  # from an outline to the names inside it [mm]
CAP = 2.5  # height of those names [mm]
LARGEST = 9.0  # converter sign [mm]


class Box(Symbol):
    """An outline; what it is stands beside it."""

    def lay(self) -> None:
        self.rect(0, 0, self.width, self.height, fill="white")
        self.names()

    def names(self) -> None:
        """Each port's name just inside its side."""
        for side in ("left", "right", "top", "bottom"):
            for port, (x, y) in self.ports(side):
                if port.name in ("+", "-"):
                    dx, dy = {"left": (1.8, 0.0), "right": (-1.8, 0.0), "top": (0.0, 1.8), "bottom": (0.0, -1.8)}[side]
                    self.sign(port.name, (x + dx, y + dy))
                elif side in ("left", "right"):
                    inward = INSET if side == "left" else -INSET
                    self.letters((x + inward, y), port.name, CAP, "start" if side == "left" else "end")
                else:
                    inward = INSET + 0.5 + CAP / 2
                    self.letters((x, y + inward if side == "top" else y - inward), port.name, CAP)


class Converter(Box):
    """A box with the converter sign where its port names leave room for it (06-14-01)."""

    left, right = "direct", "direct"

    def lay(self) -> None:
        super().lay()
        size, x, y = max(self._between_rows(), self._between_sides())
        if size < 4.5:
            return
        x, y = x - size / 2, y - size / 2
        self.rect(x, y, size, size, lw=THIN)
        self.line((x, y + size), (x + size, y), lw=THIN)
        self._sign(self.left, x + 0.29 * size, y + 0.26 * size, 0.18 * size)
        self._sign(self.right, x + 0.71 * size, y + 0.74 * size, 0.18 * size)

    def _between_rows(self) -> tuple[float, float, float]:
        """Size and middle of the square between the first two rows of names that leave room for one."""
        rows = sorted({y for side in ("left", "right") for _, (_, y) in self.ports(side)})
        gaps = [(min(b - a - CAP - 1.0, LARGEST), self.width / 2, (a + b) / 2) for a, b in pairwise(rows)]
        return max(gaps, key=lambda gap: gap[0], default=(0.0, 0.0, 0.0))

    def _between_sides(self) -> tuple[float, float, float]:
        """Size and middle of the square between the names at the left and those at the right."""
        left, right = (
            max((text.width(port.name, CAP) for port, _ in self.ports(side)), default=0.0) + INSET + 1.0
            for side in ("left", "right")
        )
        top, bottom = (CAP + 2 * INSET if self.ports(side) else INSET for side in ("top", "bottom"))
        size = min(self.width - left - right, self.height - top - bottom, LARGEST)
        return size, (left + self.width - right) / 2, (top + self.height - bottom) / 2

    def _sign(self, kind: str, x: float, y: float, half: float) -> None:
        if kind == "direct":
            direct(self, x, y, half)
        else:
            self.arc((x - half / 2, y), half / 2, 0, 180, lw=THIN)
            self.arc((x + half / 2, y), half / 2, 180, 360, lw=THIN)


class Inverter(Converter):
    """From direct to alternating."""

    right = "alternating"


class MainsCharger(Converter):
    """From alternating to direct."""

    left = "alternating"


class Relay(Symbol):
    """A coil that moves a contact: 30 to 87, at rest 30 to 87a where there is one (07-15-01, 07-02-04)."""

    def lay(self) -> None:
        w = self.width
        self.rect(0, 0, w, self.height, lw=THIN, fill="white")
        at = {port.name: place for port, place in self.ports()}
        for name, (x, y) in at.items():
            self.letters((x + INSET if x < w / 2 else x - INSET, y - 0.7 - CAP / 2), name, CAP,
                         "start" if x < w / 2 else "end")  # fmt: skip
        y = at.get("30", at.get("87", (0.0, 4.0)))[1]
        hinge, fixed, coil = 5.4, w - 6.8, 7.4
        if "30" in at:
            self.line((0, y), (hinge, y))
        if "87" in at:
            self.line((fixed, y), (w, y))
        if "87a" in at:  # the contact at rest
            rest, x = at["87a"][1], w / 2 + 0.3
            self.line((w, rest), (x, rest), (x, y + 2.0))
            tip = (fixed, y) if "87" in self.shape.closed else (x + 0.5, y + 2.3)
        else:
            tip = (fixed, y) if "87" in self.shape.closed else (fixed - 0.2, y - 1.8)
        self.line((hinge, y), tip)
        if "85" in at and "86" in at:
            c = at["85"][1]
            self.rect(coil - 1.9, c - 1.5, 3.8, 3, fill="white")
            self.line((0, c), (coil - 1.9, c))
            self.line((coil + 1.9, c), (w, c))
            part = (coil - hinge) / (tip[0] - hinge)
            self.line((coil, c - 1.5), (coil, y + part * (tip[1] - y)), lw=THIN, dash="0.8,0.6")


class FuseBlock(Symbol):
    """An outline with the bus bar that feeds the ways, not filled: the links to the way fuses lie under it."""

    bus = 3.0  # from the left edge

    def lay(self) -> None:
        w, h = self.width, self.height
        self.rect(0, 0, w, h, lw=THIN)
        ways = [y for _, (_, y) in self.ports("right")]
        feed = [y for _, (_, y) in self.ports("left")]
        rows = ways + feed
        if rows:
            self.line((self.bus, min(rows) - 1.2), (self.bus, max(rows) + 1.2), lw=BAR)
        for y in feed:
            self.line((0, y), (self.bus, y))
        for port, (x, y) in self.ports("right"):
            self.letters((x - INSET, y - 0.7 - CAP / 2), port.name, CAP, "end")
        for port, (x, y) in self.ports("bottom"):
            if port.name in ("+", "-"):
                self.sign(port.name, (x + 1.6, y - 1.2))
            else:
                self.letters((x + INSET, y - INSET - CAP / 2), port.name, CAP, "start")


class Busbar(Symbol):
    """A bar of copper."""

    def lay(self) -> None:
        x, w = self.width / 2, self.width
        self.rect(x - 0.7, 0.3, 1.4, self.height - 0.6, lw=LINE, fill=INK)
        for _, (px, y) in self.ports():
            self.line((px, y), (x - 0.7 if px < w / 2 else x + 0.7, y))


class Splice(Symbol):
    """A permanent joint: a dot, drawn out where many meet (03-02-04)."""

    def lay(self) -> None:
        x = self.width / 2
        rows = sorted({y for _, (_, y) in self.ports()})
        if len(rows) > 1:
            self.line((x, rows[0]), (x, rows[-1]), lw=1.0)
        for _, (px, y) in self.ports():
            self.line((px, y), (x, y))
            self.dot((x, y), 0.7)
