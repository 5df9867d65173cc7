"""How are nodes taken out of a network, and how do their volts come back?

Method (see docs/decisions/0002): star-mesh elimination with positive conductances only. Each node keeps its conductance
to the reference apart from its edges; eliminating a node of sum s spreads c_i c_j / s between its neighbours and
c_i c_ref / s to theirs. Nothing is ever subtracted, so a node with no path meets a sum of exactly nothing: it floats.
Volts come back by substitution, the last node first: a node's volts are its neighbours' by its *parts* c_i / s, and its
injected current by its *share* 1 / s. A floating node's share is nothing.

In: an order (`Steps`), conductances of edges and to the reference, injected currents; all changed in place. Steps and
edges are counted without a sign, since a number that may be negative costs more to look up; and a node of one, two or
three neighbours, as nearly all have, is written out.
"""

from __future__ import annotations

import numpy as np

from loomwright.network.arrays import ONE, THREE, TWO, Steps, type_b, type_f, type_u
from loomwright.network.lean import lean

__all__ = ["eliminate", "mark_floating", "spread", "substitute"]


@lean
def eliminate(
    steps: Steps, first: np.uint64, last: np.uint64, edge: type_f, part: type_f, ref: type_f, inj: type_f, share: type_f
) -> None:  # fmt: skip
    """Eliminate steps first .. last-1 in place; gives the part of each of their edges and the share of each."""
    ptr, near, pair_ptr, pair_edge = steps
    for step in range(first, last):
        start = ptr[step]
        end = ptr[step + ONE]
        degree = end - start
        own_ref = ref[step]
        own_inj = inj[step]
        if degree == TWO:
            e0, e1 = edge[start], edge[start + ONE]
            total = own_ref + e0 + e1
            one_by_total = 1.0 / total if total != 0.0 else 0.0
            share[step] = one_by_total
            p0, p1 = e0 * one_by_total, e1 * one_by_total
            part[start], part[start + ONE] = p0, p1
            n0, n1 = near[start], near[start + ONE]
            ref[n0] += own_ref * p0
            inj[n0] += own_inj * p0
            ref[n1] += own_ref * p1
            inj[n1] += own_inj * p1
            edge[pair_edge[pair_ptr[step]]] += p0 * e1
            continue
        if degree == ONE:
            total = own_ref + edge[start]
            one_by_total = 1.0 / total if total != 0.0 else 0.0
            share[step] = one_by_total
            p0 = edge[start] * one_by_total
            part[start] = p0
            ref[near[start]] += own_ref * p0
            inj[near[start]] += own_inj * p0
            continue
        total = own_ref
        for j in range(start, end):
            total += edge[j]
        one_by_total = 1.0 / total if total != 0.0 else 0.0
        share[step] = one_by_total
        pair = pair_ptr[step]
        for j in range(start, end):
            one = edge[j] * one_by_total
            part[j] = one
            left = end - j - ONE
            if one != 0.0:
                ref[near[j]] += own_ref * one
                inj[near[j]] += own_inj * one
                if left > THREE and pair_edge[pair + left - ONE] - pair_edge[pair] == left - ONE:
                    # all side by side, as they are once nearly every node touches every other
                    first_pair = np.uint64(pair_edge[pair])
                    for m in range(left):
                        edge[first_pair + m] += one * edge[j + ONE + m]
                else:
                    for m in range(left):
                        edge[pair_edge[pair + m]] += one * edge[j + ONE + m]
            pair += left


@lean
def substitute(ptr: type_u, near: type_u, last: np.uint64, part: type_f, inj: type_f, share: type_f, v: type_f) -> None:
    """Volts of steps last-1 .. 0; one with a share of nothing stays where it was. [V]"""
    for back in range(last):
        step = last - ONE - back
        if share[step] == 0.0:
            continue
        start = ptr[step]
        degree = ptr[step + ONE] - start
        volts = share[step] * inj[step]
        if degree == TWO:
            volts += part[start] * v[near[start]] + part[start + ONE] * v[near[start + ONE]]
        elif degree == ONE:
            volts += part[start] * v[near[start]]
        else:
            for j in range(start, start + degree):
                volts += part[j] * v[near[j]]
        v[step] = volts


@lean
def mark_floating(ptr: type_u, near: type_u, last: np.uint64, part: type_f, ref: type_f, floating: type_b) -> None:
    """Mark those of steps last-1 .. 0 that have no path to the reference."""
    for back in range(last):
        step = last - ONE - back
        lost = ref[step] == 0.0
        if lost:
            for j in range(ptr[step], ptr[step + ONE]):
                if part[j] > 0.0 and floating[near[j]] == 0:
                    lost = False
                    break
        floating[step] = 1 if lost else 0


@lean
def spread(
    ptr: type_u, near: type_u, which: type_u, count: np.uint64, part: type_f, ref: type_f, share: type_f, inj: type_f,
    v: type_f, floating: type_b,
) -> None:  # fmt: skip
    """Volts and floating flags of steps which[count-1] .. which[0]; nothing where one floats. [V]"""
    for back in range(count):
        step = np.uint64(which[count - ONE - back])
        start = ptr[step]
        end = ptr[step + ONE]
        lost = ref[step] == 0.0
        volts = share[step] * inj[step]
        if end - start == TWO:
            p0, p1 = part[start], part[start + ONE]
            n0, n1 = near[start], near[start + ONE]
            volts += p0 * v[n0] + p1 * v[n1]
            lost = lost and (p0 == 0.0 or floating[n0] == 1) and (p1 == 0.0 or floating[n1] == 1)
        else:
            for j in range(start, end):
                volts += part[j] * v[near[j]]
                lost = lost and (part[j] == 0.0 or floating[near[j]] == 1)
        v[step] = 0.0 if lost else volts
        floating[step] = 1 if lost else 0
