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
from numpy.typing import NDArray

from loomwright.network.lean import lean

__all__ = ["DIODE_BLOCKED", "DIODE_START", "FLAT", "LAMP_EXPONENT", "amps_and_slope", "amps_of_row"]

LAMP_EXPONENT = 0.55
"""Filament current against volts [-]; lamp rerating formula, electrical handbook practice."""
DIODE_BLOCKED = -12.0
"""Knees below forward volts at which a diode carries exactly nothing [-]."""
DIODE_START = log1p(exp(DIODE_BLOCKED))
"""What the diode's law is lowered by, so that it begins at nothing [-]."""
_LINE = 30.0
FLAT = 1e-6
"""Slope of a load beside its bend, as a share of its own figure [-]."""
_TINY_V = 1e-12


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
    amps, slope = amps_of_row(law, p[np.newaxis, :], 0, v)
    return float(amps), float(slope)


@lean
def amps_of_row(law: int, p: NDArray[np.float64], row: int, v: float) -> tuple[float, float]:
    """The same for one row of many figures; cutting the row out first would cost as much as the law. [A, S]"""
    if law == 0:
        return (v - p[row, 1]) * p[row, 0], p[row, 0]
    if law == 1:
        return _lamp(p[row, 0], p[row, 1], p[row, 2], v)
    if law == 2:
        return _diode(p[row, 0], p[row, 1], p[row, 2], v)
    if law == 3:
        i = (v - p[row, 1]) * p[row, 0]
        if i > p[row, 3]:
            return p[row, 3] + (i - p[row, 3]) * p[row, 4] / p[row, 0], p[row, 4]
        if i < p[row, 2]:
            return p[row, 2] + (i - p[row, 2]) * p[row, 4] / p[row, 0], p[row, 4]
        return i, p[row, 0]
    if law == 4:
        if v <= p[row, 0]:
            return (v - p[row, 0]) * p[row, 1], p[row, 1]
        if v >= p[row, 2]:
            return (p[row, 2] - p[row, 0]) * p[row, 4] + (v - p[row, 2]) * p[row, 3], p[row, 3]
        return (v - p[row, 0]) * p[row, 4], p[row, 4]
    return _load(law, p[row, 0], p[row, 1], v)


@lean
def _diode(forward_v: float, knee_v: float, siemens: float, v: float) -> tuple[float, float]:
    x = (v - forward_v) / knee_v
    if x <= DIODE_BLOCKED:
        return 0.0, 0.0
    if x >= _LINE:
        return siemens * knee_v * (x - DIODE_START), siemens
    e = exp(x)
    return siemens * knee_v * (log1p(e) - DIODE_START), siemens * e / (1.0 + e)


@lean
def _load(law: int, first: float, low_v: float, v: float) -> tuple[float, float]:
    size = abs(v)
    sign = 1.0 if v >= 0.0 else -1.0
    if law == 5:
        if size <= low_v:
            return v * first / low_v, first / low_v
        slope = FLAT * first
        return sign * (first + (size - low_v) * slope), slope
    if law == 6:
        if size <= low_v:
            return v * first / (low_v * low_v), first / (low_v * low_v)
        return first / v, first / (v * v)
    if size <= low_v:
        return v * first * FLAT, first * FLAT
    return sign * (low_v * first * FLAT + (size - low_v) * first), first


@lean
def _lamp(design_v: float, design_a: float, cold_ohm: float, v: float) -> tuple[float, float]:
    size = abs(v)
    if size < _TINY_V:
        return v / cold_ohm, 1.0 / cold_ohm
    i = design_a * exp(LAMP_EXPONENT * log(size / design_v))
    if i * cold_ohm >= size:
        return v / cold_ohm, 1.0 / cold_ohm
    return (i if v > 0.0 else -i), LAMP_EXPONENT * i / size
