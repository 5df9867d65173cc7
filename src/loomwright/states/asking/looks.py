"""Which few states are worth a look before a question is asked of all of them?

A rule that must name a place (the weakest joint, what keeps a relay in) solves a few states first: those it asks for,
with the rest of the car at rest and with each other variable once at each of its values.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product

import numpy as np

from loomwright.network.arrays import type_i
from loomwright.network.solve import rest_values
from loomwright.states.asking.scene import Scene

__all__ = ["look"]

_ONE_VALUE = ("battery",)


def look(scene: Scene, wanted: Mapping[str, Sequence[str]], alone: bool = False) -> type_i:
    """States to solve, plainest first.

    Args:
        wanted: the values of the variables the question is about; names the car does not have are passed over.
        alone: only those, everything else at rest.
    """
    compiled = scene.compiled
    rest = rest_values(compiled)
    variables = compiled.network.variables
    asked: dict[int, list[int]] = {}
    for name, words in wanted.items():
        if name in compiled.variable_of:
            k = compiled.variable_of[name]
            asked[k] = [variables[k].values.index(word) for word in words if word in variables[k].values]
    others = [] if alone else [k for k, v in enumerate(variables) if k not in asked and v.name not in _ONE_VALUE]
    changes = [(-1, 0), *((k, value) for k in others for value in range(len(variables[k].values)) if value != rest[k])]
    combos = list(product(*asked.values()))
    rows = np.repeat(rest[None, :], len(changes) * len(combos), axis=0)
    for place, k in enumerate(asked):
        rows[:, k] = [combo[place] for combo in combos] * len(changes)
    for place, (k, value) in enumerate(changes[1:], start=1):
        rows[place * len(combos) : (place + 1) * len(combos), k] = value
    return rows
