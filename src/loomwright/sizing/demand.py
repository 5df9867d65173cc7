"""What is the worst each wire and each fuse has to carry, and in which state?

Heat follows the root of the mean square where outputs pulse (`states.ratings.pulsed`). What a wire may carry depends on
the ambient, on whether the engine is hot, and on how long the current lasts; so the worst current is kept for each of
these apart (`Worst`), and which of them rules is known once there is a size. States in which the supply gives way are
left out: no steady current is known there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import type_i
from loomwright.states.asking.answers import Answers, type_float
from loomwright.states.ratings.rating_ground import FED_A, RatingGround

__all__ = [
    "CRANKING",
    "PULLING",
    "STALLED",
    "STEADY",
    "Demand",
    "Drop",
    "Worst",
    "demand_of",
    "heating_amps",
    "states_near",
    "together",
]

STEADY, PULLING, CRANKING, STALLED = "steady", "pulling in", "cranking", "stalled"
"""How long a current lasts: for ever, until a solenoid is in, while an engine is cranked, while a starter is held."""

_MOMENTS = (STEADY, PULLING, CRANKING, STALLED)
_TURNING = ("idle", "running")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Worst:
    """The most that flows in one kind of state, and the state.

    amps: that would warm as much if steady. [A]   moment: steady, cranking or stalled.
    ambient_c: of the car. [C]   turning: the engine, so that its bay is hot.   values: the state.
    """

    amps: float
    moment: str
    ambient_c: float
    turning: bool
    values: type_i


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drop:
    """The most that is lost along one element, and the state. volts: from end to end. [V]"""

    volts: float
    values: type_i


Kind = tuple[str, float, bool]
"""How long it lasts, the ambient, the engine turning or not."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Demand:
    """What was met over some states, by element.

    worst: element -> kind of state -> the most. drops: element -> the most lost. solved: states looked at. [-]
    """

    worst: Mapping[int, Mapping[Kind, Worst]]
    drops: Mapping[int, Drop]
    solved: int

    def of(self, element: int) -> tuple[Worst, ...]:
        """All that was met at one element, each kind of state apart, less those that another outdoes in every way."""
        found = self.worst.get(element, {}).values()
        steady = max((one for one in found if one.moment == STEADY), key=_outdoing, default=None)
        return tuple(one for one in found if steady is None or one is steady or not _is_outdone(one, steady))


def _outdoing(one: Worst) -> tuple[float, bool, float]:
    return one.ambient_c, one.turning, one.amps


def _is_outdone(one: Worst, steady: Worst) -> bool:
    """Whether as much flows for ever somewhere at least as hot."""
    return one.amps <= steady.amps and one.ambient_c <= steady.ambient_c and one.turning <= steady.turning


def demand_of(ground: RatingGround, elements: Sequence[int], batches: Iterable[Answers]) -> Demand:
    """The worst of every element over some answers.

    Args:
        elements: wires and fuses of the network.
    """
    return together([_of_batch(ground, elements, answers) for answers in batches])


def together(demands: Iterable[Demand]) -> Demand:
    """The worst of several."""
    worst: dict[int, dict[Kind, Worst]] = {}
    drops: dict[int, Drop] = {}
    solved = 0
    for one in demands:
        solved += one.solved
        for k, kinds in one.worst.items():
            mine = worst.setdefault(k, {})
            for kind, now in kinds.items():
                if kind not in mine or now.amps > mine[kind].amps:
                    mine[kind] = now
        for k, drop in one.drops.items():
            if k not in drops or drop.volts > drops[k].volts:
                drops[k] = drop
    return Demand(worst=worst, drops=drops, solved=solved)


def heating_amps(ground: RatingGround, elements: Sequence[int], answers: Answers) -> NDArray[np.float64]:
    """The current that warms each element, one row an element; nothing where the state cannot occur. [A]"""
    fine = answers.possible & ~answers.collapsed()
    rows = [np.where(fine, ground.heating.amps(answers, k), 0.0) for k in elements]
    return np.stack(rows) if rows else np.zeros((0, answers.count))


def states_near(
    ground: RatingGround, elements: Sequence[int], demand: Demand, batches: Iterable[Answers], *, share_frac: float
) -> type_i:
    """The states in which any element carries nearly the worst that lasts as long.

    Args:
        share_frac: of its worst, from which that counts. [0..1]
    """
    near = [np.zeros((0, len(ground.scene.space.rest)), np.int64)]
    for answers in batches:
        fine = answers.possible & ~answers.collapsed()
        amps = heating_amps(ground, elements, answers)
        for kind, rows in _kinds(ground, answers, fine).items():
            most = np.array([_most_a(demand, k, kind[0]) for k in elements])[:, None]
            close = (amps[:, rows] >= share_frac * most) & (amps[:, rows] > 0.0)
            near.append(answers.batch.values[rows[close.any(axis=0)]])
    return np.unique(np.concatenate(near), axis=0)


def _most_a(demand: Demand, element: int, moment: str) -> float:
    """The most that an element carries for so long. [A]"""
    return max((one.amps for one in demand.worst.get(element, {}).values() if one.moment == moment), default=0.0)


def _of_batch(ground: RatingGround, elements: Sequence[int], answers: Answers) -> Demand:
    fine = answers.possible & ~answers.collapsed()
    worst: dict[int, dict[Kind, Worst]] = {k: {} for k in elements}
    drops: dict[int, Drop] = {}
    if fine.any() and elements:
        amps = heating_amps(ground, elements, answers)
        for kind, rows in _kinds(ground, answers, fine).items():
            best = amps[:, rows].argmax(axis=1)
            for number, k in enumerate(elements):
                row = rows[best[number]]
                worst[k][kind] = Worst(
                    amps=float(amps[number, row]),
                    moment=kind[0],
                    ambient_c=kind[1],
                    turning=kind[2],
                    values=answers.batch.values[row],
                )
        for k in elements:
            lost: type_float = np.where(fine, np.nan_to_num(np.abs(answers.across(k))), 0.0)
            row = int(lost.argmax())
            drops[k] = Drop(volts=float(lost[row]), values=answers.batch.values[row])
    return Demand(worst=worst, drops=drops, solved=answers.count)


def _kinds(ground: RatingGround, answers: Answers, fine: NDArray[np.bool_]) -> Mapping[Kind, NDArray[np.intp]]:
    """The rows of each kind of state."""
    scene = ground.scene
    fed = np.where(answers.at("engine", "stopped"), _MOMENTS.index(STALLED), _MOMENTS.index(CRANKING))
    pulling = np.where(ground.pulling_in(answers), _MOMENTS.index(PULLING), _MOMENTS.index(STEADY))
    moment = np.where(ground.starter_amps(answers) > FED_A, fed, pulling)
    where = scene.compiled.variable_of["ambient_c"]
    ambient = answers.batch.values[:, where]
    turning = answers.at("engine", *_TURNING)
    kinds: dict[Kind, NDArray[np.intp]] = {}
    for m, word in enumerate(_MOMENTS):
        for value in np.unique(ambient):
            for turns in (False, True):
                rows = np.flatnonzero(fine & (moment == m) & (ambient == value) & (turning == turns))
                if len(rows):
                    name = scene.compiled.network.variables[where].values[int(value)]
                    kinds[(word, float(name), turns)] = rows
    return kinds
