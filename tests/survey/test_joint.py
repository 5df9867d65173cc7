"""Wires weighed together: the whole sums are those of every assignment one by one, and the messages are near them."""

from __future__ import annotations

from itertools import product
from types import SimpleNamespace

import numpy as np
import pytest

from loomwright.survey.contended import odds_by_occupancy
from loomwright.survey.joint import exact_odds, joint_odds, messages_of, odds_by_messages
from loomwright.survey.weighing import weighed
from tests.survey.made import job_of, surveyed

NEAR = 0.05


def one_by_one(weights: np.ndarray, places: np.ndarray) -> np.ndarray:
    """The odds by going through every assignment of wires to places, one after another."""
    seats = [(function, number) for function, count in enumerate(places) for number in range(count or 1)]
    odds = np.zeros_like(weights)
    for chosen in product(range(len(seats)), repeat=len(weights)):
        taken = [seats[seat] for seat in chosen]
        bound = [seat for seat in taken if places[seat[0]]]
        if len(bound) != len(set(bound)):
            continue
        weight = 1.0
        for wire, (function, _) in enumerate(taken):
            weight *= weights[wire, function] / (places[function] or 1)
        for wire, (function, _) in enumerate(taken):
            odds[wire, function] += weight
    return odds / odds.sum(axis=1, keepdims=True)


@pytest.mark.parametrize("seed", range(8))
def test_whole_sums_are_those_of_every_assignment(seed: int) -> None:
    dice = np.random.default_rng(seed)
    places = np.array([1, 2, 0, 1, 0])
    weights = dice.random((4, 5)) ** 3
    assert exact_odds(weights, places) == pytest.approx(one_by_one(weights, places), abs=1e-12)


def test_one_place_goes_to_one_wire() -> None:
    # two wires that both look like the one horn wire (9 to 1): each has it in 9 of 19 cases by hand:
    # (horn, other) 9 x 1, (other, horn) 1 x 9, (other, other) 1 x 1
    weights = np.array([[9.0, 1.0], [9.0, 1.0]])
    assert exact_odds(weights, np.array([1, 0]))[:, 0] == pytest.approx([9 / 19, 9 / 19])
    assert exact_odds(weights, np.array([0, 0]))[:, 0] == pytest.approx([0.9, 0.9])


@pytest.mark.parametrize("seed", range(6))
def test_messages_are_near_the_whole_sums_of_twelve_wires(seed: int) -> None:
    known = weighed(job_of(surveyed(seed, most_wires=6 + 6)))
    places = np.array([function.most or 0 for function in known.functions])
    weights = known.weights[:12]
    odds, _ = joint_odds(weights, known.functions)
    assert np.abs(odds - exact_odds(weights, places)).max() < NEAR


def functions(places: np.ndarray) -> list[SimpleNamespace]:
    return [SimpleNamespace(most=int(count) or None) for count in places]


def test_messages_alone_stray_where_wires_contend_hard_and_the_tool_does_not() -> None:
    dice = np.random.default_rng(5)
    weights = dice.random((12, 9)) ** 2
    places = np.array([1, 1, 1, 1, 1, 1, 2, 0, 0])
    whole = exact_odds(weights, places)
    near = odds_by_messages(weights, places, messages_of(weights, places))
    odds, is_exact = joint_odds(weights, functions(places))
    assert np.abs(near - whole).max() > 0.1, "which is why the contended places are summed"
    assert np.abs(odds - whole).max() < 1e-9
    assert is_exact


@pytest.mark.parametrize("seed", range(3))
def test_where_the_block_holds_only_some_of_the_places_the_odds_are_near(seed: int) -> None:
    dice = np.random.default_rng(seed)
    places = np.array([1] * 15 + [2] * 2 + [0] * 3)
    weights = dice.random((12, 20)) ** 2
    weights[:, :9] *= 4.0
    odds, is_exact = joint_odds(weights, functions(places))
    assert not is_exact
    assert np.abs(odds - exact_odds(weights, places)).max() < NEAR


@pytest.mark.parametrize("seed", range(4))
def test_sums_over_how_full_places_are_are_those_of_every_assignment(seed: int) -> None:
    dice = np.random.default_rng(seed)
    places = np.array([1, 2, 0, 3, 0])
    weights = dice.random((4, 5)) ** 3
    found = odds_by_occupancy(weights, places, np.array([0, 1, 3]))
    assert found == pytest.approx(one_by_one(weights, places), abs=1e-12)


def test_few_wires_are_summed_whole_and_many_are_not() -> None:
    few, many = weighed(job_of(surveyed(1, most_wires=6))), weighed(job_of(surveyed(11)))
    assert (len(few.wires) <= 10, few.is_exact) == (True, True)
    assert (len(many.wires) > 10, many.is_exact) == (True, False)
    odds, _ = joint_odds(many.weights, many.functions)
    assert odds.sum(axis=1) == pytest.approx(np.ones(len(many.wires)))
