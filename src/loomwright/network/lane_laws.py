"""How does the current through many elements follow from their volts, in many states side by side?

The laws of `laws`, in plain numpy: one line an element, one column a lane.
"""

from __future__ import annotations

from math import exp, log1p

import numpy as np

from loomwright.network.arrays import Arrays, type_f, type_i
from loomwright.network.laws import DIODE_BLOCKED, LAMP_EXPONENT

__all__ = ["amps_and_slopes"]

_TINY_V = 1e-12
_FLAT = 1e-6
_LINE = 30.0
_DIODE_START = log1p(exp(DIODE_BLOCKED))


def amps_and_slopes(arrays: Arrays, elements: type_i, rows: type_i, v: type_f) -> tuple[type_f, type_f]:
    """Currents and slopes of some elements, see `laws`. [A, S]

    Args:
        elements: their numbers.
        rows: row of figures, one line an element, one column a lane.
        v: volts across, the same. [V]
    """
    amps, slopes = np.zeros(v.shape), np.zeros(v.shape)
    laws = arrays.law[elements]
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for law in np.unique(laws):
            mine = laws == law
            p = np.moveaxis(arrays.figures[rows[mine]], -1, 0)
            amps[mine], slopes[mine] = _LAWS[int(law)](p, v[mine])
    return amps, slopes


def _linear(p: type_f, v: type_f) -> tuple[type_f, type_f]:
    return (v - p[1]) * p[0], p[0]


def _lamp(p: type_f, v: type_f) -> tuple[type_f, type_f]:
    size = np.maximum(np.abs(v), _TINY_V)
    i = p[1] * (size / p[0]) ** LAMP_EXPONENT
    cold = (np.abs(v) < _TINY_V) | (i * p[2] >= size)
    return np.where(cold, v / p[2], np.copysign(i, v)), np.where(cold, 1.0 / p[2], LAMP_EXPONENT * i / size)


def _diode(p: type_f, v: type_f) -> tuple[type_f, type_f]:
    x = (v - p[0]) / p[1]
    e = np.exp(np.clip(x, DIODE_BLOCKED, _LINE))
    bend = np.where(x >= _LINE, x, np.log1p(e)) - _DIODE_START
    blocked = x <= DIODE_BLOCKED
    slope = np.where(x >= _LINE, p[2], p[2] * e / (1.0 + e))
    return np.where(blocked, 0.0, p[2] * p[1] * bend), np.where(blocked, 0.0, slope)


def _clamp(p: type_f, v: type_f) -> tuple[type_f, type_f]:
    i = (v - p[1]) * p[0]
    limited = np.clip(i, p[2], p[3])
    inside = limited == i
    return np.where(inside, i, limited + (i - limited) * p[4] / p[0]), np.where(inside, p[0], p[4])


def _battery(p: type_f, v: type_f) -> tuple[type_f, type_f]:
    gives, takes = v <= p[0], v >= p[2]
    i = np.where(gives, (v - p[0]) * p[1], np.where(takes, (p[2] - p[0]) * p[4] + (v - p[2]) * p[3], (v - p[0]) * p[4]))
    return i, np.where(gives, p[1], np.where(takes, p[3], p[4]))


def _current(p: type_f, v: type_f) -> tuple[type_f, type_f]:
    size, slope = np.abs(v), _FLAT * p[0]
    low = size <= p[1]
    flat = np.copysign(p[0] + (size - p[1]) * slope, v)
    return np.where(low, v * p[0] / p[1], flat), np.where(low, p[0] / p[1], slope)


def _power(p: type_f, v: type_f) -> tuple[type_f, type_f]:
    low = np.abs(v) <= p[1]
    chord = p[0] / np.where(low, p[1], v) ** 2
    return np.where(low, v * chord, p[0] / np.where(low, 1.0, v)), chord


def _motor(p: type_f, v: type_f) -> tuple[type_f, type_f]:
    size = np.abs(v)
    slow = p[0] * _FLAT
    still = size <= p[1]
    turning = np.copysign(p[1] * slow + (size - p[1]) * p[0], v)
    return np.where(still, v * slow, turning), np.where(still, slow, p[0])


_LAWS = (_linear, _lamp, _diode, _clamp, _battery, _current, _power, _motor)
