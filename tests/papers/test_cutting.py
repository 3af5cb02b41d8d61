"""Cutting from reels: every piece comes off one reel, and nothing cheaper is possible."""

from __future__ import annotations

from itertools import combinations_with_replacement, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wiregen.papers.cutting import cut

LENGTHS = st.integers(10, 1200).map(lambda centimetres: centimetres / 100)


def by_brute_force(pieces: list[float], reels: list[float], most: int) -> float:
    """The least that has to be bought, by trying every way of putting the pieces on every set of reels."""
    best = float("inf")
    for count in range(1, most + 1):
        for chosen in combinations_with_replacement(reels, count):
            if sum(chosen) >= best:
                continue
            for where in product(range(count), repeat=len(pieces)):
                used = [0.0] * count
                for piece, reel in zip(pieces, where, strict=True):
                    used[reel] += piece
                if all(u <= c + 1e-9 for u, c in zip(used, chosen, strict=True)):
                    best = sum(chosen)
                    break
    return best


@settings(max_examples=60, deadline=None)
@given(lengths=st.lists(LENGTHS, min_size=1, max_size=5))
def test_no_other_choice_of_reels_adds_up_to_less(lengths: list[float]) -> None:
    reels = [5.0, 12.0, 20.0]
    found = cut([(f"W{n}", length) for n, length in enumerate(lengths)], reels)
    assert found.best
    assert found.bought_m == pytest.approx(by_brute_force(lengths, reels, len(lengths)))


@settings(max_examples=100, deadline=None)
@given(lengths=st.lists(LENGTHS, max_size=120))
def test_every_piece_comes_off_one_reel_that_is_long_enough(lengths: list[float]) -> None:
    pieces = [(f"W{n}", length) for n, length in enumerate(lengths)]
    found = cut(pieces, [5.0, 10.0, 25.0])
    assert sorted(piece for reel in found.reels for piece in reel.pieces) == sorted(pieces)
    assert all(reel.left_m >= -1e-9 for reel in found.reels)
    assert found.bought_m == pytest.approx(sum(reel.length_m for reel in found.reels))
    assert 0.0 <= found.waste < 1.0 or not pieces


def test_a_piece_longer_than_any_reel_is_bought_by_the_metre() -> None:
    found = cut([("long", 130.0), ("short", 2.0)], [5.0, 100.0])
    assert [(reel.length_m, reel.pieces) for reel in found.reels] == [
        (130.0, (("long", 130.0),)),
        (5.0, (("short", 2.0),)),
    ]


def test_three_long_pieces_do_not_share_a_reel_that_only_their_sum_would_fit() -> None:
    assert [reel.length_m for reel in cut([("a", 3.0), ("b", 3.0), ("c", 3.0)], [5.0]).reels] == [5.0, 5.0, 5.0]
