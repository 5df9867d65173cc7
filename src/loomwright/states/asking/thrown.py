"""Is there a state next to the worst one that is worse still?

The bounds of the plan hold where what the rest of the car does moves a figure one way. Where circuits feed each other
over two ways it may not: what one more switch adds there hangs on the others. So from the state with the largest
figure every variable is thrown to each of its values in turn, the worst throw is kept, and so on until none makes it
worse. From there no single throw may lead over to a higher top: so it is begun again from rest, from everything on and
from a few dozen states strewn over all there are, with all that helps by itself thrown at once, where that promises
more than what is known.

In: a question that asks for the worst, the worst state met. Out: a state at least as bad. Limits: a step at a time; two
switches that only together make it worse are met where the plan or a strewn state has them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cached_property
from itertools import pairwise

import numpy as np

from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.network.solve import Remembered
from loomwright.states.asking.answered import answers_of
from loomwright.states.asking.answers import Answers, type_float
from loomwright.states.asking.distinct import distinct
from loomwright.states.asking.plan import Space
from loomwright.states.asking.watch import Watch

__all__ = ["Throws"]

_ROUNDS_MOST = 40
_WORSE = 1.0 + 1e-6
_STREWN = 32
_GOLDEN = (5.0**0.5 - 1.0) / 2.0


class Throws:
    """The states next to others, each block of them solved once for all questions."""

    def __init__(self, compiled: Compiled, space: Space, remembered: Callable[[], Remembered]) -> None:
        """Nothing is solved yet.

        Args:
            remembered: gives what is known of other states of the network.
        """
        self._compiled = compiled
        self._remembered = remembered
        self._space = space
        self._known: dict[bytes, Answers] = {}
        self._starts = np.array([space.loaded, space.rest, *_strewn(space)], np.int64)

    def worst(self, watch: Watch, values: type_i, found: float) -> tuple[type_i, float]:
        """The state that no throw makes worse, and the figure there.

        Args:
            values: the worst state met, from rest.
            found: the figure in it.
        """
        best, most = self._climbed(watch, values, found)
        for start in self._promising(watch, abs(most)):
            other, there = self._climbed(watch, start, 0.0)
            if abs(there) > abs(most) * _WORSE:
                best, most = other, there
        return best, most

    def _climbed(self, watch: Watch, values: type_i, found: float) -> tuple[type_i, float]:
        for _ in range(_ROUNDS_MOST):
            answers = self._next_to(values)
            sizes, figures = _sizes(watch, answers)
            row = int(sizes.argmax())
            if sizes[row] <= abs(found) * _WORSE:
                break
            values, found = answers.batch.values[row].copy(), float(figures[row])
        return values, found

    def _promising(self, watch: Watch, most: float) -> Iterator[type_i]:
        """The starts with every variable thrown to where it makes the figure largest by itself, each once.

        Args:
            most: only those that would beat it, were each throw to add what it adds alone.
        """
        around, place = self._around
        sizes = _sizes(watch, around)[0][place].reshape(len(self._starts), -1)
        itself = [self._space.values[0].index(value) for value in self._starts[:, 0].tolist()]
        own = np.maximum(sizes[np.arange(len(self._starts)), itself], 0.0)[:, None]
        gains = np.where(sizes > own * _WORSE, sizes - own, 0.0)
        first = self._first_of
        promised = own[:, 0] + np.maximum.reduceat(gains, first, axis=1).sum(axis=1)
        told: set[bytes] = set()
        for row in np.flatnonzero(promised > most):
            there = self._starts[row].copy()
            for k, (begin, end) in enumerate(pairwise((*first.tolist(), gains.shape[1]))):
                best = begin + int(gains[row, begin:end].argmax())
                if gains[row, best] > 0.0:
                    there[k] = self._space.values[k][best - begin]
            if there.tobytes() not in told:
                told.add(there.tobytes())
                yield there

    @cached_property
    def _first_of(self) -> type_i:
        """The first column of each variable among the states around a start; the start itself is there once in each."""
        counts = [len(own) for own in self._space.values]
        return np.cumsum([0, *counts[:-1]])

    @cached_property
    def _around(self) -> tuple[Answers, type_i]:
        """Every start with every variable at each of its values in turn, each state solved once; where each stands."""
        moves = [(k, value) for k, own in enumerate(self._space.values) for value in own]
        rows = np.repeat(self._starts, len(moves), axis=0)
        for column, (k, value) in enumerate(moves):
            rows[column :: len(moves), k] = value
        alone, place = distinct(rows)
        return answers_of(self._compiled, alone, None, self._remembered()).by_columns(), place

    def let_go(self) -> None:
        """Keep only what every question looks at."""
        self._known.clear()

    def _next_to(self, values: type_i) -> Answers:
        key = values.tobytes()
        found = self._known.get(key)
        if found is None:
            moves = [(k, value) for k, own in enumerate(self._space.values) for value in own if value != values[k]]
            rows = np.repeat(values[None, :], len(moves), axis=0)
            for row, (k, value) in enumerate(moves):
                rows[row, k] = value
            found = self._known[key] = answers_of(self._compiled, rows, None, self._remembered())
        return found


def _strewn(space: Space) -> list[type_i]:
    """A few states strewn evenly over all there are: multiples of the golden ratio, their whole part left off."""
    turns = np.outer(np.arange(1, _STREWN + 1), np.arange(1, len(space.values) + 1) * _GOLDEN) % 1.0
    return [
        np.array([own[int(turn * len(own))] for own, turn in zip(space.values, row, strict=True)], np.int64)
        for row in turns
    ]


def _sizes(watch: Watch, answers: Answers) -> tuple[type_float, type_float]:
    """How large a figure is in each state, -1 where it is not asked or cannot be; the figure itself."""
    hit, figures = watch.broken(answers)
    return np.where(hit & answers.possible, np.abs(np.nan_to_num(figures)), -1.0), figures
