"""How does a rule read the answers of many states at once?

`Answers` wraps one batch: volts and amps as arrays over its states, which states have a variable at a value, which
devices are on. Every array is one entry a state.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from loomwright.network.compiled import Compiled
from loomwright.network.settle import COLLAPSED
from loomwright.network.solve import Batch

__all__ = ["Answers"]

Answer = TypeVar("Answer")

type_bool = NDArray[np.bool_]
type_float = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Answers:
    """A batch of solved states. possible: states the car can be in. held: solved from an earlier state, not from
    rest."""

    compiled: Compiled
    batch: Batch
    possible: type_bool
    held: bool = False
    _known: dict[object, object] = field(default_factory=dict, repr=False)

    def once(self, name: object, make: Callable[[Answers], Answer]) -> Answer:
        """What many questions ask of these states, worked out for the first of them.

        Args:
            name: the same for the same question, asked of the network alone.
        """
        if name not in self._known:
            self._known[name] = make(self)
            # they all hold the same arrays
            if isinstance(made := self._known[name], np.ndarray):
                made.flags.writeable = False
        found: Answer = self._known[name]  # type: ignore[assignment]
        return found

    def by_columns(self) -> Answers:
        """The same, one node's or element's figures of all states side by side, as questions read them."""
        batch = self.batch
        by_columns = replace(
            batch,
            v=np.asarray(batch.v, order="F"),
            amps=np.asarray(batch.amps, order="F"),
            floating=np.asarray(batch.floating, order="F"),
        )
        return replace(self, batch=by_columns, _known={})

    @property
    def count(self) -> int:
        """Number of states. [-]"""
        return len(self.batch.values)

    def volts(self, node: int) -> type_float:
        """Volts of a node (compiled numbering), nan where it floats. [V]"""
        volts = self.batch.v[:, node]
        if self.once("floats anywhere", _float_anywhere)[node]:
            return np.where(self.batch.floating[:, node] == 1, np.nan, volts)
        volts.flags.writeable = False
        return volts

    def across(self, element: int) -> type_float:
        """Volts across an element, first node minus second, nan where an end floats. [V]"""
        arrays = self.compiled.arrays
        return self.volts(int(arrays.a[element])) - self.volts(int(arrays.b[element]))

    def amps(self, element: int) -> type_float:
        """Current through an element, positive from its first node to its second. [A]"""
        return self.batch.amps[:, element]

    def most_amps(self) -> type_float:
        """Size of the largest current through each element in any of the states, nan where one is. [A]"""
        return self.once("most amps", _most_amps)

    def on(self, device: int) -> type_bool:
        """Where a device is on."""
        return np.asarray(self.batch.devices[:, device] == 1)

    def buzzing(self, device: int) -> type_bool:
        """Where a device does not come to rest."""
        return np.asarray(self.batch.buzz[:, device] == 1)

    def collapsed(self) -> type_bool:
        """Where the supply could not hold the load."""
        return np.asarray(self.batch.status == COLLAPSED)

    def at(self, variable: str, *values: str) -> type_bool:
        """Where a variable has one of the values; nowhere where the job has no such variable or value."""
        index = self.compiled.variable_of.get(variable)
        if index is None:
            return np.zeros(self.count, bool)
        names = self.compiled.network.variables[index].values
        wanted = np.array([name in values for name in names], bool)
        return np.asarray(wanted[self.batch.values[:, index]])

    def at_rest(self, variable: str) -> type_bool:
        """Where a variable has its rest value; everywhere where the job has no such variable."""
        index = self.compiled.variable_of.get(variable)
        if index is None:
            return np.ones(self.count, bool)
        found = self.compiled.network.variables[index]
        return np.asarray(self.batch.values[:, index] == list(found.values).index(found.rest))

    def turning(self) -> type_bool:
        """Where the engine runs of itself."""
        return self.at("engine", "idle", "running")

    def key_on(self) -> type_bool:
        """Where the key is in run or start; everywhere on a car without a key."""
        if "key" not in self.compiled.variable_of:
            return np.ones(self.count, bool)
        return self.at("key", "run", "start")


def _float_anywhere(answers: Answers) -> type_bool:
    """Of each node whether it floats in any of the states."""
    return np.asarray(answers.batch.floating.any(axis=0))


def _most_amps(answers: Answers) -> type_float:
    amps = answers.batch.amps
    return np.asarray(np.maximum(amps.max(axis=0, initial=0.0), -amps.min(axis=0, initial=0.0)))
