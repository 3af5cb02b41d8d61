"""Random jobs as netlist text: the same seed gives the same text. For properties of layout, drawing and circuit.

Every text reads without a mistake. It is wired as a fitter might wire (sources, fuses, loads, returns), yet no promise
is made that it is sound. All that the language can join occurs: trees, rings, parallel conductors, busbars, splices,
many-pole connectors, plugs and sockets, fuse blocks with way rows, relays, islands, kits, cables with screens, bodies
and earths, loose and capped ends, parts mounted on posts.
"""

from __future__ import annotations

from random import Random

COLOURS = ("red", "black", "blue", "green", "yellow", "brown", "white", "grey", "violet", "orange", "green/white")
SIZES = ("0.75 mm2", "1.5 mm2", "2.5 mm2", "4 mm2", "6 mm2", "10 mm2", "16 mm2", "25 mm2", "35 mm2", "6 AWG", "2/0 AWG")
TITLES = ("Fridge", "Water pump, at the back", "Lamp", "Left & right", "Tool box <front>", "Pump no. 2", "Heater fan")
KIT = """kit lead {
    takes rating, size 6 mm2, length 200 mm
    ends in out
    fuse F <rating> blade
    in --[W red <size> <length>]-- F -- out
}"""
KIT_PARTS = 1


class Maker:
    """Writes one job, line by line, until it holds enough parts."""

    def __init__(self, seed: int, parts: int) -> None:
        self.random = Random(seed)
        self.wanted = parts
        self.parts = 0
        self.counts: dict[str, int] = {}
        self.declared: list[str] = []
        self.paths: list[str] = []
        self.places: list[str] = []
        self.pluses: list[str] = []  # where a positive conductor may begin
        self.minuses: list[str] = []
        self.conductors: list[str] = []
        self.kit = False

    def name(self, letter: str) -> str:
        """A new name with this letter."""
        self.counts[letter] = self.counts.get(letter, 0) + 1
        return f"{letter}{self.counts[letter]}"

    def some(self, chance: float) -> bool:
        """True with this chance."""
        return self.random.random() < chance

    def declare(self, kind: str, letter: str, values: str = "", block: str = "", parts: int = 1) -> str:
        """Declare a part, at a place or none, and return its name."""
        name = self.name(letter)
        at = f", at {self.random.choice(self.places)}" if self.places and self.some(0.7) and kind != "body" else ""
        title = f' "{self.random.choice(TITLES)}"' if self.some(0.2) and kind not in ("body", "earth") else ""
        self.declared.append(f"{kind} {name}{title} {values}{at}{block}".replace("  ", " "))
        self.parts += parts
        return name

    def wire(self, *, colour: str = "", named: bool = True) -> str:
        """`--[ ]--` with a new conductor in it."""
        words = []
        if named and self.some(0.9):
            words.append(self.name("W"))
            self.conductors.append(words[0])
        words.append(colour or self.random.choice(COLOURS))
        words.append(self.random.choice(SIZES))
        words.append(f"{self.random.choice((0.15, 0.3, 0.9, 1.4, 2.5, 4.2))} m")
        if self.places and self.some(0.3):
            words.append("via " + " ".join(self.random.sample(self.places, self.random.randint(1, len(self.places)))))
        return f"--[{' '.join(words)}]--"

    def link(self, colour: str = "") -> str:
        """Mostly a conductor, at times metal to metal."""
        return "--" if self.some(0.08) else self.wire(colour=colour)

    def plus(self) -> str:
        """Somewhere positive."""
        return self.random.choice(self.pluses)

    def minus(self) -> str:
        """Somewhere negative."""
        return self.random.choice(self.minuses)

    # ---- things that a job is made of

    def battery(self) -> None:
        """A battery; now and then with an alternator on it."""
        chemistry = self.random.choice(("flooded", "agm", "gel", "lifepo4"))
        name = self.declare("battery", "BT", f"{self.random.choice((60, 75, 100, 200))} Ah {chemistry}")
        self.pluses.append(f"{name}.+")
        self.minuses.append(f"{name}.-")
        if self.some(0.3):
            self.declare("alternator", "G", f"110 A variable, on {name}")

    def chain(self) -> None:
        """A load behind a fuse, a switch, a shunt, a splice ..., and its return."""
        path = self.plus()
        for _ in range(self.random.randint(0, 3)):
            kind, letter, values = self.random.choice(
                (
                    ("fuse", "F", "15 A blade"),
                    ("switch", "S", "20 A"),
                    ("breaker", "CB", "30 A"),
                    ("splice", "SP", ""),
                    ("isolator", "Q", "100 A"),
                    ("diode", "V", "30 A"),
                    ("shunt", "R", "200 A"),
                )
            )
            path += f" {self.link('red')} {self.declare(kind, letter, values)}"
        kind, letter, values = self.random.choice(
            (("load", "M", "6 A"), ("lamp", "H", "10 W led"), ("sensor", "BX", "0.1 A"), ("inverter", "U", "500 W"))
        )
        load = self.declare(kind, letter, values)
        path += f" {self.wire(colour='red')} {load} {self.wire(colour='black')} {self.minus()}"
        self.paths.append(path)

    def charger(self) -> None:
        """A charger from one side of the job to another, with all or some of its terminals used."""
        form = self.random.choice(("negative common", "negative isolated", "negative one-stud", "profile agm"))
        name = self.declare("charger", "U", f"25 A, {form}")
        minus = f"{name}.-" if "one-stud" in form else f"{name}.in.-"
        self.paths.append(f"{self.plus()} {self.wire(colour='red')} {name}.in.+")
        self.paths.append(f"{self.minus()} {self.wire(colour='black')} {minus}")
        self.paths.append(f"{name}.out.+ {self.wire(colour='red')} {self.plus()}")
        if "one-stud" not in form:
            self.paths.append(f"{name}.out.- {self.wire(colour='black')} {self.minus()}")
        if self.some(0.6):
            self.paths.append(f"{name}.sense {self.wire(colour='grey')} {self.minus()}")
        if self.some(0.4):
            feed = self.declare("feed", "IG", "switched, fused 5 A")
            self.paths.append(f"{feed} {self.wire(colour='blue')} {name}.trigger")
        if self.some(0.4):
            end = self.random.choice(("loose", 'capped "no lamp here"'))
            self.paths.append(f"{name}.indicator {self.wire()} {end}")
        if self.some(0.3):
            panel = self.declare("panel", "PV", "120 W, voc 22 V")
            back = minus if "one-stud" in form else f"{name}.solar.-"
            self.paths.append(f"{panel}.+ {self.wire()} {name}.solar.+")
            self.paths.append(f"{panel}.- {self.wire()} {back}")

    def busbars(self) -> None:
        """A positive and a negative busbar, fed by one conductor or by several in parallel."""
        count = self.random.choice((1, 1, 2, 3))
        for kind, ends in (("red", self.pluses), ("black", self.minuses)):
            name = self.declare("busbar", "NB", "150 A, studs 40")
            source = self.random.choice(ends)
            self.paths += [f"{source} {self.wire(colour=kind)} {name}" for _ in range(count)]
            ends.append(name)

    def block(self) -> None:
        """A fuse block with way rows, spare and empty ways."""
        ways = self.random.randint(1, 6)
        rows = []
        parts = 1
        for way in range(1, ways + 1):
            if self.some(0.7):
                load = self.name("M")
                pair = f"{self.name('P')} {self.name('N')}"
                rating = self.random.choice((5, 10, 15))
                back = f", back {self.minus()}" if self.some(0.2) else ""
                rows.append(f"    {way}: {rating} A --[{pair} 2.5 mm2 2 m]-- load {load} 4 A{back}")
                parts += 2
            else:
                rows.append(f"    {way}: {self.random.choice(('empty', '10 A', '7.5 A blade'))}")
                parts += 1
        block = ", wire red black {\n" + "\n".join(rows) + "\n}"
        name = self.declare("fuse-block", "FB", "60 A, blade", block, parts)
        self.paths.append(f"{self.plus()} {self.wire(colour='red')} {name}.in")
        if self.some(0.9):
            self.paths.append(f"{name}.- {self.wire(colour='black')} {self.minus()}")

    def connector(self) -> None:
        """A connector with two poles or many, with a load on each pair behind it."""
        pairs = self.random.choice((1, 1, 1, 2, 3))
        poles = ["+", "-"] if pairs == 1 else [str(n) for n in range(1, 2 * pairs + 1)]
        name = self.declare(
            "connector", "X", f"50 A, poles {' '.join(poles)}" + (", unmated" if self.some(0.1) else "")
        )
        for at in range(pairs):
            plus, minus = poles[2 * at], poles[2 * at + 1]
            load = self.declare("load", "M", "3 A")
            self.paths.append(f"{self.plus()} {self.wire()} {name}.{plus} {self.wire()} {load}.+")
            self.paths.append(f"{self.minus()} {self.wire()} {name}.{minus} {self.wire()} {load}.-")

    def halves(self) -> None:
        """A plug and a socket, mated or not, with a cable behind them."""
        plug = self.declare("plug", "XP", "50 A, poles + -")
        socket = self.declare("socket", "XS", "50 A shrouded, poles + -")
        if self.some(0.8):
            self.declared.append(f"mate {plug} {socket}")
        cable = self.name("C")
        self.declared.append(f"cable {cable} twin 6 mm2 4 m, cores red black, screen")
        load = self.declare("load", "M", "8 A")
        self.paths.append(f"{self.plus()} {self.wire(colour='red')} {socket}.+")
        self.paths.append(f"{self.minus()} {self.wire(colour='black')} {socket}.-")
        self.paths.append(f"{plug}.+ --[{cable}.red]-- {load}.+")
        self.paths.append(f"{plug}.- --[{cable}.black]-- {load}.-")
        if self.some(0.5):
            self.paths.append(f"{load}.- --[{cable}.screen]-- capped")

    def relay(self) -> None:
        """A relay with its coil and one or two contacts."""
        name = self.declare("relay", "K", "30 A")
        load = self.declare("lamp", "H", "21 W")
        self.paths.append(f"{self.plus()} {self.wire(colour='red')} {name}.30")
        self.paths.append(
            f"{name}.{self.random.choice(('87', '87a'))} {self.wire()} {load} {self.wire()} {self.minus()}"
        )
        self.paths.append(f"{self.plus()} {self.wire()} {name}.86")
        self.paths.append(f"{name}.85 {self.wire()} {self.minus()}")

    def ring(self) -> None:
        """Splices in a ring, fed at one of them."""
        splices = [self.declare("splice", "SP", "crimp") for _ in range(self.random.randint(3, 4))]
        for one, two in zip(splices, splices[1:] + splices[:1], strict=True):
            self.paths.append(f"{one} {self.wire(colour='red')} {two}")
        self.paths.append(f"{self.plus()} {self.wire(colour='red')} {splices[0]}")
        self.pluses.append(splices[1])

    def earths(self) -> None:
        """A body with earths on it, and conductors that land on it directly."""
        body = "BY1" if self.counts.get("BY") else self.declare("body", "BY", "bonded, 2 mohm", parts=0)
        earth = self.declare("earth", "E", f"on {body}")
        self.paths.append(f"{self.minus()} {self.wire(colour='black')} {earth}")
        if self.some(0.4):
            self.paths.append(f"{self.minus()} {self.wire(colour='black')} {body}")
            self.parts += 1
        self.minuses.append(earth)

    def use_of_kit(self) -> None:
        """A kit in the middle of a path."""
        self.kit = True
        name = self.name("T")
        self.declared.append(f"lead {name} {self.random.choice((10, 15, 30))} A")
        self.parts += KIT_PARTS
        load = self.declare("load", "M", "5 A")
        self.paths.append(f"{self.plus()} -- {name} {self.wire(colour='red')} {load} {self.wire()} {self.minus()}")

    def island(self) -> None:
        """A battery and a lamp that nothing else is joined to."""
        name = self.declare("battery", "BT", "7 Ah agm")
        lamp = self.declare("lamp", "H", "5 W")
        self.paths.append(f"{name}.+ {self.wire()} {lamp} {self.wire()} {name}.-")

    def parallel(self) -> None:
        """A second conductor beside another one, unnamed."""
        a, b = self.plus(), self.plus()
        if a != b and "." in a and "." in b:
            self.paths += [f"{a} {self.wire(named=False)} {b}"] * self.random.randint(2, 3)

    def mounted(self) -> None:
        """A fuse bolted to a battery's post."""
        fuse = self.declare("fuse", "F", "100 A bolted, on BT1")
        load = self.declare("load", "M", "40 A")
        self.paths.append(f"{fuse} {self.wire(colour='red')} {load} {self.wire(colour='black')} {self.minus()}")

    def text(self) -> str:
        """The whole job."""
        for _ in range(self.random.randint(0, 3)):
            self.places.append(self.name("place-"))
        self.battery()
        makers = [self.chain] * 6 + [
            self.battery,
            self.charger,
            self.busbars,
            self.block,
            self.block,
            self.connector,
            self.connector,
            self.halves,
            self.relay,
            self.ring,
            self.earths,
            self.use_of_kit,
            self.island,
            self.parallel,
            self.mounted,
        ]
        for _ in range(10 * self.wanted):
            if self.parts >= self.wanted:
                break
            self.random.choice(makers)()
        lines = [f'job "Random job, {self.wanted} parts" {{ system 12 V, limits iso13297 }}']
        lines += [KIT] if self.kit else []
        lines += [f"place {place}, ambient {self.random.choice((25, 45, 80))} degC" for place in self.places]
        if self.some(0.5):
            self.random.shuffle(self.paths)
        if self.some(0.4) and len(self.paths) > 2:
            middle = len(self.paths) // 2
            self.paths[middle:] = ["circuit main {", *(f"    {path}" for path in self.paths[middle:]), "}"]
        return "\n".join([*lines, *self.declared, *self.paths]) + "\n"


def random_netlist(seed: int, parts: int) -> str:
    """A netlist of about so many parts (at times a little more)."""
    return Maker(seed, parts).text()
