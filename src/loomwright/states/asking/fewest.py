"""Which fewest conditions leave no state in which a question is kept?

In: a table of states, in which of them a question is broken, which can occur. Out: for few variables the values under
which every state of the table that can occur is broken. The plainest state they describe, all other variables at rest,
is one of those, so that what they say can be shown. None can be left out, and no fewer do.

Method, from one broken state: what is not at rest in it is named. Each kept state that has all that differs from it in
some other variables, of which one at least must be named too; the fewest that meet all those sets are found by
branching. Every broken state in which less is away from rest than has been named so far is tried. At last each
condition is widened by every value that keeps it true.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.network.arrays import type_i
from loomwright.states.asking.answers import type_bool

__all__ = ["Seen", "fewest", "fewest_at", "inside", "widened"]

Conditions = dict[int, tuple[int, ...]]
"""Variable -> the values it may have; one not named may have any [-]."""

_BRANCHES_MOST = 20_000


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """States that were asked, one row each. broken: where it was broken. possible: what can occur.

    whole: there is no other state that can occur.
    """

    states: type_i
    broken: type_bool
    possible: type_bool
    whole: bool

    @property
    def kept(self) -> type_i:
        """The states that can occur and in which it is not broken."""
        return np.asarray(self.states[self.possible & ~self.broken])


def inside(states: type_i, conditions: Mapping[int, Sequence[int]]) -> type_bool:
    """Which states meet the conditions."""
    left = np.arange(len(states))
    # the condition of most values last: it leaves most, and each is asked only of what those before it left
    for variable, values in sorted(conditions.items(), key=lambda one: len(one[1])):
        column = states[left, variable]
        left = left[(column == values[0]) if len(values) == 1 else np.isin(column, list(values))]
    met = np.zeros(len(states), bool)
    met[left] = True
    return met


def fewest_at(kept: type_i, values: type_i, among: Iterable[int]) -> tuple[int, ...] | None:
    """The fewest variables that, held as in one state, leave none of the kept states; None where none will do.

    Args:
        kept: states to be left out.
        values: the state that is held.
        among: variables that may be named, the best to name first.
    """
    names = list(among)
    if not len(kept):
        return ()
    differs = np.unique(kept[:, names] != values[names], axis=0)
    sets = sorted((frozenset(np.flatnonzero(row).tolist()) for row in differs), key=len)
    if not sets[0]:
        return None
    least: list[frozenset[int]] = []
    for one in sets:
        if not any(smaller <= one for smaller in least):
            least.append(one)
    found = _meeting(least)
    return tuple(sorted(names[k] for k in found))


def _meeting(sets: Sequence[frozenset[int]]) -> tuple[int, ...]:
    """The fewest items of which each set holds one, by branching on the shortest set that is not met."""
    best = _plain_choice(sets)
    waiting: list[tuple[tuple[int, ...], Sequence[frozenset[int]]]] = [((), sets)]
    for _ in range(_BRANCHES_MOST):
        if not waiting:
            break
        chosen, left = waiting.pop()
        if not left:
            best = chosen if len(chosen) < len(best) else best
            continue
        if len(chosen) + 1 >= len(best):
            continue
        shortest = min(left, key=lambda one: len(one))
        for item in sorted(shortest, reverse=True):
            waiting.append(((*chosen, item), [one for one in left if item not in one]))
    return best


def _plain_choice(sets: Sequence[frozenset[int]]) -> tuple[int, ...]:
    """Items of which each set holds one, always the one that meets most: few, if not the fewest."""
    chosen: list[int] = []
    left = list(sets)
    while left:
        many: dict[int, int] = {}
        for one in left:
            for item in one:
                many[item] = many.get(item, 0) + 1
        chosen.append(min(many, key=lambda item: (-many[item], item)))
        left = [one for one in left if chosen[-1] not in one]
    return tuple(chosen)


def fewest(seen: Seen, rest: type_i, first: type_i) -> tuple[tuple[int, ...], type_i]:
    """The fewest variables to name, and the state that shows it: the first one where no other needs fewer.

    Args:
        rest: every variable at rest.
        first: a broken state, the one to show where there is a choice.
    """
    kept = seen.kept
    names = [k for k in range(len(rest)) if len(np.unique(seen.states[:, k])) > 1]
    best, shown = _named_at(kept, rest, first, names), first
    hit = seen.states[seen.possible & seen.broken]
    away = (hit != rest).sum(axis=1)
    for row in np.argsort(away, kind="stable"):
        if away[row] >= len(best):
            break
        found = _named_at(kept, rest, hit[row], names)
        if len(found) < len(best):
            best, shown = found, hit[row]
    return best, shown


def _named_at(kept: type_i, rest: type_i, values: type_i, names: Sequence[int]) -> tuple[int, ...]:
    away = [k for k in range(len(rest)) if values[k] != rest[k]]
    left = kept[(kept[:, away] == values[away]).all(axis=1)]
    more = fewest_at(left, values, [k for k in names if k not in away])
    return tuple(sorted({*away, *(more or ())}))


def widened(seen: Seen, held: Iterable[int], values: type_i) -> Conditions:
    """The held variables, each with every value that can occur and still leaves no kept state."""
    conditions: Conditions = {k: (int(values[k]),) for k in held}
    kept, hit = seen.kept, seen.states[seen.possible & seen.broken]
    for k in conditions:
        others = {one: found for one, found in conditions.items() if one != k}
        spoilt = set(kept[inside(kept, others)][:, k].tolist())
        shown = set(hit[inside(hit, others)][:, k].tolist())
        conditions[k] = tuple(sorted((shown - spoilt) | {int(values[k])}))
    return conditions
