"""Which faults would the live tests catch, and which would they not?

Every single fault is put into the car as it is tested live, one at a time, and solved in every state of the tests. A
fault is caught where at least one test then reads outside its band. Everything else stays as expected, so a fault that
two causes would hide from each other is not looked at. Dead tests are not counted here: they find an open wire or one
on the body before there is power, and nothing of what only shows under load.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.proving.live_tests import LiveCar, LiveTest
from loomwright.proving.suspects import Suspect, fault_words

__all__ = ["Coverage", "KindCovered", "Tried", "coverage_of"]

Tell = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """One fault, and the tests that read outside their band with it."""

    suspect: Suspect
    caught_by: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class KindCovered:
    """One kind of fault. caught, of: how many of them. [-]"""

    kind: str
    says: str
    caught: int
    of: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Coverage:
    """All faults that were tried. tests: how many tests they were held against. [-]"""

    tried: tuple[Tried, ...]
    tests: int

    @property
    def kinds(self) -> tuple[KindCovered, ...]:
        """By kind of fault."""
        names = dict.fromkeys(one.suspect.kind for one in self.tried)
        return tuple(
            KindCovered(
                kind=name,
                says=fault_words(name),
                caught=sum(bool(one.caught_by) for one in self.tried if one.suspect.kind == name),
                of=sum(one.suspect.kind == name for one in self.tried),
            )
            for name in sorted(names)
        )

    @property
    def missed(self) -> tuple[Suspect, ...]:
        """The faults that no test reads."""
        return tuple(one.suspect for one in self.tried if not one.caught_by)

    @property
    def caught(self) -> int:
        """How many are caught. [-]"""
        return len(self.tried) - len(self.missed)

    def wires(self) -> dict[str, bool]:
        """Wire -> whether its being open is caught."""
        return {one.suspect.at[0]: bool(one.caught_by) for one in self.tried if one.suspect.kind == "open"}


def coverage_of(car: LiveCar, tests: Sequence[LiveTest], tell: Tell | None = None) -> Coverage:
    """Every single fault tried against the live tests.

    Args:
        tests: as `live_tests` gives them.
        tell: called with faults done and to do; may raise Stopped.
    """
    suspects = [one for one in car.suspects if one.kind != "none"]
    nodes = np.array([one.node for one in tests], int)
    states = np.array([one.state for one in tests], int)
    sound = car.volts(car.sound)[states, nodes]
    # a band stands about the solved figure, wherever the battery itself was
    below = np.array([(one.test.expected or 0.0) - _figure(one.test.low, -np.inf) for one in tests])
    above = np.array([_figure(one.test.high, np.inf) - (one.test.expected or 0.0) for one in tests])
    names = [one.test.id for one in tests]
    tried = []
    for suspect, batch in zip(suspects, car.bench.solved(suspects, car.values, tell=tell), strict=True):
        away = np.nan_to_num(car.volts(batch)[states, nodes]) - sound
        outside = np.flatnonzero((away < -below) | (away > above))
        tried.append(Tried(suspect=suspect, caught_by=tuple(names[k] for k in outside)))
    return Coverage(tried=tuple(tried), tests=len(tests))


def _figure(value: float | None, otherwise: float) -> float:
    return otherwise if value is None else value
