"""Which states have to be solved so that every state is covered?

Raw states are the product of all variables. Where they are few, all are solved. Else, for every cone (`cones`) all
combinations of its variables, at values that stand for all it tells apart, with the supply's own (key, engine,
ambient), each with the rest of the car off and with it loaded: volts and currents of one thing move one way with every
other load, so what holds at both ends holds between.
One other variable at a time away from rest is added, and two where their circuits meet on an island (`islands`).
Numbers: the count of raw states that can occur is told beside the count solved.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, product
from math import prod

import numpy as np

from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.network.solve import rest_values, solve_many, values_of
from loomwright.states.asking.cones import Term
from loomwright.states.asking.distinct import distinct
from loomwright.states.asking.moved import moved

__all__ = [
    "ALL_BELOW",
    "Space",
    "bounded",
    "cone_block",
    "cut_cones",
    "deciding_states",
    "multiplied_out",
    "plain_cores",
    "plan_states",
    "space_of",
]

ALL_BELOW = 6000
"""With no more raw states than this, every one is solved [-]."""
_CONE_MOST = 8192
_PAIRS_MOST = 60_000
_CORE = ("key", "engine", "ambient_c")
_FULL = {"battery": ("full",)}

Values = tuple[tuple[int, ...], ...]
"""For each variable those of its values that are combined [-]."""


@dataclass(frozen=True, slots=True, eq=False)
class Space:
    """Values searched for each variable, the rest state, and the value that loads the car most.

    core: variables every cone is multiplied by. raw: product of all. [-]
    """

    values: tuple[tuple[int, ...], ...]
    rest: type_i
    loaded: type_i
    core: tuple[int, ...]
    raw: int


def space_of(compiled: Compiled) -> Space:
    """The space of a compiled network: battery full, every other variable at each of its values."""
    variables = compiled.network.variables
    values = tuple(
        tuple(k for k, name in enumerate(v.values) if v.name not in _FULL or name in _FULL[v.name]) for v in variables
    )
    core = tuple(compiled.variable_of[name] for name in _CORE if name in compiled.variable_of)
    rest = rest_values(compiled)
    return Space(values, rest, _loaded(compiled, values, rest), core, prod(len(v) for v in values))


def _loaded(compiled: Compiled, values: Sequence[tuple[int, ...]], rest: type_i) -> type_i:
    """Each variable at the value with which the battery gives most, the others at rest and the key in run."""
    start = rest.copy()
    state = {n: w for n, w in (("key", "run"), ("engine", "running")) if n in compiled.variable_of}
    for name in state:
        start[compiled.variable_of[name]] = values_of(compiled, state)[compiled.variable_of[name]]
    rows = [(variable, value) for variable, many in enumerate(values) for value in many]
    states = np.repeat(start[None, :], len(rows), axis=0)
    for row, (variable, value) in enumerate(rows):
        states[row, variable] = value
    batch = solve_many(compiled, states)
    loads = [k for k, element in enumerate(compiled.network.elements) if element.load]
    total = np.abs(batch.amps[:, loads]).sum(axis=1) if loads else np.zeros(len(rows))
    best = start.copy()
    most: dict[int, float] = {}
    for row, (variable, value) in enumerate(rows):
        if total[row] > most.get(variable, -1.0) + 1e-6:
            most[variable] = float(total[row])
            best[variable] = value
    for name in state:
        best[compiled.variable_of[name]] = start[compiled.variable_of[name]]
    return best


def plan_states(
    space: Space,
    asked: Iterable[frozenset[Term]],
    all_below: int = ALL_BELOW,
    meeting: Iterable[frozenset[int]] | None = None,
) -> type_i:
    """The states to solve, one row each, no row twice.

    Args:
        asked: for each thing asked about, the variables that decide it and which of their values are told apart there.
        all_below: with no more raw states than this, every one is solved. [-]
        meeting: variables whose circuits meet, of which each two are moved together; every two where left out.
    """
    if space.raw <= all_below:
        return np.array(list(product(*space.values)), np.int64).reshape(-1, len(space.values))
    blocks = [cone_block(space, cone, values) for cone, values in _blocks(space, asked)]
    blocks.append(_pairs_block(space, meeting))
    return distinct(np.concatenate(blocks))[0]


def multiplied_out(space: Space, asked: Iterable[frozenset[Term]], all_below: int) -> list[frozenset[int]]:
    """The variables of each block of states that is multiplied out; all of them in one where every state is solved."""
    if space.raw <= all_below:
        return [frozenset(range(len(space.values)))]
    return [frozenset(bounded(space, sorted(cone))) for cone, _ in _blocks(space, asked)]


def cut_cones(space: Space, asked: Iterable[frozenset[Term]]) -> list[tuple[frozenset[int], frozenset[int]]]:
    """Cones too large to be multiplied out: their variables, and those of them that were left out."""
    cones = (cone for cone, _ in _blocks(space, asked))
    cut = ((cone, cone - frozenset(bounded(space, sorted(cone)))) for cone in cones)
    return [(cone, left_out) for cone, left_out in cut if left_out]


def deciding_states(space: Space, asked: Sequence[frozenset[Term]]) -> list[type_i | None]:
    """For each thing asked about every combination of what decides it; None where they are too many.

    Args:
        asked: as of `plan_states`.
    """
    known: dict[frozenset[Term], type_i | None] = {}
    for terms in asked:
        if terms not in known:
            ((cone, values),) = _blocks(space, (terms,))
            is_whole = cone == frozenset(bounded(space, sorted(cone)))
            known[terms] = cone_block(space, cone, values) if is_whole else None
    return [known[terms] for terms in asked]


def _blocks(space: Space, asked: Iterable[frozenset[Term]]) -> list[tuple[frozenset[int], Values]]:
    """Cones, the core added, with the values to combine; none of which another already meets all kinds."""
    by_cone: dict[frozenset[int], list[frozenset[Term]]] = {}
    for terms in asked:
        cone = frozenset(space.core).union(variable for variable, _ in terms)
        by_cone.setdefault(cone, []).append(terms)
    found: list[tuple[frozenset[int], Values]] = []
    for cone in sorted(by_cone, key=lambda cone: (-len(cone), sorted(cone))):
        kinds = {variable: _kinds(space, variable, by_cone[cone]) for variable in cone - frozenset(space.core)}
        if any(cone <= other and _meets(kinds, values) for other, values in found):
            continue
        values = tuple(
            _meeting_all(kinds[variable], own, int(space.rest[variable])) if variable in kinds else own
            for variable, own in enumerate(space.values)
        )
        found.append((cone, values))
    return found


def _kinds(space: Space, variable: int, asked: Iterable[frozenset[Term]]) -> set[frozenset[int]]:
    """Sets of a variable's values, one of each to be met: values that no guard on a thing's ways tells apart are one.

    A selector that tells only reverse from the rest for one thing, and park and neutral for another, need not stand at
    each of its places.
    """
    kinds: set[frozenset[int]] = set()
    for terms in asked:
        masks = [values for one, values in terms if one == variable]
        pattern_of: dict[tuple[bool, ...], set[int]] = {}
        for value in space.values[variable]:
            pattern_of.setdefault(tuple(value in mask for mask in masks), set()).add(value)
        kinds |= {frozenset(values) for values in pattern_of.values()}
    return kinds


def _meets(kinds: Mapping[int, set[frozenset[int]]], values: Values) -> bool:
    return all(not kind.isdisjoint(values[variable]) for variable, found in kinds.items() for kind in found)


def _meeting_all(kinds: set[frozenset[int]], values: tuple[int, ...], rest: int) -> tuple[int, ...]:
    """Few values of which every kind holds one: that of rest, then always the one that meets most kinds not met."""
    chosen = [rest] if rest in values else []
    left = [kind for kind in kinds if kind.isdisjoint(chosen)]
    while left:
        chosen.append(max(values, key=lambda value: (sum(value in kind for kind in left), -value)))
        left = [kind for kind in left if chosen[-1] not in kind]
    return tuple(sorted(chosen))


def cone_block(
    space: Space, cone: frozenset[int], values: Values | None = None
) -> type_i:  # fmt: skip
    """Every combination of a cone's variables, with the rest of the car off and with it loaded.

    Args:
        values: those of each variable to combine; all where left out. [-]
    """
    inside = bounded(space, sorted(cone))
    combos = np.array(list(product(*((values or space.values)[v] for v in inside))), np.int64)
    rows = []
    for others in (space.rest, space.loaded):
        block = np.repeat(others[None, :], len(combos), axis=0)
        block[:, inside] = combos
        rows.append(block)
    return np.concatenate(rows)


def bounded(space: Space, inside: list[int]) -> list[int]:
    """The variables of a cone multiplied out; the last are left to the pairs where the product would be too large."""
    kept = list(space.core)
    for variable in inside:
        size = prod(len(space.values[v]) for v in [*kept, variable])
        if variable not in kept and size <= _CONE_MOST:
            kept.append(variable)
    return sorted(kept)


def _pairs_block(space: Space, meeting: Iterable[frozenset[int]] | None) -> type_i:
    """Core states with one or two other variables away from rest, and with one away from loaded."""
    core = list(product(*(space.values[v] for v in space.core)))
    others = [v for v in range(len(space.values)) if v not in space.core]
    singles = [((v, value),) for v in others for value in space.values[v] if value != space.rest[v]]
    two_of = {two for inside in ((others,) if meeting is None else meeting) for two in combinations(sorted(inside), 2)}
    pairs = [one + two for one, two in combinations(singles, 2) if (one[0][0], two[0][0]) in two_of]
    few = plain_cores(space)
    if len(few) * len(pairs) > _PAIRS_MOST:
        pairs = []
    away = [((v, value),) for v in others for value in space.values[v] if value != space.loaded[v]]
    at = {states: tuple(zip(space.core, states, strict=True)) for states in core}
    from_rest = [at[states] + change for states in core for change in ((), *singles)]
    from_rest += [at[states] + change for states in few for change in pairs]
    from_loaded = [at[states] + change for states in core for change in ((), *away)]
    return np.concatenate([moved(space.rest, from_rest), moved(space.loaded, from_loaded)])


def plain_cores(space: Space) -> list[tuple[int, ...]]:
    """Values of the core: every position of the key, the engine stopped and running, the ambient of rest.

    How warm it is and whether the engine idles or runs makes no new way for a current.
    """

    def is_plain(variable: int, value: int) -> bool:
        if variable == space.core[0] or value == space.rest[variable]:
            return True
        return variable in space.core[:2] and bool(value == space.loaded[variable])

    core = product(*(space.values[variable] for variable in space.core))
    return [values for values in core if all(map(is_plain, space.core, values))]
