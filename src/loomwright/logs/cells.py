"""By how much is the fuel wrong at each cell of the user's table, and how sure is that?

In: visits and the table's breakpoints. Out: for each cell the factor its fuel wants (measured over target), its 95 %
interval, how many samples and visits told it, or that none did.
Method: a controller reads straight between its breakpoints, so each visit is a weighted mean of the four round it; all
breakpoints are found together by least squares, each visit weighing by its variance (that of its mean, and what visits
differ by beyond it). Neighbours are held together loosely, by as much as they are seen to differ and no less than
`cell_slope`: so visits all to one side of a breakpoint widen its interval instead of pretending to know it. Nothing is
said of breakpoints with fewer visits beside them than `visits_needed`. VE_new = VE_old * (1 + trim) * measured /
target.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import exp

import numpy as np
from numpy.typing import NDArray

from loomwright.logs.steady import Visits
from loomwright.refusals import OutOfReach

__all__ = ["Cell", "Grid", "cells_of", "shares_of"]

_NEAR = 0.5
_REACH = 1.96
_PASSES = 4
_LEAST_SPREAD = 0.001  # no probe repeats itself better; our choice
_LOOSE = 0.3  # as a log: a table is not out by more than a third, where nothing else is known


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """A table's breakpoints, rising. rpm: engine speed. [1/min]   load: manifold pressure, kPa. [-]"""

    rpm: tuple[float, ...]
    load: tuple[float, ...]

    def __post_init__(self) -> None:
        """Refuses breakpoints that do not rise."""
        for name, marks in (("rpm", self.rpm), ("load", self.load)):
            if len(marks) < 2 or any(b <= a for a, b in pairwise(marks)):
                raise OutOfReach(name, marks, "two breakpoints or more, each above the one before")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """What the drive says of one cell.

    rpm, load: its breakpoint. [-]   factor: what its fuel is to be multiplied by; None where nothing is known. [-]
    low, high: its 95 % interval. [-]   rows, visits: how much told it.
    why: why nothing is said, where it is not.
    """

    rpm: float
    load: float
    factor: float | None
    low: float | None
    high: float | None
    rows: int
    visits: int
    why: str = ""

    @property
    def is_clear(self) -> bool:
        """Whether its interval leaves out that nothing need change."""
        return self.low is not None and self.high is not None and (self.low > 1.0 or self.high < 1.0)


def cells_of(visits: Visits, grid: Grid, limits: Mapping[str, float]) -> tuple[Cell, ...]:
    """Every cell of a table, low loads first, engine speed rising within each.

    Args:
        visits: steady ones.
        grid: the breakpoints.
        limits: `visits_needed`, `cell_slope`.
    """
    corner, part = shares_of(visits, grid)
    inside = part.sum(axis=1) > _NEAR
    corner, part, inner = corner[inside], part[inside], visits.only(inside)
    size = len(grid.rpm) * len(grid.load)
    near = corner[np.arange(len(corner)), part.argmax(axis=1)]
    count = np.bincount(near, minlength=size)
    rows = np.bincount(near, inner.rows, minlength=size).astype(np.int64)
    height, spread = _solved(inner, corner, part, count >= limits["visits_needed"], grid, limits)
    found = []
    for number, (load, rpm) in enumerate((load, rpm) for load in grid.load for rpm in grid.rpm):
        own, told = int(count[number]), int(rows[number])
        if own < limits["visits_needed"]:
            why = "no data" if own == 0 else f"{own} of {limits['visits_needed']:g} visits"
            found.append(Cell(rpm=rpm, load=load, factor=None, low=None, high=None, rows=told, visits=own, why=why))
            continue
        middle, reach = float(height[number]), _REACH * float(spread[number])
        found.append(
            Cell(
                rpm=rpm,
                load=load,
                factor=exp(middle),
                low=exp(middle - reach),
                high=exp(middle + reach),
                rows=told,
                visits=own,
            )
        )
    return tuple(found)


def shares_of(visits: Visits, grid: Grid) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """The four breakpoints round each visit, low loads first, and how much of each it is; nothing outside the table.

    Half a step beyond an edge counts as the edge, as a controller reads it.

    Args:
        visits: steady ones.
        grid: the breakpoints.
    """
    sides = []
    sound = np.ones(visits.rpm.size, bool)
    for figures, marks in ((visits.rpm, grid.rpm), (visits.load, grid.load)):
        at = np.interp(figures, marks, np.arange(len(marks)))
        sound &= figures >= marks[0] - _NEAR * (marks[1] - marks[0])
        sound &= figures <= marks[-1] + _NEAR * (marks[-1] - marks[-2])
        below = np.minimum(at.astype(np.int64), len(marks) - 2)
        sides.append((below, at - below))
    (column, u), (row, v) = sides
    width = len(grid.rpm)
    first = row * width + column
    corner = np.stack([first, first + 1, first + width, first + width + 1], axis=1)
    part = np.stack([(1 - u) * (1 - v), u * (1 - v), (1 - u) * v, u * v], axis=1)
    return corner, np.where(sound[:, None], part, 0.0)


def _solved(
    visits: Visits,
    corner: NDArray[np.int64],
    part: NDArray[np.float64],
    sure: NDArray[np.bool_],
    grid: Grid,
    limits: Mapping[str, float],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Height of every breakpoint and its standard deviation."""
    pairs = _pairs(grid)
    step, between = limits["cell_slope"], 0.0
    size = sure.size
    height: NDArray[np.float64] = np.zeros(size)
    cover: NDArray[np.float64] = np.eye(size)
    pair = corner[:, :, None] * size + corner[:, None, :]
    both = part[:, :, None] * part[:, None, :]
    for _ in range(_PASSES):
        variance = visits.variance + between
        told = np.bincount(pair.ravel(), (both / variance[:, None, None]).ravel(), minlength=size * size)
        normal = told.reshape(size, size) + _held(pairs, size, step)
        cover = _inverse(normal)
        pulls = (part * (visits.change / variance)[:, None]).ravel()
        height = np.asarray(cover @ np.bincount(corner.ravel(), pulls, minlength=size), np.float64)
        if visits.rpm.size:
            # what residuals show beyond the visits' own variance; the fit's own uncertainty belongs to it
            own = (cover.ravel()[pair] * both).sum(axis=(1, 2))
            left = (visits.change - (height[corner] * part).sum(axis=1)) ** 2 + own - visits.variance
            between = max(0.0, float(left.mean()))
        known = sure[pairs[:, 0]] & sure[pairs[:, 1]]
        if known.any():
            a, b = pairs[known].T
            differ = (height[a] - height[b]) ** 2 + cover[a, a] + cover[b, b] - 2.0 * cover[a, b]
            step = max(limits["cell_slope"], float(np.sqrt(differ.mean())))
    return height, np.sqrt(np.diag(cover) + _LEAST_SPREAD**2)


def _inverse(normal: NDArray[np.float64]) -> NDArray[np.float64]:
    """The inverse of a positive definite matrix, breakpoint after breakpoint: none needs another to go first.

    A table is small: a library that shares it out among processors spends more on that than on the sums.
    """
    found: NDArray[np.float64] = normal.copy()
    for k in range(len(found)):
        pivot = found[k, k]
        along, down = found[k] / pivot, found[:, k].copy()
        down[k] = 0.0
        found -= down[:, None] * along
        found[:, k] = -down / pivot
        found[k] = along
        found[k, k] = 1.0 / pivot
    return found


def _pairs(grid: Grid) -> NDArray[np.int64]:
    number = np.arange(len(grid.rpm) * len(grid.load)).reshape(len(grid.load), len(grid.rpm))
    beside = np.stack([number[:, :-1].ravel(), number[:, 1:].ravel()], axis=1)
    above = np.stack([number[:-1].ravel(), number[1:].ravel()], axis=1)
    return np.concatenate([beside, above])


def _held(pairs: NDArray[np.int64], size: int, step: float) -> NDArray[np.float64]:
    """How neighbours hold each other: differences of one `step`, and every height itself loosely to nought."""
    held = np.eye(size) / _LOOSE**2
    a, b = pairs.T
    np.add.at(held, (a, a), 1.0 / step**2)
    np.add.at(held, (b, b), 1.0 / step**2)
    np.add.at(held, (a, b), -1.0 / step**2)
    np.add.at(held, (b, a), -1.0 / step**2)
    return held
