"""What every point reads with every fault, in the states a person would measure in: worked out once for a car.

States: everything at rest, key in run with the engine stopped and running, cranking, and each switch and lever at each
of its places with the engine running. A meter of 10 megohm hangs on every point, so that a loose end reads nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loomwright.job.variables import Variable
from loomwright.network.arrays import type_i
from loomwright.network.solve import before_of, rest_values
from loomwright.proving.fault_bench import bench_of
from loomwright.proving.suspects import Suspect, suspects_of
from loomwright.states.asking.scene import Scene
from loomwright.tables.constants import constant

__all__ = ["FaultTable", "fault_table", "measuring_states", "no_table", "table_of", "with_more"]

Tell = Callable[[int, int], None]
_STEP_V = 0.01
_MOST_STATES = 64


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FaultTable:
    """Volts by fault, state and node, in steps of 10 mV against the battery's earthed post.

    variables: of the states.   states: value indices, one row a state. [-]
    """

    suspects: tuple[Suspect, ...]
    variables: tuple[Variable, ...]
    states: type_i
    steps: NDArray[np.int16]

    def volts(self, state: int) -> NDArray[np.float64]:
        """Volts by fault and node in one state. [V]"""
        return np.asarray(self.steps[:, state, :] * _STEP_V, np.float64)

    def volts_of(self, suspects: type_i, state: int, nodes: type_i) -> NDArray[np.float64]:
        """Volts of some faults at some nodes in one state. [V]

        Args:
            suspects, nodes: which, by number. [-]
        """
        return np.asarray(self.steps[suspects[:, None], state, nodes[None, :]] * _STEP_V, np.float64)

    def only(self, last: int) -> FaultTable:
        """The table of the last faults alone.

        Args:
            last: how many. [-]
        """
        return replace(self, suspects=self.suspects[-last:], steps=self.steps[-last:])

    def state_at(self, state: Mapping[str, str]) -> int:
        """The row of a state, variables that are not named at rest; -1 where it is not among them. [-]"""
        values = []
        for variable in self.variables:
            text = state.get(variable.name, variable.rest)
            if text not in variable.values:
                return -1
            values.append(variable.values.index(text))
        same = np.flatnonzero((self.states == np.array(values)[None, :]).all(axis=1))
        return int(same[0]) if len(same) else -1

    def away(self, state: int) -> Mapping[str, str]:
        """What is not at rest in a state."""
        return {
            variable.name: variable.values[int(k)]
            for variable, k in zip(self.variables, self.states[state], strict=True)
            if variable.values[int(k)] != variable.rest
        }


def fault_table(scene: Scene, tell: Tell | None = None) -> FaultTable:
    """Every fault solved in every state a person would measure in.

    Args:
        tell: called with faults done and to do; may raise Stopped.
    """
    suspects = suspects_of(scene)
    states = measuring_states(scene)
    steps = _steps(scene, suspects, states, tell)
    return FaultTable(suspects=suspects, variables=scene.compiled.network.variables, states=states, steps=steps)


def table_of(scene: Scene, suspects: Sequence[Suspect]) -> FaultTable:
    """A table of some faults alone, in every state a person would measure in.

    Args:
        suspects: the sound car, `none`, first.
    """
    states = measuring_states(scene)
    steps = _steps(scene, suspects, states, None)
    return FaultTable(suspects=tuple(suspects), variables=scene.compiled.network.variables, states=states, steps=steps)


def no_table(scene: Scene) -> FaultTable:
    """Every fault, and no state worked out yet."""
    suspects, variables = suspects_of(scene), scene.compiled.network.variables
    return FaultTable(
        suspects=suspects,
        variables=variables,
        states=np.zeros((0, len(variables)), np.int64),
        steps=np.zeros((len(suspects), 0, scene.compiled.arrays.nodes + 1), np.int16),
    )


def with_more(scene: Scene, table: FaultTable, more: Sequence[Suspect]) -> FaultTable:
    """The table with more faults in it, solved in the same states.

    Args:
        more: such as pairs of those it has.
    """
    steps = _steps(scene, more, table.states, None)
    return replace(table, suspects=(*table.suspects, *more), steps=np.concatenate([table.steps, steps]))


def _steps(scene: Scene, suspects: Sequence[Suspect], states: type_i, tell: Tell | None) -> NDArray[np.int16]:
    """Volts by fault, state and node, in steps."""
    post = scene.compiled.arrays.nodes
    if not len(states):
        return np.zeros((len(suspects), 0, post + 1), np.int16)
    meters = [(node, post, constant("meter_volts_ohm")) for node in range(post)]
    bench = bench_of(scene, suspects, meters)
    earlier = [before_of(scene.compiled, values) for values in states]
    before = np.array([values if one is None else one for values, one in zip(states, earlier, strict=True)])
    steps = np.zeros((len(suspects), len(states), post + 1), np.int16)
    for k, batch in enumerate(bench.solved(suspects, states, before)):
        steps[k] = np.round((batch.v - batch.v[:, [post]]) / _STEP_V).clip(-32000, 32000).astype(np.int16)
        if tell is not None:
            tell(k + 1, len(suspects))
    return steps


def measuring_states(scene: Scene) -> type_i:
    """The states a person would measure in, one row each, plainest first. [-]"""
    rows = [rest_values(scene.compiled), *_moments(scene), *_moved(scene)]
    return np.array(list({tuple(int(k) for k in row): row for row in rows}.values())[:_MOST_STATES])


def _moments(scene: Scene) -> Iterator[type_i]:
    for state in (
        {"key": "run"},
        {"key": "run", "engine": "running"},
        {"key": "start"},
        {"key": "start", "engine": "cranking"},
        {"key": "accessory"},
    ):
        yield _with(scene, state)


def _moved(scene: Scene) -> Iterator[type_i]:
    """Each variable at each of its places, the engine running; and at rest with the key off."""
    running = {"key": "run", "engine": "running"}
    for base in (running, {}):
        for variable in scene.compiled.network.variables:
            if variable.name in ("key", "engine", "battery", "ambient_c"):
                continue
            for value in variable.values:
                if value != variable.rest:
                    yield _with(scene, {**base, variable.name: value})


def _with(scene: Scene, state: dict[str, str]) -> type_i:
    values = rest_values(scene.compiled)
    for name, value in state.items():
        index = scene.compiled.variable_of.get(name)
        if index is not None and value in scene.compiled.network.variables[index].values:
            values[index] = scene.compiled.network.variables[index].values.index(value)
    return values
