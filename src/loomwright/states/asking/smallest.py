"""What is the smallest set of conditions that breaks a watch?

From a state that breaks it every variable is led back to rest as long as it stays broken. Where every state was asked,
or the states are few enough to ask them now, the fewest conditions that leave no kept state are then told (`fewest`):
they imply the break in every state that can occur, none can be left out, and no fewer do. Else, for each variable, all
values are tried with the rest held: where every value breaks it the variable does not matter, else the values that do
are the condition. What is found so is asked together, with the rest of the car off and loaded, and drawn closer until
no state of the search that can occur meets it and is kept.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np

from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.states.asking.answers import type_bool
from loomwright.states.asking.beside import Beside
from loomwright.states.asking.fewest import Seen, fewest, fewest_at, inside, widened
from loomwright.states.asking.plan import Space
from loomwright.states.asking.search import Broken, implied_before

__all__ = ["Conditions", "smallest_conditions"]

Conditions = tuple[tuple[str, str], ...]
_TOGETHER_MOST = 400
_ASKED_NOW_MOST = 1100
"""With no more raw states than this all of them are asked for one question [-]."""


def smallest_conditions(
    compiled: Compiled, space: Space, broken: Broken, beside: Beside | None = None
) -> tuple[Conditions, Broken]:
    """The conditions, and the plainest state that breaks the watch.

    Args:
        beside: the states solved for earlier questions of the network; none is needed.
    Returns:
        (variable, text) pairs such as ("selector", "P|N"), `before.` ones last, then `others` where the rest decides.
    """
    if broken.values is None:
        return (), broken
    ground = beside or Beside(compiled)
    plain = _to_rest(ground, space, broken)
    seen = _whole(ground, space, plain)
    if seen is not None:
        return _exactly(ground, space, plain, seen)
    conditions, others = _around(ground, space, plain)
    if plain.seen is not None and not others and plain.before is None and not plain.turned:
        conditions = _closer(ground, space, plain, conditions)
    told = tuple(
        (compiled.network.variables[k].name, _text(compiled, k, list(found))) for k, found in sorted(conditions.items())
    )
    return told + _before_text(compiled, plain, conditions) + _first_text(ground, plain) + others, plain


def _whole(ground: Beside, space: Space, plain: Broken) -> Seen | None:
    """Every state there is and whether it is broken; None where they are too many to be asked for one question."""
    if plain.seen is not None and plain.seen.whole and plain.before is None and not plain.turned:
        return plain.seen
    if space.raw > _ASKED_NOW_MOST:
        return None
    states = np.array(list(product(*space.values)), np.int64).reshape(-1, len(space.values))
    answers = ground.answers(states, _befores_for(plain, states), plain.turned)
    hit, _ = plain.watch.broken(answers)
    return Seen(states, hit & answers.possible, answers.possible, whole=True)


def _exactly(ground: Beside, space: Space, plain: Broken, seen: Seen) -> tuple[Conditions, Broken]:
    """The fewest conditions of all, those of the plainest state where they are as few."""
    values = plain.values
    assert values is not None
    held, shown = fewest(seen, space.rest, values)
    if not np.array_equal(shown, values):
        before = _befores_for(plain, shown[None, :])
        _, found = _asked(ground, plain, shown[None, :], before)
        plain = replace(plain, values=shown, before=None if before is None else before[0], found=float(found[0]))
    conditions = widened(seen, held, shown)
    told = tuple(
        (ground.compiled.network.variables[k].name, _text(ground.compiled, k, list(found)))
        for k, found in sorted(conditions.items())
    )
    return told + _before_text(ground.compiled, plain, conditions) + _first_text(ground, plain), plain


def _closer(
    ground: Beside, space: Space, plain: Broken, conditions: dict[int, tuple[int, ...]]
) -> dict[int, tuple[int, ...]]:
    """Conditions that no state of the search meets and keeps: narrower ones, then more of them."""
    seen, values = plain.seen, plain.values
    assert seen is not None
    assert values is not None
    kept = seen.kept
    if not inside(kept, conditions).any():
        return conditions
    narrow = {k: (int(values[k]),) for k in conditions}
    left = kept[inside(kept, narrow)]
    more = fewest_at(left, values, [k for k in range(len(values)) if len(space.values[k]) > 1 and k not in narrow])
    return widened(seen, sorted({*narrow, *(more or ())}), values)


def _around(ground: Beside, space: Space, plain: Broken) -> tuple[dict[int, tuple[int, ...]], Conditions]:
    """Conditions found by moving one variable at a time away from a state, and what the rest of the car must do."""
    values = plain.values
    assert values is not None
    sets, free = _values_that_break(ground, space, plain)
    held = [k for k in range(len(sets)) if k not in free]
    if not _all_break(ground, plain, values, held, sets):
        sets = [found if k in free else [int(values[k])] for k, found in enumerate(sets)]
    loaded = values.copy()
    loaded[free] = space.loaded[free]
    rest = values.copy()
    rest[free] = space.rest[free]
    others: Conditions = ()
    if not _breaks(ground, plain, loaded[None, :], _befores_for(plain, loaded[None, :]))[0]:
        others = (("others", "off"),)
    elif not _breaks(ground, plain, rest[None, :], _befores_for(plain, rest[None, :]))[0]:
        others = (("others", "loaded"),)
    return {k: tuple(sets[k]) for k in held}, others


def _to_rest(ground: Beside, space: Space, broken: Broken) -> Broken:
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
        hit, found = _asked(ground, now, trial, before)
        if not hit.any():
            break
        # last variables first: key and engine are led back to rest only when nothing else can be
        row = int(np.flatnonzero(hit)[-1])
        earlier = None if before is None else before[row]
        now = replace(now, values=trial[row], before=earlier, found=float(found[row]))
    if not now.watch.worst:
        return now
    assert now.values is not None
    _, found = _asked(ground, now, now.values[None, :], _befores_for(now, now.values[None, :]))
    return replace(now, found=float(found[0]))


def _values_that_break(ground: Beside, space: Space, plain: Broken) -> tuple[list[list[int]], list[int]]:
    """For each variable the values that break it, and the variables of which every value that can occur does."""
    values = plain.values
    assert values is not None
    rows = [(k, value) for k, many in enumerate(space.values) for value in many]
    trial = np.repeat(values[None, :], len(rows), axis=0)
    for row, (k, value) in enumerate(rows):
        trial[row, k] = value
    answers = ground.answers(trial, _befores_for(plain, trial), plain.turned)
    hit, _ = plain.watch.broken(answers)
    sets: list[list[int]] = [[] for _ in space.values]
    free = set(range(len(space.values)))
    for row, (k, value) in enumerate(rows):
        if value == values[k] or (hit[row] and answers.possible[row]):
            sets[k].append(value)
        elif answers.possible[row]:
            free.discard(k)
    return sets, sorted(free)


def _all_break(ground: Beside, plain: Broken, values: type_i, held: list[int], sets: list[list[int]]) -> bool:
    wide = [k for k in held if len(sets[k]) > 1]
    combos = list(product(*(sets[k] for k in wide)))
    if not wide or len(combos) > _TOGETHER_MOST:
        return not wide
    trial = np.repeat(values[None, :], len(combos), axis=0)
    trial[:, wide] = np.array(combos)
    hit, _ = _asked(ground, plain, trial, _befores_for(plain, trial), impossible_counts=True)
    return bool(hit.all())


def _asked(
    ground: Beside, broken: Broken, values: type_i, before: type_i | None, impossible_counts: bool = False
) -> tuple[type_bool, np.ndarray[tuple[int], np.dtype[np.float64]]]:
    answers = ground.answers(values, before, broken.turned)
    hit, found = broken.watch.broken(answers)
    if impossible_counts:
        return hit | ~answers.possible, found
    return hit & answers.possible, found


def _breaks(ground: Beside, broken: Broken, values: type_i, before: type_i | None) -> type_bool:
    return _asked(ground, broken, values, before, impossible_counts=True)[0]


def _befores_for(broken: Broken, trial: type_i) -> type_i | None:
    """The states before a set of states: what changed between before and now still changes."""
    if broken.before is None or broken.values is None:
        return None
    changed = broken.before != broken.values
    before = trial.copy()
    before[:, changed] = broken.before[changed]
    return before


def _before_text(compiled: Compiled, plain: Broken, conditions: dict[int, tuple[int, ...]]) -> Conditions:
    values = plain.values
    assert values is not None
    before = plain.before
    if before is None:
        implied, earlier = implied_before(compiled, values[None, :])
        ruling = {compiled.variable_of.get(name) for name in ("key", "engine")}
        # where the conditions let the key or the engine be anything, what came before does not matter either
        if not implied[0] or not ruling <= set(conditions):
            return ()
        before = earlier[0]
    variables = compiled.network.variables
    return tuple(
        (f"before.{variables[k].name}", variables[k].values[int(before[k])])
        for k in range(len(values))
        if before[k] != values[k]
    )


def _first_text(ground: Beside, plain: Broken) -> Conditions:
    """The relays that have to be first, where their order decides."""
    if not plain.turned or plain.values is None:
        return ()
    before = None if plain.before is None else plain.before[None, :]
    usual, other = (ground.answers(plain.values[None, :], before, turned) for turned in (False, True))
    first = [
        device.name.split(".")[0]
        for k, device in enumerate(ground.compiled.network.devices)
        if device.what == "relay" and other.on(k)[0] and not usual.on(k)[0]
    ]
    return (("first", " ".join(sorted(first))),) if first else ()


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
