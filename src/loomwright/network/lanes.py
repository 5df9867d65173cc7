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

from loomwright.network.arrays import FREE, TIER_FUSE, TIER_MOTOR, type_b, type_f, type_i
from loomwright.network.compiled import Compiled
from loomwright.network.lane_laws import amps_and_slopes
from loomwright.network.lane_newton import LaneNet, lane_net, newton_lanes
from loomwright.network.settle import BUZZING, COLLAPSED, SETTLED
from loomwright.network.solve import Batch, start_at_rest

__all__ = ["LANES", "solve_lanes"]

LANES = 2048
"""States that are solved side by side [-]."""
_PASSES = 64
_LEAST_V = 0.1
_MOTOR_TRIAL = 4.0

type_bool = NDArray[np.bool_]


@dataclass(slots=True, eq=False)
class _Lanes:
    """Some states on their way to rest; arrays are one column a lane."""

    allowed: type_bool
    may: type_bool
    rows: type_i
    thermal: type_i
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
    net = lane_net(compiled.arrays)
    parts = [
        _solved(net, values[first : first + LANES], devices[first : first + LANES]) for first in range(0, count, LANES)
    ]

    def together(of: Callable[[_Lanes], NDArray[np.generic]], kind: type) -> NDArray[np.generic]:
        return np.ascontiguousarray(np.concatenate([of(part) for part in parts], axis=-1).T.astype(kind))

    amps = [_amps(net, part) for part in parts]
    return Batch(
        values=values,
        v=together(lambda part: np.where(part.floating, 0.0, part.v), np.float64),  # type: ignore[arg-type]
        floating=together(lambda part: part.floating, np.uint8),  # type: ignore[arg-type]
        devices=together(lambda part: part.devices, np.uint8),  # type: ignore[arg-type]
        buzz=together(lambda part: part.buzz, np.uint8),  # type: ignore[arg-type]
        amps=np.ascontiguousarray(np.concatenate(amps, axis=1).T),
        status=together(lambda part: part.status, np.uint8),  # type: ignore[arg-type]
    )


def _solved(net: LaneNet, values: type_i, devices: type_b) -> _Lanes:
    """Bring some states to rest."""
    lanes = _begun(net, values, devices)
    every = np.arange(len(values))
    tried = np.zeros(lanes.devices.shape, bool)
    going = every
    for _ in range(2 * len(lanes.devices) + 2):
        _relays(net, lanes, going)
        going = going[lanes.status[going] == SETTLED]
        again = _stalled(net, lanes, going, tried) if len(going) else np.zeros(0, bool)
        blown = _blown(net, lanes, going[~again]) if len(going) else np.zeros(0, bool)
        opened = going[~again][blown]
        tried[:, opened] = False
        going = np.sort(np.concatenate([going[again], opened]))
        if not len(going):
            break
    return lanes


def _begun(net: LaneNet, values: type_i, devices: type_b) -> _Lanes:
    arrays = net.arrays
    count = len(values)
    selected = np.zeros((len(arrays.sel_first), count), np.int64)
    for s in range(len(arrays.sel_first)):
        second = values[:, arrays.sel_second[s]] if arrays.sel_second[s] >= 0 else 0
        place = arrays.sel_ptr[s] + values[:, arrays.sel_first[s]] * arrays.sel_columns[s] + second
        selected[s] = arrays.sel_rows[place]
    rows = np.repeat(arrays.row[:, None], count, axis=1)
    chosen = arrays.selector >= 0
    rows[chosen] += selected[arrays.selector[chosen]]
    allowed = np.ones((len(arrays.a), count), bool)
    allowed[arrays.live] = [_holds(net, arrays.guard_ptr, int(e), values) for e in arrays.live]
    may = np.array([_holds(net, arrays.device_guard_ptr, d, values) for d in range(len(arrays.tier))], bool)
    lies = np.ascontiguousarray(devices.T)
    stuck = arrays.stuck != FREE
    lies[stuck] = arrays.stuck[stuck, None]
    nodes = arrays.nodes + 1
    return _Lanes(
        allowed=allowed,
        may=may.reshape(len(arrays.tier), count),
        rows=rows,
        thermal=selected[arrays.thermal] if arrays.thermal >= 0 else np.zeros(count, np.int64),
        devices=lies,
        v=np.zeros((nodes, count)),
        floating=np.zeros((nodes, count), bool),
        status=np.zeros(count, np.uint8),
        buzz=np.zeros(lies.shape, np.uint8),
    )


def _holds(net: LaneNet, ptr: type_i, item: int, values: type_i) -> type_bool:
    """Where one of an item's guards holds, or it has none."""
    arrays = net.arrays
    if ptr[item] == ptr[item + 1]:
        return np.ones(len(values), bool)
    found = np.zeros(len(values), bool)
    for guard in range(ptr[item], ptr[item + 1]):
        here = np.ones(len(values), bool)
        for term in range(arrays.term_ptr[guard], arrays.term_ptr[guard + 1]):
            here &= (arrays.term_mask[term] >> values[:, arrays.term_variable[term]]) & 1 == 1
        found |= here
    return found


def _acts(net: LaneNet, lanes: _Lanes, which: type_i) -> type_bool:
    """Which elements act in some lanes."""
    arrays = net.arrays
    acts = lanes.allowed[:, which]
    for e in net.needing:
        for k in range(arrays.need_ptr[e], arrays.need_ptr[e + 1]):
            acts[e] &= lanes.devices[arrays.need_device[k], which] == arrays.need_on[k]
    return acts


def _held(net: LaneNet, lanes: _Lanes, which: type_i) -> tuple[type_bool, type_bool]:
    """Solve some lanes with their devices held; which elements act, and which lanes did not collapse."""
    acts = _acts(net, lanes, which)
    v, floating, settled = newton_lanes(net, lanes.thermal[which], lanes.rows[:, which], acts)
    lanes.v[:, which] = np.where(floating, 0.0, v)
    lanes.floating[:, which] = floating
    return acts, settled


def _wanted(net: LaneNet, lanes: _Lanes, which: type_i, acts: type_bool) -> type_b:
    """How each device of some lanes wants to lie."""
    arrays = net.arrays
    v, rows = lanes.v[:, which], lanes.rows[:, which]
    wanted = lanes.devices[:, which].copy()
    for d in range(len(arrays.tier)):
        if arrays.tier[d] == TIER_FUSE:
            continue
        if arrays.stuck[d] != FREE:
            wanted[d] = arrays.stuck[d]
            continue
        on = lanes.may[d, which].copy()
        lies = lanes.devices[d, which] == 1
        for k in range(arrays.sense_ptr[d], arrays.sense_ptr[d + 1]):
            e = int(arrays.sense_element[k])
            if e >= 0:
                amps, _ = amps_and_slopes(
                    net.arrays, np.array([e]), rows[e : e + 1], (v[arrays.a[e]] - v[arrays.b[e]])[None]
                )
                size = np.where(acts[e], np.abs(amps[0]), 0.0)
            else:
                size = v[arrays.sense_a[k]] - v[arrays.sense_b[k]]
                if arrays.tier[d] == TIER_MOTOR:
                    size = np.abs(size)
                if arrays.sense_beside[k] >= 0:
                    whole = v[arrays.sense_beside[k]] - v[arrays.sense_b[k]]
                    size = np.where(whole > _LEAST_V, size / np.where(whole > _LEAST_V, whole, 1.0), 0.0)
            on &= size >= np.where(lies, arrays.sense_off[k], arrays.sense_on[k])
        wanted[d] = on
    return wanted


def _relays(net: LaneNet, lanes: _Lanes, going: type_i) -> None:
    """Passes until nothing changes; orbits lane by lane."""
    history: list[type_b] = []
    alive = np.arange(len(going))
    orbits: list[tuple[int, int, int]] = []
    for step in range(_PASSES):
        which = going[alive]
        whole = np.full((len(lanes.devices), len(going)), FREE, np.uint8)
        whole[:, alive] = lanes.devices[:, which]
        history.append(whole)
        acts, settled = _held(net, lanes, which)
        lanes.status[which[~settled]] = COLLAPSED
        wanted = _wanted(net, lanes, which, acts)
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
        _orbit(net, lanes, going[lane : lane + 1], [old[:, lane] for old in history], max(before, 0), step)


def _orbit(net: LaneNet, lanes: _Lanes, lane: type_i, history: list[type_b], start: int, step: int) -> None:
    """One lane that comes round: devices one at a time, from the first and from the last; else it buzzes."""
    kept = lanes.devices[:, lane].copy()
    buzz = np.zeros(len(kept), bool)
    for old in history[start : step + 1]:
        buzz |= old != kept[:, 0]
    for backwards in (False, True):
        lanes.devices[:, lane[0]] = history[0]
        if _one_at_a_time(net, lanes, lane, 8 + 4 * int(buzz.sum()), backwards):
            lanes.status[lane] = SETTLED
            return
    lanes.devices[:, lane] = kept
    _, settled = _held(net, lanes, lane)
    lanes.status[lane] = BUZZING if settled[0] else COLLAPSED
    lanes.buzz[:, lane[0]] = buzz


def _one_at_a_time(net: LaneNet, lanes: _Lanes, lane: type_i, most: int, backwards: bool) -> bool:
    for _ in range(most):
        acts, settled = _held(net, lanes, lane)
        if not settled[0]:
            return False
        wanted = _wanted(net, lanes, lane, acts)[:, 0]
        differs = np.flatnonzero(wanted != lanes.devices[:, lane[0]])
        if not len(differs):
            return True
        device = differs[-1 if backwards else 0]
        lanes.devices[device, lane[0]] = wanted[device]
    return False


def _stalled(net: LaneNet, lanes: _Lanes, going: type_i, tried: type_bool) -> type_bool:
    """Stall, once each, the motors that only just turn; where any was."""
    arrays = net.arrays
    again = np.zeros(len(going), bool)
    for d in np.flatnonzero((arrays.tier == TIER_MOTOR) & (arrays.stuck == FREE)):
        k = arrays.sense_ptr[d]
        across = np.abs(lanes.v[arrays.sense_a[k], going] - lanes.v[arrays.sense_b[k], going])
        now = (lanes.devices[d, going] == 1) & ~tried[d, going] & (across < _MOTOR_TRIAL * arrays.sense_on[k])
        tried[d, going[now]] = True
        lanes.devices[d, going[now]] = 0
        again |= now
    return again


def _blown(net: LaneNet, lanes: _Lanes, going: type_i) -> type_bool:
    """Open in each lane the whole fuse that is furthest above its limit; where any was."""
    arrays = net.arrays
    acts = _acts(net, lanes, going)
    most = np.ones(len(going))
    worst = np.full(len(going), -1)
    for d in np.flatnonzero((arrays.tier == TIER_FUSE) & (arrays.stuck == FREE)):
        k = arrays.sense_ptr[d]
        e = int(arrays.sense_element[k])
        across = lanes.v[arrays.a[e], going] - lanes.v[arrays.b[e], going]
        amps, _ = amps_and_slopes(net.arrays, np.array([e]), lanes.rows[e : e + 1, going], across[None])
        share = np.abs(amps[0]) / arrays.sense_on[k]
        now = (lanes.devices[d, going] == 0) & acts[e] & (share > most)
        worst[now], most[now] = d, share[now]
    hit = worst >= 0
    lanes.devices[worst[hit], going[hit]] = 1
    return hit


def _amps(net: LaneNet, lanes: _Lanes) -> type_f:
    """Current through every element; none where an end floats. [A]"""
    arrays = net.arrays
    acts = _acts(net, lanes, np.arange(lanes.v.shape[1]))
    across = lanes.v[arrays.a] - lanes.v[arrays.b]
    amps, _ = amps_and_slopes(net.arrays, np.arange(len(arrays.a)), lanes.rows, across)
    return np.where(acts & ~lanes.floating[arrays.a] & ~lanes.floating[arrays.b], amps, 0.0)
