"""How does the current through many elements follow from their volts, in many states side by side?

The laws of `laws`, in plain numpy: one line an element, one column a lane. Elements are asked law by law, so that each
law is a few sums over all its elements and lanes at once. Figures that no state changes stand once, not once a lane.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from loomwright.network.arrays import Arrays, type_f, type_i
from loomwright.network.laws import DIODE_BLOCKED, DIODE_START, LAMP_EXPONENT

__all__ = ["Laid", "LawGroup", "amps_and_slopes", "by_law", "diode_amps", "laid", "law_groups"]

_TINY_V = 1e-12
_FLAT = 1e-6
_LINE = 30.0


@dataclass(frozen=True, slots=True, eq=False)
class LawGroup:
    """Elements of one law that stand side by side.  varies: a state may change their figures.  gated: lines of those
    that do not always act."""

    law: int
    lines: slice
    elements: type_i
    varies: bool
    gated: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """A group with its figures: first the figure, then the element, then the lane, of which one may stand for all."""

    law: int
    lines: slice
    p: type_f
    gated: tuple[int, ...] = ()

    def of(self, lanes: type_i) -> Laid:
        """Some of the lanes."""
        return self if self.p.shape[2] == 1 else Laid(self.law, self.lines, self.p[:, :, lanes], self.gated)


def _sort_of(arrays: Arrays, element: int) -> tuple[int, bool]:
    return int(arrays.law[element]), bool(arrays.selector[element] >= 0)


def by_law(arrays: Arrays, elements: type_i) -> type_i:
    """Elements law by law, those whose figures no state changes first."""
    return np.array(sorted(elements.tolist(), key=lambda e: _sort_of(arrays, e)), np.int64)


def law_groups(arrays: Arrays, elements: type_i) -> tuple[LawGroup, ...]:
    """Elements that stand in the order of `by_law`, in groups."""
    found = []
    first = 0
    for (law, varies), members in groupby(elements.tolist(), key=lambda e: _sort_of(arrays, e)):
        group = np.array(list(members), np.int64)
        lines = slice(first, first + len(group))
        opens = (arrays.guard_ptr[group + 1] > arrays.guard_ptr[group]) | (
            arrays.need_ptr[group + 1] > arrays.need_ptr[group]
        )
        found.append(LawGroup(law, lines, group, varies, tuple((first + np.flatnonzero(opens)).tolist())))
        first = lines.stop
    return tuple(found)


def laid(arrays: Arrays, groups: Sequence[LawGroup], selected: type_i) -> tuple[Laid, ...]:
    """Groups with their figures.

    Args:
        selected: the row each selector picks, one column a lane; a last line of noughts for those that have none.
    """
    found = []
    for group in groups:
        rows = arrays.row[group.elements][:, None]
        if group.varies:
            rows = rows + selected[arrays.selector[group.elements]]
        columns = arrays.figures.T[: _FIGURES[group.law]]
        found.append(Laid(group.law, group.lines, np.stack([np.take(column, rows) for column in columns]), group.gated))
    return tuple(found)


def amps_and_slopes(groups: Sequence[Laid], v: type_f) -> tuple[type_f, type_f]:
    """Currents and slopes of the elements of some groups, see `laws`. [A, S]

    Args:
        v: volts across, one line an element, one column a lane. [V]
    """
    amps, slopes = np.empty(v.shape), np.empty(v.shape)
    for group in groups:
        _LAWS[group.law](group.p, v[group.lines], amps[group.lines], slopes[group.lines])
    return amps, slopes


def _linear(p: type_f, v: type_f, amps: type_f, slopes: type_f) -> None:
    np.subtract(v, p[1], out=amps)
    amps *= p[0]
    slopes[:] = p[0]


def _lamp(p: type_f, v: type_f, amps: type_f, slopes: type_f) -> None:
    size = np.abs(v)
    np.maximum(size, _TINY_V, out=size)
    i = size / p[0]
    np.log(i, out=i)
    i *= LAMP_EXPONENT
    np.exp(i, out=i)
    i *= p[1]
    cold = i * p[2] >= size
    np.divide(i, size, out=slopes)
    slopes *= LAMP_EXPONENT
    np.copysign(i, v, out=amps)
    if cold.any():
        np.copyto(slopes, 1.0 / p[2], where=cold)
        np.copyto(amps, v / p[2], where=cold)


def diode_amps(p: type_f, v: type_f, amps: type_f, slopes: type_f) -> None:
    """Amps and slopes of diodes, written in place. [A, S]"""
    x = v - p[0]
    x /= p[1]
    amps[:] = 0.0
    slopes[:] = 0.0
    leads = np.nonzero(x > DIODE_BLOCKED)
    if not len(leads[0]):
        return
    forward_v, knee_v, siemens = (np.broadcast_to(figure, v.shape)[leads] for figure in p[:3])
    knees = (v[leads] - forward_v) / knee_v
    e = np.exp(np.minimum(knees, _LINE))
    straight = knees >= _LINE
    amps[leads] = siemens * knee_v * (np.where(straight, knees, np.log1p(e)) - DIODE_START)
    slopes[leads] = np.where(straight, siemens, siemens * e / (1.0 + e))


def _clamp(p: type_f, v: type_f, amps: type_f, slopes: type_f) -> None:
    i = v - p[1]
    i *= p[0]
    limited = np.clip(i, p[2], p[3])
    inside = limited == i
    amps[:] = limited + (i - limited) * (p[4] / p[0])
    slopes[:] = np.where(inside, p[0], p[4])


def _battery(p: type_f, v: type_f, amps: type_f, slopes: type_f) -> None:
    gives, takes = v <= p[0], v >= p[2]
    between = np.where(takes, (p[2] - p[0]) * p[4] + (v - p[2]) * p[3], (v - p[0]) * p[4])
    amps[:] = np.where(gives, (v - p[0]) * p[1], between)
    slopes[:] = np.where(gives, p[1], np.where(takes, p[3], p[4]))


def _current(p: type_f, v: type_f, amps: type_f, slopes: type_f) -> None:
    size, slope, chord = np.abs(v), _FLAT * p[0], p[0] / p[1]
    low = size <= p[1]
    amps[:] = np.where(low, v * chord, np.copysign(p[0] + (size - p[1]) * slope, v))
    slopes[:] = np.where(low, chord, slope)


def _power(p: type_f, v: type_f, amps: type_f, slopes: type_f) -> None:
    low = np.abs(v) <= p[1]
    slopes[:] = p[0] / np.where(low, p[1], v) ** 2
    amps[:] = np.where(low, v * slopes, p[0] / np.where(low, 1.0, v))


def _motor(p: type_f, v: type_f, amps: type_f, slopes: type_f) -> None:
    size, slow = np.abs(v), p[0] * _FLAT
    still = size <= p[1]
    amps[:] = np.where(still, v * slow, np.copysign(p[1] * slow + (size - p[1]) * p[0], v))
    slopes[:] = np.where(still, slow, p[0])


_FIGURES = (2, 3, 3, 5, 5, 2, 2, 2)
"""How many figures each law has [-]."""
_LAWS = (_linear, _lamp, diode_amps, _clamp, _battery, _current, _power, _motor)
