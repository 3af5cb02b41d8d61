"""The reading that is worth most: what it is expected to tell of which fault it is, beside how hard it is to take.

Two hypotheses that a probe shows nearer than a few times its spread are one to it. How much it tells is the mutual
information of the fault and of what it shows so, in bits.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, NamedTuple

from wiregen.diagnosis.dictionary import Columns, Dictionary
from wiregen.diagnosis.likelihood import Belief
from wiregen.diagnosis.points import Probe

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

APART = 2.5  # standard deviations between two readings that a meter tells apart
LEAST = 1e-3  # belief in a row, beside the likeliest, that is worth asking about
MANY = 2000  # rows
PULL = 0.5  # how much the reach of a point counts beside what it tells


class Proposal(NamedTuple):
    """A reading to take: what it is expected to tell, in bits, and its worth beside its reach."""

    probe: Probe
    bits: float
    worth: float


def proposals(
    dictionary: Dictionary,
    belief: Belief,
    probes: Sequence[Probe],
    columns: Columns,
    taken: Collection[Probe] = (),
    count: int = 1,
) -> list[Proposal]:
    """The best readings, the best first; none where no reading tells anything. `columns` are those of `probes`."""
    import numpy as np

    fine = dictionary.fine
    rows = np.flatnonzero(belief.odds > LEAST * float(belief.odds.max()))
    if len(rows) > MANY:  # hardly anything is known: only resistances that were solved
        rows = np.flatnonzero((fine.part == 0.0) & (belief.odds > LEAST * LEAST * float(belief.odds.max())))
    weights = belief.odds[rows] / belief.odds[rows].sum()
    faults, owner = np.unique(fine.owner[rows], return_inverse=True)
    if len(faults) < 2:
        return []
    all_means, all_spread, all_scale = (fine.mixed(x, rows) for x in (columns.means, columns.spread, columns.scale))
    all_steps = fine.steps(columns.means, rows)
    known = {(p.kind, frozenset((p.red, p.black))) for p in taken}
    unknown = np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", columns.moves, belief.unknowns, columns.moves), 0.0))
    moved = belief.shifts[rows] @ columns.moves.T  # what is known of the unknowns already moves what is expected
    before = _entropy(np.bincount(owner, weights).astype(float))
    found = []
    for k, probe in enumerate(probes):
        if (probe.kind, frozenset((probe.red, probe.black))) in known:
            continue
        scale = all_scale[:, k]
        means = all_means[:, k] + moved[:, k] * scale
        sigma = np.sqrt(all_spread[:, k] ** 2 + (unknown[k] * scale) ** 2 + all_steps[:, k] ** 2)
        order = np.argsort(means, kind="stable")
        steps = np.diff(means[order]) / (APART * 0.5 * (sigma[order][1:] + sigma[order][:-1]))
        places = np.empty(len(rows))
        places[order] = np.concatenate([[0.0], np.cumsum(steps)])  # along the scale, in readings that can be told apart
        if float(places.max()) < 0.3:
            continue
        bits = 0.0
        for shift in (0.0, 0.5):
            _, cells = np.unique(np.floor(places + shift).astype(int), return_inverse=True)
            joint = np.zeros((int(cells.max()) + 1, len(faults)))
            np.add.at(joint, (cells, owner), weights)
            bits += 0.5 * (before + _entropy(joint.sum(1)) - _entropy(joint.ravel()))
        if bits > 1e-3:
            found.append(Proposal(probe, bits, bits / probe.reach**PULL))
    found.sort(key=lambda p: (-round(p.worth, 7), p.probe.words))
    return found[:count]


def _entropy(shares: Array) -> float:
    import numpy as np

    there = shares[shares > 1e-15]
    return float(-(there * np.log2(there)).sum())
