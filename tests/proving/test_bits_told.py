"""The compiled count of bits says what the sums say, written out fault by fault."""

from __future__ import annotations

from collections import defaultdict
from math import copysign, log1p, log2

import numpy as np
import pytest

from loomwright.proving.bits_told import STEP_OF, bits_told, left_bits

ERROR = (0.03, 0.08)


def entropy(shares: dict[object, float]) -> float:
    return -sum(share * log2(share) for share in shares.values() if share > 0.0)


def told_written_out(shown: list[float], weights: list[float], places: list[int]) -> float:
    """The same for one reading: how much less is not known of the place once the step is, the odds summed by hand."""
    found = []
    for shift in (0.0, 0.5):
        steps, place, both = defaultdict(float), defaultdict(float), defaultdict(float)
        for value, weight, where in zip(shown, weights, places, strict=True):
            errors = copysign(log1p(ERROR[1] / ERROR[0] * abs(value)) / ERROR[1], value)
            step = round(errors / STEP_OF + shift)
            steps[step] += weight
            place[where] += weight
            both[step, where] += weight
        found.append(entropy(steps) + entropy(place) - entropy(both))
    return min(found)


def test_bits_are_the_sums_written_out() -> None:
    rng = np.random.default_rng(5)
    weights = rng.dirichlet(np.ones(40))
    places = rng.integers(0, 15, 40)
    shown = np.round(rng.choice([0.0, 0.02, 0.4, -0.4, 5.0, 12.3], (30, 40)) * rng.normal(1.0, 0.2, (30, 40)), 4)
    told = bits_told(shown, *ERROR, weights, places)
    for row, bits in zip(shown, told, strict=True):
        assert bits == pytest.approx(told_written_out(list(row), list(weights), list(places)), abs=1e-9)
    assert told.max() > 0.5
    assert (told <= left_bits(weights, places) + 1e-9).all(), "no reading tells more than is not known"


def test_where_some_are_wanted_those_are_the_same_that_tell_most_of_all() -> None:
    rng = np.random.default_rng(6)
    weights, places = rng.dirichlet(np.ones(30)), rng.integers(0, 30, 30)
    shown = rng.choice([0.0, 0.4, 5.0, 12.3], (200, 30), p=[0.8, 0.1, 0.05, 0.05])
    every, some = (bits_told(shown, *ERROR, weights, places, most) for most in (None, 6))
    assert sorted(some)[-6:] == sorted(every)[-6:]
    assert set(some[some > 0.0]) <= set(every)
    assert np.count_nonzero(some) < np.count_nonzero(every)


def test_what_one_place_shows_of_itself_tells_nothing() -> None:
    shown, weights = np.array([[0.5, 3.0, 9.0]]), np.array([0.2, 0.3, 0.5])
    assert bits_told(shown, *ERROR, weights, np.array([0, 0, 0]))[0] == pytest.approx(0.0, abs=1e-12)
    assert bits_told(shown, *ERROR, weights, np.array([0, 1, 2]))[0] == pytest.approx(entropy({0: 0.2, 1: 0.3, 2: 0.5}))


def test_less_than_half_a_step_apart_tells_nothing() -> None:
    shown = np.array([[0.0, 0.4 * STEP_OF * ERROR[0]], [0.0, 3.0 * STEP_OF * ERROR[0]]])
    told = bits_told(shown, *ERROR, np.array([0.5, 0.5]), np.array([0, 1]))
    assert list(told) == [0.0, 1.0]


def test_an_instrument_whose_error_does_not_grow_counts_in_even_steps() -> None:
    weights, places = np.full(4, 0.25), np.arange(4)
    shown = np.array([[0.0, 0.02, 1.0, 2.0], [0.0, 0.0, 0.0, 3.0]])
    told = bits_told(shown, 0.1, 0.0, weights, places)
    assert told == pytest.approx([entropy({0: 0.5, 1: 0.25, 2: 0.25}), entropy({0: 0.75, 1: 0.25})])
