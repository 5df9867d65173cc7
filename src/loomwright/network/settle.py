"""Which way do the relays, controllers, motors and fuses lie once everything has come to rest?

Passes: solve, ask every device what its senses say (with its own pull-in and drop-out), change all that differ, solve
again. While any is to change, volts near enough to be sure of it will do; at rest they are settled. A pattern that
comes back is an orbit; then the devices are changed one at a time, in both orders, and only where neither settles is
the device *buzzing*. A motor that only just turns on its running law is tried stalled, since a motor in series with a
lamp never starts. Fuses are judged last, at rest: one that carries more than its limit is opened and the rest is
settled again.

The passes of a state are one loop with one place where the network is solved, since every such place is compiled anew.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from loomwright.network.alike import allow, select
from loomwright.network.arrays import FREE, TIER_FUSE, TIER_MOTOR, Arrays, type_b, type_f, type_i
from loomwright.network.elimination import spread
from loomwright.network.held import Live
from loomwright.network.kernel import OFF_OF_DOUBT, newton, room_to_work
from loomwright.network.known import Known, find, keep, recall
from loomwright.network.laws import amps_of_row
from loomwright.network.lean import lean
from loomwright.network.senses import MOVES, RESTS, Senses, want

__all__ = ["BUZZING", "COLLAPSED", "SETTLED", "settle_many"]

SETTLED, BUZZING, COLLAPSED = 0, 1, 2
_PASSES = 64
_MOTOR_TRIAL = 4.0
"""A motor below this many times its lowest running volts is tried stalled [-]."""
_TOGETHER, _FORWARDS, _BACKWARDS, _AS_IT_LIES = 0, 1, 2, 3
"""How the devices of a pass are changed: all at once; one at a time, from the first or from the last; not at all."""


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _needing(live: type_i, need_ptr: type_i) -> type_i:
    """Of the live elements those that need devices."""
    found = np.empty(len(live), np.int64)
    count = 0
    for e in live:
        if need_ptr[e + 1] > need_ptr[e]:
            found[count] = e
            count += 1
    return found[:count]


@lean
def _begin(stuck: type_b, lies: type_b, buzz: type_b, tried: type_b) -> None:
    """Devices that are stuck as they are; none buzzes, none was tried."""
    for d in range(len(lies)):
        if stuck[d] != FREE:
            lies[d] = stuck[d]
        buzz[d] = 0
        tried[d] = 0


@lean
def _acting(
    needing: type_i, need_ptr: type_i, need_device: type_i, need_on: type_b, allowed: type_b, devices: type_b,
    acts: type_b,
) -> None:  # fmt: skip
    """Which of the elements that need devices act."""
    for e in needing:
        on = allowed[e]
        if on:
            for k in range(need_ptr[e], need_ptr[e + 1]):
                if devices[need_device[k]] != need_on[k]:
                    on = 0
                    break
        acts[e] = on


@lean
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


@lean
def _change_one(devices: type_b, wanted: type_b, backwards: bool) -> None:
    """Change the first device that wants to, or the last."""
    count = len(devices)
    for k in range(count):
        d = count - 1 - k if backwards else k
        if wanted[d] != devices[d]:
            devices[d] = wanted[d]
            return


@lean
def _next_pass(
    way: int, passes: int, allowance: int, holds: bool, moves: bool, history: type_b, lies: type_b, wanted: type_b,
    kept: type_b, buzz: type_b,
) -> tuple[int, int, int, int]:  # fmt: skip
    """What follows a pass: how devices change now, passes made so, how many are allowed; and how the relays came to
    rest, -1 while they have not."""
    count = len(lies)
    if way == _TOGETHER:
        if not moves:
            return way, passes, allowance, SETTLED if holds else COLLAPSED
        for d in range(count):
            lies[d] = wanted[d]
        before = _same(history, passes + 1, lies)
        passes += 1
        if before < 0 and passes < _PASSES:
            return way, passes, allowance, -1
        # those that take part in the orbit; then again from the first pattern
        most = 8
        for d in range(count):
            kept[d] = lies[d]
            for k in range(max(before, 0), passes):
                if history[k, d] != lies[d]:
                    buzz[d] = 1
            most += 4 * buzz[d]
            lies[d] = history[0, d]
        return _FORWARDS, 0, most, -1
    if way == _AS_IT_LIES:
        return way, passes, allowance, BUZZING if holds else COLLAPSED
    if holds and not moves:
        buzz[:] = 0
        return way, passes, allowance, SETTLED
    passes += 1
    if holds and passes < allowance:
        _change_one(lies, wanted, way == _BACKWARDS)
        return way, passes, allowance, -1
    for d in range(count):
        lies[d] = history[0, d] if way == _FORWARDS else kept[d]
    return way + 1, 0, allowance, -1


@lean
def _moves_on(senses: Senses, rows: type_i, acts: type_b, v: type_f, lies: type_b, tried: type_b) -> bool:
    """With the relays at rest: stall, once each, the motors that only just turn; else open the whole fuse that is
    furthest above its limit. True where anything was changed."""
    again = False
    worst = -1
    most = 1.0
    step_of = senses.step_of
    for d in range(len(lies)):
        k = senses.ptr[d]
        if senses.stuck[d] != FREE:
            continue
        if senses.tier[d] == TIER_MOTOR and lies[d] == 1 and tried[d] == 0:
            if abs(v[step_of[senses.a[k]]] - v[step_of[senses.b[k]]]) < _MOTOR_TRIAL * senses.on[k]:
                tried[d] = 1
                lies[d] = 0
                again = True
        elif senses.tier[d] == TIER_FUSE and lies[d] == 0:
            e = senses.element[k]
            if not acts[e]:
                continue
            i, _ = amps_of_row(
                senses.law[e], senses.figures, rows[e], v[senses.from_step[e]] - v[senses.to_step[e]]
            )  # fmt: skip
            if abs(i) > most * senses.on[k]:
                worst = d
                most = abs(i) / senses.on[k]
    if again or worst < 0:
        return again
    lies[worst] = 1
    tried[:] = 0
    return True


@lean
def _write(
    net: Arrays, rows: type_i, acts: type_b, own_v: type_f, own_floating: type_b, v: type_f, floating: type_b,
    amps: type_f,
) -> None:  # fmt: skip
    """Volts and floating flags by node, and the current through every element, none where an end floats. [V, A]"""
    order, from_step, to_step, law, figures = net.order, net.from_step, net.to_step, net.law, net.figures
    for step in range(len(own_v)):
        v[order[step]] = own_v[step]
    for step in range(len(own_v)):
        floating[order[step]] = own_floating[step]
    for e in range(len(amps)):
        a, b = from_step[e], to_step[e]
        amps[e] = 0.0
        if acts[e] and not own_floating[a] and not own_floating[b]:
            across = own_v[a] - own_v[b]
            if law[e] == 0:
                amps[e] = (across - figures[rows[e], 1]) * figures[rows[e], 0]
            else:
                amps[e], _ = amps_of_row(law[e], figures, rows[e], across)


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def settle_many(
    net: Arrays, values: type_i, devices: type_b, v: type_f, floating: type_b, buzz: type_b, amps: type_f,
    status: type_b, which: type_i, known: Known,
) -> None:  # fmt: skip
    """The states named by `which` of a batch brought to rest, one after the other; answers written in place.

    Args:
        values: value index of each state variable, one row a state. [-]
        devices: start in, answer out.
        buzz: answer, written over.
        v, floating, amps: answers, written over; without rows where the devices alone are asked for. [V, A]
        status: SETTLED, BUZZING (those in `buzz`) or COLLAPSED.
    """
    count, elements, nodes = devices.shape[1], len(net.a), net.nodes + 1
    live = Live(
        net.live, net.nonlinear, net.from_step, net.to_step, net.slot, net.law, net.figures, net.steps,
        net.first_live_step, net.first_bent_step, net.reach,
    )  # fmt: skip
    senses = Senses(
        net.sense_ptr, net.sense_element, net.sense_a, net.sense_b, net.sense_beside, net.sense_on, net.sense_off,
        net.tier, net.stuck, net.step_of, net.from_step, net.to_step, net.law, net.figures,
    )  # fmt: skip
    work = room_to_work(net)
    selected = np.zeros(len(net.sel_first) + 1, np.int64)
    rows = np.empty(elements, np.int64)
    acts, allowed = np.ones(elements, np.uint8), np.ones(elements, np.uint8)
    every = np.arange(count)
    needing = _needing(net.live, net.need_ptr)
    may, wanted, tried, kept = (
        np.empty(count, np.uint8), np.empty(count, np.uint8), np.empty(count, np.uint8), np.empty(count, np.uint8),
    )  # fmt: skip
    history = np.empty((_PASSES, count), np.uint8)
    own_v, own_floating = np.zeros(nodes), np.zeros(nodes, np.uint8)
    # steps done once a job, which no device looks at, come back at the end of a state alone
    fixed, fixed_count, nothing = np.arange(nodes).astype(np.uint32), np.uint64(net.first_live_step), np.zeros(nodes)
    for row in which:
        lies = devices[row]
        select(net.sel_first, net.sel_second, net.sel_ptr, net.sel_columns, net.sel_rows, values[row], selected)
        for e in range(elements):
            rows[e] = net.row[e] + (selected[net.selector[e]] if net.selector[e] >= 0 else 0)
        allow(net.live, net.guard_ptr, net.term_ptr, net.term_variable, net.term_mask, values[row], allowed)
        acts[:] = allowed
        allow(every, net.device_guard_ptr, net.term_ptr, net.term_variable, net.term_mask, values[row], may)
        _begin(net.stuck, lies, buzz[row], tried)
        thermal = selected[net.thermal] if net.thermal >= 0 else 0
        base_edge, base_part, base_ref = net.base_edge[thermal], net.base_part[thermal], net.base_ref[thermal]
        way, passes, allowance, rests, found = _TOGETHER, 0, 0, 0, SETTLED
        while True:
            if way == _TOGETHER:
                for d in range(count):
                    history[passes, d] = lies[d]
            _acting(needing, net.need_ptr, net.need_device, net.need_on, allowed, lies, acts)
            # what is shown must be settled; before that it is enough to be sure how the devices move
            hasty = way != _AS_IT_LIES
            place, met = find(net.live, known, selected, acts)
            moves = RESTS
            doubt_v = known.doubt_v[place]
            if met:
                recall(known, place, own_v, own_floating)
                moves = want(senses, may, rows, acts, own_v, OFF_OF_DOUBT * doubt_v, lies, wanted)
            if not met or (doubt_v > 0.0 and (moves != MOVES or not hasty)):
                taken, doubt_v = newton(
                    live, senses, base_edge, base_ref, rows, acts, may, lies, hasty, work, wanted, own_v, own_floating
                )
                keep(net.live, known, place, selected, acts, own_v, own_floating, taken, doubt_v)
                moves = want(senses, may, rows, acts, own_v, OFF_OF_DOUBT * doubt_v, lies, wanted)
            holds = known.taken[place] >= 0
            way, passes, allowance, found = _next_pass(
                way, passes, allowance, holds, holds and moves == MOVES, history, lies, wanted, kept, buzz[row]
            )
            if found >= 0:
                rests += 1
                way, passes = _TOGETHER, 0
                if found != SETTLED or rests > 2 * count + 1:
                    break
                if not _moves_on(senses, rows, acts, own_v, lies, tried):
                    break
        status[row] = found
        if not len(v):
            continue
        spread(
            net.steps.ptr,
            net.steps.near,
            fixed,
            fixed_count,
            base_part,
            base_ref,
            nothing,
            nothing,
            own_v,
            own_floating,
        )
        _write(net, rows, acts, own_v, own_floating, v[row], floating[row], amps[row])
