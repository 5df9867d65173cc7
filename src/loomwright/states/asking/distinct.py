"""Which states of many are the same, and where does one stand among others?

A state is a row of places in the lists of its variables' values. Read as the digits of one number, the first variable's
highest, states lie in the order of their rows and are compared at once. Where the number would be too long the rows are
compared as they are.
"""

from __future__ import annotations

from math import prod

import numpy as np

from loomwright.network.arrays import type_i

__all__ = ["distinct", "rows_among"]

_NUMBERS_MOST = 2**62


def distinct(states: type_i) -> tuple[type_i, type_i]:
    """The states, in order, none twice, and for each of those given its place among them.

    Example:
        >>> states, place = distinct(np.array([[1, 0], [0, 1], [1, 0]]))
        >>> states.tolist(), place.tolist()
        ([[0, 1], [1, 0]], [1, 0, 1])
    """
    numbers = _numbers(states)
    if numbers is None:
        found, place = np.unique(states, axis=0, return_inverse=True)
        return found, place.reshape(-1)
    _, first, place = np.unique(numbers, return_index=True, return_inverse=True)
    return states[first], place.reshape(-1)


def rows_among(known: type_i, states: type_i) -> type_i:
    """For each state its place among the known ones, -1 where it is none of them.

    Args:
        known: none twice.

    Example:
        >>> rows_among(np.array([[1, 0], [0, 1]]), np.array([[0, 1], [0, 0], [1, 0]])).tolist()
        [1, -1, 0]
    """
    if not len(known):
        return np.full(len(states), -1, np.int64)
    _, place = distinct(np.concatenate([known, states]))
    at = np.full(place.max() + 1, -1, np.int64)
    at[place[: len(known)]] = np.arange(len(known))
    return at[place[len(known) :]]


def _numbers(states: type_i) -> type_i | None:
    """One number a state; None where some would be too long, or there is nothing to number."""
    if not states.size:
        return None
    sizes = (states.max(axis=0) + 1).tolist()
    if prod(sizes) > _NUMBERS_MOST:
        return None
    weights = np.cumprod([1, *sizes[:0:-1]])[::-1]
    return np.asarray(states @ weights, np.int64)
