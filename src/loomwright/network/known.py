"""Has the car been solved before with its contacts and devices lying just so?

Many states come to rest the same way: from relays that begin pulled as from relays at rest, from one neighbour as from
another. What newton's method finds hangs on nothing but the elements that act and their figures, so a figure kept is to
the last digit the one that would be worked out again.

In: the elements that act, the rows the state selects. Out: whether volts are kept, and in which place. A place is taken
over by whatever falls on it next.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit

from loomwright.network.arrays import Arrays, type_b, type_f, type_i

__all__ = ["Known", "find", "keep", "room_to_know"]

_SEED = 1469598103934665603
_PRIME = 1099511628211


class Known(NamedTuple):
    """Volts kept, one row a place.

    taken: Newton steps, -1 for a collapse, or -2 where the place is free.  selected, acts: of what it is the answer.
    """

    taken: type_i
    selected: type_i
    acts: type_b
    v: type_f
    floating: type_b


def room_to_know(net: Arrays, places: int) -> Known:
    """Room for the volts of so many ways of lying."""
    return Known(
        np.full(places, -2, np.int64),
        np.empty((places, len(net.sel_first) + 1), np.int64),
        np.empty((places, len(net.live)), np.uint8),
        np.empty((places, net.nodes + 1)),
        np.empty((places, net.nodes + 1), np.uint8),
    )


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def find(net: Arrays, known: Known, selected: type_i, acts: type_b) -> tuple[int, bool]:
    """The place for what acts now, and whether its volts are kept there."""
    live = net.live
    mark = np.uint64(_SEED)
    for row in selected:
        mark = (mark ^ np.uint64(row)) * np.uint64(_PRIME)
    for e in live:
        mark = (mark ^ np.uint64(acts[e])) * np.uint64(_PRIME)
    place = int(mark % np.uint64(len(known.taken)))
    if known.taken[place] == -2:
        return place, False
    kept_selected, kept_acts = known.selected[place], known.acts[place]
    for k in range(len(selected)):
        if kept_selected[k] != selected[k]:
            return place, False
    for k in range(len(live)):
        if kept_acts[k] != acts[live[k]]:
            return place, False
    return place, True


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def keep(
    net: Arrays, known: Known, place: int, selected: type_i, acts: type_b, v: type_f, floating: type_b, taken: int
) -> None:
    """Keep the volts of what acts now in its place."""
    live = net.live
    known.taken[place] = taken
    known.selected[place] = selected
    kept_acts = known.acts[place]
    for k in range(len(live)):
        kept_acts[k] = acts[live[k]]
    known.v[place] = v
    known.floating[place] = floating
