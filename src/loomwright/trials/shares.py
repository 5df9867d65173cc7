"""Which share of each element's current flows through one of them?

Where currents meet they are taken to mix: what leaves a node holds of each that came in as much as it brought. Followed
downstream from the element, and upstream, that tells how much of a load's current passes it on its way from a source or
back to one. Batteries and alternators are where ways begin and end; nothing is followed through them.

Method: proportional sharing, as losses and flows of a grid are told apart (J. Bialek, "Tracing the flow of
electricity", IEE Proceedings - Generation, Transmission and Distribution, 143 (1996), 313-320, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence

from loomwright.network.arrays import type_f
from loomwright.network.compiled import Compiled
from loomwright.network.records import Law

__all__ = ["Meeting", "Passing"]

_SOURCES = ("alternator", "battery", "trio")
_LEAST_A = 1e-6
"""Less than this is not followed: what rounding leaves may run in circles. [A]"""


class Meeting:
    """The nodes of a network, and what meets at each."""

    def __init__(self, compiled: Compiled) -> None:
        """Find what meets where."""
        arrays = compiled.arrays
        self._a: list[int] = arrays.a.tolist()
        self._b: list[int] = arrays.b.tolist()
        self._source = [element.type in _SOURCES or element.law == Law.BATTERY for element in compiled.network.elements]
        self._at: dict[int, list[int]] = {}
        for k, ends in enumerate(zip(self._a, self._b, strict=True)):
            for node in ends:
                self._at.setdefault(node, []).append(k)

    def share(self, amps: type_f, through: int) -> dict[int, float]:
        """The share of each element's current that flows through one of them, where it is any; in one state.

        Args:
            amps: by element, positive from its first node to its second. [A]
            through: the element.
        Returns:
            element -> 0..1.
        """
        flows: list[float] = amps.tolist()
        if abs(flows[through]) < _LEAST_A:
            return {}
        return {**self._followed(flows, through, 1.0), **self._followed(flows, through, -1.0), through: 1.0}

    def _followed(self, flows: Sequence[float], through: int, way: float) -> dict[int, float]:
        """Downstream (way 1) or upstream (-1): each node waits until all that comes into it is known."""

        def last(k: int) -> int:
            return self._b[k] if flows[k] * way > 0.0 else self._a[k]

        def onward(node: int) -> list[int]:
            return [k for k in self._at[node] if abs(flows[k]) >= _LEAST_A and last(k) != node and not self._source[k]]

        start = last(through)
        reached = {start}
        waiting = [start]
        comes: dict[int, int] = {start: 1}
        while waiting:
            for k in onward(waiting.pop()):
                far = last(k)
                comes[far] = comes.get(far, 0) + 1
                if far not in reached:
                    reached.add(far)
                    waiting.append(far)
        found: dict[int, float] = {through: 1.0}
        ready = [start] if comes[start] == 1 else []
        while ready:
            node = ready.pop()
            into = [k for k in self._at[node] if abs(flows[k]) >= _LEAST_A and last(k) == node]
            whole = sum(abs(flows[k]) for k in into)
            share = sum(abs(flows[k]) * found.get(k, 0.0) for k in into) / whole
            for k in onward(node):
                found[k] = share
                far = last(k)
                comes[far] -= 1
                if not comes[far]:
                    ready.append(far)
        return found


class Passing:
    """How much of a load's current passes an element, told from the amps of states; each is followed once."""

    def __init__(self, compiled: Compiled) -> None:
        """Nothing is followed yet."""
        self._compiled = compiled
        self._meeting: Meeting | None = None
        self._followed: dict[tuple[int, int, int], dict[int, float]] = {}

    def of(self, amps: type_f, row: int, through: int, places: Sequence[int]) -> float:
        """The share of a load's current that passes an element, in one state. [0..1]

        Args:
            amps: by state and element; asked for again by the same array. [A]
            places: the elements of the load.
        """
        if self._meeting is None:
            self._meeting = Meeting(self._compiled)
        key = (id(amps), row, through)
        if key not in self._followed:
            self._followed[key] = self._meeting.share(amps[row], through)
        found = self._followed[key]
        whole = sum(abs(float(amps[row, k])) for k in places)
        return sum(abs(float(amps[row, k])) * found.get(k, 0.0) for k in places) / whole if whole else 0.0
