"""In which states does each wire, fuse and contact carry most?

What loads the battery most does not load every wire most: hazard lamps that burn take the indicators off the key's
feed. So beside the car at rest and loaded each of them is given a state of its own: every variable by itself is moved
from rest, and from loaded, and of each the value is taken that adds most to the current there, all at once.

In: the planned states in which one variable alone is moved, as they are solved. Out: the states to solve as well, which
are few, since the wires of one way have the same. Limits: what two moves only add together is not looked for here
(`thrown`); key and engine as in `plain_cores`.
"""

from __future__ import annotations

import numpy as np

from loomwright.network.arrays import type_f, type_i
from loomwright.network.compiled import Compiled
from loomwright.states.asking.answers import Answers
from loomwright.states.asking.distinct import distinct, rows_among
from loomwright.states.asking.moved import moved
from loomwright.states.asking.plan import Space, plain_cores

__all__ = ["Heaviest"]

_MORE_A = 0.05
"""What a move adds at least to count [A]."""


class Heaviest:
    """The currents of states in which one variable is moved, and what follows from them."""

    def __init__(self, compiled: Compiled, space: Space, planned: type_i) -> None:
        """Nothing is noted yet.

        Args:
            planned: the states that are solved, one row each, none twice.
        """
        self._space = space
        self._elements = np.array([k for k, one in enumerate(compiled.network.elements) if not one.load], np.int64)
        self._cores = plain_cores(space)
        outside = [variable for variable in range(len(space.values)) if variable not in space.core]
        self._moves = [
            [(variable, value) for variable in outside for value in space.values[variable] if value != base[variable]]
            for base in (space.rest, space.loaded)
        ]
        at_core = [tuple(zip(space.core, values, strict=True)) for values in self._cores]
        rows = [
            moved(base, [(*core, *move) for core in at_core for move in ((), *((one,) for one in moves))])
            for base, moves in zip((space.rest, space.loaded), self._moves, strict=True)
        ]
        self._place = [rows_among(planned, block) for block in rows]
        # nothing is carried in a state that cannot be, or that nobody solves
        self._amps = [np.zeros((len(block), len(self._elements))) for block in rows]

    def note(self, first: int, answers: Answers) -> None:
        """Take the currents of some planned states, from rest. first: the place of the first of them. [-]"""
        for place, amps in zip(self._place, self._amps, strict=True):
            here = np.flatnonzero((place >= first) & (place < first + answers.count))
            rows = place[here] - first
            possible = answers.possible[rows, None]
            amps[here] = np.abs(answers.batch.amps[np.ix_(rows, self._elements)]) * possible

    def states(self) -> type_i:
        """The states in which each carries most by what was noted, one row each, none twice."""
        found = [
            self._from(base, moves, amps.reshape(len(self._cores), 1 + len(moves), -1))
            for base, moves, amps in zip((self._space.rest, self._space.loaded), self._moves, self._amps, strict=True)
        ]
        return distinct(np.concatenate(found))[0]

    def _from(self, base: type_i, moves: list[tuple[int, int]], amps: type_f) -> type_i:
        """For each element the state that the moves from one base lead to; amps by core state, move and element. [A]"""
        states = np.repeat(base[None, :], len(self._elements), axis=0)
        if not moves:
            return states
        more = amps[:, 1:] - amps[:, :1]
        more[more < _MORE_A] = 0.0
        variables = np.array([variable for variable, _ in moves])
        values = np.array([value for _, value in moves])
        starts = np.flatnonzero(np.r_[True, variables[1:] != variables[:-1]])
        in_all = amps[:, 0] + np.add.reduce(np.maximum.reduceat(more, starts, axis=1), axis=1)
        core = in_all.argmax(axis=0)
        states[:, list(self._space.core)] = np.array(self._cores, np.int64)[core]
        own = more[core, :, np.arange(len(self._elements))]
        for start, end in zip(starts, [*starts[1:], len(moves)], strict=True):
            best = own[:, start:end].argmax(axis=1) + start
            adds = own[np.arange(len(own)), best] > 0.0
            states[adds, variables[start]] = values[best[adds]]
        return states
