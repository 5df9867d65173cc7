"""Which way do the relays, controllers, motors and fuses lie once everything has come to rest?

Passes: solve, ask every device what its senses say (with its own pull-in and drop-out), change all that differ, solve
again. Settled when nothing changes. A pattern that comes back is an orbit; then the devices are changed one at a time,
in both orders, and only where neither settles is the device *buzzing*. A motor that only just turns on its running
law is tried stalled, since a motor in series with a lamp never starts. Fuses are judged last, at rest: one that carries
more than its limit is opened and the rest is settled again.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from loomwright.network.arrays import FREE, TIER_FUSE, TIER_MOTOR, Arrays, type_b, type_f, type_i
from loomwright.network.kernel import newton
from loomwright.network.laws import amps_and_slope

__all__ = ["BUZZING", "COLLAPSED", "SETTLED", "amps_of", "settle_many", "settle_one"]

SETTLED, BUZZING, COLLAPSED = 0, 1, 2
_PASSES = 64
_LEAST_V = 0.1
_MOTOR_TRIAL = 4.0
"""A motor below this many times its lowest running volts is tried stalled [-]."""


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _any_guard(net: Arrays, first: int, last: int, values: type_i) -> bool:
    """True where one of the guards first..last-1 holds, or there are none."""
    if first == last:
        return True
    for guard in range(first, last):
        holds = True
        for term in range(net.term_ptr[guard], net.term_ptr[guard + 1]):
            if (net.term_mask[term] >> values[net.term_variable[term]]) & 1 == 0:
                holds = False
                break
        if holds:
            return True
    return False


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _rows_for(net: Arrays, values: type_i, selected: type_i, rows: type_i) -> None:
    for s in range(len(net.sel_first)):
        first = values[net.sel_first[s]]
        second = values[net.sel_second[s]] if net.sel_second[s] >= 0 else 0
        selected[s] = net.sel_rows[net.sel_ptr[s] + first * net.sel_columns[s] + second]
    for e in range(len(net.a)):
        rows[e] = net.row[e] + (selected[net.selector[e]] if net.selector[e] >= 0 else 0)


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _acting(net: Arrays, allowed: type_b, devices: type_b, acts: type_b) -> None:
    for e in net.live:
        on = allowed[e]
        if on:
            for k in range(net.need_ptr[e], net.need_ptr[e + 1]):
                if devices[net.need_device[k]] != net.need_on[k]:
                    on = 0
                    break
        acts[e] = on


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _wanted(net: Arrays, d: int, may: type_b, rows: type_i, acts: type_b, v: type_f, devices: type_b) -> int:
    """The state the senses of device d call for, from the state it is in."""
    if net.stuck[d] != FREE:
        return int(net.stuck[d])
    if may[d] == 0:
        return 0
    for k in range(net.sense_ptr[d], net.sense_ptr[d + 1]):
        e = net.sense_element[k]
        if e >= 0:
            size = 0.0
            if acts[e]:
                across = v[net.a[e]] - v[net.b[e]]
                size, _ = amps_and_slope(net.law[e], net.figures[rows[e]], across)
            size = abs(size)
        else:
            size = v[net.sense_a[k]] - v[net.sense_b[k]]
            if net.tier[d] == TIER_MOTOR:
                size = abs(size)
            if net.sense_beside[k] >= 0:
                whole = v[net.sense_beside[k]] - v[net.sense_b[k]]
                size = size / whole if whole > _LEAST_V else 0.0
        limit = net.sense_off[k] if devices[d] else net.sense_on[k]
        if size < limit:
            return 0
    return 1


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _same(history: type_b, count: int, devices: type_b) -> int:
    for k in range(count - 1, -1, -1):
        equal = True
        for d in range(len(devices)):
            if history[k, d] != devices[d]:
                equal = False
                break
        if equal:
            return k
    return -1


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _one_at_a_time(
    net: Arrays, thermal: int, allowed: type_b, may: type_b, rows: type_i, acts: type_b, v: type_f, floating: type_b,
    devices: type_b, buzz: type_b, backwards: bool,
) -> bool:  # fmt: skip
    count = len(devices)
    most = 8
    for d in range(count):
        most += 4 * buzz[d]
    for _ in range(most):
        _acting(net, allowed, devices, acts)
        if newton(net, thermal, rows, acts, v, floating) < 0:
            return False
        changed = -1
        for k in range(count):
            d = count - 1 - k if backwards else k
            if net.tier[d] != TIER_FUSE and _wanted(net, d, may, rows, acts, v, devices) != devices[d]:
                changed = d
                break
        if changed < 0:
            return True
        devices[changed] = 1 - devices[changed]
    return False


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _settle_relays(
    net: Arrays, thermal: int, allowed: type_b, may: type_b, rows: type_i, acts: type_b, v: type_f, floating: type_b,
    devices: type_b, buzz: type_b, wanted: type_b, history: type_b,
) -> int:  # fmt: skip
    count = len(devices)
    before = -1
    step = 0
    for step in range(_PASSES):
        history[step] = devices
        _acting(net, allowed, devices, acts)
        if newton(net, thermal, rows, acts, v, floating) < 0:
            return COLLAPSED
        changed = False
        for d in range(count):
            wanted[d] = devices[d]
            if net.tier[d] != TIER_FUSE:
                wanted[d] = _wanted(net, d, may, rows, acts, v, devices)
                changed = changed or wanted[d] != devices[d]
        if not changed:
            return SETTLED
        devices[:] = wanted
        before = _same(history, step + 1, devices)
        if before >= 0:
            break
    start = max(before, 0)
    for k in range(start, step + 1):
        for d in range(count):
            if history[k, d] != devices[d]:
                buzz[d] = 1
    kept = devices.copy()
    for backwards in (False, True):
        devices[:] = history[0]
        if _one_at_a_time(net, thermal, allowed, may, rows, acts, v, floating, devices, buzz, backwards):
            buzz[:] = 0
            return SETTLED
    devices[:] = kept
    _acting(net, allowed, devices, acts)
    if newton(net, thermal, rows, acts, v, floating) < 0:
        return COLLAPSED
    return BUZZING


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _stall_doubtful(net: Arrays, v: type_f, devices: type_b, tried: type_b) -> bool:
    """Stall, once each, the motors that only just turn; True where any was."""
    again = False
    for d in range(len(devices)):
        if net.tier[d] == TIER_MOTOR and devices[d] == 1 and tried[d] == 0 and net.stuck[d] == FREE:
            k = net.sense_ptr[d]
            if abs(v[net.sense_a[k]] - v[net.sense_b[k]]) < _MOTOR_TRIAL * net.sense_on[k]:
                tried[d] = 1
                devices[d] = 0
                again = True
    return again


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _worst_fuse(net: Arrays, rows: type_i, acts: type_b, v: type_f, devices: type_b) -> int:
    """The whole fuse that is furthest above its limit, or -1."""
    worst = -1
    most = 1.0
    for d in range(len(devices)):
        if net.tier[d] == TIER_FUSE and devices[d] == 0 and net.stuck[d] == FREE:
            k = net.sense_ptr[d]
            e = net.sense_element[k]
            size, _ = amps_and_slope(net.law[e], net.figures[rows[e]], v[net.a[e]] - v[net.b[e]])
            if acts[e] and abs(size) > most * net.sense_on[k]:
                worst = d
                most = abs(size) / net.sense_on[k]
    return worst


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def settle_one(
    net: Arrays, values: type_i, devices: type_b, v: type_f, floating: type_b, buzz: type_b, acts: type_b, rows: type_i
) -> int:
    """Bring one state to rest.

    Args:
        values: value index of each state variable. [-]
        devices: start in, answer out.
        v, floating, buzz, acts, rows: answers, written over. [V]
    Returns:
        SETTLED, BUZZING (those in `buzz`) or COLLAPSED.
    """
    count = len(devices)
    elements = len(net.a)
    selected = np.zeros(len(net.sel_first) + 1, np.int64)
    _rows_for(net, values, selected, rows)
    thermal = selected[net.thermal] if net.thermal >= 0 else 0
    allowed = np.ones(elements, np.uint8)
    acts[:] = 1
    for e in net.live:
        if not _any_guard(net, net.guard_ptr[e], net.guard_ptr[e + 1], values):
            allowed[e] = 0
    may = np.ones(count, np.uint8)
    for d in range(count):
        if not _any_guard(net, net.device_guard_ptr[d], net.device_guard_ptr[d + 1], values):
            may[d] = 0
        if net.stuck[d] != FREE:
            devices[d] = net.stuck[d]
    wanted = np.empty(count, np.uint8)
    history = np.empty((_PASSES, count), np.uint8)
    tried = np.zeros(count, np.uint8)
    buzz[:] = 0
    v[:] = 0.0
    for _ in range(2 * count + 2):
        status = _settle_relays(net, thermal, allowed, may, rows, acts, v, floating, devices, buzz, wanted, history)
        if status != SETTLED:
            return status
        if _stall_doubtful(net, v, devices, tried):
            continue
        worst = _worst_fuse(net, rows, acts, v, devices)
        if worst < 0:
            return SETTLED
        devices[worst] = 1
        tried[:] = 0
    return SETTLED


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def amps_of(net: Arrays, rows: type_i, acts: type_b, v: type_f, floating: type_b, out: type_f) -> None:
    """Current through every element; none where an end floats. [A]"""
    for e in range(len(net.a)):
        out[e] = 0.0
        if acts[e] and not floating[net.a[e]] and not floating[net.b[e]]:
            i, _ = amps_and_slope(net.law[e], net.figures[rows[e]], v[net.a[e]] - v[net.b[e]])
            out[e] = i


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def settle_many(
    net: Arrays, values: type_i, devices: type_b, v: type_f, floating: type_b, buzz: type_b, amps: type_f,
    status: type_b, first: int, last: int,
) -> None:  # fmt: skip
    """States first..last-1 of a batch, one after the other; answers written in place. [V, A]"""
    rows = np.empty(len(net.a), np.int64)
    acts = np.empty(len(net.a), np.uint8)
    for k in range(first, last):
        status[k] = settle_one(net, values[k], devices[k], v[k], floating[k], buzz[k], acts, rows)
        amps_of(net, rows, acts, v[k], floating[k], amps[k])
