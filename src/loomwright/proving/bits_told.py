"""How many bits does each of many readings tell of the place of a fault?

What an instrument shows is counted in steps of three of its usual errors, each fault weighing what it is likely. A
reading tells the entropy of the step it shows, less what is left of it within one place. Counted twice, the steps half
a step apart, and the less is taken: what a step's edge parts by chance is no news.

Compiled, since a car has a hundred thousand readings to weigh; `tests/proving/test_bits_told.py` holds it against the
sums written out.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["STEP_OF", "bits_told", "left_bits", "told_bits"]

Figures = NDArray[np.float64]
Numbers = NDArray[np.int64]
STEP_OF = 3.0
"""Usual errors in one step [-]."""
_MOST_STEP = 120
_LEAST_FRAC = 1e-9
"""A smaller share on top is none, and none would be divided by [-]."""


def bits_told(
    shown: Figures, error_v: float, frac: float, weights: Figures, places: Numbers, most: int | None = None
) -> Figures:
    """What each reading is expected to tell of the place. [bit]

    Args:
        shown: by reading and fault. [V, A]
        error_v: the instrument's usual error where it shows nothing; a clamp's in amps. [V]
        frac: the share of what it shows that comes on top. [0..1]
        weights: of the faults. [0..1]
        places: a number for the place of each. [-]
        most: how many of those that tell most are wanted; others may be given nothing. All where left out. [-]
    Example:
        >>> shown = np.array([[0.0, 12.0], [0.0, 0.1]])
        >>> bits_told(shown, 0.08, 0.03, np.array([0.5, 0.5]), np.array([0, 1]))
        array([1., 0.])
    """
    order = np.argsort(places, kind="stable")
    told = np.zeros(len(shown))
    if not shown.size:
        return told
    apart = shown.max(axis=1) - shown.min(axis=1)
    # what no two faults show half a step apart tells nothing, and most of the car is that
    some = np.flatnonzero(apart > 0.5 * STEP_OF * error_v)
    if len(some):
        sorted_by_place = np.ascontiguousarray(shown[some][:, order], np.float64)
        wanted = len(some) if most is None else min(most, len(some))
        told[some] = told_bits(
            sorted_by_place,
            error_v,
            max(frac, _LEAST_FRAC),
            weights[order],
            places[order],
            left_bits(weights, places),
            wanted,
        )
    return told


def left_bits(weights: Figures, places: Numbers) -> float:
    """How much is not known yet of the place. [bit]

    Args:
        weights: of the faults. [0..1]
        places: a number for the place of each. [-]
    """
    shares = np.bincount(places, weights)
    return float(-(shares * np.log2(np.where(shares > 0.0, shares, 1.0))).sum())


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _strays(shown: Figures, least: float, frac: float, strays: Figures) -> None:
    """How many steps each figure lies from nothing, each error as large as it is there; put into `strays`."""
    last, away = np.nan, 0.0
    for n in range(len(shown)):
        if shown[n] != last:  # most faults show what the one before shows
            last = shown[n]
            away = np.copysign(np.log1p(frac / least * abs(last)) / (frac * STEP_OF), last)
        strays[n] = away


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _entropy(strays: Figures, shift: float, weights: Figures, steps: Numbers, share: Figures) -> float:
    """Entropy of the step that is shown; the steps are put into `steps`, `share` is left empty. [bit]"""
    for n in range(len(strays)):
        step = int(np.rint(min(max(strays[n] + shift, -_MOST_STEP), _MOST_STEP))) + _MOST_STEP
        steps[n] = step
        share[step] += weights[n]
    return _taken_out(steps, share)


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _taken_out(steps: Numbers, share: Figures) -> float:
    """Entropy of the shares of some steps, which are set back to nothing. [bit]"""
    bits = 0.0
    for step in steps:
        if share[step] > 0.0:
            bits -= share[step] * np.log2(share[step])
            share[step] = 0.0
    return bits


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _within(steps: Numbers, weights: Figures, alone: Figures, places: Numbers, share: Figures) -> float:
    """Entropy of step and place together: of each place on its own, summed. [bit]

    Args:
        alone: of each fault, weight times its logarithm. [bit]
    """
    bits, first = 0.0, 0
    while first < len(steps):
        end = first + 1
        while end < len(steps) and places[end] == places[first]:
            end += 1
        if end == first + 1:
            bits -= alone[first]
        else:
            for n in range(first, end):
                share[steps[n]] += weights[n]
            bits += _taken_out(steps[first:end], share)
        first = end
    return bits


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def told_bits(
    shown: Figures, error_v: float, frac: float, weights: Figures, places: Numbers, whole_bits: float, most: int
) -> Figures:
    """The same, the faults in the order of their places. No reading tells more than the entropy of what it shows: where
    that is less than so many tell that were looked at before, the rest is not worked out.

    Args:
        error_v: the instrument's usual error where it shows nothing; a clamp's in amps. [V]
        whole_bits: how much is not known yet of the place, in bits. [-]
        most: how many of those that tell most are wanted. [-]
    """
    readings, faults = shown.shape
    found, best = np.zeros(readings), np.zeros(most)
    strays, steps, share = np.empty(faults), np.empty(faults, np.int64), np.zeros(2 * _MOST_STEP + 1)
    alone = weights * np.log2(np.maximum(weights, 1e-300))
    for k in range(readings):
        _strays(shown[k], error_v, frac, strays)
        told = np.inf
        for shift in (0.0, 0.5):
            bits = _entropy(strays, shift, weights, steps, share)
            if bits <= best[0]:
                told = 0.0
                break
            told = min(told, bits + whole_bits - _within(steps, weights, alone, places, share))
        found[k] = told
        if told > best[0]:  # the least of the best goes
            place = 0
            while place + 1 < most and best[place + 1] < told:
                best[place] = best[place + 1]
                place += 1
            best[place] = told
    return found
