"""What are the volts of every node, with contacts and devices held as they are?

Newton's method on the element laws around the elimination of `elimination`, on what `held` has left. How far to go
along a step is found by a line search on (sum of currents) x (change of volts), which grows along the step for these
laws; the straight part of that sum is a line of its own, so that only the bent laws are asked again.

It begins from no volts at all, whatever was solved before, so that the answer hangs on the lie of the contacts alone.

In: `Arrays`, which elements act, their rows of figures. Out: volts, floating flags, steps taken.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit

from loomwright.network.arrays import Arrays, type_b, type_f, type_i
from loomwright.network.elimination import eliminate, substitute
from loomwright.network.held import Held, hold, room_to_hold, substitute_straight
from loomwright.network.laws import DIODE_BLOCKED, amps_and_slope
from loomwright.network.records import Law

__all__ = ["BLOCKED_A", "DIODE", "NEWTON_STEPS", "SETTLED_V", "Work", "eliminate", "newton", "room_to_work"]

NEWTON_STEPS = 120
"""More than this and the state is named a collapse [-]."""
BLOCKED_A = 1e-9
"""A diode that carries less is blocked. [A]"""
DIODE = int(Law.DIODE)
LAMP = int(Law.LAMP)
CLAMP = int(Law.CLAMP)
_PLAIN_STEPS = 8
"""Steps taken whole, before the line search [-]."""
SETTLED_V = 1e-8
"""A step that moves no node further than this ends the search. [V]"""
_LINE_TRIALS = 30
_KNEE_EDGE_V = 1e-6
_LINE_SHARE = 0.5


class Work(NamedTuple):
    """Room for Newton's method, made once for many states.

    rest_v: where it ends, floating nodes where they came to rest. [V]  amps, slope: of each bent element.
    limit: which of its limits each clamp is beyond, see `_beyond`.
    """

    held: Held
    rest_v: type_f
    edge: type_f
    ref: type_f
    inj: type_f
    new_v: type_f
    change: type_f
    amps: type_f
    slope: type_f
    limit: type_i


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def room_to_work(net: Arrays) -> Work:
    """Room to solve a network in, used again from state to state."""
    nodes = net.nodes + 1
    edges = net.base_edge.shape[1]
    bent = len(net.nonlinear)
    return Work(
        room_to_hold(net), np.zeros(nodes), np.empty(edges), np.empty(nodes), np.empty(nodes), np.zeros(nodes),
        np.zeros(nodes), np.empty(bent), np.empty(bent), np.zeros(bent, np.int64),
    )  # fmt: skip


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _ask(figures: type_f, held: Held, v: type_f, d: type_f, t: float, amps: type_f, slope: type_f) -> float:
    """Amps and slopes of the bent elements at v + t d; gives their (sum of currents) x (change of volts)."""
    held_a, held_b, law, row = held.a, held.b, held.law, held.row
    total = 0.0
    for k in range(held.counts[2]):
        a = held_a[k]
        b = held_b[k]
        along = d[a] - d[b]
        i, g = amps_and_slope(law[k], figures[row[k]], v[a] - v[b] + t * along)
        amps[k] = i
        slope[k] = g
        total += i * along
    return total


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _line_of(held: Held, v: type_f, d: type_f) -> tuple[float, float]:
    """The straight part of (sum of currents) x (change of volts) along v + t d: at nothing, and its growth with t."""
    edge, ref, inj = held.edge, held.ref, held.inj
    nodes, ptr, near_node, near_edge, _, _ = held.steps
    begin = 0.0
    growth = 0.0
    # edges between the nodes still there are those their own steps name
    for step in range(held.counts[1]):
        node = nodes[step]
        begin += (ref[node] * v[node] - inj[node]) * d[node]
        growth += ref[node] * d[node] * d[node]
        for k in range(ptr[step], ptr[step + 1]):
            c = edge[near_edge[k]]
            near = near_node[k]
            along = d[node] - d[near]
            begin += c * (v[node] - v[near]) * along
            growth += c * along * along
    return begin, growth


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _step_size(figures: type_f, work: Work, v: type_f) -> float:
    """How far along the step to go; leaves the amps and slopes of the bent elements as they are there."""
    held, d, amps, slope = work.held, work.change, work.amps, work.slope
    held_a, held_b = held.a, held.b
    straight, growth = _line_of(held, v, d)
    bent = 0.0
    for k in range(held.counts[2]):
        bent += amps[k] * (d[held_a[k]] - d[held_b[k]])
    begin = abs(straight + bent)
    if straight + growth + _ask(figures, held, v, d, 1.0, amps, slope) <= _LINE_SHARE * begin:
        return 1.0
    low, high = 0.0, 1.0
    middle = 0.5
    for _ in range(_LINE_TRIALS):
        middle = 0.5 * (low + high)
        now = straight + middle * growth + _ask(figures, held, v, d, middle, amps, slope)
        if abs(now) <= _LINE_SHARE * begin:
            break
        if now > 0.0:
            high = middle
        else:
            low = middle
    return middle


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _put_in(held: Held, amps: type_f, slope: type_f, v: type_f, edge: type_f, ref: type_f, inj: type_f) -> None:
    """The straight part with every bent element beside it as its slope at v, and the current that leaves over."""
    held_a, held_b, slot = held.a, held.b, held.slot
    edge[:] = held.edge
    ref[:] = held.ref
    inj[:] = held.inj
    for k in range(held.counts[2]):
        a = held_a[k]
        b = held_b[k]
        g = slope[k]
        if slot[k] >= 0:
            edge[slot[k]] += g
        else:
            ref[min(a, b)] += g
        offset_a = amps[k] - g * (v[a] - v[b])
        inj[a] -= offset_a
        inj[b] += offset_a


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _float_behind_blocked(net: Arrays, work: Work, v: type_f, floating: type_b) -> None:
    """A diode that carries nothing holds up nothing: what hangs on such diodes alone is marked as floating."""
    held, figures, amps, slope = work.held, net.figures, work.amps, work.slope
    held_a, held_b, law, row = held.a, held.b, held.law, held.row
    marginal = False
    for k in range(held.counts[2]):
        if law[k] == DIODE:
            # a diode just under its knee may have counted as a path in the last step, though it carries nothing now
            p = figures[row[k]]
            across = v[held_a[k]] - v[held_b[k]]
            if across > p[0] + DIODE_BLOCKED * p[1] - _KNEE_EDGE_V:
                i, _ = amps_and_slope(DIODE, p, across)
                marginal = marginal or abs(i) < BLOCKED_A
    if not marginal:
        return
    work.change[:] = 0.0
    _ask(figures, held, v, work.change, 0.0, amps, slope)
    for k in range(held.counts[2]):
        if law[k] == DIODE and abs(amps[k]) < BLOCKED_A:
            amps[k] = 0.0
            slope[k] = 0.0
    _put_in(held, amps, slope, v, work.edge, work.ref, work.inj)
    left = held.counts[1]
    eliminate(held.steps, net.every_step, 0, left, work.edge, work.ref, work.inj)
    work.new_v[:] = v
    substitute(held.steps, net.every_step, 0, left, work.edge, work.ref, work.inj, work.new_v, floating)


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _beyond(p: type_f, across: float) -> int:
    """Which of its limits a clamp is beyond: 1 the upper, -1 the lower, 0 neither."""
    i = (across - p[1]) * p[0]
    if i > p[3]:
        return 1
    return -1 if i < p[2] else 0


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _begin_easily(figures: type_f, work: Work) -> bool:
    """A dark lamp is first taken as hot, a clamp without volts as between its limits, which costs fewer steps; True
    where a clamp is not there."""
    held, amps, slope, limit = work.held, work.amps, work.slope, work.limit
    law, row = held.law, held.row
    bridged = False
    for k in range(held.counts[2]):
        p = figures[row[k]]
        if law[k] == LAMP:
            slope[k] = p[1] / p[0]
            amps[k] = 0.0
        elif law[k] == CLAMP:
            bridged = bridged or _beyond(p, 0.0) != 0
            limit[k] = 0
            slope[k] = p[0]
            amps[k] = -p[0] * p[1]
    return bridged


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _bridge(figures: type_f, work: Work, v: type_f) -> bool:
    """A clamp that would jump from one limit past the other is first taken between them; True where one is."""
    held, amps, slope, limit = work.held, work.amps, work.slope, work.limit
    held_a, held_b, law, row = held.a, held.b, held.law, held.row
    bridged = False
    for k in range(held.counts[2]):
        if law[k] == CLAMP:
            p = figures[row[k]]
            across = v[held_a[k]] - v[held_b[k]]
            now = _beyond(p, across)
            if now * limit[k] == -1:
                now = 0
                amps[k] = (across - p[1]) * p[0]
                slope[k] = p[0]
                bridged = True
            limit[k] = now
    return bridged


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _descend(net: Arrays, work: Work, v: type_f, floating: type_b) -> int:
    """Newton's method from no volts at all on what is left; gives the steps taken, or -1 where it did not settle."""
    held, figures, new_v, change, amps, slope = work.held, net.figures, work.new_v, work.change, work.amps, work.slope
    edge, ref, inj, nodes = work.edge, work.ref, work.inj, held.steps.node
    left = held.counts[1]
    v[:] = 0.0
    change[:] = 0.0
    _ask(figures, held, v, change, 0.0, amps, slope)
    bridged = _begin_easily(figures, work)
    for count in range(NEWTON_STEPS):
        _put_in(held, amps, slope, v, edge, ref, inj)
        eliminate(held.steps, net.every_step, 0, left, edge, ref, inj)
        new_v[:] = v
        substitute(held.steps, net.every_step, 0, left, edge, ref, inj, new_v, floating)
        worst = 0.0
        for step in range(left):
            node = nodes[step]
            change[node] = new_v[node] - v[node]
            worst = max(worst, abs(change[node]))
        if worst <= SETTLED_V and not bridged:
            v[:] = new_v
            return count + 1
        share = 1.0
        bridged = False
        if count < _PLAIN_STEPS:
            _ask(figures, held, v, change, 1.0, amps, slope)
        else:
            share = _step_size(figures, work, v)
        for step in range(left):
            node = nodes[step]
            v[node] = new_v[node] if share == 1.0 else v[node] + share * change[node]
        if count < _PLAIN_STEPS - 1:
            bridged = _bridge(figures, work, v)
    return -1


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def newton(
    net: Arrays, thermal_row: int, rows: type_i, acts: type_b, work: Work, v: type_f, floating: type_b
) -> int:  # fmt: skip
    """Bring `v` and `floating` to the operating point, contacts and devices held.

    Args:
        thermal_row: which base (wire temperatures) applies. [-]
        rows: row of figures for each element.
        acts: which elements act.
        work: room; nothing in it changes the answer.
        v: answer, nothing where a node floats; the last entry is the reference. [V]
    Returns:
        Newton steps taken, or -1 where it did not settle (a collapse).
    """
    hold(net, thermal_row, rows, acts, work.held)
    rest_v = work.rest_v
    taken = _descend(net, work, rest_v, floating)
    _float_behind_blocked(net, work, rest_v, floating)
    substitute_straight(net, work.held, rest_v, floating)
    for node in range(net.nodes):
        v[node] = 0.0 if floating[node] else rest_v[node]
    v[net.nodes] = 0.0
    return taken
