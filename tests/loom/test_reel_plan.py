"""Pieces on reels: beside every way of laying them there is, and beside the bounds that are told."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.loom.reel_plan import Piece, reel_plan


def pieces(*lengths: float) -> list[Piece]:
    return [Piece(wire=f"W{number}", cut_m=long) for number, long in enumerate(lengths)]


def best_short_m(lengths, reels_m) -> float:
    """Every piece on every reel or on none, tried one by one."""
    least = sum(lengths)
    for lie in product(range(len(reels_m) + 1), repeat=len(lengths)):
        on = [sum(long for long, at in zip(lengths, lie, strict=True) if at == reel) for reel in range(len(reels_m))]
        if all(much <= held for much, held in zip(on, reels_m, strict=True)):
            least = min(least, sum(long for long, at in zip(lengths, lie, strict=True) if at == len(reels_m)))
    return least


def test_each_piece_comes_off_the_reel_that_it_leaves_least_on():
    plan = reel_plan(pieces(3, 5), [20, 6, 4])
    assert [(use.number, [piece.cut_m for piece in use.pieces], use.left_m) for use in plan.uses] == [
        (1, [5], 1),
        (2, [3], 1),
    ]


def test_what_no_reel_is_long_enough_for_is_short_and_the_rest_is_still_cut():
    plan = reel_plan(pieces(9, 2, 2), [5])
    assert [piece.cut_m for piece in plan.without] == [9]
    assert (plan.short_m, plan.least_short_m) == (9, 9)
    assert [piece.cut_m for use in plan.uses for piece in use.pieces] == [2, 2]
    assert plan.is_best


def test_a_plan_that_might_be_better_says_so():
    # 4 and 3 and 3 lie on reels of 6 and 4 with nothing over; with the longest first the 4 takes the reel of 4: best
    assert reel_plan(pieces(4, 3, 3), [6, 4]).is_best
    # 5 4 3 2 on 8 and 6: 5 on 6, 4 and 3 on 8, 2 on none though 5 + 3 and 4 + 2 would lie exactly
    plan = reel_plan(pieces(5, 4, 3, 2), [8, 6])
    assert (plan.short_m, plan.least_short_m, plan.is_best) == (2, 0.0, False)


def test_nothing_to_cut_and_no_reel():
    assert reel_plan([], [5.0]).is_best
    empty = reel_plan(pieces(1.0), [])
    assert (empty.short_m, empty.least_short_m, empty.opened) == (1.0, 1.0, 0)


@settings(max_examples=60, deadline=None)
@given(
    lengths=st.lists(st.integers(1, 9), min_size=1, max_size=6),
    reels=st.lists(st.integers(1, 12), min_size=0, max_size=3),
)
def test_the_bound_is_never_above_the_best_and_the_plan_never_below(lengths, reels):
    plan = reel_plan(pieces(*lengths), reels)
    best = best_short_m(lengths, reels)
    assert plan.least_short_m <= best <= plan.short_m
    assert plan.least_opened <= plan.opened
    for use in plan.uses:
        assert sum(piece.cut_m for piece in use.pieces) + use.left_m == pytest.approx(use.held_m)
        assert use.left_m >= 0
    told = sorted([piece.wire for use in plan.uses for piece in use.pieces] + [piece.wire for piece in plan.without])
    assert told == sorted(piece.wire for piece in pieces(*lengths))
