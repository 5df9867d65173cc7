"""In which state is one thing on by itself, the rest of the car at rest?

Key and engine are set as asked, ambient and battery stay at rest, and every other variable is moved alone, then every
two together. Of the states in which a thing is on those count in which fewest variables are away from rest: nothing
that moved there is not its own. With the engine running first, as the trade measures; a thing that is never on then is
looked for at idle, cranking, and stopped. What takes three switches at once is found by multiplying out its own
variables (`cones`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cached_property, partial
from itertools import chain, combinations, product
from math import prod

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.network.solve import rest_values
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.cones import Cones
from loomwright.states.asking.moved import Move, moved
from loomwright.states.asking.search import answers_of

__all__ = ["OwnStates"]

_FIXED = ("key", "engine", "battery", "ambient_c")
_MOMENTS = (("running", "run"), ("idle", "run"), ("cranking", "start"), ("stopped", "run"), ("stopped", "off"))
"""Engine and key, the moment that is wanted first."""
_PAIRS_MOST = 4000
_PRODUCT_MOST = 256


class OwnStates:
    """States of a car in which little is away from rest; each block of them is solved once."""

    def __init__(self, compiled: Compiled, cones: Cones, answers: Callable[[type_i], Answers] | None = None) -> None:
        """Nothing is solved yet.

        Args:
            answers: solves states of the network; those of `Scene` solve none twice.
        """
        self.compiled = compiled
        self._cones = cones
        self._answers = answers or partial(answers_of, compiled)
        self.rest: type_i = rest_values(compiled)
        self._known: dict[tuple[str, str], Answers] = {}
        self._products: dict[frozenset[int], Answers] = {}

    def on(self, element: int, least_a: float) -> tuple[Answers, NDArray[np.bool_]] | None:
        """The first moment at which an element carries current, and its plainest states then; None if it never does.

        Args:
            least_a: what counts as on. [A]
        """
        moments = (self._moment(*moment) for moment in _MOMENTS)
        for answers in chain(moments, (self._multiplied(element) for _ in range(1))):
            on = answers.possible & ~answers.collapsed() & (np.abs(answers.amps(element)) >= least_a)
            if on.any():
                return answers, self._plainest(answers, on)
        return None

    def solved(self) -> tuple[Answers, ...]:
        """The answers of all states that were solved so far."""
        return (*self._known.values(), *self._products.values())

    def away(self, values: type_i) -> tuple[int, ...]:
        """Variables that are not at rest in a state, those every moment sets apart."""
        return tuple(int(k) for k in np.flatnonzero(values != self.rest) if k in self._free)

    @cached_property
    def _free(self) -> tuple[int, ...]:
        names = [variable.name for variable in self.compiled.network.variables]
        return tuple(k for k, name in enumerate(names) if name not in _FIXED)

    def _plainest(self, answers: Answers, on: NDArray[np.bool_]) -> NDArray[np.bool_]:
        away = (answers.batch.values != self.rest)[:, list(self._free)].sum(axis=1)
        plain: NDArray[np.bool_] = on & (away == away[on].min())
        return plain

    def _moment(self, engine: str, key: str) -> Answers:
        at = (engine, key)
        if at not in self._known:
            base = self._base(engine, key)
            self._known[at] = self._answers(moved(base, self._moves(base, pairs=at == _MOMENTS[0])))
        return self._known[at]

    def _moves(self, base: type_i, *, pairs: bool) -> Iterator[Move]:
        variables = self.compiled.network.variables
        single = [((k, value),) for k in self._free for value in range(len(variables[k].values)) if value != base[k]]
        yield ()
        yield from single
        both = [one + two for one, two in combinations(single, 2) if one[0][0] != two[0][0]] if pairs else []
        yield from both if len(both) <= _PAIRS_MOST else []

    def _multiplied(self, element: int) -> Answers:
        own = self._cones.of_element[element] & set(self._free)
        if own not in self._products:
            self._products[own] = self._answers(self._product(own, *_MOMENTS[0]))
        return self._products[own]

    def _product(self, own: frozenset[int], engine: str, key: str) -> type_i:
        variables = self.compiled.network.variables
        inside: list[int] = []
        for k in sorted(own):
            if prod(len(variables[v].values) for v in (*inside, k)) <= _PRODUCT_MOST:
                inside.append(k)
        combos = product(*(range(len(variables[k].values)) for k in inside))
        return moved(self._base(engine, key), (tuple(zip(inside, combo, strict=True)) for combo in combos))

    def _base(self, engine: str, key: str) -> type_i:
        base = self.rest.copy()
        for name, value in (("engine", engine), ("key", key)):
            index = self.compiled.variable_of.get(name)
            if index is not None and value in self.compiled.network.variables[index].values:
                base[index] = self.compiled.network.variables[index].values.index(value)
        return base
