"""What is left to be solved again and again while contacts and devices stay as they are?

Most of a car is switched off in any one state. So once the contacts are known: everything that is a straight line is
put in, every node that no bent law reaches is eliminated for good, and the nodes that are left are listed with those
neighbours alone that they really have. A node is *bent* where an acting element on it is no straight line, or where
one of its neighbours that is eliminated before it is bent.

In: `Arrays`, which elements act, their rows of figures. Out: `Held`, filled anew for each way the contacts lie.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit

from loomwright.network.arrays import Arrays, Steps, type_b, type_f, type_i
from loomwright.network.elimination import eliminate, substitute

__all__ = ["Held", "hold", "room_to_hold", "substitute_straight"]


class Held(NamedTuple):
    """The straight part eliminated, the bent part listed.

    straight: steps that were eliminated, of those that touch bent laws in some state.  steps: what is left, in order.
    counts: how many straight, how many left, how many elements.  a, b, slot, law, row: acting elements that are no
    straight line.  touched, bent: edges that may carry something, nodes whose law bends.
    """

    edge: type_f
    ref: type_f
    inj: type_f
    straight: type_i
    steps: Steps
    counts: type_i
    a: type_i
    b: type_i
    slot: type_i
    law: type_i
    row: type_i
    touched: type_b
    bent: type_b


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def room_to_hold(net: Arrays) -> Held:
    """Room for the bent part of a network, made once for many states."""
    edges = net.base_edge.shape[1]
    count = len(net.steps.node) - net.first_bent_step
    elements = len(net.nonlinear)
    near = len(net.steps.near_node)
    return Held(
        np.empty(edges),
        np.empty(net.nodes + 1),
        np.empty(net.nodes + 1),
        np.empty(count, np.int64),
        Steps(
            np.empty(count, np.int64),
            np.zeros(count + 1, np.int64),
            np.empty(near, np.int64),
            np.empty(near, np.int64),
            np.empty(count, np.int64),
            np.empty(len(net.steps.pair_edge), np.int64),
        ),
        np.zeros(3, np.int64),
        np.empty(elements, np.int64),
        np.empty(elements, np.int64),
        np.empty(elements, np.int64),
        np.empty(elements, np.int64),
        np.empty(elements, np.int64),
        np.zeros(edges, np.uint8),
        np.zeros(net.nodes + 1, np.uint8),
    )


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def hold(net: Arrays, thermal_row: int, rows: type_i, acts: type_b, held: Held) -> None:
    """Fill `held` for the elements that act.

    Args:
        thermal_row: which base (wire temperatures) applies. [-]
        rows: row of figures for each element.
    """
    edge, ref, inj, touched, bent = held.edge, held.ref, held.inj, held.touched, held.bent
    held_a, held_b, held_slot, held_law, held_row = held.a, held.b, held.slot, held.law, held.row
    net_a, net_b, slots, laws, figures = net.a, net.b, net.slot, net.law, net.figures
    edge[:] = net.base_edge[thermal_row]
    ref[:] = net.base_ref[thermal_row]
    inj[:] = 0.0
    bent[:] = 0
    count = 0
    for e in net.live:
        if not acts[e]:
            continue
        a, b, slot = net_a[e], net_b[e], slots[e]
        if laws[e] == 0:
            siemens = figures[rows[e], 0]
            offset_a = siemens * figures[rows[e], 1]
            if slot >= 0:
                edge[slot] += siemens
            else:
                ref[min(a, b)] += siemens
            inj[a] += offset_a
            inj[b] -= offset_a
            continue
        held_a[count] = a
        held_b[count] = b
        held_slot[count] = slot
        held_law[count] = laws[e]
        held_row[count] = rows[e]
        count += 1
    held.counts[2] = count
    eliminate(net.steps, net.every_step, net.first_live_step, net.first_bent_step, edge, ref, inj)
    for one in range(len(edge)):
        touched[one] = edge[one] != 0.0
    for k in range(count):
        bent[held_a[k]] = 1
        bent[held_b[k]] = 1
        if held_slot[k] >= 0:
            touched[held_slot[k]] = 1
    held.counts[0], held.counts[1] = _part(net.steps, net.first_bent_step, touched, bent, held.straight, held.steps)
    eliminate(net.steps, held.straight, 0, held.counts[0], edge, ref, inj)


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def _part(
    steps: Steps, first: int, touched: type_b, bent: type_b, straight: type_i, left: Steps
) -> tuple[int, int]:  # fmt: skip
    """Part the steps from `first` on into straight ones and those left, which are listed; how many of each."""
    nodes, ptr, near_node, near_edge, pair_ptr, pair_edge = steps
    left_node, left_ptr, left_near_node, left_near_edge, left_pair_ptr, left_pair_edge = left
    straights, lefts, nears, pairs = 0, 0, 0, 0
    for step in range(first, len(nodes)):
        node = nodes[step]
        bends = bent[node]
        if bends:
            left_node[lefts] = node
            left_ptr[lefts] = nears
            left_pair_ptr[lefts] = pairs
            lefts += 1
        else:
            straight[straights] = step
            straights += 1
        between = pair_ptr[step]
        end = ptr[step + 1]
        for k in range(ptr[step], end):
            if not touched[near_edge[k]]:
                between += end - k - 1
                continue
            if bends:
                left_near_node[nears] = near_node[k]
                left_near_edge[nears] = near_edge[k]
                nears += 1
                bent[near_node[k]] = 1
            for m in range(k + 1, end):
                if touched[near_edge[m]]:
                    touched[pair_edge[between]] = 1
                    if bends:
                        left_pair_edge[pairs] = pair_edge[between]
                        pairs += 1
                between += 1
    left_ptr[lefts] = nears
    return straights, lefts


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def substitute_straight(net: Arrays, held: Held, v: type_f, floating: type_b) -> None:
    """Volts of every node that was eliminated before the bent ones, those eliminated once a job among them."""
    # their own edges still stand as they were when each was eliminated
    edge, ref, inj = held.edge, held.ref, held.inj
    substitute(net.steps, held.straight, 0, held.counts[0], edge, ref, inj, v, floating)
    substitute(net.steps, net.every_step, 0, net.first_bent_step, edge, ref, inj, v, floating)
