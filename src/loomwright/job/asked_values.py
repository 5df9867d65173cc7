"""Which values may a state ask for: those the job names, and any figure where a variable is one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from loomwright.job.variables import Variable

__all__ = ["names_all", "with_asked_figures"]


def names_all(variables: Iterable[Variable], state: Mapping[str, str | float]) -> bool:
    """Whether the job itself names every variable and value of a state."""
    known = {variable.name: variable.values for variable in variables}
    return all(name in known and _has(known[name], value) for name, value in state.items())


def with_asked_figures(variables: Iterable[Variable], state: Mapping[str, str | float]) -> tuple[Variable, ...]:
    """The job's variables, with figures of a state that none of its conditions names."""
    found = []
    for variable in variables:
        value = state.get(variable.name)
        if value is not None and variable.numeric and not _has(variable.values, value) and _is_number(value):
            values = sorted({*variable.values, f"{float(value):g}"}, key=float)
            variable = replace(variable, values=tuple(values))
        found.append(variable)
    return tuple(found)


def _is_number(value: str | float) -> bool:
    try:
        float(value)
    except ValueError:
        return False
    return True


def _has(values: Sequence[str], value: str | float) -> bool:
    if str(value) in values:
        return True
    if not _is_number(value):
        return False
    return any(_is_number(text) and float(text) == float(value) for text in values)
