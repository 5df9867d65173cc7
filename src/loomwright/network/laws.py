"""How does the current through each kind of element follow from the volts across it?

In: law number, its figures, volts from first node to second. Out: amps and the slope used by Newton's method. [A, S]
Every law here is continuous and never falls as the volts rise, except constant power; that is what lets one line search
on the sum of currents times change of volts find the operating point from any start (see `kernel`).

  linear    I = (V - emf) G
  lamp      I = Id (V / Vd)^0.55, cold resistance below the crossing     [lamp-rerating]
  diode     I = G s [ln(1 + exp((V - Vf) / s)) - ln(1 + exp(-12))], nothing from 12 s below Vf: a line behind a soft
  knee clamp     linear between two currents, almost flat outside: alternator, 5 V supply, driver with a limit
  battery   discharge behind the emf, charge behind a higher voltage, next to nothing between
  current   constant above low_v, resistive below: electronics
  power     W / V above low_v, resistive below
  motor     straight line from free_v; a stalled motor is an element of its own
"""

from __future__ import annotations

from math import exp, log, log1p

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["DIODE_BLOCKED", "DIODE_START", "LAMP_EXPONENT", "amps_and_slope"]

LAMP_EXPONENT = 0.55
"""Filament current against volts [-]; lamp rerating formula, electrical handbook practice."""
DIODE_BLOCKED = -12.0
"""Knees below forward volts at which a diode carries exactly nothing [-]."""
DIODE_START = log1p(exp(DIODE_BLOCKED))
"""What the diode's law is lowered by, so that it begins at nothing [-]."""
_LINE = 30.0
_FLAT = 1e-6
_TINY_V = 1e-12


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def amps_and_slope(law: int, p: NDArray[np.float64], v: float) -> tuple[float, float]:
    """The current through one element and its slope.

    Args:
        law: a `records.Law`. [-]
        p: the law's figures.
        v: volts from the first node to the second. [V]
    Returns:
        Current and slope. [A, S]
    Limits:
        The slope of constant power is its chord, so that it stays positive.
    """
    if law == 0:
        return (v - p[1]) * p[0], p[0]
    if law == 1:
        return _lamp(p[0], p[1], p[2], v)
    if law == 2:
        x = (v - p[0]) / p[1]
        if x <= DIODE_BLOCKED:
            return 0.0, 0.0
        if x >= _LINE:
            return p[2] * p[1] * (x - DIODE_START), p[2]
        e = exp(x)
        return p[2] * p[1] * (log1p(e) - DIODE_START), p[2] * e / (1.0 + e)
    if law == 3:
        i = (v - p[1]) * p[0]
        if i > p[3]:
            return p[3] + (i - p[3]) * p[4] / p[0], p[4]
        if i < p[2]:
            return p[2] + (i - p[2]) * p[4] / p[0], p[4]
        return i, p[0]
    if law == 4:
        if v <= p[0]:
            return (v - p[0]) * p[1], p[1]
        if v >= p[2]:
            return (p[2] - p[0]) * p[4] + (v - p[2]) * p[3], p[3]
        return (v - p[0]) * p[4], p[4]
    return _load(law, p, v)


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _load(law: int, p: NDArray[np.float64], v: float) -> tuple[float, float]:
    size = abs(v)
    sign = 1.0 if v >= 0.0 else -1.0
    if law == 5:
        if size <= p[1]:
            return v * p[0] / p[1], p[0] / p[1]
        slope = _FLAT * p[0]
        return sign * (p[0] + (size - p[1]) * slope), slope
    if law == 6:
        if size <= p[1]:
            return v * p[0] / (p[1] * p[1]), p[0] / (p[1] * p[1])
        return p[0] / v, p[0] / (v * v)
    if size <= p[1]:
        return v * p[0] * _FLAT, p[0] * _FLAT
    return sign * (p[1] * p[0] * _FLAT + (size - p[1]) * p[0]), p[0]


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _lamp(design_v: float, design_a: float, cold_ohm: float, v: float) -> tuple[float, float]:
    size = abs(v)
    if size < _TINY_V:
        return v / cold_ohm, 1.0 / cold_ohm
    i = design_a * exp(LAMP_EXPONENT * log(size / design_v))
    if i * cold_ohm >= size:
        return v / cold_ohm, 1.0 / cold_ohm
    return (i if v > 0.0 else -i), LAMP_EXPONENT * i / size
