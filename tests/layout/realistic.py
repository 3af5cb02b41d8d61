"""Jobs as a workshop would wire them, of any size: one or two batteries, bars behind a main fuse, fuse blocks and their
loads, chargers, panels, plugs, earths. Two conductors a run, returns to a bar or a block. A seed gives one text.
"""

from __future__ import annotations

from itertools import pairwise
from random import Random

LOADS = ("fridge", "pump", "fan", "router", "heater", "outlet", "screen", "gauge", "compressor", "tool-rack")
ROOFS = 24  # solar controllers at most: with more the leads to the battery could not bear what they give together
LAMPS = ("ceiling", "reading", "galley", "step", "awning", "work-lamp", "marker", "locker", "night-strip")


class _Workshop:
    def __init__(self, seed: int, parts: int) -> None:
        self.random = Random(seed)
        self.wanted = parts
        self.parts = 0
        self.declared: list[str] = []
        self.paths: list[str] = []
        self.counts: dict[str, int] = {}

    def draws(self, most: float) -> float:
        """What a load takes: less where there are many, so that one battery can feed them all."""
        return float(f"{most * min(1.0, 40 / self.wanted):.2g}")

    def name(self, letter: str) -> str:
        self.counts[letter] = self.counts.get(letter, 0) + 1
        return f"{letter}{self.counts[letter]}"

    def declare(self, kind: str, letter: str, values: str = "", title: str = "") -> str:
        name = self.name(letter)
        titled = f' "{title}"' if title else ""
        self.declared.append(f"{kind} {name}{titled} {values}".rstrip())
        self.parts += 1
        return name

    def wire(self, letter: str, size: str, length: float | None = None) -> str:
        colour = {"R": "red", "B": "black", "V": "red", "S": "grey", "T": "blue"}[letter]
        return f"--[{self.name(letter)} {colour} {size} {length or self.random.choice((0.3, 0.8, 1.5, 3.0))} m]--"

    def pair(self, plus: str, minus: str, to: str, size: str, through: str = "") -> None:
        """Both conductors of a run, side by side."""
        onward = f" {through} {self.wire('R', size)}" if through else ""
        self.paths.append(f"{plus} {self.wire('R', size)}{onward} {to}.+")
        self.paths.append(f"{minus} {self.wire('B', size)} {to}.-")

    def trunk(self) -> tuple[str, str, str]:
        """Start battery, charger and second battery; what feeds the loads, and what takes their returns."""
        r = self.random
        start = self.declare("battery", "BT", "80 Ah agm", "Start battery")
        self.declare("alternator", "G", f"140 A variable, on {start}")
        second = self.declare("battery", "BT", f"{r.choice((100, 200, 280))} Ah lifepo4", "Second battery")
        charger = self.declare("charger", "U", f"{r.choice((18, 25, 40))} A, negative common", "Charger")
        first, other = self.declare("fuse", "F", "60 A strip"), self.declare("fuse", "F", "60 A strip")
        plug = ""
        if r.random() < 0.6:
            plug = self.declare("connector", "X", "50 A, poles + -", "Plug")
            self.paths.append(
                f"{start}.+ {self.wire('R', '16 mm2')} {first} {self.wire('R', '16 mm2')} {plug}.+"
                f" {self.wire('R', '16 mm2')} {charger}.in.+"
            )
            self.paths.append(
                f"{start}.- {self.wire('B', '16 mm2')} {plug}.- {self.wire('B', '16 mm2')} {charger}.in.-"
            )
        else:
            self.paths.append(f"{start}.+ {self.wire('R', '16 mm2')} {first} {self.wire('R', '16 mm2')} {charger}.in.+")
            self.paths.append(f"{start}.- {self.wire('B', '16 mm2')} {charger}.in.-")
        feed = self.declare("feed", "IG", "switched, fused 5 A", "Ignition")
        self.paths.append(f"{feed} {self.wire('T', '1 mm2')} {charger}.trigger")
        self.paths.append(f"{charger}.sense {self.wire('S', '0.5 mm2')} {second}.-")
        if r.random() < 0.7:
            self.declared.append("body BY1 bonded, 2 mohm")
            earth = self.declare("earth", "E", "on BY1")
            self.paths.append(f"{start}.- {self.wire('B', '25 mm2')} {earth}")
        self.paths.append(f"{second}.+ {self.wire('R', '16 mm2')} {other} {self.wire('R', '16 mm2')} {charger}.out.+")
        self.paths.append(f"{second}.- {self.wire('B', '16 mm2')} {charger}.out.-")
        if r.random() < 0.4:
            lamp = self.declare("lamp", "H", "1.2 W led", "Charging")
            self.paths.append(f"{charger}.indicator {self.wire('T', '1 mm2')} {lamp}.+")
            self.paths.append(f"{lamp}.- {self.wire('B', '1 mm2')} {charger}.in.-")
        return second, f"{second}.+", f"{second}.-"

    def bars(self, plus: str, minus: str) -> tuple[str, str]:
        """A positive and a negative bar behind main fuse, isolator and shunt."""
        main = self.declare("fuse", "F", "200 A class-t", "Main fuse")
        switch = self.declare("isolator", "Q", "300 A", "Main isolator")
        shunt = self.declare("shunt", "SH", "300 A") if self.random.random() < 0.6 else ""
        positive = self.declare("busbar", "BP", "300 A, studs 30", "Positive bar")
        negative = self.declare("busbar", "BN", "300 A, studs 30", "Negative bar")
        size = "50 mm2"
        self.paths.append(
            f"{plus} {self.wire('R', size)} {main} {self.wire('R', size)} {switch} {self.wire('R', size)} {positive}"
        )
        onward = f" {shunt} {self.wire('B', size)}" if shunt else ""
        self.paths.append(f"{minus} {self.wire('B', size)}{onward} {negative}")
        return positive, negative

    def block(self, plus: str, minus: str, room: int, *, bar: bool) -> None:
        """A fuse block with so many ways at most, behind a fuse where it hangs on a bar."""
        ways = min(room, self.random.randint(4, 12))
        block = self.name("FB")
        rows = []
        for way in range(1, ways + 1):
            rating, size = self.random.choice(((5, "1.5 mm2"), (10, "2.5 mm2"), (15, "4 mm2")))
            if self.random.random() < 0.1:
                rows.append(f"    {way}: {self.random.choice(('empty', '10 A'))}")
                self.parts += 1
                continue
            stem = self.random.choice(LAMPS if self.random.random() < 0.5 else LOADS)
            kind = "lamp" if stem in LAMPS else "load"
            length = self.random.choice((1.5, 2.5, 4.0))
            rows.append(f"    {way}: {rating} A --[{self.name('P')} {self.name('N')} {size} {length} m]-- "
                        f"{kind} {self.name(stem)} {self.draws(self.random.choice((1, 2, 4)))} A")  # fmt: skip
            self.parts += 2
        rows_text = "\n".join(rows)
        self.declared.append(f'fuse-block {block} "Fuse block" 60 A, blade, wire red black {{\n{rows_text}\n}}')
        self.parts += 1
        fuse = self.declare("fuse", "F", "60 A strip", "Block fuse" if bar else "")
        first = "--" if bar and self.random.random() < 0.5 else self.wire("R", "16 mm2")
        self.paths.append(f"{plus} {first} {fuse} {self.wire('R', '16 mm2')} {block}.in")
        self.paths.append(f"{minus} {self.wire('B', '16 mm2')} {block}.-")

    def branch(self, plus: str, minus: str) -> None:
        """One load on the bars behind its fuse, now and then a switch or a plug."""
        fuse = self.declare("fuse", "F", "30 A strip")
        kind = self.random.choice(("load", "load", "inverter", "lamp"))
        switch = self.declare("switch", "S", "30 A") if self.random.random() < 0.3 else ""
        plug = self.declare("connector", "X", "50 A, poles + -") if self.random.random() < 0.3 else ""
        values = f"{self.draws(100)} W" if kind == "inverter" else f"{self.draws(8)} A"
        load = self.declare(kind, "M", values)
        path = f"{plus} {self.wire('R', '6 mm2')} {fuse}"
        path += f" {self.wire('R', '6 mm2')} {switch}" if switch else ""
        path += f" {self.wire('R', '6 mm2')} {plug}.+" if plug else ""
        self.paths.append(f"{path} {self.wire('R', '6 mm2')} {load}.+")
        back = f" {plug}.- {self.wire('B', '6 mm2')}" if plug else ""
        self.paths.append(f"{minus} {self.wire('B', '6 mm2')}{back} {load}.-")

    def sun(self, plus: str, minus: str) -> None:
        """A panel or two in series, a controller, and its fuse to the bars."""
        panels = [self.declare("panel", "PV", "180 W, voc 24 V") for _ in range(self.random.choice((1, 1, 2)))]
        plug = self.declare("connector", "X", "30 A, poles + -", "Roof plug")
        controller = self.declare("solar-controller", "U", "30 A", "Solar controller")
        fuse = self.declare("fuse", "F", "40 A strip")
        size = "6 mm2"
        self.paths.append(f"{panels[0]}.+ {self.wire('R', size)} {plug}.+ {self.wire('R', size)} {controller}.solar.+")
        for a, b in pairwise(panels):
            self.paths.append(f"{a}.- {self.wire('R', size)} {b}.+")
        self.paths.append(f"{panels[-1]}.- {self.wire('B', size)} {plug}.- {self.wire('B', size)} {controller}.solar.-")
        self.paths.append(f"{plus} {self.wire('R', '10 mm2')} {fuse} {self.wire('R', '10 mm2')} {controller}.out.+")
        self.paths.append(f"{minus} {self.wire('B', '10 mm2')} {controller}.out.-")

    def text(self) -> str:
        _, plus, minus = self.trunk()
        if self.wanted < 40 and self.random.random() < 0.5:
            self.block(plus, minus, max(1, (self.wanted - self.parts - 2) // 2), bar=False)
        else:
            positive, negative = self.bars(plus, minus)
            turn = 0
            while self.parts < self.wanted:
                left = self.wanted - self.parts
                if left > 10 and turn % 4 in (0, 2):
                    self.block(positive, negative, (left - 2) // 2, bar=True)
                elif left > 12 and turn % 8 == 1 and turn < 8 * ROOFS:
                    self.sun(positive, negative)
                elif turn % 16 == 11:
                    positive, negative = self.bars(positive, negative)
                else:
                    self.branch(positive, negative)
                turn += 1
        head = f'job "Workshop job, {self.wanted} parts" {{ system 12 V, limits iso13297 }}'
        return "\n".join([head, *self.declared, *self.paths]) + "\n"


def realistic_netlist(seed: int, parts: int) -> str:
    """A netlist of about so many parts."""
    return _Workshop(seed, parts).text()
