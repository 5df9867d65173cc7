"""Which switches and levers does a person move by hand while the loom is tested, one at a time, and when two?

One at a time, key off and then in run: that reaches most of a car. Where a point is live only with two moved, as main
beam is with the light switch on and the stalk over, that pair is added; no more than are needed for all points.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from loomwright.job.variables import Variable
from loomwright.network.compiled import Compiled
from loomwright.network.solve import solve_many, values_of
from loomwright.tables.constants import constant

__all__ = ["State", "hand_states", "two_at_once"]

State = Mapping[str, str]

_GIVEN = ("key", "engine", "battery", "phase")
"""What is no switch of its own, or is not moved as one."""


def hand_states(variables: Sequence[Variable]) -> tuple[State, ...]:
    """Each switch and lever moved by hand, key off and then in run; the car otherwise at rest.

    One that only conditions name, of an old feed for one, is a switch of the old car and is moved too.
    """
    keys = [variable for variable in variables if variable.name == "key" and "run" in variable.values]
    moved = [one for one in variables if one.name not in _GIVEN and not one.numeric]
    return tuple(
        {**base, variable.name: value}
        for base in ({}, *({"key": "run"} for _ in keys))
        for variable in moved
        for value in variable.values
        if value != variable.rest
    )


def two_at_once(
    compiled: Compiled, variables: Sequence[Variable], states: Sequence[State], nodes: list[int], system_v: float
) -> tuple[State, ...]:
    """The states with two switches moved in which a point is live that is live in none of the others.

    Args:
        compiled: the car as it is tested.
        variables: of the job.
        states: those it is solved in anyway.
        nodes: those of the points that are read. [-]
        system_v: of the car. [V]
    """
    live_v, moved = constant("live_frac") * system_v, hand_states(variables)
    pairs = [
        {**one, **other}
        for one, other in combinations(moved, 2)
        if ("key" in one) == ("key" in other) and set(one) != set(other)
    ]
    if not pairs:
        return ()

    def live(some: Sequence[State]) -> NDArray[np.bool_]:
        batch = solve_many(compiled, np.array([values_of(compiled, state) for state in some]))
        volts = batch.v - batch.v[:, [compiled.arrays.nodes]]
        return np.asarray(np.abs(volts[:, nodes]) >= live_v)

    seen = live(states).any(axis=0)
    found = []
    for pair, at in zip(pairs, live(pairs), strict=True):
        if (at & ~seen).any():
            found.append(pair)
            seen |= at
    return tuple(found)
