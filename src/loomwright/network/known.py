"""Has the car been solved before with its contacts and devices lying just so?

Many states come to rest the same way: from relays that begin pulled as from relays at rest, from one neighbour as from
another. What newton's method finds hangs on nothing but the elements that act and their figures, so a figure kept is to
the last digit the one that would be worked out again. Volts on the way there, near enough to say how the devices move,
are kept with their doubt.

In: the elements that act, the rows the state selects. Out: whether volts are kept, and in which place. A place is taken
over by whatever falls on it next.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from loomwright.network.arrays import Arrays, type_b, type_f, type_i
from loomwright.network.lean import lean

__all__ = ["Known", "find", "keep", "recall", "room_to_know"]

_SEED = 1469598103934665603
_PRIME = 1099511628211
_TOGETHER = 32
"""Elements taken into the mark at once [-]."""


class Known(NamedTuple):
    """Volts kept by step, one row a place.

    taken: Newton steps, -1 for a collapse, or -2 where the place is free.  selected, acts: of what it is the answer.
    doubt_v: how far a node may still move; nothing where the volts are settled. [V]
    """

    taken: type_i
    doubt_v: type_f
    selected: type_i
    acts: type_b
    v: type_f
    floating: type_b


def room_to_know(net: Arrays, places: int) -> Known:
    """Room for the volts of so many ways of lying."""
    return Known(
        np.full(places, -2, np.int64),
        np.zeros(places),
        np.empty((places, len(net.sel_first) + 1), np.int64),
        np.empty((places, len(net.live)), np.uint8),
        np.empty((places, net.nodes + 1)),
        np.empty((places, net.nodes + 1), np.uint8),
    )


@lean
def find(live: type_i, known: Known, selected: type_i, acts: type_b) -> tuple[int, bool]:
    """The place for what acts now, and whether its volts are kept there."""
    mark = np.uint64(_SEED)
    for row in selected:
        mark = (mark ^ np.uint64(row)) * np.uint64(_PRIME)
    # thirty-two at a time, since each step of the mark waits for the one before
    word = np.uint64(0)
    for k in range(len(live)):
        word = (word << np.uint64(1)) | np.uint64(acts[live[k]])
        if k % _TOGETHER == _TOGETHER - 1:
            mark = (mark ^ word) * np.uint64(_PRIME)
            mark ^= mark >> np.uint64(29)
            word = np.uint64(0)
    mark = (mark ^ word) * np.uint64(_PRIME)
    mark ^= mark >> np.uint64(29)
    place = int(mark % np.uint64(len(known.taken)))
    if known.taken[place] == -2:
        return place, False
    for k in range(len(selected)):
        if known.selected[place, k] != selected[k]:
            return place, False
    for k in range(len(live)):
        if known.acts[place, k] != acts[live[k]]:
            return place, False
    return place, True


@lean
def keep(
    live: type_i, known: Known, place: int, selected: type_i, acts: type_b, v: type_f, floating: type_b, taken: int,
    doubt_v: float,
) -> None:  # fmt: skip
    """Keep the volts of what acts now in its place."""
    known.taken[place] = taken
    known.doubt_v[place] = doubt_v
    for k in range(len(selected)):
        known.selected[place, k] = selected[k]
    for k in range(len(live)):
        known.acts[place, k] = acts[live[k]]
    # one array after the other, which the compiler makes block copies of
    for k in range(len(v)):
        known.v[place, k] = v[k]
    for k in range(len(v)):
        known.floating[place, k] = floating[k]


@lean
def recall(known: Known, place: int, v: type_f, floating: type_b) -> None:
    """The volts kept in a place."""
    for k in range(len(v)):
        v[k] = known.v[place, k]
    for k in range(len(v)):
        floating[k] = known.floating[place, k]
