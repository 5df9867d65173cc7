"""Which way do the relays, controllers, motors and fuses lie once everything has come to rest?

Passes: solve, ask every device what its senses say (with its own pull-in and drop-out), change all that differ, solve
again. Settled when nothing changes. A pattern that comes back is an orbit; then the devices are changed one at a time,
in both orders, and only where neither settles is the device *buzzing*. A motor that only just turns on its running
law is tried stalled, since a motor in series with a lamp never starts. Fuses are judged last, at rest: one that carries
more than its limit is opened and the rest is settled again.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit

from loomwright.network.arrays import FREE, TIER_FUSE, TIER_MOTOR, Arrays, type_b, type_f, type_i
from loomwright.network.kernel import Work, newton, room_to_work
from loomwright.network.known import Known, find, keep
from loomwright.network.laws import amps_and_slope

__all__ = ["BUZZING", "COLLAPSED", "SETTLED", "amps_of", "settle_many", "settle_one"]

SETTLED, BUZZING, COLLAPSED = 0, 1, 2
_PASSES = 64
_LEAST_V = 0.1
_MOTOR_TRIAL = 4.0
"""A motor below this many times its lowest running volts is tried stalled [-]."""


class Room(NamedTuple):
    """Room to settle states in, what is known of those before, and the rows this state selects."""

    work: Work
    known: Known
    selected: type_i


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _allow(net: Arrays, ptr: type_i, which: type_i, values: type_i, out: type_b) -> None:
    """Of the items in `which`: 1 where one of an item's guards holds or it has none, else 0."""
    term_ptr, variable, mask = net.term_ptr, net.term_variable, net.term_mask
    for item in which:
        out[item] = 1 if ptr[item] == ptr[item + 1] else 0
        for guard in range(ptr[item], ptr[item + 1]):
            holds = True
            for term in range(term_ptr[guard], term_ptr[guard + 1]):
                if (mask[term] >> values[variable[term]]) & 1 == 0:
                    holds = False
                    break
            if holds:
                out[item] = 1
                break


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _rows_for(net: Arrays, values: type_i, selected: type_i, rows: type_i) -> None:
    firsts, seconds, ptr, columns, sel_rows = net.sel_first, net.sel_second, net.sel_ptr, net.sel_columns, net.sel_rows
    for s in range(len(firsts)):
        second = values[seconds[s]] if seconds[s] >= 0 else 0
        selected[s] = sel_rows[ptr[s] + values[firsts[s]] * columns[s] + second]
    own_row, selector = net.row, net.selector
    for e in range(len(own_row)):
        rows[e] = own_row[e] + (selected[selector[e]] if selector[e] >= 0 else 0)


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _acting(net: Arrays, allowed: type_b, devices: type_b, acts: type_b) -> None:
    need_ptr, need_device, need_on = net.need_ptr, net.need_device, net.need_on
    for e in net.live:
        on = allowed[e]
        if on:
            for k in range(need_ptr[e], need_ptr[e + 1]):
                if devices[need_device[k]] != need_on[k]:
                    on = 0
                    break
        acts[e] = on


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _want(
    net: Arrays, may: type_b, rows: type_i, acts: type_b, v: type_f, devices: type_b, wanted: type_b
) -> bool:  # fmt: skip
    """The state each device's senses call for, from the state it is in; fuses stay. True where any is to change."""
    ptr, watched, sense_a, sense_b, beside = (
        net.sense_ptr,
        net.sense_element,
        net.sense_a,
        net.sense_b,
        net.sense_beside,
    )
    sense_on, sense_off, tier, stuck = net.sense_on, net.sense_off, net.tier, net.stuck
    net_a, net_b, law, figures = net.a, net.b, net.law, net.figures
    changed = False
    for d in range(len(devices)):
        wanted[d] = devices[d]
        if tier[d] == TIER_FUSE:
            continue
        on = 1
        if stuck[d] != FREE:
            on = stuck[d]
        elif may[d] == 0:
            on = 0
        else:
            for k in range(ptr[d], ptr[d + 1]):
                e = watched[k]
                if e >= 0:
                    size = 0.0
                    if acts[e]:
                        size, _ = amps_and_slope(law[e], figures[rows[e]], v[net_a[e]] - v[net_b[e]])
                    size = abs(size)
                else:
                    size = v[sense_a[k]] - v[sense_b[k]]
                    if tier[d] == TIER_MOTOR:
                        size = abs(size)
                    if beside[k] >= 0:
                        whole = v[beside[k]] - v[sense_b[k]]
                        size = size / whole if whole > _LEAST_V else 0.0
                if size < (sense_off[k] if devices[d] else sense_on[k]):
                    on = 0
                    break
        wanted[d] = on
        changed = changed or on != devices[d]
    return changed


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
def _held(net: Arrays, rows: type_i, acts: type_b, room: Room, v: type_f, floating: type_b) -> bool:
    """Volts with the devices held, kept ones where they lay so before; False for a collapse."""
    selected, known = room.selected, room.known
    place, met = find(net, known, selected, acts)
    if met:
        v[:] = known.v[place]
        floating[:] = known.floating[place]
        return bool(known.taken[place] >= 0)
    thermal = selected[net.thermal] if net.thermal >= 0 else 0
    taken = newton(net, thermal, rows, acts, room.work, v, floating)
    keep(net, known, place, selected, acts, v, floating, taken)
    return bool(taken >= 0)


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _one_at_a_time(
    net: Arrays, allowed: type_b, may: type_b, rows: type_i, acts: type_b, room: Room, v: type_f,
    floating: type_b, devices: type_b, buzz: type_b, wanted: type_b, backwards: bool,
) -> bool:  # fmt: skip
    count = len(devices)
    most = 8
    for d in range(count):
        most += 4 * buzz[d]
    for _ in range(most):
        _acting(net, allowed, devices, acts)
        if not _held(net, rows, acts, room, v, floating):
            return False
        if not _want(net, may, rows, acts, v, devices, wanted):
            return True
        for k in range(count):
            d = count - 1 - k if backwards else k
            if wanted[d] != devices[d]:
                devices[d] = wanted[d]
                break
    return False


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _settle_relays(
    net: Arrays, allowed: type_b, may: type_b, rows: type_i, acts: type_b, room: Room, v: type_f,
    floating: type_b, devices: type_b, buzz: type_b, wanted: type_b, history: type_b,
) -> int:  # fmt: skip
    count = len(devices)
    before = -1
    step = 0
    for step in range(_PASSES):
        history[step] = devices
        _acting(net, allowed, devices, acts)
        if not _held(net, rows, acts, room, v, floating):
            return COLLAPSED
        if not _want(net, may, rows, acts, v, devices, wanted):
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
        if _one_at_a_time(net, allowed, may, rows, acts, room, v, floating, devices, buzz, wanted, backwards):
            buzz[:] = 0
            return SETTLED
    devices[:] = kept
    _acting(net, allowed, devices, acts)
    if not _held(net, rows, acts, room, v, floating):
        return COLLAPSED
    return BUZZING


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _stall_doubtful(net: Arrays, v: type_f, devices: type_b, tried: type_b) -> bool:
    """Stall, once each, the motors that only just turn; True where any was."""
    again = False
    tier, stuck, ptr, sense_a, sense_b, sense_on = (
        net.tier, net.stuck, net.sense_ptr, net.sense_a, net.sense_b, net.sense_on,
    )  # fmt: skip
    for d in range(len(devices)):
        if tier[d] == TIER_MOTOR and devices[d] == 1 and tried[d] == 0 and stuck[d] == FREE:
            k = ptr[d]
            if abs(v[sense_a[k]] - v[sense_b[k]]) < _MOTOR_TRIAL * sense_on[k]:
                tried[d] = 1
                devices[d] = 0
                again = True
    return again


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _worst_fuse(net: Arrays, rows: type_i, acts: type_b, v: type_f, devices: type_b) -> int:
    """The whole fuse that is furthest above its limit, or -1."""
    worst = -1
    most = 1.0
    tier, stuck, ptr, watched, sense_on = net.tier, net.stuck, net.sense_ptr, net.sense_element, net.sense_on
    net_a, net_b, law, figures = net.a, net.b, net.law, net.figures
    for d in range(len(devices)):
        if tier[d] == TIER_FUSE and devices[d] == 0 and stuck[d] == FREE:
            k = ptr[d]
            e = watched[k]
            size, _ = amps_and_slope(law[e], figures[rows[e]], v[net_a[e]] - v[net_b[e]])
            if acts[e] and abs(size) > most * sense_on[k]:
                worst = d
                most = abs(size) / sense_on[k]
    return worst


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def settle_one(
    net: Arrays, values: type_i, devices: type_b, v: type_f, floating: type_b, buzz: type_b, acts: type_b, rows: type_i,
    room: Room,
) -> int:  # fmt: skip
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
    _rows_for(net, values, room.selected, rows)
    allowed = np.ones(elements, np.uint8)
    acts[:] = 1
    _allow(net, net.guard_ptr, net.live, values, allowed)
    may = np.empty(count, np.uint8)
    _allow(net, net.device_guard_ptr, np.arange(count), values, may)
    for d in range(count):
        if net.stuck[d] != FREE:
            devices[d] = net.stuck[d]
    wanted = np.empty(count, np.uint8)
    history = np.empty((_PASSES, count), np.uint8)
    tried = np.zeros(count, np.uint8)
    buzz[:] = 0
    for _ in range(2 * count + 2):
        status = _settle_relays(net, allowed, may, rows, acts, room, v, floating, devices, buzz, wanted, history)
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
    net_a, net_b, law, figures = net.a, net.b, net.law, net.figures
    for e in range(len(net_a)):
        out[e] = 0.0
        if acts[e] and not floating[net_a[e]] and not floating[net_b[e]]:
            i, _ = amps_and_slope(law[e], figures[rows[e]], v[net_a[e]] - v[net_b[e]])
            out[e] = i


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def settle_many(
    net: Arrays, values: type_i, devices: type_b, v: type_f, floating: type_b, buzz: type_b, amps: type_f,
    status: type_b, which: type_i, known: Known,
) -> None:  # fmt: skip
    """The states named by `which` of a batch, one after the other; answers written in place. [V, A]"""
    rows = np.empty(len(net.a), np.int64)
    acts = np.empty(len(net.a), np.uint8)
    room = Room(room_to_work(net), known, np.zeros(len(net.sel_first) + 1, np.int64))
    for k in which:
        status[k] = settle_one(net, values[k], devices[k], v[k], floating[k], buzz[k], acts, rows, room)
        amps_of(net, rows, acts, v[k], floating[k], amps[k])
