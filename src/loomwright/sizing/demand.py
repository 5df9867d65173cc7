"""What is the worst each wire and each fuse has to carry, and in which state?

Heat follows the root of the mean square where outputs pulse (`states.ratings.pulsed`). What a wire may carry depends on
the ambient, on whether the engine is hot, and on how long the current lasts; so the worst current is kept for each of
these apart (`Worst`), and which of them rules is known once there is a size. States in which the supply gives way are
left out: no steady current is known there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

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
Key = TypeVar("Key", Kind, str)


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
    worst: dict[Kind, _Most] = {}
    drops: dict[str, _Most] = {}
    solved = 0
    for answers in batches:
        solved += answers.count
        fine = answers.possible & ~answers.collapsed()
        if not (elements and fine.any()):
            continue
        amps = heating_amps(ground, elements, answers)
        for kind, rows in _kinds(ground, answers, fine).items():
            _keep(worst, kind, amps, rows, answers)
        _keep(drops, "", np.where(fine, _lost(elements, answers), 0.0), np.arange(answers.count), answers)
    return Demand(
        worst={
            k: {
                kind: Worst(
                    amps=most.figure[number],
                    moment=kind[0],
                    ambient_c=kind[1],
                    turning=kind[2],
                    values=most.values[number],
                )
                for kind, most in worst.items()
            }
            for number, k in enumerate(elements)
        },
        drops={
            k: Drop(volts=most.figure[number], values=most.values[number])
            for most in drops.values()
            for number, k in enumerate(elements)
        },
        solved=solved,
    )


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
    rows = np.abs(answers.batch.amps[:, list(elements)]).T.copy()
    for number, k in enumerate(elements):
        if k in ground.heating.through:
            rows[number] = ground.heating.amps(answers, k)
    return np.where(fine, rows, 0.0)


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


@dataclass(slots=True, kw_only=True, eq=False)
class _Most:
    """The most so far of every element, and the state it was met in. figure: one an element. [-]"""

    figure: list[float]
    values: list[type_i]


def _keep(
    most: dict[Key, _Most], key: Key, figures: NDArray[np.float64], rows: NDArray[np.intp], answers: Answers
) -> None:
    """Takes what is more than anything met before, of each element apart.

    Args:
        figures: one row an element, one column a state.
        rows: the states that count.
    """
    best = rows[figures[:, rows].argmax(axis=1)]
    now = figures[np.arange(len(figures)), best].tolist()
    values = list(answers.batch.values[best])
    before = most.get(key)
    if before is None:
        most[key] = _Most(figure=now, values=values)
        return
    for number, figure in enumerate(now):
        if figure > before.figure[number]:
            before.figure[number], before.values[number] = figure, values[number]


def _lost(elements: Sequence[int], answers: Answers) -> NDArray[np.float64]:
    """Volts lost along each element, one row an element; nothing where an end floats. [V]"""
    arrays, batch = answers.compiled.arrays, answers.batch
    volts: type_float = np.where(batch.floating == 1, np.nan, batch.v)
    which = list(elements)
    return np.nan_to_num(np.abs(volts[:, arrays.a[which]] - volts[:, arrays.b[which]])).T


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
