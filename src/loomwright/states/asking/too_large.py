"""Are the states too many to be solved, and which variables make them so?

In: the states a search would solve, in blocks of variables that are multiplied out. Out: nothing where they can be
solved; else a refusal that names the variables with the most values, and some that are enough to hold at one value.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import prod

from loomwright.network.compiled import Compiled
from loomwright.network.solve import values_of
from loomwright.refusals import NoAnswer
from loomwright.states.asking.plan import Space

__all__ = ["CELLS_MOST", "STATES_MOST", "refuse_too_many", "with_fixed"]

STATES_MOST = 1_000_000
"""No more states than this are solved in one search: minutes on a small machine [-]."""
CELLS_MOST = 60_000_000
"""States times variables: as many fit in about a gigabyte while they are sorted [-]."""
_NAMED_MOST = 4
_NEVER_FIXED = ("key", "engine", "battery", "ambient_c")


def with_fixed(compiled: Compiled, space: Space, fixed: Mapping[str, str]) -> Space:
    """The space with some variables at one value each.

    Args:
        fixed: variable -> the value it is held at.
    Raises:
        OutOfReach: an unknown variable or value.
    """
    if not fixed:
        return space
    at = values_of(compiled, fixed)
    held = {compiled.variable_of[name] for name in fixed}
    values = tuple((int(at[k]),) if k in held else own for k, own in enumerate(space.values))
    rest, loaded = space.rest.copy(), space.loaded.copy()
    for k in held:
        rest[k] = loaded[k] = at[k]
    return replace(space, values=values, rest=rest, loaded=loaded, raw=prod(len(own) for own in values))


def refuse_too_many(compiled: Compiled, space: Space, blocks: Sequence[frozenset[int]], twice: bool) -> None:
    """Pass where the states of all blocks together can be solved.

    Args:
        blocks: the variables multiplied out in each.
        twice: each is solved with the rest of the car at rest, and loaded.
    Raises:
        NoAnswer: they cannot; says which variables do it and what to hold.
    """
    held: set[int] = set()
    most = min(STATES_MOST, CELLS_MOST // max(1, len(space.values)))
    count = _count(space, blocks, held, twice)
    if count <= most:
        return
    variables = compiled.network.variables
    several = [k for k, values in enumerate(space.values) if len(values) > 1]
    choice = [k for k in several if variables[k].name not in _NEVER_FIXED]
    makes = sorted(choice, key=lambda k: (-len(space.values[k]), _count(space, blocks, {k}, twice), k))
    left = count
    while left > most and len(held) < len(choice):
        held.add(min((k for k in choice if k not in held), key=lambda k: _count(space, blocks, held | {k}, twice)))
        left = _count(space, blocks, held, twice)
    named = ", ".join(f"{variables[k].name} ({len(space.values[k])} values)" for k in makes[:_NAMED_MOST])
    offer = ", ".join(f"{variables[k].name}={variables[k].values[int(space.rest[k])]}" for k in sorted(held))
    reasons = [f"{count} states would have to be solved, and no more than {most} can be.", f"Most come of {named}."]
    if left <= most:
        reasons.append(f"Fix some of them at one value: with {offer} there are {left}.")
    raise NoAnswer("a search of every state", tuple(reasons))


def _count(space: Space, blocks: Sequence[frozenset[int]], held: set[int], twice: bool) -> int:
    each = (prod(len(space.values[k]) for k in block if k not in held) for block in blocks)
    return sum(each) * (2 if twice else 1)
