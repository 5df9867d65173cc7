"""Which states have to be solved so that the worst current of some wires and fuses is among them?

    1. every combination of what decides a wire (its cone, with key, engine and ambient), the rest of the car off and
       loaded, as the search does for everything (`states.asking.plan`)
    2. what loads a wire most: from the states in which one or two switches are moved, those that add to its current are
       put together, and solved with every position of key and engine. The search does the like for every wire of the
       car (`states.asking.heaviest`), from states it has solved, with one switch moved at once; sizes ask of few wires
       what two switches add together too, and the worst of some cars is met only so

Of these are left out: states that crank where no starter can be in; states that are the same to every contact and
device of the car as one that is solved; and other ambients than the hottest, where no condition of the job names the
ambient (`cold_twins` brings them back for the states that come near the worst).

Limits: a relay that is held in from before carries what it carried when it was pulled in; that state is among these.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import product

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.network.records import Guard, Network
from loomwright.states.asking.answered import cranks
from loomwright.states.asking.answers import Answers, type_float
from loomwright.states.asking.cranking import that_can_crank
from loomwright.states.asking.plan import cone_block
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.search import implied_before

__all__ = ["cold_twins", "deciding_states", "hottest_only", "loading_states", "without_same"]

_ADDS_A = 1e-3
"""A switch that adds less than this to a current does not load it. [A]"""


def deciding_states(scene: Scene, elements: Iterable[int]) -> type_i:
    """Every combination of what decides each of the elements, the rest of the car off and loaded.

    Args:
        elements: of the network, whose currents are asked for.
    """
    core = frozenset(scene.space.core)
    cones = sorted({scene.cones.of((k,)) | core for k in elements}, key=lambda cone: (-len(cone), sorted(cone)))
    kept: list[frozenset[int]] = []
    for cone in cones:
        if not any(cone <= other for other in kept):
            kept.append(cone)
    blocks = [cone_block(scene.space, cone) for cone in kept]
    return np.concatenate(blocks) if blocks else _none(scene.compiled)


def loading_states(scene: Scene, moved: Sequence[Answers], amps: Iterable[Sequence[type_float]]) -> type_i:
    """For each wire the state in which everything that adds to its current is on, at every key and engine.

    Args:
        moved: answers in which one or two switches are moved away from rest.
        amps: for each wire, its current in each of those answers. [A]
    """
    space = scene.space
    rows: dict[tuple[int, ...], None] = {}
    away = [_away(scene, answers) for answers in moved]
    for each in amps:
        loaded = space.rest.copy()
        for values in _adding(moved, away, each):
            loaded[list(values)] = list(values.values())
        rows[tuple(loaded.tolist())] = None
    core = list(product(*(space.values[k] for k in space.core)))
    states = np.repeat(np.array(list(rows), np.int64).reshape(-1, len(space.rest)), len(core), axis=0)
    states[:, list(space.core)] = np.tile(np.array(core, np.int64).reshape(-1, len(space.core)), (len(rows), 1))
    return states


def hottest_only(scene: Scene, states: type_i) -> type_i:
    """The states at the hottest ambient, where no condition names the ambient; all of them where one does."""
    where = scene.compiled.variable_of["ambient_c"]
    if _is_named(scene.compiled, where):
        return states
    hot: type_i = states[states[:, where] == _hottest(scene, where)]
    return hot


def cold_twins(scene: Scene, states: type_i) -> type_i:
    """The same states at the other ambients; none where the ambient is searched anyway."""
    where = scene.compiled.variable_of["ambient_c"]
    if _is_named(scene.compiled, where) or not len(states):
        return states[:0]
    others = [value for value in scene.space.values[where] if value != _hottest(scene, where)]
    twins = np.repeat(states, len(others), axis=0)
    twins[:, where] = np.tile(others, len(states))
    return twins


def without_same(scene: Scene, states: type_i) -> type_i:
    """The states, less those that cannot occur and those that are the same to all contacts and devices."""
    states = np.unique(states, axis=0) if len(states) else states
    states, _ = that_can_crank(scene.compiled, scene.space, scene.cones, states)
    if not len(states):
        return states
    compiled = scene.compiled
    implied, earlier = implied_before(compiled, states)
    looks = [
        _look_of(compiled, states),
        _look_of(compiled, earlier) * implied[:, None],
        cranks(compiled, states)[:, None].astype(np.int64),
        implied[:, None].astype(np.int64),
    ]
    _, first = np.unique(np.concatenate(looks, axis=1), axis=0, return_index=True)
    return states[np.sort(first)]


def _away(scene: Scene, answers: Answers) -> list[dict[int, int]]:
    """What is away from rest in each state, key, engine and ambient apart."""
    rest, core = scene.space.rest, set(scene.space.core)
    differ = answers.batch.values != rest
    return [
        {int(k): int(row[k]) for k in np.flatnonzero(moves) if int(k) not in core}
        for row, moves in zip(answers.batch.values, differ, strict=True)
    ]


def _adding(
    moved: Sequence[Answers], away: Sequence[Sequence[dict[int, int]]], amps: Sequence[type_float]
) -> Iterable[dict[int, int]]:
    """What was moved in the states that add to a current, most first, each switch once."""
    gains: list[tuple[float, int, dict[int, int]]] = []
    for answers, moves, each in zip(moved, away, amps, strict=True):
        plain = [number for number, one in enumerate(moves) if not one]
        base_a = float(each[plain].max()) if plain else 0.0
        fine = answers.possible & ~answers.collapsed()
        for number in np.flatnonzero(fine & (each > base_a + _ADDS_A)):
            gains.append((base_a - float(each[number]), len(gains), moves[int(number)]))
    taken: set[int] = set()
    for _, _, one in sorted(gains, key=lambda gain: gain[:2]):
        if one and taken.isdisjoint(one):
            taken |= set(one)
            yield one


def _hottest(scene: Scene, where: int) -> int:
    names = scene.compiled.network.variables[where].values
    return max(scene.space.values[where], key=lambda value: float(names[value]))


def _is_named(compiled: Compiled, variable: int) -> bool:
    """Whether a contact or a device looks at a variable itself."""
    network = compiled.network
    return any(k == variable for guards in _guards(network) for guard in guards for k, _ in guard.holds)


def _guards(network: Network) -> tuple[tuple[Guard, ...], ...]:
    """The guards of every element and device that has any."""
    every = (*(element.guards for element in network.elements), *(device.guards for device in network.devices))
    return tuple(guards for guards in every if guards)


def _look_of(compiled: Compiled, states: type_i) -> NDArray[np.int64]:
    """How a state looks to the network: which guards hold, and which row of figures each selector picks."""
    network = compiled.network
    columns = [_any_holds(guards, states) for guards in _guards(network)]
    for selector in network.selectors:
        rows = np.array(selector.rows, np.int64)
        second = states[:, selector.second] if selector.second >= 0 else 0
        columns.append(rows[states[:, selector.first], second])
    return np.stack(columns, axis=1) if columns else np.zeros((len(states), 1), np.int64)


def _any_holds(guards: Sequence[Guard], states: type_i) -> NDArray[np.int64]:
    found = np.zeros(len(states), bool)
    for guard in guards:
        holds = np.ones(len(states), bool)
        for variable, values in guard.holds:
            holds &= np.isin(states[:, variable], list(values))
        found |= holds
    return found.astype(np.int64)


def _none(compiled: Compiled) -> type_i:
    return np.zeros((0, len(compiled.network.variables)), np.int64)
