"""Every fault of a case with its signatures, laid out as arrays, so that any reading is a column."""

from __future__ import annotations

from collections.abc import Sequence
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
    """One case. Rows are hypotheses: row 0 is the sound job, then each fault, a poor joint once for each resistance.

    `grid` has the first row and the number of rows of each fault, `owner` the number of each row's fault (-1: sound).
    """

    def __init__(
        self,
        job: Job,
        state: State,
        tried: Sequence[Fault] | None = None,
        ohms: Sequence[float] = OHMS,
        *,
        thorough: bool = True,
    ) -> None:
        import numpy as np

        self.job = job
        self.bench = Bench(job, Figures(job), state, thorough=thorough)
        self.faults: tuple[Fault, ...] = ()
        self.unknown: tuple[Fault, ...] = ()  # without an answer: nothing can be said of what they would read
        if not self.bench.solved:
            return
        found: list[Fault] = []
        unknown: list[Fault] = []
        rows: list[Signature] = [self.bench.sound]
        owner, resists = [-1], [0.0]
        grid: list[tuple[int, int]] = []
        for fault in tried if tried is not None else faults(job, self.bench.figures):
            signatures = self.bench.signatures(fault, ohms)
            if not signatures:
                unknown.append(fault)
                continue
            grid.append((len(rows), len(signatures)))
            for signature in signatures:
                rows.append(signature)
                owner.append(len(found))
                resists.append(signature.ohm or 0.0)
            found.append(fault)
        self.faults, self.unknown = tuple(found), tuple(unknown)
        self.rows: tuple[Signature, ...] = tuple(rows)
        self.grid = grid
        self.owner = np.array(owner, dtype=int)
        self.fine = _fine(grid, np.array(resists, dtype=float))
        self.volts = np.array([row.volts for row in rows])
        self.islands = np.array([row.islands for row in rows])
        self.amps = np.array([row.amps for row in rows])
        self.unsteady = np.array([bool(row.unsteady) for row in rows])
        none = np.zeros_like(rows[0].volts), np.zeros_like(rows[0].amps)
        self.volt_swing = np.array([(row.swing or none)[0] for row in rows])
        self.amp_swing = np.array([(row.swing or none)[1] for row in rows])
        self.volt_moves, self.amp_moves = tolerances(self.bench)

    def columns(self, taken: Sequence[Probe]) -> Columns:
        """Readings of all rows at some probes."""
        import numpy as np

        means = np.empty((len(self.rows), len(taken)))
        moves = np.zeros((len(taken), self.volt_moves.shape[1]))
        spread = np.empty_like(means)
        for k, probe in enumerate(taken):
            if probe.kind == "V":
                red, black = self.bench.terminals[probe.red], self.bench.terminals[probe.black]
                together = self.islands[:, red] == self.islands[:, black]
                means[:, k] = np.where(together, self.volts[:, red] - self.volts[:, black], 0.0)
                moves[k] = self.volt_moves[red] - self.volt_moves[black] if together[0] else 0.0
                swing = np.abs(self.volt_swing[:, red] - self.volt_swing[:, black])
            else:
                channel = self.channel(probe.red)
                means[:, k], moves[k] = self.amps[:, channel], self.amp_moves[channel]
                swing = np.abs(self.amp_swing[:, channel])
            part, least = METER[probe.kind]
            more = UNTOLD if probe.kind == "V" else 0.0
            swing = np.maximum(swing, UNSTEADY[probe.kind] * (np.abs(means[:, k] - means[0, k]) > least))
            swing = np.where(self.unsteady, np.maximum(swing, STRAINED * np.abs(means[:, k] - means[0, k])), 0.0)
            spread[:, k] = np.sqrt((part * means[:, k]) ** 2 + least**2 + more**2 + swing**2)
        scale = np.minimum(1.0, (np.abs(means) + spread) / (np.abs(means[:1]) + 1e-9))
        return Columns(means, spread, moves, scale)

    def swing(self, row: int, probe: Probe) -> float:
        """Half of what a reading swings through where parts go on and off. [V] or [A]"""
        if probe.kind == "A":
            return abs(float(self.amp_swing[row, self.channel(probe.red)]))
        red, black = self.bench.terminals[probe.red], self.bench.terminals[probe.black]
        return abs(float(self.volt_swing[row, red] - self.volt_swing[row, black]))

    def channel(self, id: str) -> int:
        """The channel of a conductor or of a part with one contact."""
        found = self.bench.channels.get(("conductor", id))
        if found is not None:
            return found
        return next(k for key, k in self.bench.channels.items() if key[0] == "contact" and key[1] == id)


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
