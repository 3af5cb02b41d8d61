"""The point to measure next: what it is expected to tell of which fault it is, beside how hard it is to get at.

The leads stay on a point while the vehicle is put into one case after the other (a key turned, a lamp switched on): a
point is offered with each case that adds to what it tells. How much that is, in bits, is the mutual information of the
fault and of all readings at the point, estimated from how far apart each two hypotheses put them: the mixture's entropy
by pairwise distances (Kolchinsky and Tracey, Entropy 19, 2017, 361; from memory).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, NamedTuple

from wiregen.diagnosis.dictionary import Columns, Dictionary
from wiregen.diagnosis.likelihood import Belief, unseen
from wiregen.diagnosis.points import Probe
from wiregen.diagnosis.readings import Reading

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Whole = NDArray[np.int_]

APART = 2.5  # standard deviations between two readings that a meter tells apart: for a first look at all points
NEAR = (
    0.2  # of the squared distance of two hypotheses: between the lower bound (1/8) and the upper (1/2) of the estimate
)
DRAWN = 500  # hypotheses that stand for all, each for as much belief
CLOSER = 24  # points that are looked at closely
CHUNK = 48  # points that are looked at together
ANOTHER = 0.08  # bits that another case at the same point has to add
HIDDEN = 0.05  # how much what no reading shows counts beside what can be found
PULL = 0.1  # how much the reach of a point counts beside what it tells


class Proposal(NamedTuple):
    """A point to measure at, and the cases to read it in, by their number, the one that tells most first: what is
    expected to be told, in bits, and its worth beside the point's reach."""

    probe: Probe
    cases: tuple[int, ...]
    bits: float
    worth: float


class _Told(NamedTuple):
    """What hypotheses read, each by probe and case, with its standard deviation. `own` is the share that each other
    hypothesis has of the fault of each, 0 of another fault."""

    owner: Whole
    weights: Array
    own: Array
    means: Array
    sigma: Array


def proposals(
    dictionary: Dictionary,
    belief: Belief,
    probes: Sequence[Probe],
    columns: Columns,
    taken: Collection[Reading] = (),
    passed: Collection[tuple[Probe, str]] = (),
    count: int = 1,
) -> list[Proposal]:
    """The best points, the best first; none where no reading tells anything.

    `columns` are those of all `probes`, in the dictionary's first case, then in its second and so on. Nothing is
    proposed again that was `taken` or `passed`: a point in a case, or in any case where that is empty.
    """
    import numpy as np

    rows, weights = _drawn(belief.odds * _told_of(dictionary, columns))
    faults, owner = np.unique(dictionary.fine.owner[rows], return_inverse=True)
    if len(faults) < 2:
        return []
    told = _told(dictionary, belief, columns, rows, owner, weights)
    cases = len(dictionary.benches)
    names = [bench.state.name for bench in dictionary.benches]
    known = {(*_points(r.probe), names.index(r.case) if r.case else 0) for r in taken}
    known |= {(*_points(p), c) for p, case in passed for c in range(cases) if case in ("", names[c])}
    free = np.array([[(*_points(p), c) not in known for p in probes] for c in range(cases)])
    roughly = np.where(free, _roughly(told).reshape(cases, len(probes)), 0.0)
    pull = np.array([probe.reach for probe in probes]) ** PULL
    first = np.argsort(-(roughly.max(0) + 0.5 * (roughly.sum(0) - roughly.max(0))) / pull, kind="stable")
    found = []
    for k in first[:CLOSER]:
        offered = [c for c in range(cases) if roughly[c, k] > 1e-3]
        chosen, bits = _cases(told, len(probes), int(k), offered)
        if chosen:
            found.append(Proposal(probes[k], chosen, bits, bits / float(pull[k])))
    found.sort(key=lambda p: (-round(p.worth, 7), p.probe.words))
    return found[:count]


def _points(probe: Probe) -> tuple[str, frozenset[str]]:
    return probe.kind, frozenset((probe.red, probe.black))


def _told_of(dictionary: Dictionary, columns: Columns) -> Array:
    """By fine row how much it counts: what no reading shows, the sound job too, less than what can be found."""
    import numpy as np

    return np.where(unseen(columns)[dictionary.fine.low], HIDDEN, 1.0)


def _drawn(odds: Array) -> tuple[Whole, Array]:
    """Hypotheses that stand for all of them, and their shares: evenly along the summed belief, so that no chance is in
    it."""
    import numpy as np

    if np.count_nonzero(odds > 1e-6 * odds.max()) <= DRAWN:
        rows = np.flatnonzero(odds > 1e-6 * odds.max())
        return rows, odds[rows] / odds[rows].sum()
    total = np.cumsum(odds)
    at = (np.arange(DRAWN) + 0.5) / DRAWN * total[-1]
    rows, counts = np.unique(np.searchsorted(total, at), return_counts=True)
    return rows, counts / DRAWN


def _told(dictionary: Dictionary, belief: Belief, columns: Columns, rows: Whole, owner: Whole, weights: Array) -> _Told:
    import numpy as np

    fine = dictionary.fine
    means, spread, scale = (fine.mixed(x, rows) for x in (columns.means, columns.spread, columns.scale))
    unknown = np.einsum("ij,jk,ik->i", columns.moves, belief.unknowns, columns.moves)
    means += (belief.shifts[rows] @ columns.moves.T) * scale  # what is known of the unknowns already moves it
    variance = spread**2 + np.maximum(unknown, 0.0) * scale**2 + fine.steps(columns.means, rows) ** 2
    shares = weights / np.bincount(owner, weights)[owner]
    own: Array = np.where(owner[:, None] == owner[None], shares[None], 0.0).astype(np.float32)
    return _Told(owner, weights, np.asarray(own), means, np.sqrt(variance))


def _roughly(told: _Told) -> Array:
    """Bits that each reading tells, where two hypotheses that it shows nearer than `APART` are one to it."""
    import numpy as np

    order = np.argsort(told.means, axis=0, kind="stable")
    means, sigma = (np.take_along_axis(x, order, 0) for x in (told.means, told.sigma))
    steps = np.diff(means, axis=0) / (APART * 0.5 * (sigma[1:] + sigma[:-1]))
    places = np.vstack([np.zeros((1, means.shape[1])), np.cumsum(steps, axis=0)])  # of the sorted
    faults = int(told.owner.max()) + 1
    before = float(_entropies(np.bincount(told.owner, told.weights, faults).astype(float)[None])[0])
    found = np.zeros(means.shape[1])
    telling = np.flatnonzero(places[-1] >= 0.3)
    for some in (telling[at : at + CHUNK] for at in range(0, len(telling), CHUNK)):
        owner, weights = told.owner[order[:, some]], told.weights[order[:, some]]
        for shift in (0.0, 0.5):
            whole = np.floor(places[:, some] + shift)
            cells = np.vstack([np.zeros((1, len(some)), int), np.cumsum(whole[1:] > whole[:-1], axis=0)])
            count = int(cells.max()) + 1
            at = ((np.arange(len(some)) * count + cells) * faults + owner).ravel()
            joint = np.bincount(at, weights.ravel(), len(some) * count * faults).astype(float)
            joint = joint.reshape(len(some), count, faults)
            found[some] += 0.5 * (before + _entropies(joint.sum(2)) - _entropies(joint.reshape(len(some), -1)))
    return found


def _entropies(shares: Array) -> Array:
    """Of each row."""
    import numpy as np

    found: Array = -(shares * np.log2(np.maximum(shares, 1e-300))).sum(1)
    return found


def _cases(told: _Told, probes: int, k: int, offered: Sequence[int]) -> tuple[tuple[int, ...], float]:
    """The cases to read a point in: the one that tells most, then each that adds enough to those before it."""
    import numpy as np

    chosen: tuple[int, ...] = ()
    bits = 0.0
    distance: Array = np.zeros(1, dtype=np.float32)
    distances = {c: _distance(told, c * probes + k) for c in offered}
    while len(chosen) < len(offered):
        tried = [(_bits(told, distance + distances[c]), -c) for c in offered if c not in chosen]
        best, c = max(tried)
        if best < bits + (ANOTHER if chosen else 1e-3):
            break
        chosen, bits, distance = (*chosen, -c), best, distance + distances[-c]
    return chosen, bits


def _distance(told: _Told, k: int) -> Array:
    """How far apart each two hypotheses put a reading: the square of it in standard deviations."""
    import numpy as np

    means, variance = told.means[:, k].astype(np.float32), (told.sigma[:, k] ** 2).astype(np.float32)
    found: Array = (means[:, None] - means[None]) ** 2 / (0.5 * (variance[:, None] + variance[None]))
    return found


def _bits(told: _Told, distance: Array) -> float:
    """Mutual information of the fault and of readings with such distances."""
    import numpy as np

    near = np.exp(-NEAR * distance)
    own = np.einsum("ij,ij->i", near, told.own)
    return float((told.weights * np.log2(own / (near @ told.weights.astype(np.float32)))).sum())
