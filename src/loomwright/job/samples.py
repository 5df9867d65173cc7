"""At which values must a figure be looked at, so that every condition is seen both ways?

Each comparison in a condition cuts the line of figures just below or just above its limit; `=` and `!=` cut on both
sides. Between two neighbouring cuts no condition changes, so one value an interval is enough. Values that must be
there anyway (the design ambient, the value at rest) stand for their interval; an empty interval gets its middle, the
outer ones a little more.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from loomwright.job.conditions import Term
from loomwright.job.figures import plain_figure
from loomwright.refusals import OutOfReach

__all__ = ["Cut", "cuts_of", "sample_values"]

Cut = tuple[float, int]
"""A limit and the side of it that is cut: 0 just below, 1 just above."""

_SIDES = {">=": (0,), "<": (0,), ">": (1,), "<=": (1,), "=": (0, 1), "!=": (0, 1)}
_BEYOND_LARGE = 10.0
_BEYOND_SMALL = 1.0


def cuts_of(terms: Iterable[Term]) -> frozenset[Cut]:
    """Where the terms, all of one variable, cut the line of figures."""
    cuts: set[Cut] = set()
    for term in terms:
        for word in term.values:
            try:
                limit = plain_figure(word, "")
            except OutOfReach:
                continue
            cuts.update((limit, side) for side in _SIDES[term.op])
    return frozenset(cuts)


def sample_values(cuts: frozenset[Cut], wanted: Iterable[float]) -> tuple[float, ...]:
    """One value at least in every interval, ascending.

    Args:
        cuts: from `cuts_of`.
        wanted: values that must be among them.
    Example:
        >>> sample_values(frozenset({(95.0, 0)}), [40.0])
        (40.0, 105.0)
    """
    values = set(wanted)
    edges: list[Cut | None] = [None, *sorted(cuts), None]
    for low, high in pairwise(edges):
        if not any(_lies_between(value, low, high) for value in values):
            values.add(_middle(low, high))
    return tuple(sorted(values))


def _lies_between(value: float, low: Cut | None, high: Cut | None) -> bool:
    above = low is None or value > low[0] or (value == low[0] and low[1] == 0)
    below = high is None or value < high[0] or (value == high[0] and high[1] == 1)
    return above and below


def _middle(low: Cut | None, high: Cut | None) -> float:
    if low is None and high is None:
        return 0.0
    if low is None and high is not None:
        return high[0] - _beyond(high[0])
    if high is None and low is not None:
        return low[0] + _beyond(low[0])
    assert low is not None
    assert high is not None
    return low[0] if low[0] == high[0] else (low[0] + high[0]) / 2.0


def _beyond(limit: float) -> float:
    return _BEYOND_LARGE if abs(limit) >= _BEYOND_LARGE else _BEYOND_SMALL
