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
UNSTEADY = {"V": 1.0, "A": 3.0}  # how far a meter swings where a part goes on and off (common practice, no source)


class Columns(NamedTuple):
    """Readings of all hypotheses: `means` by row and probe, `spread` what a meter and the unknown add by row and probe
    (one standard deviation), `moves` by probe and unknown of the job."""

    means: Array
    spread: Array
    moves: Array


class Dictionary:
    """One case. Rows are hypotheses: row 0 is the sound job, then each fault, a poor joint once for each resistance.

    `owner` is the number of each row's fault (-1 the sound job), `share` the part of its fault's weight.
    """

    def __init__(self, job: Job, state: State, figures: Figures | None = None, tried: Sequence[Fault] | None = None):
        import numpy as np

        self.job = job
        self.bench = Bench(job, figures or Figures(job), state)
        self.faults: tuple[Fault, ...] = ()
        self.unknown: tuple[Fault, ...] = ()  # without an answer: nothing can be said of what they would read
        if not self.bench.solved:
            return
        found: list[Fault] = []
        unknown: list[Fault] = []
        rows: list[Signature] = [self.bench.sound]
        owner, share, ohms, grid = [-1], [1.0], [0.0], []
        for fault in tried if tried is not None else faults(job, self.bench.figures):
            signatures = self.bench.signatures(fault)
            if not signatures:
                unknown.append(fault)
                continue
            grid.append((len(rows), len(signatures)))
            for signature in signatures:
                rows.append(signature)
                owner.append(len(found))
                share.append(1.0 / len(signatures))
                ohms.append(signature.ohm or 0.0)
            found.append(fault)
        self.faults, self.unknown = tuple(found), tuple(unknown)
        self.rows: tuple[Signature, ...] = tuple(rows)
        self.grid = grid  # of each fault: its first row, how many
        self.owner = np.array(owner, dtype=int)
        self.share = np.array(share, dtype=float)
        self.ohms = np.array(ohms, dtype=float)
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
                swing = np.hypot(self.volt_swing[:, red], self.volt_swing[:, black])
            else:
                channel = self.channel(probe.red)
                means[:, k], moves[k] = self.amps[:, channel], self.amp_moves[channel]
                swing = self.amp_swing[:, channel]
            part, least = METER[probe.kind]
            more = UNTOLD if probe.kind == "V" else 0.0
            swing = np.where(self.unsteady, np.maximum(swing, UNSTEADY[probe.kind]), 0.0)
            spread[:, k] = np.sqrt((part * means[:, k]) ** 2 + least**2 + more**2 + swing**2)
        return Columns(means, spread, moves)

    def channel(self, id: str) -> int:
        """The channel of a conductor or of a part with one contact."""
        found = self.bench.channels.get(("conductor", id))
        if found is not None:
            return found
        return next(k for key, k in self.bench.channels.items() if key[0] == "contact" and key[1] == id)

    def fine(self, columns: Columns) -> tuple[Columns, Whole, Array, Array]:
        """The same with resistances between those that were solved: columns, owner, share, ohms of the rows."""
        import numpy as np

        means, spread = [columns.means[:1]], [columns.spread[:1]]
        owner, share, ohms = [np.array([-1])], [np.array([1.0])], [np.zeros(1)]
        between = np.arange(FINE) / FINE
        for number, (at, count) in enumerate(self.grid):
            m, s, o = columns.means[at : at + count], columns.spread[at : at + count], self.ohms[at : at + count]
            if count > 1:
                left, many = (1.0 - between)[None, :, None], (count - 1) * FINE
                m = np.concatenate([(m[:-1, None] * left + m[1:, None] * (1 - left)).reshape(many, m.shape[1]), m[-1:]])
                s = np.concatenate([(s[:-1, None] * left + s[1:, None] * (1 - left)).reshape(many, m.shape[1]), s[-1:]])
                flat = left[:, :, 0]
                o = np.concatenate([(o[:-1, None] * flat + o[1:, None] * (1 - flat)).reshape(-1), o[-1:]])
            means.append(m)
            spread.append(s)
            owner.append(np.full(len(m), number))
            share.append(_evenly(o) if len(o) > 1 else np.ones(1))
            ohms.append(o)
        fine = Columns(np.concatenate(means), np.concatenate(spread), columns.moves)
        return fine, np.concatenate(owner), np.concatenate(share), np.concatenate(ohms)

    def resistances(self) -> tuple[float, ...]:
        """At which a poor joint is solved. [ohm]"""
        return OHMS


def _evenly(ohms: Array) -> Array:
    """Shares of resistances that are spread evenly by their logarithm."""
    import numpy as np

    logs = np.log(ohms)
    edges = np.concatenate([logs[:1], (logs[1:] + logs[:-1]) / 2, logs[-1:]])
    width = np.diff(edges)
    found: Array = width / width.sum()
    return found
