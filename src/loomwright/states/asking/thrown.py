"""Is there a state next to the worst one that is worse still?

The bounds of the plan hold where what the rest of the car does moves a figure one way. Where circuits feed each other
over two ways it may not: what one more switch adds there hangs on the others. So from the state with the largest
figure every variable is thrown to each of its values in turn, the worst throw is kept, and so on until none makes it
worse.

In: a question that asks for the worst, the worst state met. Out: a state at least as bad. Limits: a step at a time; two
switches that only together make it worse are not met unless the plan has them.
"""

from __future__ import annotations

import numpy as np

from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.states.asking.answered import answers_of
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.plan import Space
from loomwright.states.asking.watch import Watch

__all__ = ["Throws"]

_ROUNDS_MOST = 40
_WORSE = 1.0 + 1e-6


class Throws:
    """The states next to others, each block of them solved once for all questions."""

    def __init__(self, compiled: Compiled, space: Space) -> None:
        self._compiled = compiled
        self._space = space
        self._known: dict[bytes, Answers] = {}

    def worst(self, watch: Watch, values: type_i, found: float) -> tuple[type_i, float]:
        """The state that no throw makes worse, and the figure there.

        Args:
            values: the worst state met, from rest.
            found: the figure in it.
        """
        for _ in range(_ROUNDS_MOST):
            answers = self._next_to(values)
            hit, figures = watch.broken(answers)
            sizes = np.where(hit & answers.possible, np.abs(np.nan_to_num(figures)), -1.0)
            row = int(sizes.argmax())
            if sizes[row] <= abs(found) * _WORSE:
                break
            values, found = answers.batch.values[row].copy(), float(figures[row])
        return values, found

    def _next_to(self, values: type_i) -> Answers:
        key = values.tobytes()
        if key not in self._known:
            moves = [(k, value) for k, own in enumerate(self._space.values) for value in own if value != values[k]]
            rows = np.repeat(values[None, :], len(moves), axis=0)
            for row, (k, value) in enumerate(moves):
                rows[row, k] = value
            self._known[key] = answers_of(self._compiled, rows)
        return self._known[key]
