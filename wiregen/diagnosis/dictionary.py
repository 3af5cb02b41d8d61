"""Every fault of one or more cases with its signatures, laid out as arrays, so that any reading is a column."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from wiregen.circuit.cases import State
from wiregen.circuit.figures import Figures
from wiregen.diagnosis.faults import Fault, faults
from wiregen.diagnosis.points import Probe
from wiregen.diagnosis.signatures import OHMS, Bench, Signature
from wiregen.diagnosis.tolerances import tolerances
from wiregen.model.job import Job

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Whole = NDArray[np.int_]

FINE = 6  # steps between two resistances at which a joint is solved
METER = {"V": (0.01, 0.01), "A": (0.01, 0.1)}  # of the reading, and at least: one standard deviation [1], [V] or [A]
UNTOLD = 3e-3  # small drops that no netlist tells [V]
UNSTEADY = {"V": 0.1, "A": 0.3}  # how far a meter swings at least where a part cannot run steadily
STRAINED = 0.4  # of what such a fault changes: how far the reading may be off (both common practice, no source)
ANYTHING = {"V": 0.35, "A": 0.6}  # of what a sound job shows there: how far a fault with no answer may move a reading
LEAST_ANYTHING = {"V": 3.0, "A": 5.0}


class Columns(NamedTuple):
    """Readings of hypotheses: `means` by row and probe, `spread` what a meter and the unknown add by row and probe
    (one standard deviation), `moves` by probe and unknown of the job. `scale`, by row and probe, is how much of that a
    hypothesis has: where it leaves less voltage or current than the sound job has, that is less uncertain too."""

    means: Array
    spread: Array
    moves: Array
    scale: Array


class Fine(NamedTuple):
    """Hypotheses with resistances between those that were solved, by row: between the dictionary's rows `low` and
    `high`, `part` of the way. `owner` is the number of its fault (-1 the sound job), `share` its part of the fault's
    weight, `ohms` its resistance [ohm]."""

    low: Whole
    high: Whole
    part: Array
    owner: Whole
    share: Array
    ohms: Array

    def mixed(self, solved: Array, rows: Whole | None = None) -> Array:
        """What these rows have of something that the dictionary's rows have."""
        low, high, part = (x if rows is None else x[rows] for x in (self.low, self.high, self.part))
        part = part.reshape(-1, *[1] * (solved.ndim - 1))
        found: Array = solved[low] * (1.0 - part) + solved[high] * part
        return found

    def steps(self, solved: Array, rows: Whole | None = None) -> Array:
        """Its standard deviation within the step around each row: the resistance is anywhere in there."""
        low, high = (x if rows is None else x[rows] for x in (self.low, self.high))
        found: Array = (solved[high] - solved[low]) / (FINE * 12.0**0.5)
        return found


class Dictionary:
    """One or more cases of a job. Rows are hypotheses: row 0 is the sound job, then each fault, a poor joint once for
    each resistance. A fault is the same in every case, so that readings in several speak together.

    `grid` has the first row and the number of rows of each fault, `owner` the number of each row's fault (-1: sound).
    `benches` are the cases that have an answer, in the order asked for; `rows` has a signature by case and row, None
    where the fault has no answer in that case.
    """

    def __init__(
        self,
        job: Job,
        states: State | Sequence[State],
        tried: Sequence[Fault] | None = None,
        ohms: Sequence[float] = OHMS,
        *,
        thorough: bool = True,
    ) -> None:
        import numpy as np

        self.job = job
        figures = Figures(job)
        made = [Bench(job, figures, s, thorough=thorough) for s in ([states] if isinstance(states, State) else states)]
        self.benches = tuple(bench for bench in made if bench.solved)
        self.faults: tuple[Fault, ...] = ()
        self.unknown: tuple[Fault, ...] = ()  # without an answer: nothing can be said of what they would read
        if not self.benches:
            return
        found: list[Fault] = []
        unknown: list[Fault] = []
        rows: list[list[Signature | None]] = [[bench.sound] for bench in self.benches]
        owner, resists = [-1], [0.0]
        grid: list[tuple[int, int]] = []
        for fault in tried if tried is not None else faults(job, figures):
            first = len(owner)
            for ohm in ohms if fault.kind == "joint" else (None,):
                signatures = [bench.signature(fault, ohm) for bench in self.benches]
                if any(signature is not None for signature in signatures):
                    for of_case, signature in zip(rows, signatures, strict=True):
                        of_case.append(signature)
                    owner.append(len(found))
                    resists.append(ohm or 0.0)
            if len(owner) == first:
                unknown.append(fault)
                continue
            grid.append((first, len(owner) - first))
            found.append(fault)
        self.faults, self.unknown = tuple(found), tuple(unknown)
        self.rows = tuple(tuple(of_case) for of_case in rows)
        self.grid = grid
        self.owner = np.array(owner, dtype=int)
        self.fine = _fine(grid, np.array(resists, dtype=float))
        known: dict[object, int] = {}
        moves = [tolerances(bench) for bench in self.benches]
        for each in moves:
            for key in each:
                known.setdefault(key, len(known))
        self.readable = [
            _Readable(bench, of_case, each, known)
            for bench, of_case, each in zip(self.benches, self.rows, moves, strict=True)
        ]

    @property
    def bench(self) -> Bench:
        """That of the first case."""
        return self.benches[0]

    def columns(self, taken: Sequence[Probe], cases: Sequence[int] | None = None) -> Columns:
        """Readings of all rows at some probes, each in a case, by its number; all in the first without `cases`."""
        import numpy as np

        count = self.readable[0].volt_moves.shape[1]
        means = np.empty((len(self.owner), len(taken)))
        moves = np.zeros((len(taken), count))
        spread = np.empty_like(means)
        scale = np.empty_like(means)
        for k, probe in enumerate(taken):
            readable = self.readable[cases[k] if cases is not None else 0]
            means[:, k], swing, moves[k] = readable.of(probe)
            part, least = METER[probe.kind]
            more = UNTOLD if probe.kind == "V" else 0.0
            away = np.abs(means[:, k] - means[0, k])
            swing = np.maximum(swing, UNSTEADY[probe.kind] * (away > least))
            swing = np.where(readable.unsteady, np.maximum(swing, STRAINED * away), 0.0)
            spread[:, k] = np.sqrt((part * means[:, k]) ** 2 + least**2 + more**2 + swing**2)
            scale[:, k] = np.minimum(1.0, (np.abs(means[:, k]) + spread[:, k]) / (np.abs(means[0, k]) + 1e-9))
            spread[readable.missing, k] = max(ANYTHING[probe.kind] * abs(means[0, k]), LEAST_ANYTHING[probe.kind])
        return Columns(means, spread, moves, scale)

    def everywhere(self, taken: Sequence[Probe]) -> Columns:
        """Readings at all these probes in the first case, then in the second, and so on."""
        cases = range(len(self.benches))
        return self.columns([*taken] * len(cases), [case for case in cases for _ in taken])

    def swing(self, row: int, probe: Probe) -> float:
        """Half of what a reading swings through in the first case, where parts go on and off. [V] or [A]"""
        return float(self.readable[0].of(probe)[1][row])


class _Readable:
    """What a meter reads in one case: of each row of the dictionary; what each unknown of the job moves it by."""

    def __init__(
        self,
        bench: Bench,
        rows: Sequence[Signature | None],
        moves: Mapping[object, tuple[Array, Array]],
        known: Mapping[object, int],
    ) -> None:
        import numpy as np

        self.terminals, self.channels = bench.terminals, bench.channels
        self.missing = np.array([row is None for row in rows])
        there = [bench.sound if row is None else row for row in rows]
        self.volts = np.array([row.volts for row in there])
        self.islands = np.array([row.islands for row in there])
        self.amps = np.array([row.amps for row in there])
        self.unsteady = np.array([bool(row.unsteady) for row in there])
        none = np.zeros_like(bench.sound.volts), np.zeros_like(bench.sound.amps)
        self.volt_swing = np.array([(row.swing or none)[0] for row in there])
        self.amp_swing = np.array([(row.swing or none)[1] for row in there])
        self.volt_moves = np.zeros((len(self.terminals), len(known)))
        self.amp_moves = np.zeros((len(self.channels), len(known)))
        for key, (volts, amps) in moves.items():
            self.volt_moves[:, known[key]], self.amp_moves[:, known[key]] = volts, amps

    def of(self, probe: Probe) -> tuple[Array, Array, Array]:
        """By row what is read, and half of what it swings through; by unknown what moves it."""
        import numpy as np

        if probe.kind == "A":
            k = self.channel(probe.red)
            return self.amps[:, k], np.abs(self.amp_swing[:, k]), self.amp_moves[k]
        red, black = self.terminals[probe.red], self.terminals[probe.black]
        together = self.islands[:, red] == self.islands[:, black]
        means = np.where(together, self.volts[:, red] - self.volts[:, black], 0.0)
        moved = self.volt_moves[red] - self.volt_moves[black]
        swing = np.abs(self.volt_swing[:, red] - self.volt_swing[:, black])
        return means, swing, moved if together[0] else np.zeros_like(moved)

    def channel(self, id: str) -> int:
        """The channel of a conductor or of a part with one contact."""
        found = self.channels.get(("conductor", id))
        if found is not None:
            return found
        return next(k for key, k in self.channels.items() if key[0] == "contact" and key[1] == id)


def _fine(grid: Sequence[tuple[int, int]], ohms: Array) -> Fine:
    """Between any two resistances of a fault `FINE - 1` more."""
    import numpy as np

    low, high, part, owner, share = [[0]], [[0]], [[0.0]], [[-1]], [[1.0]]
    for number, (at, count) in enumerate(grid):
        steps = np.arange((count - 1) * FINE + 1)
        first = np.minimum(steps // FINE, max(count - 2, 0)) + at
        low.append(first.tolist())
        high.append(np.minimum(first + 1, at + count - 1).tolist())
        parts = (steps - (first - at) * FINE) / FINE
        part.append(parts.tolist())
        owner.append([number] * len(steps))
        share.append([1.0] if count == 1 else _evenly(ohms[low[-1]] * (1.0 - parts) + ohms[high[-1]] * parts).tolist())
    flat = [np.array([x for row in rows for x in row]) for rows in (low, high, part, owner, share)]
    found = Fine(flat[0], flat[1], flat[2], flat[3], flat[4], np.zeros(len(flat[0])))
    return found._replace(ohms=found.mixed(ohms))


def _evenly(ohms: Array) -> Array:
    """Shares of resistances that are spread evenly by their logarithm."""
    import numpy as np

    logs = np.log(ohms)
    edges = np.concatenate([logs[:1], (logs[1:] + logs[:-1]) / 2, logs[-1:]])
    width = np.diff(edges)
    found: Array = width / width.sum()
    return found
