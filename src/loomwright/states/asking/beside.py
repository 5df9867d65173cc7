"""States asked for one question after the other, each solved once.

Rules look at the same few plain states before they ask their questions, and the conditions of many findings are sought
from the states beside those: most were solved for the rule or the finding before. In: a network, states as they are
asked for. Out: their answers, the same as if every one were solved anew.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields
from threading import Lock

import numpy as np

from loomwright.network.arrays import type_i
from loomwright.network.compiled import Compiled
from loomwright.network.solve import Batch, Remembered
from loomwright.states.asking.answered import answers_of
from loomwright.states.asking.answers import Answers

__all__ = ["Beside"]

_KEPT_MOST = 4096
"""With more states than this they are let go of and begun again [-]."""

_KEPT_BYTES_MOST = 80_000_000
"""The same, of a network so large that fewer states take this much room."""


class Beside:
    """The states of one network that were asked for so far; may be asked from several threads."""

    def __init__(self, compiled: Compiled, remembered: Callable[[], Remembered] | None = None) -> None:
        """Nothing is solved yet.

        Args:
            remembered: gives what is known of other states of the network; none is needed.
        """
        self.compiled = compiled
        self._remembered = remembered
        self._kept: dict[tuple[bool, bool], _Kept] = {}
        self._lock = Lock()

    def answers(self, values: type_i, before: type_i | None = None, turned: bool = False) -> Answers:
        """States solved, from rest or from those given; of those that were asked for before the answers known.

        Args:
            turned: with the relays changing in the other order.
        """
        rows = values if before is None else np.concatenate([values, before], axis=1)
        names = [row.tobytes() for row in rows]
        row_of = {name: row for row, name in enumerate(names)}
        with self._lock:
            kept = self._kept.setdefault((before is not None, turned), _Kept())
            new = [row for name, row in row_of.items() if name not in kept.place_of]
            if new and len(kept.place_of) + len(new) > self._most:
                kept = self._kept[before is not None, turned] = _Kept()
                new = list(row_of.values())
            if new:
                remembered = None if self._remembered is None else self._remembered()
                earlier = None if before is None else before[new]
                found = answers_of(self.compiled, values[new], earlier, remembered, turned)
                kept.add([names[row] for row in new], found)
                if len(new) == len(names):
                    return found
            return kept.answers(self.compiled, [kept.place_of[name] for name in names], held=before is not None)

    def let_go(self) -> None:
        """Keep no state; they are solved again when they are asked again."""
        with self._lock:
            self._kept.clear()

    @property
    def _most(self) -> int:
        """How many states may be kept of each way they are come to. [-]"""
        state_bytes = 9 * (self.compiled.arrays.nodes + 1) + 8 * len(self.compiled.network.elements)
        return min(_KEPT_MOST, _KEPT_BYTES_MOST // state_bytes)


class _Kept:
    """Answers of states, with room for more; `place_of` has the row of each."""

    def __init__(self) -> None:
        self.place_of: dict[bytes, int] = {}
        self._columns: dict[str, np.ndarray] = {}

    def add(self, names: list[bytes], answers: Answers) -> None:
        """Keep the answers of states that are not kept yet."""
        first, count = len(self.place_of), len(names)
        columns = {field.name: getattr(answers.batch, field.name) for field in fields(Batch)}
        for name, column in {**columns, "possible": answers.possible}.items():
            old = self._columns.get(name, column[:0])
            if first + count > len(old):
                room = np.zeros((2 * (first + count), *column.shape[1:]), column.dtype)
                room[:first] = old[:first]
                self._columns[name] = room
            self._columns[name][first : first + count] = column
        self.place_of.update((name, first + row) for row, name in enumerate(names))

    def answers(self, compiled: Compiled, places: list[int], *, held: bool) -> Answers:
        """The answers at some places."""
        taken = {name: column[places] for name, column in self._columns.items()}
        possible = taken.pop("possible")
        return Answers(compiled, Batch(**taken), possible, held=held)
