"""Which states do a finding's conditions describe?

A finding keeps its conditions as pairs of variable and text. `covered` reads them against solved states, `state_of`
gives the plainest state they describe, so that a mend can be asked about the one state before anything is searched.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.states.asking.answers import Answers, type_bool
from loomwright.states.asking.plan import Space

__all__ = ["covered", "state_of"]

When = Sequence[tuple[str, str]]
_BEFORE = "before."
_OTHERS = "others"


def covered(answers: Answers, when: When) -> type_bool:
    """Which of the states meet the conditions; those on the state before, and on the rest of the car, are not asked."""
    fits = np.ones(answers.count, bool)
    for name, text in when:
        index = answers.compiled.variable_of.get(name)
        if index is None:
            continue
        fits &= np.isin(answers.batch.values[:, index], _values(answers.compiled, index, text))
    return fits


def state_of(compiled: Compiled, space: Space, when: When) -> tuple[type_i, type_i | None]:
    """The plainest state that meets the conditions, and the one before it where they name one."""
    conditions = dict(when)
    values = (space.loaded if conditions.get(_OTHERS) == "loaded" else space.rest).copy()
    before: type_i | None = None
    for name, text in conditions.items():
        index = compiled.variable_of.get(name)
        if index is not None:
            found = _values(compiled, index, text)
            if found and int(values[index]) not in found:
                values[index] = found[0]
    for name, text in conditions.items():
        index = compiled.variable_of.get(name.removeprefix(_BEFORE))
        if name.startswith(_BEFORE) and index is not None:
            before = values.copy() if before is None else before
            found = _values(compiled, index, text)
            before[index] = found[0] if found else before[index]
    return values, before


def _values(compiled: Compiled, variable: int, text: str) -> list[int]:
    """The values of a variable that a condition's text lets through."""
    names = compiled.network.variables[variable].values
    if text[:2] in (">=", "<="):
        edge = float(text[2:])
        return [k for k, name in enumerate(names) if (float(name) >= edge if text[0] == ">" else float(name) <= edge)]
    wanted = text.split("|")
    return [k for k, name in enumerate(names) if name in wanted]
