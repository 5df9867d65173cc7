"""Does a channel change its unit from one unbroken stretch of a log to the next, as where two logs were joined?

In: a drive's figures of one quantity, stretch by stretch. Out: which rows seem to be in another unit, and which. They
are left out and told, never turned: nobody has said that they are in it.
Three signs are taken. Most of a stretch lies beyond what the quantity can be, and nearly all within it read in another
of its units. Of a temperature it is enough that some of it does, where all of it read in another unit is no hotter than
the longest stretch. Or its high figures (the 95th part in a hundred) are to those of the longest stretch as two of its
units are to each other, five to one or more.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from loomwright.logs.channels import GAUGE
from loomwright.tables.load import read_rows

__all__ = ["OtherUnit", "other_units"]

_LEAST_ROWS = 20
_BEYOND, _WITHIN = 0.5, 0.9
_SOME, _WARMER_K = 0.98, 10.0
_HIGH = 95.0
_LIKE = 0.15
_APART = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherUnit:
    """A stretch in another unit. first, end: its rows. [-]   unit: what it seems to be in."""

    first: int
    end: int
    unit: str


def other_units(figures: NDArray[np.float32], stretch: NDArray[np.int32], quantity: str) -> tuple[OtherUnit, ...]:
    """Stretches of a channel that seem to be in another unit than its longest one.

    Args:
        figures: of the quantity, in its own unit. [-]
        stretch: number of the unbroken stretch of each row.
        quantity: which.
    """
    row = next(row for row in read_rows("log_quantities") if row["name"] == quantity)
    if stretch[-1] == 0 or not row["most"] or (row["unit"] == "-" and not quantity.startswith("mixture")):
        return ()
    span = float(row["least"]), float(row["most"])
    edges = [0, *(np.flatnonzero(np.diff(stretch)) + 1).tolist(), stretch.size]
    parts = [(first, end, figures[first:end][np.isfinite(figures[first:end])]) for first, end in pairwise(edges)]
    parts = [part for part in parts if part[2].size >= _LEAST_ROWS]
    if len(parts) < 2:
        return ()
    longest = max(parts, key=lambda part: part[2].size)
    found = []
    for first, end, own in parts:
        unit = "" if first == longest[0] else _unit_of(own, longest[2], row["unit"], span)
        if unit:
            found.append(OtherUnit(first=first, end=end, unit=unit))
    return tuple(found)


def _unit_of(own: NDArray[np.float32], longest: NDArray[np.float32], unit: str, span: tuple[float, float]) -> str:
    """What a stretch seems to be in beside the longest one; blank where nothing speaks against its own unit."""
    high, here = float(np.percentile(longest, _HIGH)), float(np.percentile(own, _HIGH))
    for word, factor, offset in _units_of(unit):
        if _share(own, span) < _BEYOND and _share(own * factor + offset, span) > _WITHIN:
            return word
        hottest = float(own.max()) * factor + offset
        is_hot = offset != 0.0 and _share(own, span) < _SOME and _share(own * factor + offset, span) > _WITHIN
        if is_hot and hottest <= float(longest.max()) + _WARMER_K:
            return word
        is_far = offset == 0.0 and not 1.0 / _APART < factor < _APART
        if is_far and here > 0.0 and abs(high / here / factor - 1.0) < _LIKE:
            return word
    return ""


def _share(figures: NDArray[np.float32], span: tuple[float, float]) -> float:
    return float(((figures >= span[0]) & (figures <= span[1])).mean())


def _units_of(own: str) -> Iterator[tuple[str, float, float]]:
    """Other units of the same thing: called, factor and offset to its own; an air-fuel ratio is one of lambda's."""
    told = set()
    for row in read_rows("log_units"):
        pair = float(row["factor"]), float(row["offset"])
        if row["unit"] == own and pair != (1.0, 0.0) and pair not in told:
            told.add(pair)
            yield row["also_called"], *pair
    if own == "-":
        yield "air-fuel ratio", 1.0 / GAUGE, 0.0
