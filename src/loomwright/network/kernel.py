"""What are the volts of every node, with contacts and devices held as they are?

Method (see docs/decisions/0002): star-mesh elimination with positive conductances only. Each node keeps its conductance
to the reference apart from its edges; eliminating a node of sum s spreads c_i c_j / s between its neighbours and
c_i c_ref / s to theirs. Nothing is ever subtracted, so a node with no path meets a sum of exactly nothing: it floats.
Around it Newton's method on the element laws; a line search on (sum of currents) x (change of volts), which grows along
the step for these laws, takes over where plain steps do not settle.

In: `Arrays`, which elements act, their rows of figures, starting volts. Out: volts, floating flags, steps taken.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from loomwright.network.arrays import Arrays, type_b, type_f, type_i
from loomwright.network.laws import DIODE_BLOCKED, amps_and_slope
from loomwright.network.records import Law

__all__ = ["BLOCKED_A", "DIODE", "NEWTON_STEPS", "SETTLED_V", "eliminate", "newton"]

NEWTON_STEPS = 120
"""More than this and the state is named a collapse [-]."""
BLOCKED_A = 1e-9
"""A diode that carries less is blocked. [A]"""
DIODE = int(Law.DIODE)
LAMP = int(Law.LAMP)
_UNLIT_V = 1e-3
_PLAIN_STEPS = 3
SETTLED_V = 1e-8
"""A step that moves no node further than this ends the search. [V]"""
_LINE_TRIALS = 30
_KNEE_EDGE_V = 1e-6
_LINE_SHARE = 0.5


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def eliminate(net: Arrays, first: int, last: int, edge: type_f, ref: type_f, inj: type_f) -> None:
    """Eliminate the nodes of steps first..last-1 in place (conductances and injected currents)."""
    for step in range(first, last):
        node = net.step_node[step]
        start = net.step_ptr[step]
        end = net.step_ptr[step + 1]
        total = ref[node]
        for k in range(start, end):
            total += edge[net.near_edge[k]]
        if total == 0.0:
            continue
        share = 1.0 / total
        pair = net.pair_ptr[step]
        for k in range(start, end):
            one = edge[net.near_edge[k]]
            if one == 0.0:
                pair += end - k - 1
                continue
            part = one * share
            near = net.near_node[k]
            ref[near] += ref[node] * part
            inj[near] += inj[node] * part
            for m in range(k + 1, end):
                edge[net.pair_edge[pair]] += part * edge[net.near_edge[m]]
                pair += 1


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _substitute(
    net: Arrays, first: int, last: int, edge: type_f, ref: type_f, inj: type_f, v: type_f, floating: type_b
) -> None:
    """Volts of the nodes of steps last-1 .. first; a node with no path to the reference floats."""
    for step in range(last - 1, first - 1, -1):
        node = net.step_node[step]
        total = ref[node]
        grounded = total > 0.0
        flow = inj[node]
        for k in range(net.step_ptr[step], net.step_ptr[step + 1]):
            c = edge[net.near_edge[k]]
            if c > 0.0:
                near = net.near_node[k]
                total += c
                flow += c * v[near]
                if floating[near] == 0:
                    grounded = True
        # a floating node stays where it was: reached only through diodes, it rests where the last of them blocked
        if grounded:
            v[node] = flow / total
        floating[node] = 0 if grounded else 1


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _stamp(net: Arrays, e: int, siemens: float, offset_a: float, edge: type_f, ref: type_f, inj: type_f) -> None:
    a = net.a[e]
    b = net.b[e]
    slot = net.slot[e]
    if slot >= 0:
        edge[slot] += siemens
    elif a < net.nodes:
        ref[a] += siemens
    else:
        ref[b] += siemens
    inj[a] -= offset_a
    inj[b] += offset_a


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _climb(
    net: Arrays, rows: type_i, acts: type_b, lin: tuple[type_f, type_f, type_f], v: type_f, d: type_f, t: float
) -> float:
    """(Sum of currents) x (change of volts) at v + t d: grows with t; nothing at the best t."""
    edge, ref, inj = lin
    total = 0.0
    # edges between the nodes still there are those their own steps name
    for step in range(net.first_bent_step, len(net.step_node)):
        node = net.step_node[step]
        total += (ref[node] * (v[node] + t * d[node]) - inj[node]) * d[node]
        for k in range(net.step_ptr[step], net.step_ptr[step + 1]):
            c = edge[net.near_edge[k]]
            if c != 0.0:
                near = net.near_node[k]
                total += c * (v[node] - v[near] + t * (d[node] - d[near])) * (d[node] - d[near])
    for e in net.nonlinear:
        if acts[e]:
            a = net.a[e]
            b = net.b[e]
            slope = d[a] - d[b]
            i, _ = amps_and_slope(net.law[e], net.figures[rows[e]], v[a] - v[b] + t * slope)
            total += i * slope
    return total


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _step_size(
    net: Arrays, rows: type_i, acts: type_b, lin: tuple[type_f, type_f, type_f], v: type_f, d: type_f
) -> float:
    begin = abs(_climb(net, rows, acts, lin, v, d, 0.0))
    if _climb(net, rows, acts, lin, v, d, 1.0) <= _LINE_SHARE * begin:
        return 1.0
    low, high = 0.0, 1.0
    middle = 0.5
    for _ in range(_LINE_TRIALS):
        middle = 0.5 * (low + high)
        now = _climb(net, rows, acts, lin, v, d, middle)
        if abs(now) <= _LINE_SHARE * begin:
            break
        if now > 0.0:
            high = middle
        else:
            low = middle
    return middle


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _float_behind_blocked(
    net: Arrays,
    rows: type_i,
    acts: type_b,
    lin: tuple[type_f, type_f, type_f],
    work: tuple[type_f, type_f, type_f],
    v: type_f,
    new_v: type_f,
    floating: type_b,
) -> None:
    """A diode that carries nothing holds up nothing: what hangs on such diodes alone is marked as floating."""
    edge, ref, inj = work
    marginal = False
    edge[:] = lin[0]
    ref[:] = lin[1]
    inj[:] = lin[2]
    for e in net.nonlinear:
        if acts[e]:
            across = v[net.a[e]] - v[net.b[e]]
            i, g = amps_and_slope(net.law[e], net.figures[rows[e]], across)
            if net.law[e] == DIODE and abs(i) < BLOCKED_A:
                # a diode just under its knee may have counted as a path in the last step, though it carries nothing now
                p = net.figures[rows[e]]
                marginal = marginal or across > p[0] + DIODE_BLOCKED * p[1] - _KNEE_EDGE_V
                continue
            _stamp(net, e, g, i - g * across, edge, ref, inj)
    if not marginal:
        return
    first, steps = net.first_bent_step, len(net.step_node)
    eliminate(net, first, steps, edge, ref, inj)
    new_v[:] = v
    _substitute(net, first, steps, edge, ref, inj, new_v, floating)


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def newton(net: Arrays, thermal_row: int, rows: type_i, acts: type_b, v: type_f, floating: type_b) -> int:
    """Bring `v` and `floating` to the operating point, contacts and devices held.

    Args:
        thermal_row: which base (wire temperatures) applies. [-]
        rows: row of figures for each element.
        acts: which elements act.
        v: starting volts in, answer out; the last entry is the reference. [V]
    Returns:
        Newton steps taken, or -1 where it did not settle (a collapse).
    """
    n = net.nodes
    edges = net.base_edge.shape[1]
    lin_edge = net.base_edge[thermal_row].copy()
    lin_ref = net.base_ref[thermal_row].copy()
    lin_inj = np.zeros(n + 1)
    for e in net.live:
        if acts[e] and net.law[e] == 0:
            p = net.figures[rows[e]]
            _stamp(net, e, p[0], -p[0] * p[1], lin_edge, lin_ref, lin_inj)
    steps = len(net.step_node)
    first = net.first_bent_step
    # what only straight lines touch is eliminated once for the way the contacts lie
    eliminate(net, net.first_live_step, first, lin_edge, lin_ref, lin_inj)
    edge = np.empty(edges)
    ref = np.empty(n + 1)
    inj = np.empty(n + 1)
    new_v = np.zeros(n + 1)
    change = np.zeros(n + 1)
    taken = -1
    for count in range(NEWTON_STEPS):
        edge[:] = lin_edge
        ref[:] = lin_ref
        inj[:] = lin_inj
        for e in net.nonlinear:
            if acts[e]:
                across = v[net.a[e]] - v[net.b[e]]
                if count == 0 and net.law[e] == LAMP and abs(across) < _UNLIT_V:
                    p = net.figures[rows[e]]
                    _stamp(net, e, p[1] / p[0], 0.0, edge, ref, inj)  # a dark lamp is first taken as hot: fewer steps
                    continue
                i, g = amps_and_slope(net.law[e], net.figures[rows[e]], across)
                _stamp(net, e, g, i - g * across, edge, ref, inj)
        eliminate(net, first, steps, edge, ref, inj)
        new_v[:] = v
        _substitute(net, first, steps, edge, ref, inj, new_v, floating)
        worst = 0.0
        for step in range(first, steps):
            node = net.step_node[step]
            change[node] = new_v[node] - v[node]
            worst = max(worst, abs(change[node]))
        share = 1.0
        if worst > SETTLED_V and count >= _PLAIN_STEPS:
            share = _step_size(net, rows, acts, (lin_edge, lin_ref, lin_inj), v, change)
        for step in range(first, steps):
            node = net.step_node[step]
            v[node] = new_v[node] if share == 1.0 else v[node] + share * change[node]
        if worst <= SETTLED_V:
            taken = count + 1
            break
    _float_behind_blocked(net, rows, acts, (lin_edge, lin_ref, lin_inj), (edge, ref, inj), v, new_v, floating)
    # the nodes eliminated once a job: their own edges still stand in the base as they were when each was eliminated
    _substitute(net, 0, first, lin_edge, lin_ref, lin_inj, v, floating)
    for node in range(n):
        if floating[node]:
            v[node] = 0.0
    return taken
