"""Which faults explain the readings: a likelihood for each hypothesis, by it and the priors a share of belief.

The readings of a hypothesis are normally distributed about the computed ones, with the meter's own spread and what
lengths, battery states and draws add, their common part kept (one covariance for all readings together).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from wiregen.diagnosis.dictionary import METER, Dictionary
from wiregen.diagnosis.faults import Fault
from wiregen.diagnosis.readings import Reading

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Whole = NDArray[np.int_]

NOTHING = 0.03  # belief beforehand that nothing is wrong: somebody has a reason to look (common practice, no source)
ELSE = 0.02  # that it is none of the faults tried, or several at once (common practice, no source)
ANYTHING = {"V": 0.35, "A": 0.6}  # of what a sound job shows there: how far any other fault may move a reading
LEAST_ANYTHING = {"V": 1.0, "A": 3.0}


class Belief(NamedTuple):
    """Shares of belief that add up to 1. `faults` by fault of the dictionary, `ohms` the likeliest resistance of each
    [ohm], `rows` by row of the dictionary (row 0 is the sound job), `moves` is the spread of the unknowns that the
    readings leave, as a factor of their covariance."""

    faults: Array
    ohms: Array
    nothing: float
    other: float
    rows: Array
    unknowns: Array

    def best(self) -> list[int]:
        """Faults, the likeliest first."""
        import numpy as np

        return [int(k) for k in np.argsort(-self.faults, kind="stable")]


Factor = Callable[[int], float]


def believe(dictionary: Dictionary, readings: Sequence[Reading], symptom: Array | None = None) -> Belief:
    """What the readings leave of each fault. `symptom`: a factor for each row of the dictionary."""
    import numpy as np

    prior = np.array([fault.weight for fault in dictionary.faults])
    prior = prior / prior.sum() * (1.0 - NOTHING - ELSE) if len(prior) else prior
    coarse = dictionary.columns([r.probe for r in readings])
    fine, owner, share, ohms = dictionary.fine(coarse)
    values = np.array([r.value for r in readings])
    log = _normal(values, fine.means, fine.spread, fine.moves)
    factor = np.ones(len(owner)) if symptom is None else _spread_out(dictionary, symptom)
    weight = np.where(owner >= 0, prior[owner] if len(prior) else 0.0, NOTHING) * share * factor
    score = log + np.log(np.maximum(weight, 1e-300))
    other = float(np.log(ELSE)) + _anything(dictionary, readings)
    top = max(float(score.max()), other)
    odds = np.exp(score - top)
    rest = float(np.exp(other - top))
    total = float(odds.sum()) + rest
    odds /= total
    faults = np.zeros(len(dictionary.faults))
    np.add.at(faults, owner[1:], odds[1:])
    best = np.zeros(len(dictionary.faults))
    rows = np.zeros(len(dictionary.rows))
    rows[0] = odds[0]
    at = 1
    for number, (first, count) in enumerate(dictionary.grid):
        many = 1 if count == 1 else len(_slice(owner, number))
        mine = odds[at : at + many]
        best[number] = ohms[at + int(mine.argmax())] if count > 1 else 0.0
        near = (
            np.abs(np.log(ohms[at : at + many, None] / dictionary.ohms[None, first : first + count])).argmin(1)
            if (count > 1)
            else np.zeros(1, dtype=int)
        )
        np.add.at(rows, first + near, mine)
        at += many
    return Belief(faults, best, float(odds[0]), rest / total, rows, _left(coarse.moves, coarse.spread[0]))


def _slice(owner: Whole, number: int) -> Whole:
    import numpy as np

    found: Whole = np.flatnonzero(owner == number)
    return found


def _normal(values: Array, means: Array, spread: Array, moves: Array) -> Array:
    """Logarithm of the likelihood of each row."""
    import numpy as np

    if not len(values):
        return np.zeros(len(means))
    common = moves @ moves.T
    cover = common[None] + np.einsum("ij,jk->ijk", spread**2, np.eye(len(values)))
    away = values[None] - means
    solved = np.linalg.solve(cover, away[..., None])[..., 0]
    _, log = np.linalg.slogdet(cover)
    found: Array = -0.5 * (np.einsum("ij,ij->i", away, solved) + log)
    return found


def _anything(dictionary: Dictionary, readings: Sequence[Reading]) -> float:
    """The same of something that is not in the list: readings that are anywhere about."""
    from math import log

    total = 0.0
    if not readings:
        return total
    columns = dictionary.columns([r.probe for r in readings])
    for k, r in enumerate(readings):
        sound = float(columns.means[0, k])
        wide = max(ANYTHING[r.probe.kind] * abs(sound), LEAST_ANYTHING[r.probe.kind], METER[r.probe.kind][1])
        total += -0.5 * ((r.value - sound) / wide) ** 2 - log(wide)
    return total


def _left(moves: Array, spread: Array) -> Array:
    """What is left of the unknowns after readings with that spread: their covariance, by Kalman's update."""
    import numpy as np

    count = moves.shape[1]
    left = np.eye(count)
    if len(moves):
        cover = moves @ moves.T + np.diag(spread**2)
        left -= moves.T @ np.linalg.solve(cover, moves)
    return left


def _spread_out(dictionary: Dictionary, symptom: Array) -> Array:
    """A factor by row as one by row of the finer resistances."""
    import numpy as np

    from wiregen.diagnosis.dictionary import FINE

    found = [symptom[:1]]
    between = np.arange(FINE) / FINE
    for first, count in dictionary.grid:
        mine = symptom[first : first + count]
        if count > 1:
            step = mine[:-1, None] * (1 - between)[None] + mine[1:, None] * between[None]
            mine = np.concatenate([step.reshape(-1), mine[-1:]])
        found.append(mine)
    return np.concatenate(found)


def alike(dictionary: Dictionary, faults: Sequence[int], probes_columns: tuple[Array, Array]) -> list[list[int]]:
    """Faults in groups that none of the probes tells apart: every reading of one within its spread of the other's.

    `probes_columns` are means and spread of the dictionary's rows at all probes.
    """
    groups: list[list[int]] = []
    for number in faults:
        for group in groups:
            if same(dictionary, group[0], number, probes_columns):
                group.append(number)
                break
        else:
            groups.append([number])
    return groups


def same(dictionary: Dictionary, one: int, other: int, probes_columns: tuple[Array, Array]) -> bool:
    """Whether no probe tells two faults apart, a poor joint at whatever resistance."""
    means, spread = probes_columns
    (a, m), (b, n) = dictionary.grid[one], dictionary.grid[other]
    if m != n:
        return False
    gap = abs(means[a : a + m] - means[b : b + n]) / (spread[a : a + m] + spread[b : b + n])
    return bool(gap.max(initial=0.0) < 0.5)


def named(dictionary: Dictionary, belief: Belief) -> Fault | None:
    """The likeliest fault."""
    best = belief.best()
    return dictionary.faults[best[0]] if best else None
