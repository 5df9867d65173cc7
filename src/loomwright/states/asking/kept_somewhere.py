"""Of questions that no state satisfied, which does some state satisfy with something mended?

A question that says what its answer hangs on is asked of every combination of what decides that in the mended network,
with the rest of the car off and with it loaded, as the search would (`plan`). One that does not say, or hangs on too
much, is asked of the plainest states of the search and of what rules the car in all combinations.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise, product

import numpy as np

from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.states.asking.answered import answers_of
from loomwright.states.asking.cones import terms_at
from loomwright.states.asking.distinct import distinct
from loomwright.states.asking.plan import Space, deciding_states
from loomwright.states.asking.watch import Watch

__all__ = ["RULING", "kept_somewhere"]

RULING = ("key", "engine", "selector")
"""What says in which of its states the whole car is, whatever else is on [-]."""

_SAMPLE = 1000
_ASKED_UP_TO = (0, 100, 300, _SAMPLE)
"""The plainest states are asked in so many at once: what is cured is mostly cured in the first of them [-]."""

_RULED_MOST = 700
"""No more combinations than this of what rules the car are asked, with the rest off and with it on [-]."""

_FIRST = 2
"""Key and engine alone are asked in all combinations before anything else [-]."""


def kept_somewhere(compiled: Compiled, watches: Sequence[Watch], space: Space, states: type_i) -> Iterator[int]:
    """The places of the *ever* questions that some state satisfies.

    Args:
        compiled: the mended network.
        states: those of the search of the car as it stands, one row each. [-]
    """
    if not watches:
        return
    free = _free(compiled, space)
    # what is cured mostly works in one of the few states in which all is on that can be
    kept = _kept_in(compiled, _ruled(space, free[:_FIRST]), watches, range(len(watches)))
    yield from kept
    left = [k for k in range(len(watches)) if k not in kept]
    deciding = _deciding(compiled, [watches[k] for k in left], space)
    told = [k for k, one in zip(left, deciding, strict=True) if one is not None]
    if told:
        asked = distinct(np.concatenate([one for one in deciding if one is not None]))[0]
        yield from _kept_in(compiled, asked, watches, told)
    yield from _among_the_plainest(compiled, watches, [k for k in left if k not in told], states, space)


def _among_the_plainest(
    compiled: Compiled, watches: Sequence[Watch], left: Sequence[int], states: type_i, space: Space
) -> Iterator[int]:
    """Those kept in the states with the fewest variables away from rest, no more of them solved than are needed; then
    in what rules the car."""
    plainest = np.argsort((states != space.rest).sum(axis=1), kind="stable")[:_SAMPLE]
    for first, last in pairwise(_ASKED_UP_TO):
        if not left:
            return
        kept = _kept_in(compiled, states[plainest[first:last]], watches, left)
        yield from kept
        left = [k for k in left if k not in kept]
    if left:
        yield from _kept_in(compiled, _ruled(space, _free(compiled, space)), watches, left)


def _deciding(compiled: Compiled, watches: Sequence[Watch], space: Space) -> list[type_i | None]:
    """For each question the states of what decides it; None where it does not say, or that is too much."""
    told = [watch.looks_at for watch in watches if watch.looks_at is not None]
    found = iter(deciding_states(space, terms_at(compiled, told)) if told else ())
    return [None if watch.looks_at is None else next(found) for watch in watches]


def _kept_in(compiled: Compiled, states: type_i, watches: Sequence[Watch], among: Iterable[int]) -> list[int]:
    answers = answers_of(compiled, states)
    return [k for k in among if bool((watches[k].broken(answers)[0] & answers.possible).any())]


def _free(compiled: Compiled, space: Space) -> list[int]:
    """Key, engine, every figure and selector, as many as can be asked in all combinations."""
    ruling = [k for name in RULING if (k := compiled.variable_of.get(name)) is not None]
    numeric = [k for k, variable in enumerate(compiled.network.variables) if variable.numeric]
    free: list[int] = []
    size = 1
    for k in dict.fromkeys((*ruling[:2], *numeric, *ruling)):
        if size * len(space.values[k]) <= _RULED_MOST:
            size *= len(space.values[k])
            free.append(k)
    return free


def _ruled(space: Space, free: Sequence[int]) -> type_i:
    """What rules the car in all combinations, with the rest off, then on.

    What works only with the engine running, hot and in some gear has more variables away from rest than the plainest.
    """
    combos = np.array(list(product(*(space.values[k] for k in free))), np.int64).reshape(-1, len(free))
    made = np.repeat(np.stack([space.rest, space.loaded]), len(combos), axis=0)
    made[:, free] = np.concatenate([combos, combos])
    return made
