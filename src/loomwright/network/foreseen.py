"""Which bent laws can be taken as straight lines from the first, and did they turn out so?

Most elements that are no straight line lie on a straight piece of their law once all is at rest: a diode laid across a
coil or a driver blocks, a driver is within its limits, electronics that are fed draw what they draw, a lamp that
nothing feeds is a cold resistor. Which piece that is follows nearly always from how the contacts lie alone: what no
source reaches is dark. So such elements are put in as the line of that piece, their nodes are eliminated once and not
in every step; and when volts are there each is held against the ends of its piece. One that is off it is taken as bent
and all is solved again: the answer is the same, only dearer.

In: `Reach`, which elements act, their rows of figures. Out: islands that are fed, lines, whether they hold.
"""

from __future__ import annotations

from math import exp, log
from typing import NamedTuple

import numpy as np
from numba import njit

from loomwright.network.arrays import Reach, type_b, type_f, type_i
from loomwright.network.laws import DIODE_BLOCKED, FLAT, LAMP_EXPONENT
from loomwright.network.lean import lean
from loomwright.network.records import Law

__all__ = [
    "BROKEN",
    "HANGS",
    "HOLD",
    "NARROW",
    "Foreseen",
    "doubt_all",
    "doubt_none",
    "feed",
    "foresee",
    "lines_hold",
    "room_to_foresee",
]

HOLD, NARROW, BROKEN = 0, 1, 2
"""Whether all lines hold, some too narrowly to say, or one does not."""
_BENT, _DARK, _WORKS, _BETWEEN, _BLOCKED, HANGS = 0, 1, 2, 3, 4, 5
"""Pieces of a law; the last of a diode that hangs on nothing else, whatever volts are written beside its free end."""
_LAMP, _DIODE, _CLAMP = int(Law.LAMP), int(Law.DIODE), int(Law.CLAMP)
_CURRENT = int(Law.CURRENT)
_DEAD, _FED, _BEHIND, _EARTH = 0, 1, 2, 3
"""How an island is fed: not, by wires and contacts, behind something else; or it is the earth."""
_EDGE_V = 1e-9
"""Laws are continuous: this far past the end of a piece its line is still the law. [V]"""


class Foreseen(NamedTuple):
    """What is taken as straight, made once for many states.

    fed: of each island, whether a source reaches it.  ahead: room for the walk.  doubted: elements taken as bent.
    element, piece: those taken as straight, `taken` of them.
    """

    fed: type_b
    ahead: type_i
    doubted: type_b
    element: type_i
    piece: type_i
    taken: type_i


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def room_to_foresee(islands: int, elements: int, bent: int) -> Foreseen:
    """Room for the lines of a network."""
    return Foreseen(
        np.zeros(islands, np.uint8), np.zeros(islands, np.int64), np.zeros(elements, np.uint8),
        np.zeros(bent, np.int64), np.zeros(bent, np.int64), np.zeros(1, np.int64),
    )  # fmt: skip


@lean
def doubt_none(bent: type_i, foreseen: Foreseen) -> None:
    """All that can be taken as straight is."""
    for e in bent:
        foreseen.doubted[e] = 0


@lean
def doubt_all(foreseen: Foreseen) -> None:
    """Nothing of what was taken as straight is any more."""
    for k in range(foreseen.taken[0]):
        foreseen.doubted[foreseen.element[k]] = 1


@lean
def feed(reach: Reach, acts: type_b, fed: type_b, ahead: type_i) -> None:
    """Mark the islands that a source reaches, first through wires and contacts, then through anything that acts; what
    is on the far side of earth is not asked."""
    island, ptr, element, other, leads, source, ends, _ = reach
    for k in range(len(fed)):
        fed[k] = _DEAD
    fed[island[len(island) - 1]] = _EARTH
    count = 0
    for k in range(len(source)):
        if acts[source[k]] and fed[ends[k]] == _DEAD:
            fed[ends[k]] = _FED
            ahead[count] = ends[k]
            count += 1
    at = 0
    while at < count:
        here = ahead[at]
        at += 1
        for k in range(ptr[here], ptr[here + 1]):
            there = other[k]
            if leads[k] and fed[there] == _DEAD and acts[element[k]]:
                fed[there] = _FED
                ahead[count] = there
                count += 1
    at = 0
    while at < count:
        here = ahead[at]
        at += 1
        for k in range(ptr[here], ptr[here + 1]):
            there = other[k]
            if fed[there] == _DEAD and acts[element[k]]:
                fed[there] = _BEHIND
                ahead[count] = there
                count += 1


@lean
def foresee(law: int, figures: type_f, row: int, one: int, other: int) -> tuple[int, float, float]:
    """The piece an element is taken to be on, the slope of its line and the amps that line has at no volts. [-, S, A]

    Args:
        one, other: how the islands at its ends are fed.
    """
    first, second = figures[row, 0], figures[row, 1]
    if law == _DIODE:
        return _BLOCKED, 0.0, 0.0
    if law == _CLAMP:
        return _BETWEEN, first, -first * second
    if one in (_DEAD, _EARTH) and other in (_DEAD, _EARTH):
        siemens = 1.0 / figures[row, 2] if law == _LAMP else first / second if law == _CURRENT else FLAT * first
        return _DARK, siemens, 0.0
    if law == _LAMP or one != _FED or other != _EARTH:
        return _BENT, 0.0, 0.0
    slope = FLAT * first
    if law == _CURRENT:
        return _WORKS, slope, first - second * slope
    return _WORKS, first, second * (slope - first)


@lean
def _left_v(piece: int, law: int, figures: type_f, row: int, across: float) -> float:
    """Volts left to the nearer end of a piece; below nothing past it. [V]"""
    first, second = float(figures[row, 0]), float(figures[row, 1])
    if piece == HANGS:
        return first + DIODE_BLOCKED * second
    if piece == _BLOCKED:
        return first + DIODE_BLOCKED * second - across
    if piece == _BETWEEN:
        i = (across - second) * first
        return min(float(figures[row, 3]) - i, i - float(figures[row, 2])) / first
    if piece == _WORKS:
        return across - second
    if law == _LAMP:
        # cold while design_a * cold_ohm * (size / design_v) ** LAMP_EXPONENT is at least its size
        share = second * float(figures[row, 2]) / first
        if share < 1.0 and abs(across) < 0.5 * first * share * share * share:
            return first * share * share * share - abs(across)
        return first * exp(log(share) / (1.0 - LAMP_EXPONENT)) - abs(across)
    return second - abs(across)


@lean
def lines_hold(
    foreseen: Foreseen, from_step: type_i, to_step: type_i, laws: type_i, figures: type_f, rows: type_i, v: type_f,
    off_v: float, marks: bool,
) -> int:  # fmt: skip
    """Whether what was taken as straight is.

    Args:
        v: by step. [V]
        off_v: how far volts between two points may still be off. [V]
        marks: whether what is not straight is doubted from now on.
    Returns:
        HOLD, NARROW or BROKEN.
    """
    _, _, doubted, elements, pieces, taken = foreseen
    found = HOLD
    for k in range(taken[0]):
        e = elements[k]
        left_v = _left_v(pieces[k], laws[e], figures, rows[e], v[from_step[e]] - v[to_step[e]])
        if left_v < off_v:
            if left_v < -off_v - _EDGE_V:
                found = BROKEN
                if marks:
                    doubted[e] = 1
            elif off_v > 0.0 and found == HOLD:
                found = NARROW
    return found
