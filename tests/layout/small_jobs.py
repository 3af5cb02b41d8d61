"""Jobs made by hand and by chance, without the reader: what the layout needs of them and no more."""

from __future__ import annotations

import random

from wiregen.circuit.study import Study
from wiregen.findings import Source, Span
from wiregen.language.tree import Measure, Value
from wiregen.model.job import Conductor, Fact, Job, Link, Part, Terminal
from wiregen.model.vocabulary import KINDS

NOWHERE = Span(Source("made.wnet", ""), 0, 0)


def fact(name: str, *texts: str) -> Fact:
    """A fact with its values as text; a first number becomes a measure."""
    values = []
    for words in texts:
        head = words.split()[0]
        try:
            number = float(head)
            measure = Measure(number, number, number, "any", words.split()[-1])
        except ValueError:
            measure = None
        values.append(Value("name", words, NOWHERE, measure))
    return Fact(name, tuple(values), NOWHERE)


class Bench:
    """A job under construction. Names of terminals are full ids."""

    def __init__(self) -> None:
        self.parts: dict[str, Part] = {}
        self.conductors: dict[str, Conductor] = {}
        self.links: list[Link] = []
        self.ends: list[str] = []

    def part(
        self,
        kind: str,
        id_: str,
        title: str = "",
        ends: list[str] | None = None,
        block: str = "",
        way: str = "",
        **facts: str,
    ) -> str:
        """Add a part; `ends` are the names of its terminals, the kind's own where left out."""
        ends = list(KINDS[kind].get("ends", [])) if ends is None else ends
        terminals = tuple(f"{id_}.{e}" if e else id_ for e in ends)
        known = {k.replace("_", "-"): fact(k.replace("_", "-"), v) for k, v in facts.items()}
        self.parts[id_] = Part(
            id_, NOWHERE, title, known, kind=kind, type=kind, terminals=terminals,
            block=block or None, way=way or None,
        )  # fmt: skip
        return id_

    def block(self, id_: str, ways: int, title: str = "") -> None:
        """A fuse block with a fuse in each way."""
        self.part("fuse-block", id_, title, ["in", *map(str, range(1, ways + 1)), "-"], rating="60 A")
        for k in range(1, ways + 1):
            self.part("fuse", f"{id_}.{k}", ends=["in", "out"], block=id_, way=str(k), rating="10 A")
            self.links.append(Link(f"{id_}.in", f"{id_}.{k}.in", "way", NOWHERE))
            self.links.append(Link(f"{id_}.{k}.out", f"{id_}.{k}", "way", NOWHERE))

    def wire(self, id_: str, a: str, b: str, colour: str = "red", size: str = "10 mm2", length: str = "1.2 m") -> None:
        """Add a conductor."""
        facts = {"colour": fact("colour", colour), "size": fact("size", size), "length": fact("length", length)}
        self.conductors[id_] = Conductor(id_, NOWHERE, "", facts, from_=a, to=b)
        self.ends += [t for t in (a, b) if t.startswith(("loose:", "capped:"))]

    def link(self, a: str, b: str) -> None:
        """Add metal to metal."""
        self.links.append(Link(a, b, "joined", NOWHERE))

    def job(self, title: str = "Made") -> Job:
        """The job as it stands."""
        terminals = {
            t: Terminal(t, p.id, t[len(p.id) + 1 :], NOWHERE) for p in self.parts.values() for t in p.terminals
        }
        terminals |= {t: Terminal(t, "", "", NOWHERE) for t in self.ends}
        return Job("made.wnet", title, NOWHERE, {}, self.parts, terminals, self.conductors, tuple(self.links))


def study_of(job: Job) -> Study:
    """A study that holds nothing but the job."""
    return Study(job, None, (), (), (), {}, ())  # type: ignore[arg-type]


def random_job(seed: int, parts: int) -> Job:
    """Any parts joined at random: trees, rings, parallels, bars, islands, self-loops, loose ends."""
    rng = random.Random(seed)
    bench = Bench()
    terminals: list[str] = []
    kinds = [
        "battery", "alternator", "charger", "panel", "fuse", "breaker", "switch", "isolator", "shunt", "diode",
        "voltage-relay", "low-voltage-disconnect", "relay", "connector", "plug", "socket", "fuse-block", "busbar",
        "splice", "load", "lamp", "sensor", "inverter", "feed", "earth", "starter", "mains-charger", "solar-controller",
    ]  # fmt: skip
    count = 0
    while len(bench.parts) < parts:
        kind = rng.choice(kinds) if rng.random() < 0.6 else rng.choice(["fuse", "load", "lamp", "busbar", "connector"])
        count += 1
        id_, title = f"P{count}", rng.choice(["", "", "Second battery", "Work lamp on the left", "Pump"])
        if kind == "connector":
            poles = ["+", "-", "1", "2", "3"][: rng.randint(1, 5)]
            bench.part(kind, id_, title, [f"{s}.{p}" for p in poles for s in "ab"], rating="50 A")
        elif kind in ("plug", "socket"):
            bench.part(kind, id_, title, ["+", "-"], rating="50 A")
        elif kind == "fuse-block":
            bench.block(id_, rng.randint(1, 8), title)
        elif kind in ("busbar", "splice"):
            bench.part(kind, id_, title, [str(k) for k in range(1, rng.randint(2, 9))])
        elif kind == "battery":
            bench.part(kind, id_, title, volts="12 V", capacity="75 Ah", chemistry="agm")
        else:
            bench.part(kind, id_, title, rating="10 A")
        terminals += bench.parts[id_].terminals
    shape = rng.random()
    wires = int(len(bench.parts) * (1.0 + rng.random()))
    for k in range(1, wires + 1):
        if shape < 0.7 and len(terminals) > 20 and rng.random() < 0.8:  # mostly neighbours in the file
            at = rng.randrange(len(terminals))
            a, b = terminals[at], terminals[min(len(terminals) - 1, max(0, at + rng.randint(-12, 12)))]
        else:
            a, b = rng.choice(terminals), rng.choice(terminals)
        roll = rng.random()
        if roll < 0.04:
            b = f"loose:W{k}"
        elif roll < 0.06:
            b = f"capped:W{k}"
        elif roll < 0.08:
            b = a
        if rng.random() < 0.08 and a != b and roll >= 0.08:
            bench.link(a, b)
            continue
        colour = rng.choice(["red", "black", "blue", "green/white"])
        bench.wire(f"W{k}", a, b, colour, rng.choice(["1.5 mm2", "10 mm2", "2/0 AWG"]), "1.25 m")
        if rng.random() < 0.06 and not b.startswith(("loose", "capped")):
            bench.wire(f"W{k}b", a, b, colour)
    return bench.job(f"Random {seed}")
