"""One job as frozen data: what the netlist says, every name resolved, every value with its place in the text.

Nothing here computes. Kits are already unfolded, includes read, defaults of types, cables and `each` applied.
Ids are full ids as declared (`start.+`, `T1.F.out`), in the spelling of the declaration.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal, NamedTuple

from wiregen.findings import Span, Use
from wiregen.language.tree import Measure, Value

Origin = Literal["own", "type", "kit", "cable", "each", "change", "own-figures"]


class Fact(NamedTuple):
    """One fact: `max-charge 20 A` has the name max-charge and one value. A fact without values is a plain word."""

    name: str
    values: tuple[Value, ...]
    span: Span
    origin: Origin = "own"
    through: tuple[Use, ...] = ()

    @property
    def measure(self) -> Measure | None:
        """The first value as a number with its dimension, or None."""
        return self.values[0].measure if self.values else None

    @property
    def word(self) -> str:
        """The first value as text, `` where there is none."""
        return self.values[0].text if self.values else ""


Facts = Mapping[str, Fact]
NO_FACTS: Facts = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Named:
    """What parts, conductors and the rest have in common: an id, where it stands, its facts."""

    id: str
    span: Span  # of the name where it is declared
    title: str = ""
    facts: Facts = field(default_factory=dict)
    through: tuple[Use, ...] = ()

    def fact(self, name: str) -> Fact | None:
        """The fact of that name, or None where it is not said."""
        return self.facts.get(name)

    def has(self, name: str) -> bool:
        """Whether the fact is said."""
        return name in self.facts

    def measure(self, name: str) -> Measure | None:
        """The fact's first value as a number with its dimension."""
        fact = self.facts.get(name)
        return fact.measure if fact else None

    def number(self, name: str) -> float | None:
        """The fact's first value in the working unit of its dimension (A, V, ohm, m, mm2, Ah, W, degC, ratio)."""
        measure = self.measure(name)
        return measure.value if measure else None

    def word(self, name: str) -> str:
        """The fact's first value as a word; `` where it is not said."""
        fact = self.facts.get(name)
        return fact.word if fact else ""

    def words(self, name: str) -> tuple[str, ...]:
        """All values of the fact as words."""
        fact = self.facts.get(name)
        return tuple(v.text for v in fact.values) if fact else ()

    def where(self, name: str) -> Span:
        """Where the fact stands, or the name itself where it is not said."""
        fact = self.facts.get(name)
        return fact.span if fact else self.span


class Contact(NamedTuple):
    """Two terminals of one part that conduct inside it.

    kind: `fuse` and `breaker` protect; `switch` `relay` `pole` (of a connector) open and close; `shunt` `diode`;
    `solid` is one piece of metal (busbar studs, the common negative of a charger). `closed` is the state as built.
    A diode conducts from `a` to `b`.
    """

    part: str
    name: str  # of the pole or contact: `+`, `87`, or ``
    a: str
    b: str
    kind: Literal["fuse", "breaker", "switch", "relay", "pole", "shunt", "diode", "solid"]
    closed: bool = True


@dataclass(frozen=True, slots=True)
class Part(Named):
    """Anything with terminals. `kind` is the built-in kind behind `type`, the word in the netlist.

    A way fuse of a fuse block has `block` set to the block's id and `way` to its number. A part that the netlist
    implies (a way fuse, a load declared in a way row) stands where its words stand.
    """

    kind: str = ""
    type: str = ""
    place: str | None = None
    terminals: tuple[str, ...] = ()  # full ids, in the kind's order; studs in order of mention
    contacts: tuple[Contact, ...] = ()
    block: str | None = None
    way: str | None = None


class Leg(NamedTuple):
    """A stretch of a conductor's route in one place; `length_m` is None where the netlist does not split it."""

    place: str
    length_m: float | None
    span: Span


@dataclass(frozen=True, slots=True)
class Conductor(Named):
    """One insulated core from one terminal to another.

    Facts by canonical name: size, length, colour, material, insulation (degC), insulation-kind (thermoplastic,
    cross-linked, silicone), via, in, bundle, supplied, note, capped (why an end is stowed).
    `named` is false where the id is made up from the two ends.
    """

    from_: str = ""
    to: str = ""
    route: tuple[Leg, ...] = ()
    cable: str | None = None
    circuit: str | None = None
    named: bool = True
    from_span: Span | None = None  # where the path names the terminal it starts on, and the one it ends on
    to_span: Span | None = None

    @property
    def colours(self) -> tuple[str, ...]:
        """Insulation colours in order, lower case: () unknown, ("red",), ("green", "white")."""
        fact = self.facts.get("colour")
        return tuple(c.lower() for c in fact.word.split("/")) if fact else ()


class Link(NamedTuple):
    """Two terminals metal to metal. `why`: `joined` by a path, `mounted` with `on`, `mated` halves, `stud` of one
    post, `way` inside a fuse block, `dissolved` where a kit's end was."""

    a: str
    b: str
    why: Literal["joined", "mounted", "mated", "stud", "way", "dissolved"]
    span: Span
    through: tuple[Use, ...] = ()


class Terminal(NamedTuple):
    """A point on a part where a conductor lands, or an end in the air (`loose:W5`, `capped:W5`; part is ``)."""

    id: str
    part: str
    name: str  # within its part: `+`, `in.+`, `` for a part that is its own terminal
    span: Span  # where a path first names it, else its part's name
    used: bool = True  # named by a path or link


@dataclass(frozen=True, slots=True)
class Place(Named):
    """Where parts sit and conductors run. Facts: ambient (degC), wet, space (lived-in, closed)."""


@dataclass(frozen=True, slots=True)
class Body(Named):
    """A chassis: `bonded` (carries return current) or `isolated` (must not). Facts: state, resistance."""

    earths: tuple[str, ...] = ()  # terminals joined to it, earth parts and terminals that land on it directly


@dataclass(frozen=True, slots=True)
class Circuit(Named):
    """A named group of paths. `from_` and `to` are the two ends of its first path; `members` parts and conductors."""

    from_: str = ""
    to: str = ""
    members: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Cable(Named):
    """Cores in one sheath. Facts: size, length, cores, screen, via, in ..."""

    cores: tuple[str, ...] = ()  # conductor ids


class Limit(NamedTuple):
    """A limit of voltage drop from a source to ports, parts or a group. `drop` and `of_v` in working units."""

    ratio: float
    span: Span
    from_: str | None  # part or terminal id; None: the default for all (own-figures)
    to: tuple[str, ...]  # parts, ports, terminals or a group's name, as resolved ids
    named: bool  # names its ports one by one (and so wins over one for a group)
    of_v: float | None = None
    through: tuple[Use, ...] = ()


class Setting(NamedTuple):
    """One thing that a case sets. `verb`: on off open closed apart pulled broken, `volts`, `facts`, `ambient`, `sun`.

    `targets` are ids (groups and ranges already spread out), one empty one for the sun. `measure` holds the volts, the
    temperature of a place or the share of full sun; `facts` the facts of a block (`start { charge 70 % }`).
    """

    verb: str
    targets: tuple[str, ...]
    span: Span
    measure: Measure | None = None
    facts: Facts = NO_FACTS


class Case(NamedTuple):
    """An operating case of the job. Settings in the order in which they act, those of the cases it is like first.

    `like` names the tool's own case that it starts from (`driving`, `cranking` ...), `` where there is none.
    """

    name: str
    title: str
    settings: tuple[Setting, ...]
    span: Span
    like: str = ""


class OwnFigures(NamedTuple):
    """The job's own figures in place of the catalogue's. Facts: tail, resistivity, conductor-temperature, joints ...

    `ampacity` rows are (size, amps); `voltages` by part id.
    """

    title: str
    span: Span
    facts: Facts
    ampacity: tuple[tuple[Measure, Measure, Span], ...] = ()
    voltages: Mapping[str, Measure] = MappingProxyType({})


class Accept(NamedTuple):
    """An accepted finding: one rule on one subject, with a reason."""

    rule: str
    subject: str
    because: str
    by: str | None
    until: str | None
    span: Span


class Note(NamedTuple):
    """A remark on anything named; `audience` is `` for everyone or `trainer`."""

    subject: str
    text: str
    audience: str
    span: Span


class Revision(NamedTuple):
    """One revision of the job."""

    name: str
    date: str
    text: str
    by: str
    span: Span


class Stage(NamedTuple):
    """One step of the installation: what is new in it. `rest` is true for 'all that is left'; `own` are those of the
    members that it names by themselves, not by their circuit or group."""

    number: str
    title: str
    members: tuple[str, ...]
    rest: bool
    span: Span
    own: tuple[str, ...] = ()


class Step(NamedTuple):
    """One word of a planted fault or a worksheet with what it applies to, kept for the teaching room.

    `facts` are those of a `change`. `targets` are the ids that it names: of a `move` the conductor, the terminal that
    it leaves, and the one where it lands or `loose`; of an `expect` the subject.
    """

    verb: str
    values: tuple[Value, ...]
    span: Span
    facts: Facts = NO_FACTS
    targets: tuple[str, ...] = ()


class Lesson(NamedTuple):
    """A `fault` or a `worksheet`: a layer over the job. `kind` tells which."""

    kind: Literal["fault", "worksheet"]
    name: str
    title: str
    steps: tuple[Step, ...]
    span: Span


class Hint(NamedTuple):
    """A hint for the drawing: `row` with part ids in order, or `sheet` with number, title and members."""

    kind: str
    number: str
    title: str
    members: tuple[str, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Job:
    """One installation. Mappings keep the order of the file; `order` names parts and conductors in that order."""

    path: str
    title: str
    span: Span | None
    facts: Facts = field(default_factory=dict)  # of the job line: customer, system, limits, drawn-by ...
    parts: Mapping[str, Part] = field(default_factory=dict)
    terminals: Mapping[str, Terminal] = field(default_factory=dict)
    conductors: Mapping[str, Conductor] = field(default_factory=dict)
    links: tuple[Link, ...] = ()
    places: Mapping[str, Place] = field(default_factory=dict)
    bodies: Mapping[str, Body] = field(default_factory=dict)
    cables: Mapping[str, Cable] = field(default_factory=dict)
    bundles: Mapping[str, Named] = field(default_factory=dict)
    circuits: Mapping[str, Circuit] = field(default_factory=dict)
    groups: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    stacks: Mapping[str, tuple[str, ...]] = field(
        default_factory=dict
    )  # terminal -> conductors and parts, post outward
    limits: tuple[Limit, ...] = ()
    cases: Mapping[str, Case] = field(default_factory=dict)
    own_figures: OwnFigures | None = None
    accepts: tuple[Accept, ...] = ()
    notes: tuple[Note, ...] = ()
    revisions: tuple[Revision, ...] = ()
    stages: tuple[Stage, ...] = ()
    lessons: tuple[Lesson, ...] = ()
    hints: tuple[Hint, ...] = ()
    kits: Mapping[str, str] = field(default_factory=dict)  # name of each kit in use -> kit's name
    joints: Mapping[str, float] = field(default_factory=dict)  # planted: terminal, pole `X1.+` or conductor -> ohm more
    complete: bool = True  # false where a mistake made part of the text unreadable

    def part_of(self, terminal: str) -> Part | None:
        """The part a terminal is on; None for an end in the air."""
        at = self.terminals.get(terminal)
        return self.parts.get(at.part) if at else None
