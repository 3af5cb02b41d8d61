"""The fault dictionary of one operating case: what a meter would read everywhere, sound and with each single fault.

A fault in a joint is a resistance in a cut of the sound circuit (`reduced.py`); where switched parts change over, it
is one in the circuit as they then stand. What changes the circuit itself (a swap, a lead on a wrong post, a dead part,
a wrong setting) is solved from scratch, from the switching of the sound case on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from wiregen.circuit.assemble import Key
from wiregen.circuit.cases import State, in_case
from wiregen.circuit.figures import Figures
from wiregen.circuit.settle import ROUNDS, Rest, settle, switched
from wiregen.circuit.solve import Solution
from wiregen.circuit.standing import Brief, Stands, standing, stands, stood, strained
from wiregen.diagnosis.cuts import Cut, Cuts, way
from wiregen.diagnosis.faults import LEAST_OHM, MOST_OHM, Fault, planted
from wiregen.diagnosis.reduced import Answer, Reduced, Seen
from wiregen.model.job import Job

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Whole = NDArray[np.int_]

GRID = 8  # resistances at which a poor joint is solved, evenly by their logarithm
OHMS = tuple(LEAST_OHM * (MOST_OHM / LEAST_OHM) ** (k / (GRID - 1)) for k in range(GRID))
Logic = tuple[tuple[str, bool], ...]


class Signature(NamedTuple):
    """What a meter would read. `volts` by terminal [V], `islands` by terminal: between two islands it reads nothing;
    `amps` by channel [A]. `blown` are fuses that the fault opens, `unsteady` parts that go on and off or cannot hold
    up. `ohm` is that of a poor joint; `how` is `sound`, `low-rank` or `scratch`."""

    volts: Array
    islands: Whole
    amps: Array
    ohm: float | None = None
    blown: tuple[str, ...] = ()
    unsteady: tuple[str, ...] = ()
    logic: Logic = ()
    how: str = "sound"
    swing: tuple[Array, Array] | None = None  # of what goes on and off: half of what volts and amps swing through


class Context(NamedTuple):
    """The sound circuit with its switched parts as `logic` says."""

    reduced: Reduced
    cuts: Cuts
    switching: tuple[str, ...]  # terminals by whose voltages parts are switched
    rows: Whole  # terminal -> node
    offsets: Array
    islands: Whole
    branches: Whole  # channel -> branch, -1 where it has none there
    known: dict[Key, tuple[Cut | None, Seen | None]]


class Bench:
    """One case of a sound job, on which faults are tried. `solved` is false where the sound case has no answer.

    `thorough`: where a joint's fault finds no low-rank answer, it is solved from scratch; else it has none.
    """

    def __init__(self, job: Job, figures: Figures, state: State, *, thorough: bool = True) -> None:
        self.thorough = thorough
        self.state = _at_nominal(state)
        self.job, self.figures = job, figures
        self.rest: Rest = settle(job, figures, self.state)
        self.solved = self.rest.solution is not None
        self.terminals: dict[str, int] = {t: k for k, t in enumerate(job.terminals)}
        self.channels: dict[Key, int] = {}
        for id in job.conductors:
            self.channels["conductor", id] = len(self.channels)
        for part in job.parts.values():
            for contact in part.contacts:
                if contact.kind != "solid":
                    self.channels["contact", part.id, contact.name] = len(self.channels)
        if not self.solved:
            return
        self.kept = standing(in_case(job, self.state), figures, self.rest)
        self.logic = _frozen(self.rest.circuit.logic)
        self.between: frozenset[Key | str] | None = None  # from alternators to what they charge
        self.contexts: dict[Logic, Context | None] = {}
        context = self.context(self.logic)
        self.solved = context is not None
        if context is not None:
            answer = context.reduced.answer(None, None)
            self.solved = answer is not None
            if answer is not None:
                self.sound = self._signature(context, answer, None, self.logic)._replace(how="sound")

    # ------------------------------------------------------------ contexts

    def context(self, logic: Logic) -> Context | None:
        """The reduced circuit with the switched parts so, made once; None where it has no answer."""
        import numpy as np

        if logic in self.contexts:
            return self.contexts[logic]
        self.contexts[logic] = None
        circuit = stood(self.job, self.figures, self.state, self.kept, dict(logic))
        solver = Brief(circuit)
        solution, _ = solver.run()
        if solution is None:
            return None
        try:
            reduced = Reduced(circuit, solver, solution)
        except np.linalg.LinAlgError:
            return None
        of = solver.islands()
        names = {name: k for k, name in enumerate(dict.fromkeys(of.values()))}
        place = [solver.place.get(t, (-1, 0.0)) for t in self.terminals]
        at = {b.key: k for k, b in enumerate(circuit.branches)}
        keys = {id for id, _ in logic}
        found = Context(
            reduced,
            Cuts(in_case(self.job, self.state), solver),
            tuple(t for t, of_part in self.job.terminals.items() if of_part.part in keys),
            np.array([node for node, _ in place], dtype=int),
            np.array([offset for _, offset in place], dtype=float),
            np.array([names.get(of.get(t, ""), -1) for t in self.terminals], dtype=int),
            np.array([at.get(key, -1) for key in self.channels], dtype=int),
            {},
        )
        self.contexts[logic] = found
        return found

    # ------------------------------------------------------------ signatures

    def signatures(self, fault: Fault, ohms: Sequence[float] = OHMS) -> tuple[Signature, ...]:
        """One for each resistance that is tried of a poor joint, else one. Empty where no answer is found."""
        tried: Sequence[float | None] = ohms if fault.kind == "joint" else (None,)
        found = [self.signature(fault, ohm) for ohm in tried]
        return tuple(s for s in found if s is not None)

    def signature(self, fault: Fault, ohm: float | None) -> Signature | None:
        """The case with one fault."""
        if fault.at is not None and not (ohm is None and self._uncharged(fault.at)):
            found = self._by_cut(fault, fault.at, ohm)
            if found is not None or not self.thorough:
                return found
        return self.from_scratch(fault, ohm)

    def _uncharged(self, at: Key) -> bool:
        """Whether a break there may part an alternator from a battery that is held at its voltage."""
        if self.between is None:
            context = self.contexts[self.logic]
            alternators = [f"{part.id}.+" for part in self.job.parts.values() if part.kind == "alternator"]
            batteries = {f"{id}.+" for id in self.kept.charged}
            self.between = (
                way(context.reduced.circuit, alternators, batteries) if context and batteries else frozenset()
            )
        return at in self.between or (at[0] == "landing" and at[1] in self.between)

    def _by_cut(self, fault: Fault, at: Key, ohm: float | None) -> Signature | None:
        logic = self.logic
        states: dict[Logic, Signature] = {}
        while True:
            context = self.context(logic)
            if context is None:
                return None
            cut, seen = self._cut(context, at)
            if at[0] == "load":
                answer = context.reduced.without(at[1])
            elif cut is None or seen is None:
                answer = context.reduced.answer(None, None)
            else:
                answer = context.reduced.answer(seen, ohm)
            if answer is None:
                return None
            opened = cut if ohm is None else None
            wanted = self._wanted(context, answer, opened, logic)
            now = self._signature(context, answer, opened, logic)._replace(ohm=ohm)
            if wanted == logic:
                return now
            states[logic] = now
            if wanted in states or len(states) > ROUNDS:
                return self._swinging(now, states.get(wanted, now))
            logic = wanted

    def _swinging(self, one: Signature, other: Signature) -> Signature:
        """Where parts go on and off: the middle of both states, and half of what is between them."""
        before = dict(one.logic)
        moving = tuple(id for id, on in other.logic if before.get(id) != on and id in self.job.parts)
        return one._replace(
            volts=(one.volts + other.volts) / 2.0,
            amps=(one.amps + other.amps) / 2.0,
            unsteady=tuple(dict.fromkeys((*moving, *one.unsteady, *other.unsteady))),
            swing=((one.volts - other.volts) / 2.0, (one.amps - other.amps) / 2.0),
        )

    def _cut(self, context: Context, at: Key) -> tuple[Cut | None, Seen | None]:
        if at not in context.known:
            if at[0] == "load":
                context.known[at] = context.cuts.load(at[1]), None
            else:
                cut = context.cuts.landing(at[1]) if at[0] == "landing" else context.cuts.branch(at)
                context.known[at] = cut, (context.reduced.seen(cut) if cut else None)
        return context.known[at]

    def _wanted(self, context: Context, answer: Answer, opened: Cut | None, logic: Logic) -> Logic:
        if not logic:
            return logic
        reduced = context.reduced
        apart = opened.apart if opened else frozenset()
        lowest = min((reduced.volts(answer, t) for t in apart if t in self.terminals), default=0.0)
        voltages: dict[str, float | None] = {
            t: reduced.volts(answer, t) - (lowest if t in apart else 0.0) for t in context.switching
        }
        solution = _solution(reduced, answer, voltages)
        return _frozen(switched(in_case(self.job, self.state), self.figures, reduced.circuit, solution))

    def _signature(self, context: Context, answer: Answer, opened: Cut | None, logic: Logic) -> Signature:
        import numpy as np

        reduced = context.reduced
        volts = answer.nodes[context.rows] + context.offsets
        if answer.cut and answer.cut.terminals:
            beyond = [self.terminals[t] for t in answer.cut.terminals if t in self.terminals]
            volts[beyond] -= answer.beyond
        islands = context.islands
        if opened and opened.apart:
            apart = [self.terminals[t] for t in opened.apart if t in self.terminals]
            islands = islands.copy()
            islands[apart] += len(self.terminals)
            volts[apart] -= volts[apart].min() if apart else 0.0
        amps = np.append(reduced.branch_amps(answer), 0.0)[context.branches]
        unsteady = strained(reduced.circuit, _solution(reduced, answer, {}))
        return Signature(volts, islands, amps, None, (), unsteady, logic, "low-rank")

    def from_scratch(self, fault: Fault, ohm: float | None) -> Signature | None:
        """The same by changing the job and solving all of it again."""
        job, state = planted(self.job, self.state, fault, ohm)
        figures = Figures(job) if job is not self.job else self.figures
        kept = self.kept
        found = stands(job, figures, state, kept, dict(self.logic))
        return self.read(found, ohm)

    def read(self, found: Stands, ohm: float | None) -> Signature | None:
        """What a meter would read in a case that was solved from scratch."""
        import numpy as np

        solution = found.solution
        if solution is None:
            return None
        of = found.solver.islands()
        names = {name: k for k, name in enumerate(dict.fromkeys(of.values()))}
        volts, islands = np.zeros(len(self.terminals)), np.full(len(self.terminals), -1)
        for terminal, k in self.terminals.items():
            v = solution.voltages.get(terminal)
            volts[k] = 0.0 if v is None else v
            islands[k] = names.get(of.get(terminal, ""), -1) if v is not None else len(self.terminals) + k
        amps = np.array([solution.currents.get(key, 0.0) for key in self.channels])
        logic = _frozen(found.solver.circuit.logic)
        return Signature(volts, islands, amps, ohm, found.blown, found.unsteady, logic, "scratch")


def _at_nominal(state: State) -> State:
    """Sources that a case holds in a range stand in its middle."""
    held = {id: m._replace(low=m.value, high=m.value) for id, m in state.held.items()}
    return replace(state, held=held)


def _frozen(logic: Mapping[str, bool]) -> Logic:
    return tuple(logic.items())


def _solution(reduced: Reduced, answer: Answer, voltages: dict[str, float | None]) -> Solution:
    """As much of a solution as what switches parts looks at."""
    ports = [answer.ports[at:end].tolist() for at, end in reduced.slices]
    return Solution(voltages, {}, [], ports, (), 0.0, 0)
