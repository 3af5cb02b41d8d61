"""Two-pole parts drawn along the run: in at the left, out at the right, as IEC 60617-4, -7 and -8 draw them.

Shapes are from memory of the standard; it fixes form, not size.
"""

from __future__ import annotations

from wiregen.drawing.symbols.base import BOLD, THIN, Symbol

LEAD = 1.0  # from the terminal to the body [mm]


class Fuse(Symbol):
    """A rectangle with the conductor through it (07-21-01)."""

    def lay(self) -> None:
        w, h, y = self.width, self.height, self.height / 2
        self.rect(LEAD, 0.3, w - 2 * LEAD, h - 0.6, fill="white")
        self.line((0, y), (w, y))


class Switch(Symbol):
    """A make contact (07-02-01), open or closed, with terminals of its own at both ends of the gap (07-01-09)."""

    gap = 0.25  # of the width, on either side
    ring = 0.5  # radius of those terminals [mm]
    touching = 0.65  # the blade of a closed contact ends as far above its fixed end [mm]

    def lay(self) -> None:
        w, y = self.width, self.height / 2
        fixed, hinge = self.gap * w, (1 - self.gap) * w
        self.line((0, y), (fixed, y))
        self.line((w, y), (hinge, y))
        self.line((hinge, y), (fixed - 0.2, y - self.touching if self.shape.closed else 0.2), lw=0.5)
        self.circle((hinge, y), self.ring, lw=THIN, fill="white")
        self.mark(fixed, y)

    def mark(self, x: float, y: float) -> None:
        """What distinguishes this contact, at its fixed end."""
        self.circle((x, y), self.ring, lw=THIN, fill="white")


class Breaker(Switch):
    """A contact that opens on overcurrent: a cross at the fixed end (07-13-05)."""

    def mark(self, x: float, y: float) -> None:
        self.line((x - 0.6, y - 0.6), (x + 0.6, y + 0.6))
        self.line((x - 0.6, y + 0.6), (x + 0.6, y - 0.6))


class Isolator(Switch):
    """A contact that isolates: a bar at the fixed end (07-13-06)."""

    def mark(self, x: float, y: float) -> None:
        self.line((x, y - 0.8), (x, y + 0.8))


class Shunt(Symbol):
    """A resistor with separate current and voltage terminals (04-01-09)."""

    def lay(self) -> None:
        w, y = self.width, self.height / 2
        self.rect(2, y - 0.9, w - 4, 1.8, fill="white")
        self.line((0, y), (2, y))
        self.line((w - 2, y), (w, y))
        for x in (1.2, w - 1.2):
            self.line((x, y), (x, self.height), lw=THIN)
            self.dot((x, y), 0.35)


class Diode(Symbol):
    """Anode at the left (05-03-01)."""

    def lay(self) -> None:
        w, h, y = self.width, self.height, self.height / 2
        left, right = w / 2 - 1.5, w / 2 + 1.5
        self.line((0, y), (w, y))
        self.poly((left, 0.4), (right, y), (left, h - 0.4), fill="white")
        self.line((left, y), (right, y))
        self.line((right, 0.4), (right, h - 0.4))


class Led(Diode):
    """A diode that gives off light (05-03-02)."""

    def lay(self) -> None:
        super().lay()
        for x in (2.6, 3.8):
            self.arrow((x, 0.9), (x + 1.1, -0.2), lw=THIN, head=0.8)


class Load(Symbol):
    """Any consumer: a rectangle (as a resistor, 04-01-01)."""

    def lay(self) -> None:
        w, h, y = self.width, self.height, self.height / 2
        self.rect(LEAD, 0.5, w - 2 * LEAD, h - 1, fill="white")
        self.line((0, y), (LEAD, y))
        self.line((w - LEAD, y), (w, y))


class Lamp(Symbol):
    """A cross in a circle (08-10-01)."""

    def lay(self) -> None:
        w, y = self.width, self.height / 2
        r = min(w, self.height) / 2 - 0.5
        self.circle((w / 2, y), r, fill="white")
        self.line((0, y), (w / 2 - r, y))
        self.line((w / 2 + r, y), (w, y))
        d = r * 0.7071
        self.line((w / 2 - d, y - d), (w / 2 + d, y + d))
        self.line((w / 2 - d, y + d), (w / 2 + d, y - d))


class Motor(Symbol):
    """M in a circle (06-04-01)."""

    letter = "M"

    def lay(self) -> None:
        w, y = self.width, self.height / 2
        r = min(w, self.height) / 2 - 0.2
        self.circle((w / 2, y), r, fill="white")
        self.line((0, y), (w / 2 - r, y))
        self.line((w / 2 + r, y), (w, y))
        self.letters((w / 2, y), self.letter)


class Sensor(Symbol):
    """A resistor that depends on temperature: a rectangle with a bent stroke through it (04-01-05)."""

    def lay(self) -> None:
        w, y = self.width, self.height / 2
        self.rect(0.8, y - 0.9, w - 1.6, 1.8, fill="white")
        self.line((0, y), (0.8, y))
        self.line((w - 0.8, y), (w, y))
        self.line((0.6, y + 2.2), (1.8, y + 2.2), (w - 1.0, y - 2.2), lw=THIN)


class Monitor(Symbol):
    """A relay that watches a voltage: its contact along the run, the coil's measure above it (07-17-01)."""

    measure = "U"

    def lay(self) -> None:
        w, h, y = self.width, self.height, self.height / 2 + 1.0
        self.rect(0, 0, w, h, lw=THIN, fill="white")
        self.letters((w / 2, 1.8), self.measure)
        top = self.height / 2
        self.line((0, top), (1.5, top), (1.5, y), (w / 2 - 2, y))
        tip = (w / 2 - 2.3, y - 0.35 if self.shape.closed else y - 1.2)
        self.line((w, top), (w - 1.5, top), (w - 1.5, y), (w / 2 + 2, y), tip)
        if self.ports("bottom"):
            self.line((w / 2, h), (w / 2, h - 1.2), lw=THIN)
            self.line((w / 2 - 1.2, h - 1.2), (w / 2 + 1.2, h - 1.2), lw=BOLD)


class VoltageRelay(Monitor):
    """Closes above a voltage."""

    measure = "U >"


class Disconnect(Monitor):
    """Opens below a voltage."""

    measure = "U <"
