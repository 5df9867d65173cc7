"""The same answers in plain numpy, many states side by side: one lane a state.

What the compiled kernels do for one state after the other (`held`, `kernel`, `settle`) is done here for all lanes at
once: every step of the elimination is a few sums over arrays of lanes. It needs no compiler and says the same by
another way, so each is a check of the other. Lanes that are done are left out of the next pass. What is rare, relays
that come round in an orbit, is handed lane by lane to the rule for it.

In: a `Compiled`, values and devices as in `solve_many`. Out: a `Batch`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import FREE, TIER_FUSE, TIER_MOTOR, Arrays, type_b, type_f, type_i
from loomwright.network.compiled import Compiled
from loomwright.network.lane_laws import LawGroup, amps_and_slopes, by_law, laid, law_groups
from loomwright.network.lane_net import LaneNet, lane_net
from loomwright.network.lane_newton import newton_lanes
from loomwright.network.settle import BUZZING, COLLAPSED, SETTLED
from loomwright.network.solve import Batch, start_at_rest

__all__ = ["LANES", "solve_lanes"]

LANES = 2048
"""States that are solved side by side [-]."""
_PASSES = 64
_LEAST_V = 0.1
_MOTOR_TRIAL = 4.0

type_bool = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class _Asked:
    """Elements whose amps are asked for, law by law: their numbers in that order, and where each stands in it."""

    elements: type_i
    groups: tuple[LawGroup, ...]
    place: type_i


@dataclass(frozen=True, slots=True, eq=False)
class _Car:
    """A network for lanes with what its devices look at.

    live_place: where each element stands among the live ones, or -1: it always acts.   linear, curved: the same for
    the straight and the bent ones.   needing: live elements that need devices.   sensed: elements looked through.
    """

    net: LaneNet
    live_place: type_i
    linear: type_i
    curved: type_i
    needing: type_i
    sensed: _Asked
    every: _Asked

    @property
    def arrays(self) -> Arrays:
        """The network's arrays."""
        return self.net.arrays


@dataclass(slots=True, eq=False)
class _Lanes:
    """Some states on their way to rest; arrays are one column a lane, volts by step."""

    allowed: type_bool
    may: type_bool
    selected: type_i
    devices: type_b
    v: type_f
    floating: type_bool
    status: type_b
    buzz: type_b


def solve_lanes(compiled: Compiled, values: type_i, start: type_b | None = None) -> Batch:
    """Solve many states in plain numpy.

    Args:
        values: value index of each variable, one row a state. [-]
        start: devices to begin from, one row a state; default at rest.
    """
    count = len(values)
    devices = start_at_rest(compiled, count) if start is None else start.copy()
    car = _car(compiled.arrays)
    parts = [
        _solved(car, values[first : first + LANES], devices[first : first + LANES]) for first in range(0, count, LANES)
    ]
    step_of = compiled.arrays.step_of

    def together(of: Callable[[_Lanes], NDArray[np.generic]], kind: type) -> NDArray[np.generic]:
        return np.ascontiguousarray(np.concatenate([of(part) for part in parts], axis=-1).T.astype(kind))

    return Batch(
        values=values,
        v=together(lambda part: part.v[step_of], np.float64),  # type: ignore[arg-type]
        floating=together(lambda part: part.floating[step_of], np.uint8),  # type: ignore[arg-type]
        devices=together(lambda part: part.devices, np.uint8),  # type: ignore[arg-type]
        buzz=together(lambda part: part.buzz, np.uint8),  # type: ignore[arg-type]
        amps=together(lambda part: _amps(car, part), np.float64),  # type: ignore[arg-type]
        status=together(lambda part: part.status, np.uint8),  # type: ignore[arg-type]
    )


def _asked(arrays: Arrays, elements: type_i) -> _Asked:
    elements = by_law(arrays, elements)
    place = np.full(len(arrays.a), -1)
    place[elements] = np.arange(len(elements))
    return _Asked(elements, law_groups(arrays, elements), place)


def _car(arrays: Arrays) -> _Car:
    net = lane_net(arrays)
    live_place = np.full(len(arrays.a), -1)
    live_place[arrays.live] = np.arange(len(arrays.live))
    return _Car(
        net=net,
        live_place=live_place,
        linear=live_place[net.linear],
        curved=live_place[net.curved],
        needing=np.array([e for e in arrays.live if arrays.need_ptr[e + 1] > arrays.need_ptr[e]], np.int64),
        sensed=_asked(arrays, np.unique(arrays.sense_element[arrays.sense_element >= 0])),
        every=_asked(arrays, np.arange(len(arrays.a))),
    )


def _solved(car: _Car, values: type_i, devices: type_b) -> _Lanes:
    """Bring some states to rest."""
    lanes = _begun(car.arrays, values, devices)
    tried = np.zeros(lanes.devices.shape, bool)
    going = np.arange(len(values))
    for _ in range(2 * len(lanes.devices) + 2):
        _relays(car, lanes, going)
        going = going[lanes.status[going] == SETTLED]
        again = _stalled(car.arrays, lanes, going, tried) if len(going) else np.zeros(0, bool)
        blown = _blown(car, lanes, going[~again]) if len(going) else np.zeros(0, bool)
        opened = going[~again][blown]
        tried[:, opened] = False
        going = np.sort(np.concatenate([going[again], opened]))
        if not len(going):
            break
    return lanes


def _begun(arrays: Arrays, values: type_i, devices: type_b) -> _Lanes:
    count = len(values)
    selected = np.zeros((len(arrays.sel_first) + 1, count), np.int64)
    for s in range(len(arrays.sel_first)):
        second = values[:, arrays.sel_second[s]] if arrays.sel_second[s] >= 0 else 0
        place = arrays.sel_ptr[s] + values[:, arrays.sel_first[s]] * arrays.sel_columns[s] + second
        selected[s] = arrays.sel_rows[place]
    allowed = np.array([_holds(arrays, arrays.guard_ptr, int(e), values) for e in arrays.live], bool)
    may = np.array([_holds(arrays, arrays.device_guard_ptr, d, values) for d in range(len(arrays.tier))], bool)
    lies = np.ascontiguousarray(devices.T)
    stuck = arrays.stuck != FREE
    lies[stuck] = arrays.stuck[stuck, None]
    nodes = arrays.nodes + 1
    return _Lanes(
        allowed=allowed.reshape(len(arrays.live), count),
        may=may.reshape(len(arrays.tier), count),
        selected=selected,
        devices=lies,
        v=np.zeros((nodes, count)),
        floating=np.zeros((nodes, count), bool),
        status=np.zeros(count, np.uint8),
        buzz=np.zeros(lies.shape, np.uint8),
    )


def _holds(arrays: Arrays, ptr: type_i, item: int, values: type_i) -> type_bool:
    """Where one of an item's guards holds, or it has none."""
    if ptr[item] == ptr[item + 1]:
        return np.ones(len(values), bool)
    found = np.zeros(len(values), bool)
    for guard in range(ptr[item], ptr[item + 1]):
        here = np.ones(len(values), bool)
        for term in range(arrays.term_ptr[guard], arrays.term_ptr[guard + 1]):
            here &= (arrays.term_mask[term] >> values[:, arrays.term_variable[term]]) & 1 == 1
        found |= here
    return found


def _acts(car: _Car, lanes: _Lanes, which: type_i) -> type_bool:
    """Which live elements act in some lanes."""
    arrays = car.arrays
    acts = np.take(lanes.allowed, which, axis=1)
    lies = np.take(lanes.devices, which, axis=1) == 1
    for e in car.needing:
        mine = acts[car.live_place[e]]
        for k in range(arrays.need_ptr[e], arrays.need_ptr[e + 1]):
            mine &= lies[arrays.need_device[k]] == bool(arrays.need_on[k])
    return acts


def _held(car: _Car, lanes: _Lanes, which: type_i) -> tuple[type_bool, type_bool]:
    """Solve some lanes with their devices held; which live elements act, and which lanes did not collapse."""
    acts = _acts(car, lanes, which)
    selected = np.take(lanes.selected, which, axis=1)
    v, floating, settled = newton_lanes(car.net, selected, acts[car.linear], acts[car.curved])
    if len(which) == lanes.v.shape[1]:
        lanes.v, lanes.floating = v, floating
    else:
        lanes.v[:, which], lanes.floating[:, which] = v, floating
    return acts, settled


def _through(car: _Car, asked: _Asked, selected: type_i, acts: type_bool, v: type_f) -> type_f:
    """Amps through some elements, those that do not act nothing. [A]"""
    arrays, elements = car.arrays, asked.elements
    across = v[arrays.from_step[elements]] - v[arrays.to_step[elements]]
    amps, _ = amps_and_slopes(laid(arrays, asked.groups, selected), across)
    place = car.live_place[elements]
    amps[place >= 0] *= acts[place[place >= 0]]
    return amps


def _wanted(car: _Car, lanes: _Lanes, which: type_i, acts: type_bool) -> type_b:
    """How each device of some lanes wants to lie."""
    arrays, step_of = car.arrays, car.arrays.step_of
    # only what is looked at is taken out of the whole
    at = np.unique(
        step_of[np.concatenate([arrays.sense_a, arrays.sense_b, arrays.sense_beside, arrays.order[-1:]])],
    )
    at = np.union1d(at, arrays.from_step[car.sensed.elements])
    at = np.union1d(at, arrays.to_step[car.sensed.elements])
    v = np.zeros((arrays.nodes + 1, len(which)))
    v[at] = lanes.v[at[:, None], which]
    amps = np.abs(_through(car, car.sensed, np.take(lanes.selected, which, axis=1), acts, v))
    wanted = np.take(lanes.devices, which, axis=1)
    for d in np.flatnonzero(arrays.tier != TIER_FUSE):
        if arrays.stuck[d] != FREE:
            wanted[d] = arrays.stuck[d]
            continue
        on = lanes.may[d, which]
        lies = wanted[d] == 1
        for k in range(arrays.sense_ptr[d], arrays.sense_ptr[d + 1]):
            e = arrays.sense_element[k]
            if e >= 0:
                size = amps[car.sensed.place[e]]
            else:
                low = v[step_of[arrays.sense_b[k]]]
                size = v[step_of[arrays.sense_a[k]]] - low
                if arrays.tier[d] == TIER_MOTOR:
                    size = np.abs(size)
                if arrays.sense_beside[k] >= 0:
                    whole = v[step_of[arrays.sense_beside[k]]] - low
                    size = np.where(whole > _LEAST_V, size / np.where(whole > _LEAST_V, whole, 1.0), 0.0)
            on = on & (size >= np.where(lies, arrays.sense_off[k], arrays.sense_on[k]))
        wanted[d] = on
    return wanted


def _relays(car: _Car, lanes: _Lanes, going: type_i) -> None:
    """Passes until nothing changes; orbits lane by lane."""
    history: list[type_b] = []
    alive = np.arange(len(going))
    orbits: list[tuple[int, int, int]] = []
    for step in range(_PASSES):
        which = going[alive]
        whole = np.full((len(lanes.devices), len(going)), FREE, np.uint8)
        whole[:, alive] = lanes.devices[:, which]
        history.append(whole)
        acts, settled = _held(car, lanes, which)
        lanes.status[which[~settled]] = COLLAPSED
        wanted = _wanted(car, lanes, which, acts)
        moving = settled & (wanted != lanes.devices[:, which]).any(axis=0)
        lanes.status[which[settled & ~moving]] = SETTLED
        lanes.devices[:, which[moving]] = wanted[:, moving]
        alive = alive[moving]
        met = np.full(len(alive), -1)
        for k, old in enumerate(history):
            met[(old[:, alive] == lanes.devices[:, going[alive]]).all(axis=0)] = k
        orbits += [(int(lane), int(before), step) for lane, before in zip(alive, met, strict=True) if before >= 0]
        alive = alive[met < 0]
        if not len(alive):
            break
    orbits += [(int(lane), -1, _PASSES - 1) for lane in alive]
    for lane, before, step in orbits:
        _orbit(car, lanes, going[lane : lane + 1], [old[:, lane] for old in history], max(before, 0), step)


def _orbit(car: _Car, lanes: _Lanes, lane: type_i, history: list[type_b], start: int, step: int) -> None:
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
    _, settled = _held(car, lanes, lane)
    lanes.status[lane] = BUZZING if settled[0] else COLLAPSED
    lanes.buzz[:, lane[0]] = buzz


def _one_at_a_time(car: _Car, lanes: _Lanes, lane: type_i, most: int, backwards: bool) -> bool:
    for _ in range(most):
        acts, settled = _held(car, lanes, lane)
        if not settled[0]:
            return False
        wanted = _wanted(car, lanes, lane, acts)[:, 0]
        differs = np.flatnonzero(wanted != lanes.devices[:, lane[0]])
        if not len(differs):
            return True
        device = differs[-1 if backwards else 0]
        lanes.devices[device, lane[0]] = wanted[device]
    return False


def _stalled(arrays: Arrays, lanes: _Lanes, going: type_i, tried: type_bool) -> type_bool:
    """Stall, once each, the motors that only just turn; where any was."""
    again = np.zeros(len(going), bool)
    step_of = arrays.step_of
    for d in np.flatnonzero((arrays.tier == TIER_MOTOR) & (arrays.stuck == FREE)):
        k = arrays.sense_ptr[d]
        across = np.abs(lanes.v[step_of[arrays.sense_a[k]], going] - lanes.v[step_of[arrays.sense_b[k]], going])
        now = (lanes.devices[d, going] == 1) & ~tried[d, going] & (across < _MOTOR_TRIAL * arrays.sense_on[k])
        tried[d, going[now]] = True
        lanes.devices[d, going[now]] = 0
        again |= now
    return again


def _blown(car: _Car, lanes: _Lanes, going: type_i) -> type_bool:
    """Open in each lane the whole fuse that is furthest above its limit; where any was."""
    arrays = car.arrays
    acts = _acts(car, lanes, going)
    selected, v = np.take(lanes.selected, going, axis=1), np.take(lanes.v, going, axis=1)
    amps = np.abs(_through(car, car.sensed, selected, acts, v))
    most = np.ones(len(going))
    worst = np.full(len(going), -1)
    for d in np.flatnonzero((arrays.tier == TIER_FUSE) & (arrays.stuck == FREE)):
        k = arrays.sense_ptr[d]
        share = amps[car.sensed.place[arrays.sense_element[k]]] / arrays.sense_on[k]
        now = (lanes.devices[d, going] == 0) & (share > most)
        worst[now], most[now] = d, share[now]
    hit = worst >= 0
    lanes.devices[worst[hit], going[hit]] = 1
    return hit


def _amps(car: _Car, lanes: _Lanes) -> type_f:
    """Current through every element; none where an end floats. [A]"""
    arrays = car.arrays
    acts = _acts(car, lanes, np.arange(lanes.v.shape[1]))
    amps = _through(car, car.every, lanes.selected, acts, lanes.v)[car.every.place]
    amps[lanes.floating[arrays.from_step] | lanes.floating[arrays.to_step]] = 0.0
    return amps
