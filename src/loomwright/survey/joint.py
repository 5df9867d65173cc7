"""How likely is each function for each wire, all wires weighed together?

A function that a car has m of is m places; each place takes one wire at most, each wire sits in one place or has a
function without bound. With w(i, f) the weight of wire i for one place of f:

    P(assignment) is in proportion to the product of w(i, f) over the wires.

Up to `MOST_EXACT` wires are summed whole, place by place over all sets of wires. More are worked out by belief
propagation, messages between wires and places until they stand still; loops make it near, not exact. The places that
are contended for hardest are then summed whole (`contended`), since there the messages stray; the trials hold both
together to 0.05 of the whole sums. Iterated scaling of rows and columns is not used: it is wrong by far more.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from loomwright.survey.contended import contended_first, odds_by_occupancy
from loomwright.tables.old_wires import WireFunction

__all__ = ["MOST_EXACT", "entropies_bits", "exact_odds", "joint_odds", "messages_of", "odds_by_messages"]

Numbers = NDArray[np.float64]

MOST_EXACT = 10
"""So many wires are summed whole. [-]"""
_ROUNDS = 200
_STANDS_STILL = 1e-7
_DAMPING = 0.3
_TINY = 1e-300


def joint_odds(weights: Numbers, functions: Sequence[WireFunction]) -> tuple[Numbers, bool]:
    """Wires x functions: how likely, and whether it is exact. [0..1]

    Args:
        weights: wires x functions: how well each explains its wire, times how many of it a car has. [-]
        functions: in the order of the columns.
    """
    places = places_of(functions)
    if len(weights) <= MOST_EXACT:
        return exact_odds(weights, places), True
    weights = np.asarray(weights / np.maximum(weights.max(axis=1, keepdims=True), _TINY))
    free = messages_of(weights, places)
    block = contended_first(odds_by_messages(weights, places, free), places)
    told = weights * free
    told[:, block] = weights[:, block]
    return odds_by_occupancy(told, places, block), len(block) == int((places > 0).sum())


def places_of(functions: Sequence[WireFunction]) -> NDArray[np.int64]:
    """How many places each function has, 0 where it has no bound. [-]"""
    return np.array([function.most or 0 for function in functions], dtype=np.int64)


def messages_of(
    weights: Numbers,
    places: NDArray[np.int64],
    begun: Numbers | None = None,
    rounds: int = _ROUNDS,
    stands_still: float = _STANDS_STILL,
) -> Numbers:
    """What the places say to the wires once it stands still: how free each is. [0..1]

    Args:
        weights: wires x functions, or many of those stacked. [-]
        places: how many each function has, 0 for no bound. [-]
        begun: messages to begin from. [0..1]
        rounds: at most so many. [-]
        stands_still: a change below this ends it. [-]
    """
    bound = places > 0
    count = places[bound].astype(float)
    each = weights[..., bound] / count
    rest = weights[..., ~bound].sum(axis=-1)
    free = np.ones_like(each) if begun is None else begun[..., bound]
    for _ in range(rounds):
        told = each * free
        others = (rest + told @ count)[..., None] - told
        np.maximum(others, _TINY, out=others)
        np.divide(told, others, out=told)
        np.subtract(told.sum(axis=-2, keepdims=True) + 1.0, told, out=others)
        np.maximum(others, 1.0, out=others)
        np.divide(1.0 - _DAMPING, others, out=others)
        fresh = others + _DAMPING * free
        change = np.abs(fresh - free).max() if fresh.size else 0.0
        free = fresh
        if change < stands_still:
            break
    whole = np.ones_like(weights)
    whole[..., bound] = free
    return whole


def odds_by_messages(weights: Numbers, places: NDArray[np.int64], free: Numbers) -> Numbers:
    """What the messages make of the weights. [0..1]

    Args:
        weights: wires x functions. [-]
        places: how many each function has, 0 for no bound. [-]
        free: what the places say. [0..1]
    """
    told = weights * free
    return np.asarray(told / np.maximum(told.sum(axis=-1, keepdims=True), _TINY))


def exact_odds(weights: Numbers, places: NDArray[np.int64]) -> Numbers:
    """The same by whole sums over every set of wires; for a few wires only. [0..1]

    Args:
        weights: wires x functions. [-]
        places: how many each function has, 0 for no bound. [-]
    """
    wires = len(weights)
    weights = weights / np.maximum(weights.max(axis=1, keepdims=True), _TINY) if wires else weights
    sets = 1 << wires
    bound = np.flatnonzero(places > 0)
    free = weights[:, places == 0].sum(axis=1)
    unplaced = np.ones(sets)
    for wire in range(wires):
        has = (np.arange(sets) >> wire) & 1 == 1
        unplaced[has] *= free[wire]
    begins = [np.zeros(sets)]
    begins[0][0] = 1.0
    for function in bound:
        told = begins[-1]
        for _ in range(places[function]):
            told = _one_place(told, weights[:, function] / places[function])
        begins.append(told)
    # what is to come after a function, seen from the set that is placed before it
    ends = [unplaced[::-1].copy()]
    for function in bound[::-1]:
        told = ends[0]
        for _ in range(places[function]):
            told = _one_place_back(told, weights[:, function] / places[function])
        ends.insert(0, told)
    odds = np.zeros_like(weights)
    numbers = np.arange(sets)
    for at, function in enumerate(bound):
        before = begins[at]
        for _ in range(places[function] - 1):
            before = _one_place(before, weights[:, function] / places[function])
        for wire in range(wires):
            without = numbers[(numbers >> wire) & 1 == 0]
            odds[wire, function] = weights[wire, function] * (before[without] @ ends[at + 1][without | (1 << wire)])
    last = begins[-1]
    for wire in range(wires):
        without = numbers[(numbers >> wire) & 1 == 0]
        left = last[without] @ ends[-1][without]
        share = weights[wire] * (places == 0) / max(free[wire], _TINY)
        odds[wire] += left * share
    return np.asarray(odds / np.maximum(odds.sum(axis=1, keepdims=True), _TINY))


def entropies_bits(odds: Numbers) -> Numbers:
    """How open each wire still is. [-]

    Args:
        odds: wires x functions. [0..1]
    """
    return np.asarray(-(odds * np.log2(np.maximum(odds, _TINY))).sum(axis=-1))


def _one_place(told: Numbers, weight: Numbers) -> Numbers:
    """One more place: it stays empty, or takes one of the wires."""
    numbers = np.arange(len(told))
    found = told.copy()
    for wire, each in enumerate(weight):
        without = (numbers >> wire) & 1 == 0
        found[numbers[without] | (1 << wire)] += told[without] * each
    return found


def _one_place_back(told: Numbers, weight: Numbers) -> Numbers:
    """The same from the end: what comes after, where this place takes nothing or one of the wires that are left."""
    numbers = np.arange(len(told))
    found = told.copy()
    for wire, each in enumerate(weight):
        without = (numbers >> wire) & 1 == 0
        found[without] += told[numbers[without] | (1 << wire)] * each
    return found
