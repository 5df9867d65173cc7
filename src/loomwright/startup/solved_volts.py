"""What should a meter show at an item of the list? Volts of the solved network, a state solved once."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from loomwright.network.solve import Solved
from loomwright.refusals import Refusal
from loomwright.startup.first_start import Volts

__all__ = ["volts_from"]


def volts_from(solve: Callable[[Mapping[str, str | float]], Solved], variables: frozenset[str]) -> Volts:
    """A function that gives volts between two points in a state.

    Args:
        solve: the car in one state.
        variables: those of the car; a state that names another has no answer here.
    """
    kept: dict[tuple[tuple[str, str], ...], Solved | None] = {}

    def volts(a: str, b: str, state: Mapping[str, str]) -> float | None:
        key = tuple(sorted(state.items()))
        if key not in kept:
            kept[key] = _solved(solve, state) if set(state) <= variables else None
        solved = kept[key]
        if solved is None or solved.collapsed:
            return None
        high = solved.volts.get(a)
        low = 0.0 if not b else solved.volts.get(b)
        return None if high is None or low is None else high - low

    return volts


def _solved(solve: Callable[[Mapping[str, str | float]], Solved], state: Mapping[str, str]) -> Solved | None:
    try:
        return solve(dict(state))
    except Refusal:  # a car that has no such state, or whose circuit has no solution: `check` tells which
        return None
