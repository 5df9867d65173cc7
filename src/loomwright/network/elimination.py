"""How are nodes taken out of a network, and how do their volts come back?

Method (see docs/decisions/0002): star-mesh elimination with positive conductances only. Each node keeps its conductance
to the reference apart from its edges; eliminating a node of sum s spreads c_i c_j / s between its neighbours and
c_i c_ref / s to theirs. Nothing is ever subtracted, so a node with no path meets a sum of exactly nothing: it floats.
Volts come back by substitution, the last node first.

In: an order (`Steps`), conductances of edges and to the reference, injected currents; all changed in place.
Arrays are taken out of their records before a loop: inside one, each look into a record costs more than the sum.
"""

from __future__ import annotations

from numba import njit

from loomwright.network.arrays import Steps, type_b, type_f, type_i

__all__ = ["eliminate", "substitute"]


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def eliminate(
    steps: Steps, which: type_i, first: int, last: int, edge: type_f, ref: type_f, inj: type_f
) -> None:  # fmt: skip
    """Eliminate the nodes of steps which[first] .. which[last-1] in place (conductances and injected currents)."""
    nodes, ptr, near_node, near_edge, pair_ptr, pair_edge = steps
    for k in range(first, last):
        step = which[k]
        node = nodes[step]
        start = ptr[step]
        end = ptr[step + 1]
        total = ref[node]
        for j in range(start, end):
            total += edge[near_edge[j]]
        if total == 0.0:
            continue
        share = 1.0 / total
        pair = pair_ptr[step]
        for j in range(start, end):
            one = edge[near_edge[j]]
            if one == 0.0:
                pair += end - j - 1
                continue
            part = one * share
            near = near_node[j]
            ref[near] += ref[node] * part
            inj[near] += inj[node] * part
            for m in range(j + 1, end):
                edge[pair_edge[pair]] += part * edge[near_edge[m]]
                pair += 1


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def substitute(
    steps: Steps, which: type_i, first: int, last: int,
    edge: type_f, ref: type_f, inj: type_f, v: type_f, floating: type_b,
) -> None:  # fmt: skip
    """Volts of the nodes of steps which[last-1] .. which[first]; a node with no path to the reference floats."""
    nodes, ptr, near_node, near_edge, _, _ = steps
    for k in range(last - 1, first - 1, -1):
        step = which[k]
        node = nodes[step]
        total = ref[node]
        grounded = total > 0.0
        flow = inj[node]
        for j in range(ptr[step], ptr[step + 1]):
            c = edge[near_edge[j]]
            if c > 0.0:
                near = near_node[j]
                total += c
                flow += c * v[near]
                if floating[near] == 0:
                    grounded = True
        # a floating node stays where it was: reached only through diodes, it rests where the last of them blocked
        if grounded:
            v[node] = flow / total
        floating[node] = 0 if grounded else 1
