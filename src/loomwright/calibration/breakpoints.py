"""Where do the breakpoints of a sensor's table belong, so that straight lines between them are least wrong?

A controller takes n pairs and goes straight from one to the next. Of a fine set of points of the true curve, n are
chosen, the ends among them, so that the largest distance between curve and line is as small as it can be. Dynamic
programming: E(j, k) = min over i of max(E(i, k-1), wrong(i, j)), exact over the points given. The proof that it is the
best is in the tests: every choice tried one by one gives the same. Many choices are as good by their worst stretch; of
those the one with the least sum of squares over all stretches is taken, so that no breakpoint is spent for nothing.

Source: none needed; our choice of method.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.refusals import OutOfReach

__all__ = ["Placed", "place_breakpoints", "table_wrong"]

_MOST = 400
_SAME = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """Breakpoints.

    at: where. [-]   reads: the curve there. [-]   worst: largest distance between line and curve. [-]
    even: the same with the breakpoints evenly spread. [-]
    """

    at: tuple[float, ...]
    reads: tuple[float, ...]
    worst: float
    even: float


def place_breakpoints(x: Sequence[float], y: Sequence[float], count: int) -> Placed:
    """The best places for a number of breakpoints.

    Args:
        x: what the controller reads, rising. [-]
        y: what it means, in the curve's own unit. [-]
        count: breakpoints the controller takes. [-]
    Raises:
        OutOfReach: fewer than two breakpoints, more than there are points, or points that do not rise.
    Example:
        >>> place_breakpoints([0, 1, 2, 3, 4], [0, 0, 0, 1, 2], 3).at
        (0.0, 2.0, 4.0)
    """
    xs, ys = np.asarray(x, float), np.asarray(y, float)
    n = len(xs)
    if not (2 <= count <= n <= _MOST) or np.any(np.diff(xs) <= 0.0):
        raise OutOfReach("breakpoints", f"{count} of {n} points", f"2 or more of {_MOST} points at most, which rise")
    wrong = _wrong_between(xs, ys)
    best = wrong[0].copy()
    for _ in range(2, count):
        # best[i] with one stretch fewer, then one more from i to j
        best = np.maximum(best[:, None], wrong).min(axis=0)
    cost = np.where(wrong <= best[-1] * (1.0 + _SAME) + _SAME, wrong**2, np.inf)
    least = cost[0].copy()
    came = np.zeros((count, n), int)
    for k in range(2, count):
        through = least[:, None] + cost
        came[k] = np.argmin(through, axis=0)
        least = through[came[k], np.arange(n)]
    chosen = [n - 1]
    for k in range(count - 1, 1, -1):
        chosen.append(int(came[k][chosen[-1]]))
    chosen.append(0)
    at = chosen[::-1]
    even = np.interp(np.linspace(xs[0], xs[-1], count), xs, ys)
    return Placed(
        at=tuple(float(xs[i]) for i in at),
        reads=tuple(float(ys[i]) for i in at),
        worst=table_wrong(xs.tolist(), ys.tolist(), [float(xs[i]) for i in at], [float(ys[i]) for i in at]),
        even=table_wrong(xs.tolist(), ys.tolist(), np.linspace(xs[0], xs[-1], count).tolist(), even.tolist()),
    )


def table_wrong(x: Sequence[float], y: Sequence[float], at: Sequence[float], reads: Sequence[float]) -> float:
    """The largest distance between a table's straight lines and the curve. [-]

    Args:
        x, y: points of the curve. [-]
        at, reads: the table. [-]
    """
    return float(np.max(np.abs(np.interp(np.asarray(x), at, reads) - np.asarray(y))))


def _wrong_between(xs: np.ndarray, ys: np.ndarray) -> np.ndarray:
    """How far the curve leaves the line from point i to a later point j; endless where j is not later."""
    n = len(xs)
    found = np.full((n, n), np.inf)
    for i in range(n - 1):
        along, up = xs[i + 1 :] - xs[i], ys[i + 1 :] - ys[i]
        # row: the line to that point; column: where it is looked at, nowhere beyond its end
        off = np.tril(np.abs(np.outer(up / along, along) - up))
        found[i, i + 1 :] = off.max(axis=1)
    return found
