"""What every point reads with every fault, in the states a person would measure in: worked out once for a car.

States: everything at rest, key in run with the engine stopped and running, cranking, each switch and lever at each of
its places with the engine running and with the key off, and two of them where a point is live with both alone. A meter
of 10 megohm hangs on every point, so that a loose end reads nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loomwright.job.variables import Variable
from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.network.solve import Batch, before_of, rest_values
from loomwright.proving.fault_bench import bench_of
from loomwright.proving.moved_by_hand import State, two_at_once
from loomwright.proving.suspects import Suspect, suspects_of
from loomwright.states.asking.scene import Scene
from loomwright.tables.constants import constant

__all__ = [
    "FaultTable",
    "at_second_end",
    "before_all",
    "fault_table",
    "fuses_open",
    "measuring_states",
    "no_table",
    "sound_table",
    "table_at",
    "table_of",
    "with_more",
]

Tell = Callable[[int, int], None]
Figures = NDArray[np.float64]
_STEP_V = 0.01
_MOST_A = 60_000.0
_MOST_STATES = 64
_RUNNING = {"key": "run", "engine": "running"}
_BY_FAULT = ("steps", "flows", "lost_in", "lost", "blown")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FaultTable:
    """Volts by fault, state and node, in steps of 10 mV against the battery's earthed post; amps of the wires.

    variables: of the states.   states: value indices, one row a state. [-]   wires: the elements that are wires. [-]
    flows: by fault, state and wire, at its first end. [A]   lost_in: the wires that a fault lets touch something, by
    number among `wires`, -1 where none. [-]   lost: by fault, state and those, what is more at the second end. [A]
    blown: by fault and state, whether a fuse has opened.
    """

    suspects: tuple[Suspect, ...]
    variables: tuple[Variable, ...]
    states: type_i
    steps: NDArray[np.int16]
    wires: type_i
    flows: NDArray[np.float16]
    lost_in: type_i
    lost: NDArray[np.float32]
    blown: NDArray[np.bool_]

    def volts(self, state: int) -> NDArray[np.float64]:
        """Volts by fault and node in one state. [V]"""
        return np.asarray(self.steps[:, state, :] * _STEP_V, np.float64)

    def volts_of(self, suspects: type_i, state: int, nodes: type_i | None = None) -> NDArray[np.float64]:
        """Volts of some faults at some nodes in one state. [V]

        Args:
            suspects, nodes: which, by number; every node where left out. [-]
        """
        steps = self.steps[suspects, state] if nodes is None else self.steps[suspects[:, None], state, nodes[None, :]]
        return np.asarray(steps * _STEP_V, np.float64)

    def amps_of(self, suspects: type_i, state: int) -> NDArray[np.float64]:
        """Amps of every wire in one state, with some faults. [A]

        Args:
            suspects: which, by number. [-]
        """
        return np.asarray(self.flows[suspects, state], np.float64)

    def second_amps_of(self, suspects: type_i, state: int) -> NDArray[np.float64]:
        """The same at the second end of each wire. [A]

        Args:
            suspects: which, by number. [-]
        """
        return at_second_end(self.amps_of(suspects, state), self.lost_in[suspects], self.lost[suspects, state])

    def only(self, suspects: type_i) -> FaultTable:
        """The table of some faults alone.

        Args:
            suspects: which, by number. [-]
        """
        some = tuple(self.suspects[int(k)] for k in suspects)
        return self._with(some, [getattr(self, name)[suspects] for name in _BY_FAULT])

    def and_more(self, more: FaultTable) -> FaultTable:
        """The table with the faults of another of the same states."""
        rows = [np.concatenate([getattr(self, name), getattr(more, name)]) for name in _BY_FAULT]
        return self._with((*self.suspects, *more.suspects), rows)

    def _with(self, suspects: tuple[Suspect, ...], rows: Sequence[NDArray[Any]]) -> FaultTable:
        steps, flows, lost_in, lost, blown = rows
        return replace(self, suspects=suspects, steps=steps, flows=flows, lost_in=lost_in, lost=lost, blown=blown)

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
    return _worked_out(scene, suspects_of(scene), measuring_states(scene), tell)


def table_of(scene: Scene, suspects: Sequence[Suspect], states: type_i | None = None) -> FaultTable:
    """A table of some faults alone.

    Args:
        suspects: the sound car, `none`, first.
        states: value indices, one row a state; every state a person would measure in where left out. [-]
    """
    return _worked_out(scene, tuple(suspects), measuring_states(scene) if states is None else states, None)


def table_at(scene: Scene, states: type_i, tell: Tell | None = None) -> FaultTable:
    """A table of every fault in some states alone.

    Args:
        states: value indices, one row a state. [-]
        tell: called with faults done and to do; may raise Stopped.
    """
    return _worked_out(scene, suspects_of(scene), states, tell)


def sound_table(scene: Scene, states: type_i) -> FaultTable:
    """A table of the sound car alone.

    Args:
        states: value indices, one row a state. [-]
    """
    return _worked_out(scene, (Suspect(kind="none", at=()),), states, None)


def no_table(scene: Scene, suspects: Sequence[Suspect] | None = None) -> FaultTable:
    """Some faults, and no state worked out yet.

    Args:
        suspects: every single one where left out.
    """
    none = np.zeros((0, len(scene.compiled.network.variables)), np.int64)
    return _worked_out(scene, suspects_of(scene) if suspects is None else tuple(suspects), none, None)


def with_more(scene: Scene, table: FaultTable, more: Sequence[Suspect]) -> FaultTable:
    """The table with more faults in it, solved in the same states.

    Args:
        more: such as pairs of those it has.
    """
    return table.and_more(_worked_out(scene, tuple(more), table.states, None)) if more else table


def at_second_end(amps: Figures, lost_in: type_i, lost: NDArray[np.floating]) -> Figures:
    """Amps of every wire at its second end, by fault. [A]

    Args:
        amps: at the first end, by fault and wire. [A]
        lost_in: by fault, the wires that touch along their length, -1 where none. [-]
        lost: what is more at the second end of those. [A]
    """
    found = amps.copy()
    for k in range(lost_in.shape[1]):
        rows = np.flatnonzero(lost_in[:, k] >= 0)
        found[rows, lost_in[rows, k]] += lost[rows, k]
    return found


def before_all(scene: Scene, states: type_i) -> type_i:
    """The states that some are come from, each its own where it is come from none. [-]

    Args:
        states: value indices, one row a state. [-]
    """
    earlier = [before_of(scene.compiled, values) for values in states]
    return np.array([values if one is None else one for values, one in zip(states, earlier, strict=True)])


def _worked_out(scene: Scene, suspects: tuple[Suspect, ...], states: type_i, tell: Tell | None) -> FaultTable:
    """Volts by fault, state and node, and amps of the wires."""
    post = scene.compiled.arrays.nodes
    wires = np.array([k for k, one in enumerate(scene.compiled.network.elements) if one.is_wire], np.int64)
    steps = np.zeros((len(suspects), len(states), post + 1), np.int16)
    flows = np.zeros((len(suspects), len(states), len(wires)), np.float16)
    number = {int(k): n for n, k in enumerate(wires)}
    lost_in = np.full((len(suspects), 2), -1, np.int64)
    lost = np.zeros((len(suspects), len(states), 2), np.float32)
    blown = np.zeros((len(suspects), len(states)), bool)
    if len(states):
        meters = [(node, post, constant("meter_volts_ohm")) for node in range(post)]
        bench = bench_of(scene, suspects, meters, along=True)
        for k, batch in enumerate(bench.solved(suspects, states, before_all(scene, states))):
            steps[k] = np.round((batch.v - batch.v[:, [post]]) / _STEP_V).clip(-32000, 32000)
            flows[k] = batch.amps[:, wires].clip(-_MOST_A, _MOST_A)
            blown[k] = fuses_open(bench.compiled, batch)
            for n, (wire, amps) in enumerate(bench.lost_a(suspects[k], batch)):
                lost_in[k, n], lost[k, :, n] = number[wire], amps
            if tell is not None:
                tell(k + 1, len(suspects))
    variables = scene.compiled.network.variables
    return FaultTable(
        suspects=suspects,
        variables=variables,
        states=states,
        steps=steps,
        wires=wires,
        flows=flows,
        lost_in=lost_in,
        lost=lost,
        blown=blown,
    )


def fuses_open(compiled: Compiled, batch: Batch) -> NDArray[np.bool_]:
    """By state, whether a fuse has opened by what it carried."""
    fuses = [k for k, one in enumerate(compiled.network.devices) if one.what == "fuse"]
    return np.asarray(batch.devices[:, fuses].any(axis=1))


def measuring_states(scene: Scene) -> type_i:
    """The states a person would measure in, one row each, plainest first. [-]"""
    rows = [rest_values(scene.compiled), *_moments(scene), *_moved(scene)]
    alone = list({tuple(int(k) for k in row): row for row in rows}.values())
    both = (_with(scene, {**state, **_RUNNING}) for state in _two_moved(scene, alone))
    return np.array([*alone, *both][:_MOST_STATES])


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
    for base in (_RUNNING, {}):
        for variable in scene.compiled.network.variables:
            if variable.name in ("key", "engine", "battery", "ambient_c"):
                continue
            for value in variable.values:
                if value != variable.rest:
                    yield _with(scene, {**base, variable.name: value})


def _two_moved(scene: Scene, alone: Sequence[type_i]) -> tuple[State, ...]:
    """Two switches moved, where a wire's end is live in none of the states of one."""
    variables = scene.compiled.network.variables
    known = [{one.name: one.values[k] for one, k in zip(variables, row, strict=True)} for row in alone]
    points = (scene.point(end) for wire in scene.job.wires for end in (wire.from_, wire.to))
    nodes = sorted({node for point in points if (node := scene.compiled.node_of.get(point)) is not None})
    return two_at_once(scene.compiled, variables, known, nodes, scene.vehicle.system_v)


def _with(scene: Scene, state: State) -> type_i:
    values = rest_values(scene.compiled)
    for name, value in state.items():
        index = scene.compiled.variable_of.get(name)
        if index is not None and value in scene.compiled.network.variables[index].values:
            values[index] = scene.compiled.network.variables[index].values.index(value)
    return values
