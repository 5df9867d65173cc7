"""Many states a few moves away from one: how are they written down?

In: a state, the moves from it, each any number of variables set to values. Out: one row a move.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from loomwright.network.arrays import type_i

__all__ = ["Move", "moved"]

Move = tuple[tuple[int, int], ...]
"""Variables and the places of their values, none twice [-]."""


def moved(base: type_i, moves: Iterable[Move]) -> type_i:
    """The state after each of some moves, one row a move. [-]

    Example:
        >>> moved(np.array([0, 0, 0]), [(), ((1, 2),), ((0, 1), (2, 3))]).tolist()
        [[0, 0, 0], [0, 2, 0], [1, 0, 3]]
    """
    every = list(moves)
    rows = np.repeat(base[None, :], len(every), axis=0)
    row = [k for k, move in enumerate(every) for _ in move]
    rows[row, [variable for move in every for variable, _ in move]] = [value for move in every for _, value in move]
    return rows
