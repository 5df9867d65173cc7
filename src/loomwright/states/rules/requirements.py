"""Does what the job itself requires hold in every state in which it is asked? REQ-1 broken, REQ-2 never asked,
REQ-3 two that cannot both be kept.

A row of the sheet requirements names a point (or a wire, for amps), a condition, and what must hold there. It is asked
of every possible state with the battery full that meets the condition. A condition that names another battery, the
state before, a plug that is off, or more switches than the search multiplies out is asked apart: of every combination
of what it names and of what decides its point, solved with just that.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import numpy as np

from loomwright.job.conditions import Condition, Term
from loomwright.job.rows import Requirement
from loomwright.network.arrays import type_i
from loomwright.network.build import build_network
from loomwright.network.compiled import Compiled, compile_network
from loomwright.network.draft import term_values
from loomwright.network.records import Changes
from loomwright.states.asking.folding import Told
from loomwright.states.asking.plan import ALL_BELOW, Space
from loomwright.states.asking.scene import Scene, scene_of
from loomwright.states.asking.search import Broken
from loomwright.states.asking.telling import told_of
from loomwright.states.asking.watch import Watch
from loomwright.states.rules.requirement_pairs import contradictions
from loomwright.states.rules.requirement_reading import Asked, kept_watch, never_finding, ready

__all__ = ["sheet_findings", "watches"]

_STATES_MOST = 4096


def watches(scene: Scene) -> tuple[Watch, ...]:
    """One question a requirement that the search can answer: is it kept?"""
    plain = (row for row in scene.job.requirements if not _is_apart(scene, row))
    return tuple(kept_watch(scene, ready(scene, row)) for row in plain)


def sheet_findings(scene: Scene) -> tuple[Told, ...]:
    """Requirements that no state asks, and those that are asked apart."""
    found: list[Told] = []
    for row in scene.job.requirements:
        is_apart = _is_apart(scene, row)
        if is_apart or not _can_occur(scene, row):
            found.extend(_asked_apart(scene, row, whole=is_apart))
    found.extend(Told(finding, None, None) for finding in contradictions(scene))
    return tuple(found)


def _can_occur(scene: Scene, row: Requirement) -> bool:
    """True where a state meets the condition that needs no solving: all but an engine that cranks are possible."""
    variables = scene.compiled.network.variables
    allowed = {index: set(range(len(variable.values))) for index, variable in enumerate(variables)}
    for index, values in ready(scene, row).terms:
        allowed[index] &= set(values)
    engine = scene.compiled.variable_of.get("engine")
    if engine is not None:
        allowed[engine] -= {k for k, name in enumerate(variables[engine].values) if name == "cranking"}
    return all(allowed.values())


def _is_apart(scene: Scene, row: Requirement) -> bool:
    """True where the search does not meet every state the row asks about."""
    if row.when.fixed == "never" or any(_is_special(term) for term in row.when.terms):
        return True
    space = scene.space
    named = {k for term in row.when.terms if (k := scene.compiled.variable_of.get(term.variable)) is not None}
    others = named - set(space.core)
    if len(others) <= 1 or space.raw <= ALL_BELOW:
        return False
    return not others <= _decides(scene, row)


def _is_special(term: Term) -> bool:
    if term.before:
        return True
    if term.variable == "unplugged":
        return term.op == "=" and "none" not in term.values
    return term.variable == "battery" and ("full" in term.values) != (term.op == "=")


def _asked_apart(scene: Scene, row: Requirement, whole: bool) -> Iterator[Told]:
    """One requirement asked of its own states, with its plug off, its battery, its state before.

    Args:
        whole: ask whether it is kept; else only whether it is ever asked.
    """
    changed = _changed(row.when)
    if changed is not None:
        scene = scene_of(scene.job, scene.kinds, compile_network(build_network(scene.job, scene.kinds, changed)))
    asked = ready(scene, row)
    values = _states(scene, asked, whole)
    before = _before(scene.compiled, values, row.when)
    answers = scene.answers(values, before)
    if row.when.fixed == "never" or not (asked.holds(answers) & answers.possible).any():
        yield Told(never_finding(scene, row), None, None)
        return
    hit, figures = asked.broken(answers)
    rows = np.flatnonzero(hit & answers.possible)
    if not whole or not len(rows):
        return
    away = (values[rows] != scene.space.rest).sum(axis=1)
    worst = int(rows[np.lexsort((-np.abs(np.nan_to_num(figures[rows])), away))[0]])
    earlier = None if before is None else before[worst]
    broken = Broken(kept_watch(scene, asked), values[worst], earlier, float(figures[worst]))
    told = told_of(scene.compiled, _own_space(scene.space, asked), broken)
    finding = replace(told.finding, when=_with_own(told.finding.when, row.when))
    # with a plug off it is another network than the search's, and cannot be asked again for folding
    yield Told(finding, None if changed else told.broken, None)


def _with_own(when: tuple[tuple[str, str], ...], own: Condition) -> tuple[tuple[str, str], ...]:
    """The conditions found, with those of the requirement that were not in question."""
    named = {name for name, _ in when}
    mine = (
        (
            f"before.{term.variable}" if term.before else term.variable,
            ("" if term.op == "=" else term.op) + "|".join(term.values),
        )
        for term in own.terms
    )
    return (*(pair for pair in mine if pair[0] not in named), *when)


def _changed(when: Condition) -> Changes | None:
    """The plug that is off, where the condition names one."""
    plugs = [
        value
        for term in when.terms
        if term.variable == "unplugged" and term.op == "="
        for value in term.values
        if value != "none"
    ]
    return Changes(unplugged=tuple(plugs[:1])) if plugs else None


def _states(scene: Scene, asked: Asked, whole: bool) -> type_i:
    """Every combination of what the condition names, of the supply's own and of what decides the point."""
    space = _own_space(scene.space, asked)
    free = list(dict.fromkeys((*(variable for variable, _ in asked.terms), *space.core)))
    if "engine" in {term.variable for term in asked.requirement.when.terms}:
        free += sorted(_lets_it_crank(scene) - set(free))
    if whole:
        free += sorted(_decides(scene, asked.requirement) - set(free))
    kept: list[int] = []
    size = 1
    for variable in free:
        size *= len(space.values[variable])
        if kept and size > _STATES_MOST:
            break
        kept.append(variable)
    combos = np.array(list(product(*(space.values[variable] for variable in kept))), np.int64).reshape(-1, len(kept))
    blocks = []
    for others in (space.rest, space.loaded):
        block = np.repeat(others[None, :], len(combos), axis=0)
        block[:, kept] = combos
        blocks.append(block)
    return np.unique(np.concatenate(blocks), axis=0)


def _own_space(space: Space, asked: Asked) -> Space:
    """The space with only the values the condition allows, another battery among them."""
    values = list(space.values)
    rest, loaded = space.rest.copy(), space.loaded.copy()
    for variable, allowed in asked.terms:
        values[variable] = tuple(allowed) or values[variable]
        for state in (rest, loaded):
            if allowed and state[variable] not in allowed:
                state[variable] = allowed[0]
    return replace(space, values=tuple(values), rest=rest, loaded=loaded)


def _lets_it_crank(scene: Scene) -> frozenset[int]:
    """The variables that decide whether a starter is in: an engine cranks in those states only."""
    elements = scene.compiled.network.elements
    starters = {element.part for element in elements if element.type == "starter_motor"} & set(scene.parts)
    return scene.cones.of(k for part in sorted(starters) for k in scene.elements_of[part])


def _decides(scene: Scene, row: Requirement) -> frozenset[int]:
    """The variables that decide what the point sees."""
    compiled, point = scene.compiled, row.point
    node = compiled.node_of.get(scene.point(point), -1)
    touching = [
        index
        for index, (element, ends) in enumerate(zip(compiled.network.elements, scene.ends_of, strict=True))
        if element.name == point or node in ends
    ]
    return scene.cones.of(touching) if touching else frozenset()


def _before(compiled: Compiled, values: type_i, when: Condition) -> type_i | None:
    """The states the car came from: the same, but for what the condition says of them."""
    earlier = values.copy()
    terms = [term for term in when.terms if term.before and term.variable in compiled.variable_of]
    for term in terms:
        index = compiled.variable_of[term.variable]
        allowed = sorted(term_values(term, compiled.network.variables[index]))
        if allowed:
            earlier[:, index] = allowed[0]
    return earlier if terms else None
