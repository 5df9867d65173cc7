"""What stands between two rows of a table?

A straight line in the logarithms of both columns, since resistance, carrying current and size go by powers of each
other. Outside the first and the last row there is no figure.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from math import exp, isclose, log

from loomwright.refusals import OutOfReach

__all__ = ["between_rows"]

_SAME = 1e-4  # a size written with four figures is the size of the row


def between_rows(
    name: str, at: float, rows: Sequence[tuple[float, float]], *, unit: str = ""
) -> tuple[float, tuple[int, int]]:
    """The figure at a key, and the numbers of the rows it comes from (the same twice where a row has it).

    log y = log y0 + (log y1 - log y0) * (log x - log x0) / (log x1 - log x0)

    Args:
        name: what the key is, for the refusal.
        at: the key.
        rows: (key, figure), keys rising, all above nothing.
        unit: of the key, for the refusal.
    Raises:
        OutOfReach: the key lies outside the rows.
    Example:
        >>> figure, rows = between_rows("size_mm2", 2.0, [(1.0, 10.0), (4.0, 40.0)])
        >>> round(figure, 6), rows
        (20.0, (0, 1))
    """
    keys = [key for key, _ in rows]
    for number, key in enumerate(keys):
        if isclose(at, key, rel_tol=_SAME):
            return rows[number][1], (number, number)
    if not keys[0] < at < keys[-1]:
        raise OutOfReach(name, at, f"{keys[0]:g} to {keys[-1]:g} {unit}".rstrip())
    high = bisect_left(keys, at)
    (x0, y0), (x1, y1) = rows[high - 1], rows[high]
    share = (log(at) - log(x0)) / (log(x1) - log(x0))
    return exp(log(y0) + (log(y1) - log(y0)) * share), (high - 1, high)
