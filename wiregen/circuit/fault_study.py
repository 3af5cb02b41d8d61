"""Bolted faults at both ends of every conductor: highest and lowest current, what clears them and how fast.

All sources feed, all switches are closed, loads are left out. Batteries are their open-circuit voltage behind their
resistance, whatever a case holds them at. Highest: full batteries, conductors at 20 degC; alternators, chargers and
panels on top, as voltages behind what lets their greatest current through. Lowest: weak batteries alone, conductors
as hot as their insulation bears. Of a length that is a range the highest fault takes the short end, the lowest the
long one.
Each network is factored once; every fault is then a few short sums (see `Plan.column`), not a solution of its own.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from heapq import heappop, heappush
from typing import NamedTuple

from wiregen.circuit.assemble import Branch, Circuit, assemble, charger_minus
from wiregen.circuit.cases import CHARGERS, LOADS, State
from wiregen.circuit.devices import Accumulator, Blocking, Limited
from wiregen.circuit.fault import clearing_time, withstand_time
from wiregen.circuit.figures import Figures
from wiregen.circuit.network import PROTECTIVE
from wiregen.circuit.panel import panel_figures
from wiregen.circuit.solve import Solver
from wiregen.circuit.study import Fault
from wiregen.circuit.wires import copper_at
from wiregen.model.job import Job

COLD = 20.0  # conductors in the highest fault [degC]
LEAST_OHM = 1e-6  # a protective device never resists less, so that its current can be told [ohm]
DEAD = 0.05  # below this open-circuit voltage a terminal is not fed [V]


def fault_study(job: Job, figures: Figures) -> tuple[Fault, ...]:
    """A fault at the `from` and the `to` end of each conductor, in the order of the file.

    The current of the fault, what clears it, within which time at the lowest current, and how long the conductor
    itself stands what it carries then. Where the end is not fed the currents are 0; without a clearing device the
    device and its time are None.
    """
    highest, lowest = Net(job, figures, weak=False), Net(job, figures, weak=True)
    guards = _guards(job, lowest.circuit)
    found = []
    for conductor in job.conductors.values():
        wire = figures.wire(conductor)
        for terminal in (conductor.from_, conductor.to):
            high, low = highest.fault(terminal), lowest.fault(terminal)
            if high is None or low is None:
                found.append(Fault(conductor.id, terminal, high.amps if high else 0.0, 0.0, None, None, None))
                continue
            device, seconds = _clearing(job, figures, lowest, low, guards, terminal)
            carried = lowest.through(low, ("conductor", conductor.id))
            stands = None
            if wire.area is not None and carried is not None and carried > 1.0:
                stands = withstand_time(current=carried, area=wire.area, k=figures.withstand_k(wire))
            found.append(Fault(conductor.id, terminal, high.amps, low.amps, device, seconds, stands))
    return tuple(found)


class Bolted(NamedTuple):
    """One fault: the negative post that it runs to, its current, and what its unit current does to the nodes."""

    minus: str
    amps: float | None  # None where nothing limits it
    column: Mapping[int, float]
    negative: Mapping[int, float]


class Net:
    """One of the two linear networks, factored. `opened` are protective devices that have opened."""

    def __init__(self, job: Job, figures: Figures, *, weak: bool, opened: Collection[str] = ()) -> None:
        self.circuit = _linear(job, figures, weak=weak, opened=opened)
        self.solver = Solver(self.circuit)
        self.solution, _ = self.solver.run()
        plan = self.solver.plan
        self.factors = plan.factor(list(self.solver.linear), 1.0) if self.solution else []
        self.branches = {b.key: b for b in (*self.circuit.branches, *self.circuit.ideal)}
        self.columns: dict[int, dict[int, float]] = {}
        self.own: dict[int, float] = {}  # node -> the diagonal entry of the inverse
        self.islands = self.solver.islands()
        self.negatives: dict[str, list[str]] = {}
        for branch in self.branches.values():
            if branch.key[0] == "part" and branch.volts:
                self.negatives.setdefault(self.islands[branch.b], []).append(branch.b)
        self.known: dict[str, Bolted | None] = {}

    def fault(self, terminal: str) -> Bolted | None:
        """A bolted fault from a terminal to the negative post of a source, the one that brings most current."""
        if terminal not in self.known:
            self.known[terminal] = self._fault(terminal)
        return self.known[terminal]

    def _fault(self, terminal: str) -> Bolted | None:
        if self.solution is None or terminal not in self.islands:
            return None
        best: Bolted | None = None
        for minus in self.negatives.get(self.islands[terminal], ()):
            found = self.between(terminal, minus)
            if found is not None and (best is None or _more(found, best)):
                best = found
        return best

    def between(self, terminal: str, minus: str) -> Bolted | None:
        """A bolted fault from one terminal to another; None where no voltage is between them."""
        if self.solution is None or self.islands.get(terminal, "") != self.islands.get(minus):
            return None
        high, low = self.solution.voltages.get(terminal), self.solution.voltages.get(minus)
        if high is None or low is None or high - low < DEAD:
            return None
        column, negative = self._column(terminal), self._column(minus)
        ohm = self._own(terminal, column) + self._own(minus, negative)
        ohm -= 2.0 * self._product(column, negative)
        return Bolted(minus, (high - low) / ohm if ohm > 1e-9 else None, column, negative)

    def _column(self, terminal: str) -> Mapping[int, float]:
        node = self.solver.place[terminal][0]
        if node < 0:
            return {}
        found = self.columns.get(node)
        if found is None:
            found = self.columns[node] = self.solver.plan.column(self.factors, node)
        return found

    def _own(self, terminal: str, column: Mapping[int, float]) -> float:
        node = self.solver.place[terminal][0]
        found = self.own.get(node)
        if found is None:
            found = self.own[node] = self._product(column, column)
        return found

    def _product(self, a: Mapping[int, float], b: Mapping[int, float]) -> float:
        """The entry of the inverse that two columns make. [ohm]"""
        if len(b) < len(a):
            a, b = b, a
        factors = self.factors
        return sum(value * b[k] / factors[k] for k, value in a.items() if k in b)

    def through(self, fault: Bolted, key: tuple[str, ...]) -> float | None:
        """Current of a branch in the fault, without its sign; None where it is ideal or not there. [A]"""
        flow = self.flow(fault, key)
        return None if flow is None else abs(flow)

    def flow(self, fault: Bolted, key: tuple[str, ...]) -> float | None:
        """Current of a branch in the fault, from its first end to its second; None as for `through`. [A]"""
        branch = self.branches.get(key)
        if branch is None or self.solution is None or fault.amps is None or branch.ohm < 1e-9:
            return None
        shift = 0.0
        for sign, terminal in ((1.0, branch.a), (-1.0, branch.b)):
            column = self._column(terminal)
            shift += sign * (self._product(column, fault.column) - self._product(column, fault.negative))
        return self.solution.currents[branch.key] - fault.amps * shift / branch.ohm


def _more(a: Bolted, b: Bolted) -> bool:
    return (float("inf") if a.amps is None else a.amps) > (float("inf") if b.amps is None else b.amps)


def _linear(job: Job, figures: Figures, *, weak: bool, opened: Collection[str] = ()) -> Circuit:
    """The network of the faults: sources as voltages behind resistances or as currents, no loads."""
    off = {p.id for p in job.parts.values() if p.kind in LOADS or p.kind in CHARGERS}
    switches = {"switch", "isolator", "breaker", "relay", "voltage-relay", "low-voltage-disconnect"}
    closed = {p.id: True for p in job.parts.values() if p.kind in switches}
    state = State(
        "faults", "", charge=figures.book.default("weak-state") if weak else 1.0, off=frozenset(off), closed=closed
    )
    circuit = assemble(job, figures, state, {})
    more = figures.book.default("weak-resistance")
    conductors: list[Branch] = []
    for branch in (*circuit.branches, *circuit.ideal):
        kind, id = branch.key[0], branch.key[1]
        if id in opened and kind in ("contact", "part"):
            continue
        if kind == "conductor":
            wire = figures.wire(job.conductors[id])
            length = job.conductors[id].number("length") or 1.0
            reach = (wire.high_length if weak else wire.low_length) / length
            branch.ohm = copper_at(wire._replace(ohm_20=wire.ohm_20 * reach), wire.insulation if weak else COLD)
        elif kind == "contact" and job.parts[id].kind in PROTECTIVE:
            branch.ohm = max(branch.ohm, LEAST_OHM)
        elif kind == "part" and job.parts[id].kind == "battery" and weak:
            branch.ohm *= more
        if kind != "cell":  # a panel's inside: it is a feeder here
            conductors.append(branch)
    circuit.branches, circuit.ideal = [], []
    for branch in conductors:
        circuit.add(branch.key, branch.a, branch.b, branch.ohm, branch.volts)
    devices, circuit.devices = circuit.devices, []
    for device in devices:
        port = device.ports[0]
        if isinstance(device, Accumulator):
            ohm = device.ohm * (more if weak else 1.0)
            circuit.add(("part", device.part), port.plus, port.minus, ohm, device.volts)
        elif isinstance(device, Blocking):
            contact = job.parts[device.part].contacts[0]
            circuit.add(("contact", device.part, contact.name), port.plus, port.minus, device.ohm)
        elif isinstance(device, Limited) and not weak:
            _feeder(circuit, device.part, port.plus, port.minus, device.regulator.volts, device.regulator.most)
    if not weak:
        for part in job.parts.values():
            rating = part.number("rating")
            if part.kind in CHARGERS and rating:
                volts, _ = figures.profile(part)
                _feeder(circuit, part.id, f"{part.id}.out.+", charger_minus(job, part, "out"), volts, rating)
            elif part.kind == "panel":
                voc, _, isc, _ = panel_figures(figures, part)
                _feeder(circuit, part.id, f"{part.id}.+", f"{part.id}.-", voc, isc)
    return circuit


def _feeder(circuit: Circuit, part: str, plus: str, minus: str, volts: float, amps: float) -> None:
    """A source that gives little more than its greatest current: its voltage behind what lets that through shorted."""
    if volts > 0 and amps > 0:
        circuit.add(("part", part), plus, minus, volts / amps, volts)


# ---------------------------------------------------------------- what clears


Chain = tuple[str, ...]


def _guards(job: Job, circuit: Circuit) -> dict[str, dict[str, Chain]]:
    """Battery -> terminal -> protective devices on the way of least resistance from its positive post."""
    graph: dict[str, list[tuple[str, float, str]]] = {}
    posts = {}
    for branch in (*circuit.branches, *circuit.ideal):
        kind, id = branch.key[0], branch.key[1]
        part = job.parts.get(id)
        if kind == "part" and part is not None and part.kind == "battery":
            posts[id] = branch.a
            continue
        guard = ""
        if part is not None and (
            (kind == "contact" and part.kind in PROTECTIVE) or (kind == "part" and part.kind == "feed")
        ):
            guard = id
        graph.setdefault(branch.a, []).append((branch.b, branch.ohm, guard))
        graph.setdefault(branch.b, []).append((branch.a, branch.ohm, guard))
    return {id: _chains(graph, post) for id, post in posts.items()}


def _chains(graph: Mapping[str, list[tuple[str, float, str]]], start: str) -> dict[str, Chain]:
    found: dict[str, Chain] = {}
    heap: list[tuple[float, int, str, Chain]] = [(0.0, 0, start, ())]
    turn = 0
    while heap:
        ohm, _, at, chain = heappop(heap)
        if at in found:
            continue
        found[at] = chain
        for other, more, guard in graph.get(at, ()):
            if other not in found:
                turn += 1
                heappush(heap, (ohm + more, turn, other, (*chain, guard) if guard else chain))
    return found


def _clearing(
    job: Job,
    figures: Figures,
    net: Net,
    fault: Bolted,
    guards: Mapping[str, Mapping[str, Chain]],
    terminal: str,
) -> tuple[str | None, float | None]:
    """The device that ends the fault and when, at the latest: of each battery the fastest device on its way, of all
    batteries the slowest. None where one of them is not cut off."""
    slowest: tuple[str | None, float | None] | None = None
    for chains in guards.values():
        chain = chains.get(terminal)
        if chain is None:
            continue
        device, seconds = None, None
        for id in chain:
            part = job.parts[id]
            rating = part.number("rating") or part.number("fused")
            key = ("part", id)
            if part.kind != "feed":
                key = ("contact", id, part.contacts[0].name)  # type: ignore[assignment]
            amps = net.through(fault, key)
            if not rating or amps is None:
                continue
            time = clearing_time(figures.gates(part), amps / rating, melts=part.kind != "breaker")
            if time is not None and (seconds is None or time < seconds):
                device, seconds = id, time
        if seconds is None:
            return None, None
        if slowest is None or seconds > (slowest[1] or 0.0):
            slowest = device, seconds
    return slowest or (None, None)
