"""Which faults explain the readings: a likelihood for each hypothesis, by it and the priors a share of belief.

The readings of a hypothesis are normally distributed about the computed ones, with the meter's own spread, what the
digits that were not written down leave open, and what lengths, battery states and draws add, their common part kept
(one covariance for all readings together).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from wiregen.diagnosis.dictionary import ANYTHING, LEAST_ANYTHING, METER, Columns, Dictionary
from wiregen.diagnosis.readings import Reading

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

NOTHING = 0.05  # belief beforehand that nothing is wrong: somebody has a reason to look (common practice, no source)
ELSE = 0.01  # that it is none of the faults tried, or several at once (common practice, no source)
SWINGS = 0.7  # how often a meter is seen to swing where parts cannot run steadily (common practice, no source)
SWINGS_ELSE = 0.02  # and where they can (common practice, no source)


class Belief(NamedTuple):
    """Shares of belief that add up to 1. `faults` by fault of the dictionary, `odds` by its fine rows (row 0 is the
    sound job). `unknowns` is the covariance of the job's unknowns that the readings leave, `shifts` by fine row where
    the readings put them if that row is true."""

    faults: Array
    odds: Array
    nothing: float
    other: float
    unknowns: Array
    shifts: Array

    def best(self) -> list[int]:
        """Faults, the likeliest first; those that are as likely in the order of the file."""
        import numpy as np

        return [int(k) for k in np.argsort(-np.round(self.faults, 7), kind="stable")]


def believe(dictionary: Dictionary, readings: Sequence[Reading], symptom: Array | None = None) -> Belief:
    """What the readings leave of each fault. `symptom`: a factor for each row of the dictionary."""
    import numpy as np

    fine = dictionary.fine
    prior = np.array([fault.weight for fault in dictionary.faults])
    prior = np.append(
        prior / max(prior.sum(), 1e-9) * (1.0 - NOTHING - ELSE), NOTHING
    )  # -1, the last, is the sound job
    moving = _swinging(dictionary, readings)
    readings = [r for r in readings if not r.swings]
    columns = of_readings(dictionary, readings)
    rounded = np.array([r.step for r in readings]) / np.sqrt(12.0)  # evenly spread over the last digit
    columns = columns._replace(spread=np.hypot(columns.spread, rounded))
    values = np.array([r.value for r in readings])
    rows = Columns(fine.mixed(columns.means), fine.mixed(columns.spread), columns.moves, fine.mixed(columns.scale))
    weight = prior[fine.owner] * fine.share * moving
    if symptom is not None:
        weight *= fine.mixed(symptom)
    score = _normal(values, rows, fine.steps(columns.means)) + np.log(np.maximum(weight, 1e-300))
    other = float(np.log(ELSE)) + _anything(dictionary, readings)
    top = max(float(score.max()), other)
    odds = np.exp(score - top)
    rest = float(np.exp(other - top))
    total = float(odds.sum()) + rest
    odds /= total
    faults = np.zeros(len(dictionary.faults))
    np.add.at(faults, fine.owner[1:], odds[1:])
    left, gain = _left(columns.moves, columns.spread[0])
    shifts = ((values[None] - rows.means) * rows.scale) @ gain.T
    return Belief(faults, odds, float(odds[0]), rest / total, left, shifts)


def of_readings(dictionary: Dictionary, readings: Sequence[Reading]) -> Columns:
    """What all rows read there, each in the case that its reading names, the first where it names none."""
    names = {bench.state.name: k for k, bench in reversed(list(enumerate(dictionary.benches)))}
    return dictionary.columns([r.probe for r in readings], [names[r.case] if r.case else 0 for r in readings])


def _swinging(dictionary: Dictionary, readings: Sequence[Reading]) -> Array:
    """By fine row how likely it is that readings swing where they do, and rest in the other cases."""
    import numpy as np

    found = np.ones(len(dictionary.fine.owner))
    for bench, readable in zip(dictionary.benches, dictionary.readable, strict=True):
        first = bench is dictionary.bench
        here = [r for r in readings if r.case == bench.state.name or (first and not r.case)]
        if not here:
            continue
        moves = np.where(readable.unsteady, SWINGS, SWINGS_ELSE)[dictionary.fine.low]
        found *= moves if any(r.swings for r in here) else 1.0 - moves
    return found


def _normal(values: Array, columns: Columns, steps: Array) -> Array:
    """Logarithm of the likelihood of each row; `steps` is what a reading moves by within the row's resistances."""
    import numpy as np

    if not len(values):
        return np.zeros(len(columns.means))
    common = columns.moves @ columns.moves.T
    cover = common[None] * columns.scale[:, :, None] * columns.scale[:, None, :]
    cover += np.einsum("ij,jk->ijk", columns.spread**2, np.eye(len(values)))
    cover += steps[:, :, None] * steps[:, None, :]
    away = values[None] - columns.means
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
    columns = of_readings(dictionary, readings)
    for k, r in enumerate(readings):  # that rest
        sound = float(columns.means[0, k])
        wide = max(ANYTHING[r.probe.kind] * abs(sound), LEAST_ANYTHING[r.probe.kind], METER[r.probe.kind][1])
        total += -0.5 * ((r.value - sound) / wide) ** 2 - log(wide)
    return total


def _left(moves: Array, spread: Array) -> tuple[Array, Array]:
    """What is left of the unknowns after readings with that spread: their covariance, and by how much each reading
    moves them, by Kalman's update."""
    import numpy as np

    count = moves.shape[1]
    left = np.eye(count)
    if not len(moves):
        return left, np.zeros((count, 0))
    cover = moves @ moves.T + np.diag(spread**2)
    gain: Array = np.asarray(np.linalg.solve(cover, moves).T, dtype=float)
    left = left - gain @ moves
    return left, gain


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
    mine, others = means[a : a + m], means[b : b + n]
    steady = spread[:1] + METER["V"][0] * (abs(mine) + abs(others)) / 2.0  # however much either swings
    return bool((abs(mine - others) / steady).max(initial=0.0) < 1.0)


def unseen(columns: Columns) -> NDArray[np.bool_]:
    """Which rows of the dictionary no probe tells from the sound job. `columns` are those of all probes."""
    sound = columns.means[0]
    steady = columns.spread[0] + METER["V"][0] * abs(sound)
    found: NDArray[np.bool_] = (abs(columns.means - sound) / steady).max(axis=1, initial=0.0) < 1.0
    return found


def hidden(dictionary: Dictionary, columns: Columns) -> frozenset[int]:
    """Faults that no probe tells from the sound job, a poor joint at whatever resistance."""
    rows = unseen(columns)
    return frozenset(k for k, (first, count) in enumerate(dictionary.grid) if rows[first : first + count].all())
