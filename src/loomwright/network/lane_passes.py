"""Relays of many states side by side, pass by pass: the slow way, for lanes that go in circles.

The passes of `settle` for all lanes at once, each from no volts and to the last digit. Lanes that are done are left out
of the next pass. Relays that come round in an orbit are handed lane by lane to the rule for it.

In: `Car`, `Lanes`, which of them. Out: devices, volts, floating, status, in place.
"""

from __future__ import annotations

import numpy as np

from loomwright.network.arrays import FREE, type_b, type_f, type_i
from loomwright.network.lane_car import Car, Lanes, acting, type_bool
from loomwright.network.lane_devices import blow, stall, wanted
from loomwright.network.lane_newton import newton_lanes
from loomwright.network.settle import BUZZING, COLLAPSED, SETTLED

__all__ = ["PASSES", "held", "pass_by_pass"]

PASSES = 64
"""More than this count as an orbit [-]."""


def pass_by_pass(car: Car, lanes: Lanes, which: type_i) -> None:
    """Bring some lanes to rest."""
    tried = np.zeros(lanes.devices.shape, bool)
    for _ in range(2 * len(lanes.devices) + 2):
        _relays(car, lanes, which)
        which = which[lanes.status[which] == SETTLED]
        again = stall(car, lanes, which, _seen(car, lanes, which), tried) if len(which) else np.zeros(0, bool)
        rest = which[~again]
        blown = np.zeros(0, bool)
        if len(rest):
            blown = blow(car, lanes, rest, acting(car, lanes, rest), _seen(car, lanes, rest))
        tried[:, rest[blown]] = False
        which = np.sort(np.concatenate([which[again], rest[blown]]))
        if not len(which):
            break


def held(car: Car, lanes: Lanes, which: type_i) -> tuple[type_bool, type_bool]:
    """Solve some lanes with their devices held; which live elements act, and which lanes did not collapse."""
    acts = acting(car, lanes, which)
    selected = np.take(lanes.selected, which, axis=1)
    v, floating, settled = newton_lanes(car.net, selected, acts[car.linear], acts[car.curved])
    lanes.v[:, which], lanes.floating[:, which] = v, floating
    return acts, settled


def _wanted(car: Car, lanes: Lanes, which: type_i, acts: type_bool) -> type_b:
    return wanted(car, lanes, which, acts, _seen(car, lanes, which), np.zeros(len(which)))[0]


def _seen(car: Car, lanes: Lanes, which: type_i) -> type_f:
    return lanes.v[car.seen[:, None], which]


def _relays(car: Car, lanes: Lanes, going: type_i) -> None:
    """Passes until nothing changes; orbits lane by lane."""
    history: list[type_b] = []
    alive = np.arange(len(going))
    orbits: list[tuple[int, int, int]] = []
    for step in range(PASSES):
        which = going[alive]
        whole = np.full((len(lanes.devices), len(going)), FREE, np.uint8)
        whole[:, alive] = lanes.devices[:, which]
        history.append(whole)
        acts, settled = held(car, lanes, which)
        lanes.status[which[~settled]] = COLLAPSED
        asked = _wanted(car, lanes, which, acts)
        moving = settled & (asked != lanes.devices[:, which]).any(axis=0)
        lanes.status[which[settled & ~moving]] = SETTLED
        lanes.devices[:, which[moving]] = asked[:, moving]
        alive = alive[moving]
        met = np.full(len(alive), -1)
        for k, old in enumerate(history):
            met[(old[:, alive] == lanes.devices[:, going[alive]]).all(axis=0)] = k
        orbits += [(int(lane), int(before), step) for lane, before in zip(alive, met, strict=True) if before >= 0]
        alive = alive[met < 0]
        if not len(alive):
            break
    orbits += [(int(lane), -1, PASSES - 1) for lane in alive]
    for lane, before, step in orbits:
        _orbit(car, lanes, going[lane : lane + 1], [old[:, lane] for old in history], max(before, 0), step)


def _orbit(car: Car, lanes: Lanes, lane: type_i, history: list[type_b], start: int, step: int) -> None:
    """One lane that comes round: devices one at a time, from the first and from the last; else it buzzes."""
    kept = lanes.devices[:, lane].copy()
    buzz = np.zeros(len(kept), bool)
    for old in history[start : step + 1]:
        buzz |= old != kept[:, 0]
    for backwards in (False, True):
        lanes.devices[:, lane[0]] = history[0]
        if _one_at_a_time(car, lanes, lane, 8 + 4 * int(buzz.sum()), backwards):
            lanes.status[lane] = SETTLED
            return
    lanes.devices[:, lane] = kept
    _, settled = held(car, lanes, lane)
    lanes.status[lane] = BUZZING if settled[0] else COLLAPSED
    lanes.buzz[:, lane[0]] = buzz


def _one_at_a_time(car: Car, lanes: Lanes, lane: type_i, most: int, backwards: bool) -> bool:
    for _ in range(most):
        acts, settled = held(car, lanes, lane)
        if not settled[0]:
            return False
        asked = _wanted(car, lanes, lane, acts)[:, 0]
        differs = np.flatnonzero(asked != lanes.devices[:, lane[0]])
        if not len(differs):
            return True
        device = differs[-1 if backwards else 0]
        lanes.devices[device, lane[0]] = asked[device]
    return False
