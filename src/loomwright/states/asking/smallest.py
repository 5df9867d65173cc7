"""What is the smallest set of conditions that breaks a watch?

From a state that breaks it every variable is led back to rest as long as it stays broken; then, for each variable, all
values are tried with the rest held: where every value breaks it the variable does not matter, else the values that do
are the condition. The conditions found are asked together, with the rest of the car off and loaded, before they are
told.
"""

from __future__ import annotations

from itertools import product

import numpy as np

from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.states.asking.answers import type_bool
from loomwright.states.asking.plan import Space
from loomwright.states.asking.search import Broken, answers_of, implied_before
from loomwright.states.asking.watch import Watch

__all__ = ["Conditions", "smallest_conditions"]

Conditions = tuple[tuple[str, str], ...]
_TOGETHER_MOST = 400


def smallest_conditions(compiled: Compiled, space: Space, broken: Broken) -> tuple[Conditions, Broken]:
    """The conditions, and the plainest state that breaks the watch.

    Returns:
        (variable, text) pairs such as ("selector", "P|N"), `before.` ones last, then `others` where the rest decides.
    """
    if broken.values is None:
        return (), broken
    plain = _to_rest(compiled, space, broken)
    values = plain.values
    assert values is not None
    sets, free = _values_that_break(compiled, space, plain)
    held = [k for k in range(len(sets)) if k not in free]
    if not _all_break(compiled, plain, values, held, sets):
        sets = [found if k in free else [int(values[k])] for k, found in enumerate(sets)]
    loaded = values.copy()
    loaded[free] = space.loaded[free]
    rest = values.copy()
    rest[free] = space.rest[free]
    others: Conditions = ()
    if not _breaks(compiled, plain.watch, loaded[None, :], _before_for(plain, loaded))[0]:
        others = (("others", "off"),)
    elif not _breaks(compiled, plain.watch, rest[None, :], _before_for(plain, rest))[0]:
        others = (("others", "loaded"),)
    told = tuple((compiled.network.variables[k].name, _text(compiled, k, sets[k])) for k in held)
    return told + _before_text(compiled, plain) + others, plain


def _to_rest(compiled: Compiled, space: Space, broken: Broken) -> Broken:
    now = broken
    for _ in range(len(space.rest)):
        values = now.values
        assert values is not None
        away = [k for k in range(len(values)) if values[k] != space.rest[k]]
        if not away:
            break
        trial = np.repeat(values[None, :], len(away), axis=0)
        for row, k in enumerate(away):
            trial[row, k] = space.rest[k]
        before = _befores_for(now, trial)
        hit, found = _asked(compiled, now.watch, trial, before)
        if not hit.any():
            break
        # last variables first: key and engine are led back to rest only when nothing else can be
        row = int(np.flatnonzero(hit)[-1])
        now = Broken(now.watch, trial[row], None if before is None else before[row], float(found[row]))
    if not now.watch.worst:
        return now
    assert now.values is not None
    _, found = _asked(compiled, now.watch, now.values[None, :], _befores_for(now, now.values[None, :]))
    return Broken(now.watch, now.values, now.before, float(found[0]))


def _values_that_break(compiled: Compiled, space: Space, plain: Broken) -> tuple[list[list[int]], list[int]]:
    """For each variable the values that break it, and the variables of which every value that can occur does."""
    values = plain.values
    assert values is not None
    rows = [(k, value) for k, many in enumerate(space.values) for value in many]
    trial = np.repeat(values[None, :], len(rows), axis=0)
    for row, (k, value) in enumerate(rows):
        trial[row, k] = value
    answers = answers_of(compiled, trial, _befores_for(plain, trial))
    hit, _ = plain.watch.broken(answers)
    sets: list[list[int]] = [[] for _ in space.values]
    free = set(range(len(space.values)))
    for row, (k, value) in enumerate(rows):
        if value == values[k] or (hit[row] and answers.possible[row]):
            sets[k].append(value)
        elif answers.possible[row]:
            free.discard(k)
    return sets, sorted(free)


def _all_break(compiled: Compiled, plain: Broken, values: type_i, held: list[int], sets: list[list[int]]) -> bool:
    wide = [k for k in held if len(sets[k]) > 1]
    combos = list(product(*(sets[k] for k in wide)))
    if not wide or len(combos) > _TOGETHER_MOST:
        return not wide
    trial = np.repeat(values[None, :], len(combos), axis=0)
    trial[:, wide] = np.array(combos)
    hit, _ = _asked(compiled, plain.watch, trial, _befores_for(plain, trial), impossible_counts=True)
    return bool(hit.all())


def _asked(
    compiled: Compiled, watch: Watch, values: type_i, before: type_i | None, impossible_counts: bool = False
) -> tuple[type_bool, np.ndarray[tuple[int], np.dtype[np.float64]]]:
    answers = answers_of(compiled, values, before)
    hit, found = watch.broken(answers)
    if impossible_counts:
        return hit | ~answers.possible, found
    return hit & answers.possible, found


def _breaks(compiled: Compiled, watch: Watch, values: type_i, before: type_i | None) -> type_bool:
    return _asked(compiled, watch, values, before, impossible_counts=True)[0]


def _befores_for(broken: Broken, trial: type_i) -> type_i | None:
    """The states before a set of states: what changed between before and now still changes."""
    if broken.before is None or broken.values is None:
        return None
    changed = broken.before != broken.values
    before = trial.copy()
    before[:, changed] = broken.before[changed]
    return before


def _before_for(broken: Broken, values: type_i) -> type_i | None:
    return _befores_for(broken, values[None, :])


def _before_text(compiled: Compiled, plain: Broken) -> Conditions:
    values = plain.values
    assert values is not None
    before = plain.before
    if before is None:
        implied, earlier = implied_before(compiled, values[None, :])
        if not implied[0]:
            return ()
        before = earlier[0]
    variables = compiled.network.variables
    return tuple(
        (f"before.{variables[k].name}", variables[k].values[int(before[k])])
        for k in range(len(values))
        if before[k] != values[k]
    )


def _text(compiled: Compiled, variable: int, values: list[int]) -> str:
    found = compiled.network.variables[variable]
    names = [found.values[k] for k in values]
    try:
        numbers = [float(name) for name in names]
        all_numbers = [float(name) for name in found.values]
    except ValueError:
        return "|".join(names)
    if min(numbers) > min(all_numbers) and max(numbers) == max(all_numbers):
        return f">={min(numbers):g}"
    if max(numbers) < max(all_numbers) and min(numbers) == min(all_numbers):
        return f"<={max(numbers):g}"
    return "|".join(names)
