"""Do two requirements of the job ask what no state can give? REQ-3.

Two rows on one point whose conditions meet in a state that can occur, and of which one asks for what the other rules
out: live and dead, floating and 9 V, at most 2 A and at least 3 A. Each alone may be kept; both together cannot.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, product
from math import inf

import numpy as np

from loomwright.findings import Finding
from loomwright.job.conditions import Must
from loomwright.job.rows import Requirement
from loomwright.network.arrays import type_i
from loomwright.states.asking.scene import Scene
from loomwright.states.rules.requirement_reading import point_of, ready
from loomwright.tables.constants import constant

__all__ = ["contradictions"]

_TRIED_MOST = 512


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lets:
    """What a requirement lets a figure be. least, most: bounds, and whether they are let through themselves.

    figure, floating: whether it may have volts, and whether it may float.
    """

    least: float = 0.0
    most: float = inf
    has_least: bool = True
    has_most: bool = True
    figure: bool = True
    floating: bool = False


def contradictions(scene: Scene) -> Iterator[Finding]:
    """Two rows that cannot both be kept, each pair once."""
    by_point: dict[tuple[str, str], list[Requirement]] = {}
    for row in scene.job.requirements:
        unit = row.must.unit or "V"
        by_point.setdefault((scene.point(point_of(scene, row)), unit), []).append(row)
    for (point, _), rows in by_point.items():
        for one, other in combinations(rows, 2):
            if _can_both(_lets(one.must, scene.vehicle.system_v), _lets(other.must, scene.vehicle.system_v)):
                continue
            state = _meeting(scene, one, other)
            if state is not None:
                yield _finding(scene, point, one, other, state)


def _lets(must: Must, system_v: float) -> _Lets:
    if must.kind == "live":
        return _Lets(least=constant("live_frac") * system_v)
    if must.kind == "dead":
        return _Lets(most=constant("dead_v"), floating=True)
    if must.kind == "floating":
        return _Lets(figure=False, floating=True)
    value = must.value or 0.0
    if must.op in (">=", ">"):
        return _Lets(least=value, has_least=must.op == ">=")
    return _Lets(most=value, has_most=must.op == "<=")


def _can_both(one: _Lets, other: _Lets) -> bool:
    if one.floating and other.floating:
        return True
    if not (one.figure and other.figure):
        return False
    least, most = max(one.least, other.least), min(one.most, other.most)
    if least == most:
        return all(lets.has_least or lets.least < least for lets in (one, other)) and all(
            lets.has_most or lets.most > most for lets in (one, other)
        )
    return least < most


def _meeting(scene: Scene, one: Requirement, other: Requirement) -> type_i | None:
    """The plainest state that can occur and in which both are asked; None where there is none."""
    if "never" in (one.when.fixed, other.when.fixed) or _plugs(one) != _plugs(other):
        return None
    before: dict[str, set[str]] = {}
    for term in (*one.when.terms, *other.when.terms):
        if term.before and term.op == "=":
            before.setdefault(term.variable, set(term.values)).intersection_update(term.values)
    if not all(before.values()):
        return None
    compiled, space = scene.compiled, scene.space
    allowed = [set(values) for values in space.values]
    named: set[int] = set()
    for row in (one, other):
        for variable, values in ready(scene, row).terms:
            if compiled.network.variables[variable].name == "battery" and variable not in named:
                allowed[variable] = set(values)
            allowed[variable] &= set(values)
            named.add(variable)
    if not all(allowed):
        return None
    plain = np.array([rest if rest in own else min(own) for rest, own in zip(space.rest, allowed, strict=True)])
    free = list(space.core)
    rows = []
    for combo in product(*(sorted(allowed[k]) for k in free)):
        state = plain.copy()
        state[free] = combo
        rows.append(state)
    states = np.array(rows[:_TRIED_MOST], np.int64)
    states = states[np.argsort((states != space.rest).sum(axis=1), kind="stable")]
    can = np.flatnonzero(scene.answers(states).possible)
    return states[can[0]] if len(can) else None


def _plugs(row: Requirement) -> frozenset[str]:
    return frozenset(
        value
        for term in row.when.terms
        if term.variable == "unplugged" and term.op == "="
        for value in term.values
        if value != "none"
    )


def _finding(scene: Scene, point: str, one: Requirement, other: Requirement, state: type_i) -> Finding:
    variables = scene.compiled.network.variables
    named = {term.variable for row in (one, other) for term in row.when.terms if not term.before}
    when = tuple(
        (variable.name, variable.values[int(value)])
        for variable, value, rest in zip(variables, state, scene.space.rest, strict=True)
        if variable.name in named or value != rest
    )
    return Finding(
        rule="REQ-3",
        severity="fault",
        at=(one.id, other.id, point),
        when=when,
        label=f"{one.id} and {other.id} (requirements)",
        wrong=f"cannot both be kept: {point} is to be {one.must.text} and {other.must.text} in the same state",
        mend="Narrow the condition of one so that they do not meet, or change what must hold in it",
    )
