"""Which of many states must come to rest in the very same way?

What a state says reaches the network through its guards and selectors alone: which elements may act, which devices may
be on, which rows of figures apply. Two states that say the same there and begin with their devices lying alike have
the same answer to the last digit, so one of them is solved and stands for both: a wiper's switch may be where it will
while another contact in its way is open for good.

In: the value index of each variable, how the devices lie at first. Out: the states to solve, and for each state the
one that stands for it.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from loomwright.network.arrays import Arrays, type_b, type_i
from loomwright.network.lean import lean

__all__ = ["alike", "allow", "select"]

_SEED = 1469598103934665603
_PRIME = 1099511628211
_BITS = 64


@lean
def allow(
    which: type_i, ptr: type_i, term_ptr: type_i, variable: type_i, mask: type_i, values: type_i, out: type_b
) -> None:  # fmt: skip
    """Of the items in `which`: 1 where one of an item's guards holds or it has none, else 0."""
    for item in which:
        out[item] = 1 if ptr[item] == ptr[item + 1] else 0
        for guard in range(ptr[item], ptr[item + 1]):
            holds = True
            for term in range(term_ptr[guard], term_ptr[guard + 1]):
                if (mask[term] >> values[variable[term]]) & 1 == 0:
                    holds = False
                    break
            if holds:
                out[item] = 1
                break


@lean
def select(
    first: type_i, second: type_i, ptr: type_i, columns: type_i, sel_rows: type_i, values: type_i, selected: type_i
) -> None:  # fmt: skip
    """The row each selector picks."""
    for s in range(len(first)):
        other = values[second[s]] if second[s] >= 0 else 0
        selected[s] = sel_rows[ptr[s] + values[first[s]] * columns[s] + other]


@lean
def _packed(which: type_i, flags: type_b, words: type_i, at: int) -> int:
    """The flags of `which` as bits from words[at] on; the word after the last."""
    word, bit = np.int64(0), 0
    for item in which:
        word |= np.int64(flags[item]) << bit
        bit += 1
        if bit == _BITS:
            words[at] = word
            at += 1
            word, bit = np.int64(0), 0
    words[at] = word
    return at + 1


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def alike(net: Arrays, values: type_i, devices: type_b) -> tuple[type_i, type_i]:
    """The first state of each way, and for each state the place of its way among those. [-]

    Args:
        values: value index of each state variable, one row a state. [-]
        devices: how they lie at first, one row a state.
    """
    count, device_count = devices.shape
    every = np.arange(device_count)
    allowed, may = np.zeros(len(net.a), np.uint8), np.zeros(device_count, np.uint8)
    length = len(net.sel_first) + len(net.live) // _BITS + 2 * (device_count // _BITS) + 3
    words = np.zeros((count, length), np.int64)
    first, which = np.empty(count, np.int64), np.empty(count, np.int64)
    size = 2
    while size < 2 * count:
        size *= 2
    table = np.full(size, -1, np.int64)
    found = 0
    for row in range(count):
        own = words[found]
        select(net.sel_first, net.sel_second, net.sel_ptr, net.sel_columns, net.sel_rows, values[row], own)
        allow(net.live, net.guard_ptr, net.term_ptr, net.term_variable, net.term_mask, values[row], allowed)
        allow(every, net.device_guard_ptr, net.term_ptr, net.term_variable, net.term_mask, values[row], may)
        at = _packed(net.live, allowed, own, len(net.sel_first))
        at = _packed(every, may, own, at)
        _packed(every, devices[row], own, at)
        mark = np.uint64(_SEED)
        for word in own:
            mark = (mark ^ np.uint64(word)) * np.uint64(_PRIME)
            mark ^= mark >> np.uint64(29)
        place = np.int64(mark & np.uint64(size - 1))
        while table[place] >= 0 and not _equal(words[table[place]], own):
            place = (place + 1) & (size - 1)
        if table[place] < 0:
            table[place] = found
            first[found] = row
            found += 1
        which[row] = table[place]
    return first[:found].copy(), which


@lean
def _equal(one: type_i, other: type_i) -> bool:
    same = True
    for k in range(len(one)):
        same = same and one[k] == other[k]
    return same
