"""What every question about a rating looks at, and the form they all have: amps against a limit, worst state told."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from loomwright.states.asking.answers import Answers, type_bool, type_float
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.watch import Watch
from loomwright.states.paths.conduction import Conduction, conduction_of
from loomwright.states.ratings.pulsed import Heating, heating_of

__all__ = ["FED_A", "Drawn", "Heated", "RatingGround", "over", "rating_ground", "rating_source"]

FED_A = 1.0
"""A starter that draws more than this is fed. [A]"""
_EQUAL = 1.0 + 1e-4
"""A current this much above a limit is still equal to it: what solving leaves over [-]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RatingGround:
    """The car, its ways, its pulsed currents, its starter's motor elements, its solenoid's windings (pull-in, hold)."""

    scene: Scene
    conduction: Conduction
    heating: Heating
    starters: tuple[int, ...]
    solenoids: tuple[tuple[int, int], ...]

    def starter_amps(self, answers: Answers) -> type_float:
        """What the starter draws in each state. [A]"""
        return answers.once(("starter", self.starters), self._starter_amps)

    def _starter_amps(self, answers: Answers) -> type_float:
        return sum((np.abs(answers.amps(k)) for k in self.starters), np.zeros(answers.count))

    def pulling_in(self, answers: Answers) -> type_bool:
        """Where a starter's solenoid is not in yet: its pull-in winding carries more than the one that holds."""
        found = np.zeros(answers.count, bool)
        for pull, hold in self.solenoids:
            pulls_a = np.abs(answers.amps(pull))
            # a starter that nothing feeds carries dust in both
            found |= (pulls_a > np.abs(answers.amps(hold))) & (pulls_a > FED_A)
        return found


def rating_ground(scene: Scene) -> RatingGround:
    """What questions about ratings need, worked out once."""
    elements = scene.compiled.network.elements
    return RatingGround(
        scene=scene,
        conduction=conduction_of(scene),
        heating=heating_of(scene),
        starters=tuple(k for k, element in enumerate(elements) if element.type == "starter_motor"),
        solenoids=_solenoids(scene),
    )


def _solenoids(scene: Scene) -> tuple[tuple[int, int], ...]:
    found = []
    for part in scene.parts:
        mine = [(k, scene.element(k).type) for k in scene.elements_of.get(part, ())]
        if any(kind == "starter_motor" for _, kind in mine):
            pulls = [k for k, kind in mine if kind == "resistor"]
            holds = [k for k, kind in mine if kind == "coil"]
            found += [(pull, holds[0]) for pull in pulls if holds]
    return tuple(found)


# there are hundreds of these questions, and they are kept: methods of one record each weigh less than functions
@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Over:
    """Amps against a limit, arguments as of `over`."""

    allowed_a: float
    amps: Callable[[Answers], type_float]
    limit: Callable[[Answers], type_float] | None
    most: Callable[[Answers], float] | None
    least_a: float

    def limit_of(self, answers: Answers) -> type_float:
        return np.full(answers.count, self.allowed_a) if self.limit is None else self.limit(answers)

    def broken(self, answers: Answers) -> tuple[type_bool, type_float]:
        found = self.amps(answers)
        return (found > self.limit_of(answers) * _EQUAL) & ~answers.collapsed(), found

    def may_break(self, answers: Answers) -> bool:
        # nan, where nobody knows how much, is asked
        return self.most is None or not self.most(answers) <= self.least_a


@dataclass(frozen=True, slots=True, eq=False)
class Heated:
    """The current that warms an element, of `heating`, by its index."""

    heating: Heating
    element: int

    def amps(self, answers: Answers) -> type_float:
        """In each state. [A]"""
        return self.heating.amps(answers, self.element)

    def most(self, answers: Answers) -> float:
        """No more than this in any of the states. [A]"""
        return self.heating.most(answers)[self.element]


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """The current through an element, whichever way it flows, by its index."""

    element: int

    def amps(self, answers: Answers) -> type_float:
        """In each state. [A]"""
        return np.abs(answers.amps(self.element))

    def most(self, answers: Answers) -> float:
        """The largest of all states. [A]"""
        return float(answers.most_amps()[self.element])


def over(
    *,
    at: tuple[str, ...],
    touches: tuple[str, ...],
    label: str,
    wrong: str,
    mend: str,
    allowed_a: float,
    amps: Callable[[Answers], type_float],
    limit: Callable[[Answers], type_float] | None = None,
    most: Callable[[Answers], float] | None = None,
    least_a: float | None = None,
    rule: str = "RAT-1",
    source: str = "",
) -> Watch:
    """The question whether a current passes a limit; equal is allowed.

    Args:
        allowed_a: the limit that is told. [A]
        amps: the current in each state.
        limit: the limit in each state, where it is not always the same.
        most: what the current is at most in any of the states, where that is known by less work. [A]
        least_a: what the limit is at least; the one told where left out. [A]
    """
    asked = _Over(
        allowed_a=allowed_a,
        amps=amps,
        limit=limit,
        most=most,
        least_a=allowed_a if least_a is None else least_a,
    )
    return Watch(
        rule=rule,
        severity="fault",
        at=at,
        touches=tuple(dict.fromkeys(name for name in touches if name not in at)),
        label=label,
        wrong=wrong,
        allowed=allowed_a,
        unit="A",
        source=source,
        mend=mend,
        broken=asked.broken,
        worst=True,
        limit_of=asked.limit_of,
        may_break=asked.may_break,
    )


def rating_source(scene: Scene, part: str, endings: tuple[str, ...] = ("rating_a", "contact_a")) -> str:
    """Where a part's rating is from, when it is the typical figure of its kind; the sheets' own needs no source.

    Args:
        endings: how the names of the settings that may hold it end.
    """
    written = scene.parts[part].settings
    kind = scene.kind(part)
    typical = [setting for setting in kind.settings if setting.typical and setting.name.endswith(endings)]
    return next((setting.source for setting in typical if setting.name not in written), "")
