"""What does the car do while nothing is wrong?

The states of the search are solved once (`states.asking.plan`): every combination of what decides a thing, the rest of
the car at rest and loaded, or every raw state where they are few. A failure is then tried only in states in which it
makes a difference:

    open      where current flows through it: without current nothing changes
    closed    where it is open now, and there are volts across it or an end that floats
    shorted   where there are volts between the two points, or one of them floats

Of those states in which the contacts, relays and drivers that it can reach lie alike, and the current through it (or
the volts across) is about the same, the one nearest rest and the one farthest from it are solved. Where they lie
in more ways than `ALL_APART_BELOW`, so many are solved that any two of those things have lain in every way in which
they can lie together.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from loomwright.network.arrays import type_f, type_i
from loomwright.network.compiled import Compiled
from loomwright.network.solve import Batch, remember
from loomwright.states.asking.answers import type_bool
from loomwright.states.asking.plan import ALL_BELOW, plan_states
from loomwright.states.asking.scene import Scene
from loomwright.states.asking.search import answers_of, implied_before
from loomwright.tables.constants import constant
from loomwright.trials.failures import Failure

__all__ = ["ALL_APART_BELOW", "Sound", "solved_sound", "states_for"]

Tell = Callable[[int, int], None]
_PIECE = 1024
_NOTHING_A = 1e-5
_NOTHING_V = 1e-3
_STEPS_A_DECADE = 4
"""Currents or volts in the same step, 1.8 times wide, are alike: our choice. [-]"""
_ALL_STATES_BELOW = 300
"""Where no more states than this can make a difference, all of them are solved. [-]"""
ALL_APART_BELOW = 128
"""With no more ways of lying than this one state of each is solved. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sound:
    """The states that can occur and their answers, one row a state.

    amps: by element. [A]   v: by node. [V]   holds: by element, whether its own guards allow it.
    """

    values: type_i
    amps: type_f
    v: NDArray[np.float32]
    floating: NDArray[np.uint8]
    devices: NDArray[np.uint8]
    holds: type_bool

    def at(self, rows: type_i) -> Batch:
        """The answers of some states, without their volts."""
        count = len(rows)
        devices = self.devices[rows]
        return Batch(
            values=self.values[rows],
            v=np.zeros((count, 0)),
            floating=np.zeros((count, 0), np.uint8),
            devices=devices,
            buzz=np.zeros_like(devices),
            amps=self.amps[rows],
            status=np.zeros(count, np.uint8),
        )


def solved_sound(scene: Scene, tell: Tell | None = None, all_below: int = ALL_BELOW) -> Sound:
    """Solve the car as it is.

    Args:
        tell: called with states done and to do; may raise Stopped.
        all_below: with no more raw states than this every one is solved. [-]
    """
    compiled, cones = scene.compiled, scene.cones
    states = plan_states(scene.space, cones.asked, all_below)
    remembered = remember(compiled)
    pieces = []
    for first in range(0, len(states), _PIECE):
        answers = answers_of(compiled, states[first : first + _PIECE], None, remembered)
        kept, batch = answers.possible & ~answers.collapsed(), answers.batch
        pieces.append(
            (
                batch.values[kept],
                batch.amps[kept],
                batch.v[kept].astype(np.float32),
                batch.floating[kept],
                batch.devices[kept],
            )
        )
        if tell is not None:
            tell(min(first + _PIECE, len(states)), len(states))
    values, amps, v, floating, devices = (np.concatenate(found) for found in zip(*pieces, strict=True))
    return Sound(
        values=values,
        amps=amps,
        v=v,
        floating=floating,
        devices=devices,
        holds=_holds(compiled, values),
    )


def _holds(compiled: Compiled, values: type_i) -> type_bool:
    """By state and element: whether any of its guards holds."""
    held = np.ones((len(values), len(compiled.network.elements)), bool)
    for k, element in enumerate(compiled.network.elements):
        if element.guards:
            held[:, k] = False
            for guard in element.guards:
                now = np.ones(len(values), bool)
                for variable, allowed in guard.holds:
                    now &= np.isin(values[:, variable], list(allowed))
                held[:, k] |= now
    return held


def states_for(
    scene: Scene, sound: Sound, failure: Failure, reach: tuple[type_i, type_i, type_i], all_below: int = ALL_APART_BELOW
) -> tuple[type_i, int]:
    """The rows to solve a failure in, and how many states they stand for. [-]

    Args:
        reach: elements with guards, devices and loads that it can reach.
        all_below: with no more ways of lying than this one state of each is solved. [-]
    """
    size, differs = _difference(scene, sound, failure)
    # relays that the failure pulled in while the key was on may hold after it, though it does nothing by then
    earlier, _ = implied_before(scene.compiled, sound.values)
    rows = np.flatnonzero(differs | (earlier & bool(differs.any())))
    if len(rows) <= _ALL_STATES_BELOW:
        return rows, len(rows)
    elements, devices, loads = reach
    rated_a = np.array([scene.element(k).rated_a or 0.0 for k in loads.tolist()])
    steps = np.round(np.log10(np.maximum(np.abs(size[rows]), _NOTHING_A)) * _STEPS_A_DECADE) * np.sign(size[rows])
    # a cold coil pulls in where a hot one does not, so the ambient is one of the things that lie
    ambients = sound.values[rows, scene.compiled.variable_of["ambient_c"]]
    # so is what it came from: with the key off and the engine turning, relays may hold that would not pull in
    came, _ = implied_before(scene.compiled, sound.values[rows])
    lies = np.concatenate(
        [
            *(ambients[:, None] == ambient for ambient in np.unique(ambients)),
            came[:, None],
            sound.holds[np.ix_(rows, elements)],
            sound.devices[np.ix_(rows, devices)] == 1,
            np.abs(sound.amps[np.ix_(rows, loads)]) >= constant("works_frac") * rated_a,
            *(steps[:, None] == step for step in np.unique(steps)),
        ],
        axis=1,
    )
    away = (sound.values[rows] != scene.space.rest).sum(axis=1)
    # a car that was running with its key in is another car: its states are told apart among themselves
    worlds = [np.flatnonzero(came == is_held) for is_held in (False, True)]
    apart = [world[_apart(lies[world], away[world], all_below)] for world in worlds if len(world)]
    return rows[np.sort(np.concatenate(apart))], len(rows)


def _apart(lies: type_bool, away: type_i, all_below: int) -> type_i:
    """Of states that lie alike the one nearest rest and the one farthest; of too many a covering few."""
    packed = np.packbits(lies, axis=1)
    order = np.lexsort((away, *_words(packed).T))
    new = (packed[order][1:] != packed[order][:-1]).any(axis=1)
    firsts = np.flatnonzero(np.append(True, new))
    lasts = np.append(firsts[1:], len(order)) - 1
    if len(firsts) <= all_below:
        return np.unique(order[np.concatenate([firsts, lasts])])
    plain = order[firsts]
    return _covering(lies, plain[np.lexsort((plain, away[plain]))])


def _words(packed: NDArray[np.uint8]) -> NDArray[np.uint64]:
    """Rows of bytes as rows of words, which sort faster."""
    wide = -(-packed.shape[1] // 8) * 8
    filled = np.zeros((len(packed), wide), np.uint8)
    filled[:, : packed.shape[1]] = packed
    return filled.view(np.uint64)


def _covering(lies: type_bool, rows: type_i) -> type_i:
    """Rows, plainest first, so that any two things lie in every way in which they lie together in some row."""
    both = np.ascontiguousarray(np.concatenate([lies[rows], ~lies[rows]], axis=1))
    return np.asarray(np.sort(rows[_bringing_news(both)]))


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _bringing_news(both: type_bool) -> type_bool:
    """The rows in which two things lie together as in none before."""
    count, wide = both.shape
    met = np.zeros((wide, wide), np.bool_)
    kept = np.zeros(count, np.bool_)
    now = np.empty(wide, np.int64)
    for row in range(count):
        many = 0
        for k in range(wide):
            if both[row, k]:
                now[many] = k
                many += 1
        for i in range(many):
            for j in range(i):
                if not met[now[i], now[j]]:
                    met[now[i], now[j]] = True
                    kept[row] = True
    return kept


def _difference(scene: Scene, sound: Sound, failure: Failure) -> tuple[type_f, type_bool]:
    """Amps through what opens, or volts across what closes, by state; and where that is not nothing."""
    count = len(sound.values)
    if failure.opened:
        amps = sound.amps[:, failure.opened[0]]
        return amps, np.abs(amps) > _NOTHING_A
    if failure.closed:
        k = failure.closed[0]
        size, there = _across(sound, *scene.ends(k))
        acting = sound.holds[:, k].copy()
        for device, on in scene.element(k).needs:
            acting &= (sound.devices[:, device] == 1) == on
        return size, there & ~acting
    if failure.held:
        return np.zeros(count), sound.devices[:, failure.held[0]] == 0
    changes = failure.changes
    if changes is not None and changes.shorts:
        short = changes.shorts[0]
        return _across(sound, scene.node(short.a), scene.node(short.b))
    return _through(scene, sound, failure)


def _across(sound: Sound, a: int, b: int) -> tuple[type_f, type_bool]:
    floats = (sound.floating[:, a] == 1) | (sound.floating[:, b] == 1)
    size = np.where(floats, 0.0, sound.v[:, a].astype(float) - sound.v[:, b])
    return size, np.asarray(floats | (np.abs(size) > _NOTHING_V))


def _through(scene: Scene, sound: Sound, failure: Failure) -> tuple[type_f, type_bool]:
    """All that flows through the wires at a connector."""
    names = set(failure.cut)
    wires = [k for k, element in enumerate(scene.compiled.network.elements) if element.name in names]
    total = np.abs(sound.amps[:, wires]).sum(axis=1)
    return total, total > _NOTHING_A
