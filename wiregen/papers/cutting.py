"""How pieces of cable are cut from reels: the reels that add up to least, and which piece comes off which."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations_with_replacement
from typing import NamedTuple

MOST_STEPS = 20_000  # of trying one set of reels
MOST_REELS = 6  # of one size; beyond that the largest reel is taken again and again
STEP = 1e-9  # lengths that differ by less are one [m]


class Reel(NamedTuple):
    """One reel and the pieces that come off it, the longest first. [m]"""

    length_m: float
    pieces: tuple[tuple[str, float], ...]

    @property
    def left_m(self) -> float:
        """What is left on the reel. [m]"""
        return self.length_m - sum(length for _, length in self.pieces)


class Cutting(NamedTuple):
    """All reels of one cable. `best` is true where no other choice of reels adds up to less."""

    reels: tuple[Reel, ...]
    best: bool

    @property
    def bought_m(self) -> float:
        """All reels together. [m]"""
        return sum(reel.length_m for reel in self.reels)

    @property
    def used_m(self) -> float:
        """All pieces together. [m]"""
        return sum(length for reel in self.reels for _, length in reel.pieces)

    @property
    def waste(self) -> float:
        """The share of what is bought that is left over."""
        return 1.0 - self.used_m / self.bought_m if self.bought_m else 0.0


def cut(pieces: Sequence[tuple[str, float]], reels: Sequence[float]) -> Cutting:
    """The cheapest reels for pieces of cable (name, length in m), by length bought, then by number of reels.

    Exact: sets of reels are tried in order of what they add up to, and the first one that the pieces fit into is the
    answer. A piece that is longer than any reel is a reel of its own, to be ordered by the metre. Where trying takes
    too long the answer is the best found, and `best` is false.
    """
    longest = max(reels)
    ordered = sorted(pieces, key=lambda piece: (-piece[1], piece[0]))
    special = [Reel(length, ((name, length),)) for name, length in ordered if length > longest + STEP]
    rest = [piece for piece in ordered if piece[1] <= longest + STEP]
    if not rest:
        return Cutting(tuple(special), True)
    head: list[Reel] = []
    while sum(length for _, length in rest) > MOST_REELS / 2 * longest:  # a long job: fill large reels one by one
        taken = _filled(rest, longest)
        head.append(Reel(longest, taken))
        rest = [piece for piece in rest if piece not in taken]
    best = not head
    for chosen in _sets(sum(length for _, length in rest), rest[0][1] if rest else 0.0, sorted(reels)):
        packed, tried = _packed(rest, chosen)
        if packed is not None:
            return Cutting((*special, *head, *packed), best)
        best = best and tried
    packed_one = tuple(Reel(longest, (piece,)) for piece in rest)
    return Cutting((*special, *head, *packed_one), False)


def _sets(total: float, longest: float, reels: Sequence[float]) -> Iterator[tuple[float, ...]]:
    """Sets of reels that hold the total, the shortest sum first, then the fewest reels; longest reel first."""
    found = {
        tuple(sorted(chosen, reverse=True))
        for count in range(1, MOST_REELS + 1)
        for chosen in combinations_with_replacement(reels, count)
        if sum(chosen) >= total - STEP and max(chosen) >= longest - STEP
    }
    yield from sorted(found, key=lambda chosen: (sum(chosen), len(chosen), chosen))


def _filled(pieces: Sequence[tuple[str, float]], length: float) -> tuple[tuple[str, float], ...]:
    """The pieces that a reel takes, the longest that fits first."""
    taken: list[tuple[str, float]] = []
    for piece in pieces:
        if piece[1] <= length + STEP:
            taken.append(piece)
            length -= piece[1]
    return tuple(taken)


def _packed(pieces: Sequence[tuple[str, float]], reels: tuple[float, ...]) -> tuple[tuple[Reel, ...] | None, bool]:
    """Every piece on one of these reels, or None; and whether every way was tried."""
    room = list(reels)
    where: list[int] = []
    steps = 0

    def place(at: int) -> bool:
        nonlocal steps
        if at == len(pieces):
            return True
        seen: set[float] = set()
        for reel in range(len(room)):
            left = round(room[reel], 9)
            if pieces[at][1] > left + STEP or left in seen:  # reels with as much room are all alike
                continue
            seen.add(left)
            steps += 1
            if steps > MOST_STEPS:
                return False
            room[reel] -= pieces[at][1]
            where.append(reel)
            if place(at + 1):
                return True
            where.pop()
            room[reel] += pieces[at][1]
        return False

    if not place(0):
        return None, steps <= MOST_STEPS
    sorted_out: list[list[tuple[str, float]]] = [[] for _ in reels]
    for piece, reel in zip(pieces, where, strict=True):
        sorted_out[reel].append(piece)
    return tuple(Reel(length, tuple(own)) for length, own in zip(reels, sorted_out, strict=True) if own), True
