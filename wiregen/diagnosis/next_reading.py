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

APART = 3.0  # standard deviations between two readings that a meter tells apart
LEAST = 1e-3  # belief in a row that is worth asking about


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

    rows = np.flatnonzero(belief.rows > LEAST * max(float(belief.rows.max()), 1e-12))
    weights = belief.rows[rows]
    weights = weights / weights.sum()
    owner = dictionary.owner[rows]
    faults, owner = np.unique(owner, return_inverse=True)
    if len(faults) < 2:
        return []
    known = {(p.kind, frozenset((p.red, p.black))) for p in taken}
    unknown = np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", columns.moves, belief.unknowns, columns.moves), 0.0))
    before = _entropy(np.bincount(owner, weights).astype(float))
    found = []
    for k, probe in enumerate(probes):
        if (probe.kind, frozenset((probe.red, probe.black))) in known:
            continue
        means = columns.means[rows, k]
        own = columns.spread[rows, k]
        width = APART * np.sqrt(float((own * weights).sum()) ** 2 + float(unknown[k]) ** 2)
        if float(means.max() - means.min()) < 0.5 * width:
            continue
        bits = 0.0
        for shift in (0.0, 0.5):
            cells = np.floor(means / width + shift).astype(int)
            _, cells = np.unique(cells, return_inverse=True)
            joint = np.zeros((int(cells.max()) + 1, len(faults)))
            np.add.at(joint, (cells, owner), weights)
            bits += 0.5 * (before + _entropy(joint.sum(1)) - _entropy(joint.ravel()))
        if bits > 1e-3:
            found.append(Proposal(probe, bits, bits / probe.reach))
    found.sort(key=lambda p: (-round(p.worth, 9), p.probe.words))
    return found[:count]


def _entropy(shares: Array) -> float:
    import numpy as np

    there = shares[shares > 1e-15]
    return float(-(there * np.log2(there)).sum())
