"""Jobs made by hand, without the language: a few words for parts, conductors and links."""

from __future__ import annotations

from wiregen.findings import Source, Span
from wiregen.language.quantities import read_quantity
from wiregen.language.tree import Value
from wiregen.model.job import Conductor, Contact, Fact, Job, Link, Part, Terminal

SOURCE = Source("by-hand.wnet", "")
AT = Span(SOURCE, 0, 0)

ENDS = {
    "battery": ("+", "-"),
    "alternator": ("+", "-"),
    "starter": ("+", "-"),
    "load": ("+", "-"),
    "lamp": ("+", "-"),
    "inverter": ("+", "-"),
    "panel": ("+", "-"),
    "fuse": ("in", "out"),
    "breaker": ("in", "out"),
    "switch": ("in", "out"),
    "shunt": ("in", "out"),
    "diode": ("in", "out"),
    "voltage-relay": ("in", "out", "-"),
    "charger": ("in.+", "in.-", "out.+", "out.-", "solar.+", "solar.-", "trigger", "sense", "indicator"),
    "solar-controller": ("solar.+", "solar.-", "out.+", "out.-", "sense"),
    "relay": ("30", "87", "85", "86"),
    "splice": (),
    "busbar": (),
}
KINDS = {"voltage-relay": "switch"}


def facts(**said: str) -> dict[str, Fact]:
    """`rating="40 A"` and the like; an underscore in the name stands for a dash."""
    found = {}
    for name, text in said.items():
        values = []
        for word in text.split(", "):
            quantity = word[0].isdigit() or word[0] == "-"
            measure = read_quantity(word).measure if quantity else None
            values.append(Value("quantity" if quantity else "name", word, AT, measure))
        key = name.rstrip("_").replace("_", "-")
        found[key] = Fact(key, tuple(values), AT)
    return found


class Bench:
    """Collects parts, conductors and links; `job()` hands them over."""

    def __init__(self, **said: str) -> None:
        self.parts: dict[str, Part] = {}
        self.terminals: dict[str, Terminal] = {}
        self.conductors: dict[str, Conductor] = {}
        self.links: list[Link] = []
        self.said = facts(**({"system": "12 V", "limits": "iso13297"} | said))
        self.used: set[str] = set()

    def part(self, kind: str, id: str, *, place: str | None = None, closed: bool = True, **said: str) -> str:
        ends = tuple(f"{id}.{end}" for end in ENDS[kind])
        contacts: tuple[Contact, ...] = ()
        if kind in ("fuse", "breaker", "switch", "shunt", "diode", "voltage-relay"):
            contacts = (Contact(id, "", ends[0], ends[1], KINDS.get(kind, kind), closed),)  # type: ignore[arg-type]
        elif kind == "relay":
            contacts = (Contact(id, "87", ends[0], ends[1], "relay", False),)
        self.parts[id] = Part(
            id=id, span=AT, facts=facts(**said), kind=kind, type=kind, place=place, terminals=ends, contacts=contacts
        )
        for end in ends:
            self.terminals[end] = Terminal(end, id, end[len(id) + 1 :], AT, False)
        return id

    def earth(self, id: str) -> None:
        self.parts[id] = Part(id=id, span=AT, kind="splice", type="splice", terminals=(id,))
        self.terminals[id] = Terminal(id, id, "", AT)

    def wire(self, a: str, b: str, size: str = "10 mm2", length: str = "1 m", id: str = "", **said: str) -> str:
        id = id or f"W{len(self.conductors) + 1}"
        self.conductors[id] = Conductor(id=id, span=AT, facts=facts(size=size, length=length, **said), from_=a, to=b)
        self.used |= {a, b}
        return id

    def link(self, a: str, b: str) -> None:
        self.links.append(Link(a, b, "joined", AT))
        self.used |= {a, b}

    def job(self, **more: object) -> Job:
        for id in self.used:
            t = self.terminals[id]
            self.terminals[id] = Terminal(t.id, t.part, t.name, t.span, True)
        return Job(
            path="by-hand.wnet",
            title="",
            span=None,
            facts=self.said,
            parts=self.parts,
            terminals=self.terminals,
            conductors=self.conductors,
            links=tuple(self.links),
            **more,  # type: ignore[arg-type]
        )
