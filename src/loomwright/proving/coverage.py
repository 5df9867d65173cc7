"""Which faults would the test plan catch, and which would it not?

Every single fault is put into the car, one at a time: into the dead car with an ohmmeter at every dead test, and into
the car as it is tested live, solved in every state of the tests. What neither catches is put into every step of the
power-up as well. A fault is caught where at least one test then reads outside its band. Everything else stays as
expected, so a fault that two causes would hide from each other is not looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from loomwright.proving.live_tests import LiveCar, LiveTest
from loomwright.proving.suspects import Suspect, fault_words

__all__ = ["Coverage", "FaultKey", "KindCovered", "Tried", "coverage_of", "fault_key", "with_caught"]

Tell = Callable[[int, int], None]
FaultKey = tuple[str, tuple[str, ...], float]
"""A fault by its kind, where it is and its ohms, whatever the network is it was put into."""
_STAGES: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("dead", ("dead/",)),
    ("power-up", ("power/",)),
    ("live", ("live/", "earth/")),
)


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
    def stages(self) -> tuple[tuple[str, int], ...]:
        """Stage -> how many faults its own tests catch; of the power-up, those that no other catches. [-]"""
        return tuple(
            (stage, sum(any(name.startswith(begins) for name in one.caught_by) for one in self.tried))
            for stage, begins in _STAGES
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


def fault_key(suspect: Suspect) -> FaultKey:
    """By what a fault is known again in another network of the same car."""
    return suspect.kind, suspect.at, suspect.added_ohm[0][1] if suspect.added_ohm else 0.0


def with_caught(coverage: Coverage, caught: Mapping[FaultKey, tuple[str, ...]], tests: int) -> Coverage:
    """The coverage with what more tests catch.

    Args:
        caught: fault -> the tests that catch it.
        tests: how many more tests that were. [-]
    """
    tried = tuple(
        replace(one, caught_by=(*one.caught_by, *caught.get(fault_key(one.suspect), ()))) for one in coverage.tried
    )
    return Coverage(tried=tried, tests=coverage.tests + tests)


def _figure(value: float | None, otherwise: float) -> float:
    return otherwise if value is None else value
