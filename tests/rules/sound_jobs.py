"""Random sound jobs as netlist text: what a careful installer would build, sized and fused so that `check` is silent.

Six shapes over 12, 24 and 48 V: one to three batteries, chargers, sun, fuse blocks, bars, connectors. The same seed
gives the same text. Everything that a fault can be planted in stands in the text itself, each on a line of its own.
"""

from __future__ import annotations

from itertools import pairwise
from random import Random

SIZES = (1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0)
FUSES = (3, 5, 10, 15, 20, 25, 30, 40, 50, 60, 80, 100)
CARRIES = {1.5: 10, 2.5: 15, 4.0: 20, 6.0: 30, 10.0: 40, 16.0: 60, 25.0: 80, 35.0: 100, 50.0: 125, 70.0: 150}
"""The largest fuse that this generator puts before a size: below every table's ampacity (105 degC, up to 60 degC)."""
RESISTIVITY = 0.0225  # ohm mm2/m, copper at about 100 degC, rounded up

SHAPES = ("dual", "solar", "step", "simple", "bank", "strings")


class Writer:
    """Writes one sound job."""

    def __init__(self, seed: int, shape: str = "") -> None:
        self.random = Random(seed)
        self.shape = shape or SHAPES[seed % len(SHAPES)]
        self.parts: list[str] = []
        self.paths: list[str] = []
        self.last: list[str] = []
        self.count: dict[str, int] = {}
        self.system = 48 if self.shape == "step" else self.random.choice((12, 12, 24))
        self.chemistry = self.random.choice(("agm", "flooded", "lifepo4"))

    def name(self, letter: str) -> str:
        """A new name with this letter."""
        self.count[letter] = self.count.get(letter, 0) + 1
        return f"{letter}{self.count[letter]}"

    def length(self, low: float, high: float) -> float:
        """A length [m] in steps of 0.1 m."""
        return round(self.random.uniform(low, high), 1)

    def size(self, amps: float, fuse: float, metres: float, volts: float, drop: float) -> float:
        """The least size that bears the fuse and loses no more than half of the drop on each leg [mm2]."""
        least = 2 * RESISTIVITY * metres * amps / (drop * volts)
        return next(s for s in SIZES if s >= least and CARRIES[s] >= fuse)

    def fuse(self, amps: float) -> int:
        """The next fuse above what flows, with a quarter to spare."""
        return next(f for f in FUSES if f >= 1.3 * amps)

    def wire(self, colour: str, mm2: float, metres: float, more: str = "") -> str:
        """`--[ ]--` with a new conductor in it."""
        return f"--[{self.name('W')} {colour} {mm2:g} mm2 {metres:g} m{more}]--"

    def text(self) -> str:
        """The whole job."""
        getattr(self, "_" + self.shape)()
        head = [
            f'job "A sound job, {self.shape}", customer "Job 9" {{',
            f"    system {self.system} V, limits iso13297, each insulation 105 degC",
            "}",
            "place bay, ambient 0..60 degC",
            "place cabin, ambient 5..40 degC, lived-in",
            "place roof, ambient -15..60 degC, wet",
            "place gutter, ambient -15..50 degC, wet",
        ]
        return "\n".join([*head, *self.parts, *self.paths, *self.last]) + "\n"

    # pieces

    def battery(self, name: str, volts: int, chemistry: str, place: str, charge_a: int) -> None:
        """A battery with all that rules ask for."""
        capacity = self.random.choice((80, 90, 100, 110))
        vented = ", vented" if chemistry in ("agm", "flooded", "gel") else ""
        self.parts.append(
            f"battery {name} {capacity} Ah, {volts} V, {chemistry}, at {place}, resistance {6 * volts // 12} mohm,"
            f" short-circuit 2.2 kA, max-charge {charge_a} A, max-discharge 150 A{vented}"
        )

    def link(self, rating: int, place: str, volts: int = 0) -> str:
        """A fuse in a holder."""
        name = self.name("F")
        kind = "strip" if rating >= 30 else "cartridge"
        self.parts.append(
            f"fuse {name} {rating} A {kind}, at {place}, volts {volts or (58 if self.system < 48 else 125)} V,"
            f" breaks 5 kA, holder {rating + 40} A"
        )
        return name

    def isolator(self, place: str) -> str:
        """A main switch."""
        name = self.name("Q")
        self.parts.append(f"isolator {name} 150 A, at {place}, volts 80 V")
        return name

    def connector(self, rating: int, place: str = "bay") -> tuple[str, str]:
        """A mated pair: the names of its supply side and of its load side. At times a plug and a socket."""
        ingress = ", ingress IP67" if place in ("roof", "gutter") else ""
        if self.random.random() < 0.4:
            socket, plug = self.name("J"), self.name("P")
            self.parts.append(f"socket {socket} {rating} A, poles + -, volts 80 V, shrouded, at {place}{ingress}")
            self.parts.append(f"plug {plug} {rating} A, poles + -, volts 80 V, at {place}{ingress}")
            self.parts.append(f"mate {socket} {plug}")
            return socket, plug
        name = self.name("X")
        self.parts.append(
            f"connector {name} {rating} A, poles + -, volts 80 V, resistance 0.3 mohm, shrouded both,"
            f" at {place}{ingress}"
        )
        return name, name

    def loads(self, bar: str, back: str, count: int, volts: int) -> None:
        """Loads each behind a fuse of its own on a bar, its own return to the other."""
        for _ in range(count):
            amps = self.random.choice((1.0, 2.0, 3.0, 4.0, 6.0, 8.0))
            name = self.name("load")
            metres = self.length(0.8, 4.0)
            rating = self.fuse(amps)
            mm2 = self.size(amps, rating, metres, volts, 0.015)
            fuse = self.link(rating, "cabin")
            if self.random.random() < 0.3:
                self.parts.append(f"lamp {name} {amps * volts:g} W, volts {volts} V, at cabin")
            else:
                self.parts.append(f"load {name} {amps:g} A, at cabin")
            self.paths.append(f"{bar} -- {fuse} {self.wire('red', mm2, metres)} {name}.+")
            self.paths.append(f"{name}.- {self.wire('black', mm2, metres)} {back}")

    def block(self, bar: str, back: str, count: int, volts: int) -> None:
        """A fuse block on the bars, with way rows."""
        name = self.name("FB")
        fuse = self.link(40, "cabin")
        metres = self.length(0.4, 1.2)
        self.paths.append(f"{bar} -- {fuse} {self.wire('red', 16, metres)} {name}.in")
        self.paths.append(f"{back} {self.wire('black', 16, metres)} {name}.-")
        rows = []
        for way in range(1, count + 1):
            amps = self.random.choice((0.5, 1.0, 2.0, 4.0, 5.0))
            rating = self.fuse(amps)
            metres = self.length(0.8, 3.5)
            mm2 = self.size(amps, rating, metres, volts, 0.015)
            out, home = self.name("P"), self.name("N")
            kind = self.random.choice(("load", "lamp"))
            value = f"{amps:g} A" if kind == "load" else f"{amps * volts:g} W, volts {volts} V"
            rows.append(
                f"    {way}: {rating} A --[{out} {home} {mm2:g} mm2 {metres:g} m]-- {kind} {self.name('way')} {value}"
            )
        self.paths.append(
            f"fuse-block {name} 60 A, at cabin, blade, volts 32 V, breaks 5 kA, wire red black {{\n"
            + "\n".join(rows)
            + "\n}"
        )

    def bars(self, battery: str, volts: int, place: str, lead: int = 80) -> tuple[str, str]:
        """A battery's main fuse, isolator and two bars."""
        plus, minus = self.name("BP"), self.name("BN")
        fuse, switch = self.link(lead, place), self.isolator(place)
        self.parts.append(f"busbar {plus} 150 A, at {place}, studs 10")
        self.parts.append(f"busbar {minus} 150 A, at {place}, studs 10")
        mm2 = next(s for s in SIZES if CARRIES[s] >= lead)
        self.paths.append(
            f"{battery}.+ {self.wire('red', mm2, 0.15)} {fuse} {self.wire('red', mm2, 0.3)} {switch}"
            f" {self.wire('red', mm2, 0.3)} {plus}"
        )
        if battery != "start" and self.random.random() < 0.5:
            shunt = self.name("SH")
            self.parts.append(f"shunt {shunt} 300 A, at {place}, resistance 0.17 mohm")
            self.paths.append(
                f"{battery}.- {self.wire('black', mm2, 0.2)} {shunt} {self.wire('black', mm2, 0.3)} {minus}"
            )
        else:
            self.paths.append(f"{battery}.- {self.wire('black', mm2, 0.5)} {minus}")
        if self.random.random() < 0.3:
            alarm, tail = self.name("alarm"), self.link(3, place)
            self.parts.append(f"load {alarm} 0.1 A, always-live, at {place}")
            self.paths.append(f"{battery}.+ -- {tail} {self.wire('red', 1.5, 2.0)} {alarm}.+")
            self.paths.append(f"{alarm}.- {self.wire('black', 1.5, 2.0)} {minus}")
        if volts == 12 and self.system == 12 and self.random.random() < 0.6:
            self.block(plus, minus, self.random.randint(1, 4), volts)
        else:
            self.loads(plus, minus, self.random.randint(1, 4), volts)
        return plus, minus

    def engine(self) -> None:
        """Start battery, alternator, body."""
        start = "flooded" if self.chemistry == "lifepo4" else self.chemistry
        self.battery("start", self.system, start, "bay", 40)
        self.parts.append("alternator alt 100 A variable, on start, resistance 15 mohm, idle 50 A")
        isolated = self.shape == "dual" and self.random.random() < 0.4
        self.parts.append(f"body shell {'isolated' if isolated else 'bonded'}, 1 mohm")
        self.parts.append("earth E1 on shell, at bay")
        self.paths.append(f"start.- {self.wire('black', 35, 0.4)} E1")

    def charger(self, output: int, profile: str) -> None:
        """A charger between start battery and the bars of the second, with trigger, lamp and temperature sense."""
        amps = self.random.choice((12, 18, 20))
        draws = amps * output / self.system / 0.9
        other = f", output-system {output} V" if output != self.system else ""
        low, high = (9, 16) if self.system == 12 else (18, 32)
        stops, starts = (11.0, 11.8) if self.system == 12 else (22.0, 23.6)
        most = round(draws * 1.3 + 1)
        self.parts.append(
            f"charger dcdc {amps} A, at cabin, profile {profile}, efficiency 90 %{other}, input {low}..{high} V,"
            f" input-max {most} A, negative common, stops-below {stops:g} V, starts-above {starts:g} V,"
            " trigger-current 5 mA, indicator-max 0.3 A, sense temperature"
        )
        self.parts.append("feed ign switched, from start, fused 5 A, at bay")
        self.parts.append(f"lamp tell 1.2 W led, volts {self.system} V, at cabin")
        metres = self.length(1.0, 4.0)
        rating = self.fuse(most)
        mm2 = self.size(most, rating, metres, self.system, 0.012)
        fuse = self.link(rating, "bay")
        supply, use = self.connector(rating + 20)
        self.paths.append(f"start.+ {self.wire('red', mm2, 0.15)} {fuse} {self.wire('red', mm2, metres)} {supply}.+")
        self.paths.append(f"start.- {self.wire('black', mm2, metres)} {supply}.-")
        if supply == use:
            supply, use = f"{supply}.b", f"{use}.b"
        self.paths.append(f"{use}.+ {self.wire('red', mm2, 0.4)} dcdc.in.+")
        self.paths.append(f"{use}.- {self.wire('black', mm2, 0.4)} dcdc.in.-")
        self.paths.append(f"ign {self.wire('blue', 1, 2.5)} dcdc.trigger")
        self.paths.append(f"dcdc.indicator {self.wire('white', 1, 2.0)} tell.+")
        self.paths.append(f"tell.- {self.wire('black', 1, 2.0)} dcdc.in.-")
        self.paths.append(f"dcdc.sense {self.wire('grey', 0.5, 0.6, ', supplied')} aux.-")

    def output(self, amps: int, charger: str, plus: str, minus: str, volts: int) -> None:
        """A charger's output to the bars, fused at the bar."""
        rating = self.fuse(amps)
        metres = self.length(0.4, 0.9)
        mm2 = self.size(amps, rating, metres, volts, 0.008)
        fuse = self.link(rating, "cabin")
        self.paths.append(f"{plus} -- {fuse} {self.wire('red', mm2, metres)} {charger}.out.+")
        self.paths.append(f"{charger}.out.- {self.wire('black', mm2, metres)} {minus}")

    def panel(self, name: str, watts: int, more: str = "") -> None:
        """A bare panel of 36 cells."""
        self.parts.append(
            f"panel {name} {watts} W, at roof, ingress IP67, voc 22.3 V, vmp 18.4 V, isc {watts / 17.4:.1f} A,"
            f" imp {watts / 18.4:.1f} A, voc-coefficient -0.3 %/K, coldest -15 degC{more}"
        )

    # shapes

    def _dual(self) -> None:
        self.engine()
        volts = self.random.choice((12, self.system))
        self.battery("aux", volts, self.chemistry, "cabin", 40)
        self.charger(volts, self.chemistry)
        plus, minus = self.bars("aux", volts, "cabin")
        amps = int(next(p for p in self.parts if p.startswith("charger")).split()[2])
        self.output(amps, "dcdc", plus, minus, volts)
        self.last.append("limit 5 % start to dcdc.in")
        if self.random.random() < 0.3 and volts == 12:
            self.parts.append(f"mains-charger shore 10 A, at cabin, profile {self.chemistry}")
            self.output(10, "shore", plus, minus, volts)
        self.last.append(
            "case driving, start 13.4 V, ign on" if self.system == 12 else "case driving, start 26.8 V, ign on"
        )
        self.last.append("case parked, alt off, ign off")

    def _solar(self) -> None:
        self.battery("aux", self.system, self.chemistry, "cabin", 40)
        plus, minus = self.bars("aux", self.system, "cabin")
        self._sun(plus, minus, 1 if self.system == 12 else 2)

    def _sun(self, plus: str, minus: str, series: int) -> None:
        watts = self.random.choice((100, 120, 160))
        self.parts.append(
            f"solar-controller mppt 15 A, at cabin, profile {self.chemistry}, efficiency 96 %,"
            f" solar-max {60 * series} V, solar-max-current 15 A"
        )
        names = [self.name("sun") for _ in range(series)]
        for name in names:
            self.panel(name, watts)
        supply, use = self.connector(30, "roof")
        metres = self.length(1.0, 4.0)
        self.paths.append(f"{names[0]}.+ {self.wire('red', 6, 0.8)} {supply}.+")
        for one, other in pairwise(names):
            self.paths.append(f"{one}.- {self.wire('red', 6, 0.5)} {other}.+")
        self.paths.append(f"{names[-1]}.- {self.wire('black', 6, 0.8)} {supply}.-")
        if supply == use:
            use = f"{use}.b"
        self.paths.append(f"{use}.+ {self.wire('red', 6, metres)} mppt.solar.+")
        self.paths.append(f"{use}.- {self.wire('black', 6, metres)} mppt.solar.-")
        self.output(15, "mppt", plus, minus, self.system)

    def _step(self) -> None:
        self.battery("main", 48, "lifepo4", "cabin", 60)
        plus, minus = self.bars("main", 48, "cabin", 80)
        self.battery("small", 12, self.chemistry, "cabin", 20)
        self.parts.append("type step-charger is charger { ends in.+ in.- out.+ out.- sense }")
        self.parts.append(
            f"step-charger step 8 A, at cabin, profile {self.chemistry}, efficiency 90 %, input 40..60 V,"
            " output-system 12 V, input-max 4 A, negative isolated, stops-below 44 V, starts-above 47 V,"
            " sense temperature"
        )
        fuse = self.link(10, "cabin")
        self.paths.append(f"{plus} -- {fuse} {self.wire('red', 4, 0.6)} step.in.+")
        self.paths.append(f"{minus} {self.wire('black', 4, 0.6)} step.in.-")
        low, back = self.bars("small", 12, "cabin", 40)
        self.output(8, "step", low, back, 12)
        self.paths.append(f"step.sense {self.wire('grey', 0.5, 0.6, ', supplied')} small.-")

    def _simple(self) -> None:
        self.engine()
        plus, minus = self.bars("start", self.system, "bay", 60)
        if self.random.random() < 0.7:
            self.parts.append("switch S1 10 A, at cabin, volts 60 V")
            self.parts.append("relay K1 30 A, at bay, volts 60 V, coil 300 ohm")
            self.parts.append("load horn 5 A, at gutter, ingress IP67")
            fuse, control = self.link(10, "bay"), self.link(3, "bay")
            self.paths.append(f"{plus} -- {fuse} {self.wire('red', 2.5, 1.0)} K1.30")
            self.paths.append(f"K1.87 {self.wire('red', 2.5, 1.5)} horn.+")
            self.parts.append("earth E2 on shell, at gutter")
            self.paths.append(f"horn.- {self.wire('black', 2.5, 0.5)} E2")
            self.paths.append(f"{plus} -- {control} {self.wire('blue', 1, 1.0)} S1 {self.wire('blue', 1, 1.0)} K1.86")
            self.paths.append(f"K1.85 {self.wire('black', 1, 0.6)} {minus}")

    def _bank(self) -> None:
        """Two like batteries side by side, each with its fuse, on one pair of bars; an inverter."""
        self.battery("one", self.system, self.chemistry, "cabin", 40)
        self.parts.append(self.parts[0].replace("battery one", "battery two"))
        plus, minus = self.bars("one", self.system, "cabin", 100)
        fuse, switch = self.link(100, "cabin"), self.isolator("cabin")
        self.paths.append(
            f"two.+ {self.wire('red', 35, 0.15)} {fuse} {self.wire('red', 35, 0.3)} {switch}"
            f" {self.wire('red', 35, 0.3)} {plus}"
        )
        self.paths.append(f"two.- {self.wire('black', 35, 0.5)} {minus}")
        watts = 880 * self.system // 12
        self.parts.append(f"inverter inv {watts} W, at cabin, efficiency 90 %")
        strip = self.link(100, "cabin")
        self.paths.append(f"{plus} -- {strip}")
        for _ in range(2):  # two conductors side by side, each of which bears all
            self.paths.append(f"{strip}.out {self.wire('red', 50, 0.8)} inv.+")
        self.paths.append(f"inv.- {self.wire('black', 50, 0.8)} {minus}")

    def _strings(self) -> None:
        """Three strings in parallel, a fuse each, on one controller."""
        self.system = 12
        self.battery("aux", 12, self.chemistry, "cabin", 60)
        plus, minus = self.bars("aux", 12, "cabin")
        self.parts.append(
            f"solar-controller mppt 30 A, at cabin, profile {self.chemistry}, efficiency 96 %, solar-max 60 V,"
            " solar-max-current 30 A"
        )
        self.parts.append("busbar SP1 100 A, at cabin, studs 6, volts 80 V")
        self.parts.append("busbar SN1 100 A, at cabin, studs 6, volts 80 V")
        for _ in range(3):
            name, fuse = self.name("sun"), self.link(15, "cabin")
            self.panel(name, 100)
            metres = self.length(1.0, 4.0)
            self.paths.append(f"{name}.+ {self.wire('red', 4, metres)} {fuse} -- SP1")
            self.paths.append(f"{name}.- {self.wire('black', 4, metres)} SN1")
        self.paths.append(f"SP1 {self.wire('red', 10, 0.5)} mppt.solar.+")
        self.paths.append(f"SN1 {self.wire('black', 10, 0.5)} mppt.solar.-")
        self.output(30, "mppt", plus, minus, 12)


def sound_text(seed: int, shape: str = "") -> str:
    """The netlist of one sound job."""
    return Writer(seed, shape).text()
