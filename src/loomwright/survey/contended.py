"""How do wires share the few places that many of them could have? Summed whole, over how full those places are.

Messages stray where more wires than places are equally good. There the places are few, so the sums go over how many
wires each of them holds instead of over sets of wires: with m(f) places of f and k of them taken, one more wire has

    w(i, f) * (m(f) - k) / m(f)

ways in. One pass over the wires forwards, one backwards, and every wire stands between the two. The places that are
contended for hardest are in these sums, as many as give `MOST_STATES` ways of being full; how free the others are
comes from the messages.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["MOST_STATES", "contended_first", "odds_by_occupancy"]

Numbers = NDArray[np.float64]
Counts = NDArray[np.int64]

MOST_STATES = 4096
"""Ways in which the contended places may be full, at most. [-]"""
_TINY = 1e-300


def contended_first(odds: Numbers, places: Counts) -> Counts:
    """The functions whose places are contended for hardest, as many as can be summed whole. [-]

    How hard: the pairs of wires that are expected to want the same place.

    Args:
        odds: wires x functions, by messages. [0..1]
        places: how many each function has, 0 for no bound. [-]
    """
    bound = np.flatnonzero(places > 0)
    load = odds[:, bound].sum(axis=0)
    hard = (load**2 - (odds[:, bound] ** 2).sum(axis=0)) / places[bound]
    taken: list[int] = []
    states = 1
    for k in np.argsort(-hard, kind="stable"):
        more = states * (int(places[bound[k]]) + 1)
        if more > MOST_STATES:
            break
        taken.append(int(bound[k]))
        states = more
    return np.array(sorted(taken), dtype=np.int64)


def odds_by_occupancy(weights: Numbers, places: Counts, block: Counts) -> Numbers:
    """Wires x functions: how likely, the places of a block summed whole. [0..1]

    Args:
        weights: wires x functions; those outside the block times how free their places are. [-]
        places: how many each function has, 0 for no bound. [-]
        block: the functions whose places are summed whole. [-]
    """
    wires = len(weights)
    weights = weights / np.maximum(weights.max(axis=1, keepdims=True), _TINY)
    inside = np.zeros(weights.shape[1], bool)
    inside[block] = True
    outside = weights[:, ~inside].sum(axis=1)
    shape = tuple(int(places[f]) + 1 for f in block)
    axes = range(len(block))
    ways = [_ways(int(places[f]), len(block), axis) for axis, f in enumerate(block)]

    def taken_in(full: Numbers, wire: int) -> Numbers:
        found = outside[wire] * full
        for axis, f in enumerate(block):
            found[_from(axis, 1)] += weights[wire, f] * (full * ways[axis])[_to(axis)]
        return np.asarray(found / max(float(found.max()), _TINY))

    def left_open(later: Numbers, wire: int) -> Numbers:
        found = outside[wire] * later
        for axis, f in enumerate(block):
            found[_to(axis)] += weights[wire, f] * ways[axis][_to(axis)] * later[_from(axis, 1)]
        return np.asarray(found / max(float(found.max()), _TINY))

    before = [np.zeros(shape)]
    before[0][(0,) * len(block)] = 1.0
    for wire in range(wires):
        before.append(taken_in(before[-1], wire))
    odds = np.zeros_like(weights)
    after = np.ones(shape)
    for wire in range(wires - 1, -1, -1):
        full = before[wire]
        odds[wire, ~inside] = weights[wire, ~inside] * float((full * after).sum())
        for axis in axes:
            f = block[axis]
            pairs = (full * ways[axis])[_to(axis)] * after[_from(axis, 1)]
            odds[wire, f] = weights[wire, f] * float(pairs.sum())
        after = left_open(after, wire)
    return np.asarray(odds / np.maximum(odds.sum(axis=1, keepdims=True), _TINY))


def _ways(most: int, dimensions: int, axis: int) -> Numbers:
    """The share of a function's places that are free, by how many are taken, along its own axis."""
    free = (most - np.arange(most + 1)) / most
    return free.reshape([-1 if k == axis else 1 for k in range(dimensions)])


def _to(axis: int) -> tuple[slice, ...]:
    """Everything but the fullest of one axis."""
    return (*[slice(None)] * axis, slice(0, -1))


def _from(axis: int, least: int) -> tuple[slice, ...]:
    """Everything from so full on, of one axis."""
    return (*[slice(None)] * axis, slice(least, None))
