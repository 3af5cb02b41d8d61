"""The computed job as data: what `study` returns, what rules, layout, drawing and papers ask.

Signs: a conductor's current is positive from `from_` to `to`, its drop is V(from_) - V(to); a part's current is
positive into `in` or `+`. Voltages are against the negative post of the start battery (else of the first battery);
a floating island has a reference of its own. None is unknown.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal, NamedTuple

from wiregen.circuit.network import Network
from wiregen.model.job import Job


class Assumption(NamedTuple):
    """A figure that the netlist does not give and the study took: never silently."""

    subject: str  # id of a part or conductor, or `job`
    quantity: str
    value: float | str
    unit: str
    basis: str  # source, and 'from memory' where it was not read


class Flow(NamedTuple):
    """A conductor in one case."""

    current_a: float | None
    drop_v: float | None
    resistance_ohm: float | None
    temperature_c: float | None
    ampacity_a: float | None


class Trouble(NamedTuple):
    """Why a case has no steady answer: which part cannot hold up, or hunts, and why."""

    part: str | None
    words: str


class CaseResult(NamedTuple):
    """One operating case, solved. Where `solved` is false the numbers are None and `troubles` says why."""

    name: str
    title: str
    solved: bool
    voltages: Mapping[str, float | None]  # terminal -> V
    flows: Mapping[str, Flow]  # conductor -> Flow
    parts: Mapping[str, Mapping[str, float | None]]  # part -> quantity with its unit in the key
    contacts: Mapping[tuple[str, str], float | None]  # (part, contact name) -> A, positive from a to b
    troubles: tuple[Trouble, ...] = ()
    ranged: tuple[str, ...] = ()  # sources held in a range: each current is the larger of both ends, V of the low end
    references: tuple[str, ...] = ()  # terminals held at 0 V, one an island, the main one first
    insisted: Literal["", "kept on", "wanted"] = ""  # solved as it would be if a part ran on: `insist.py`
    closed: Mapping[tuple[str, str], bool] = MappingProxyType({})  # (part, contact name) -> whether it is


class Supply(NamedTuple):
    """The drop from a source to a port in one case, both legs, everything on the way."""

    case: str
    from_: str
    to: str  # port or part
    drop_v: float | None
    drop_ratio: float | None
    of_v: float
    limit_ratio: float | None
    path: tuple[str, ...]  # conductors and parts out and back, in order
    basis: str  # of the limit
    nominal_drop_v: float | None = None  # where lengths or voltages are ranges: `drop_v` is then the worst of them
    losses: Mapping[str, float] = MappingProxyType({})  # each of `path`, `joint at X` -> V of the nominal drop

    @property
    def taker(self) -> str:
        """The part that `to` is a port of: dcdc of dcdc.in."""
        return self.to.removesuffix(".in")


class Fault(NamedTuple):
    """A bolted fault between a conductor's end and the negative of its island."""

    conductor: str
    terminal: str
    max_current_a: float | None
    min_current_a: float | None
    cleared_by: str | None
    clearing_s: float | None
    withstand_s: float | None


@dataclass(frozen=True, slots=True)
class Study:
    """Everything computed about one job."""

    job: Job
    network: Network
    cases: tuple[CaseResult, ...]
    supplies: tuple[Supply, ...]
    faults: tuple[Fault, ...]
    energy: Mapping[str, float | None]
    assumptions: tuple[Assumption, ...]
    ampacities: Mapping[str, float | None] = field(default_factory=dict)  # conductor -> A, in its hottest place
    ampacity_basis: Mapping[str, str] = field(default_factory=dict)
    remedies: bool = True  # whether rules are to compute the job again for the size that passes; a drawing shows none
