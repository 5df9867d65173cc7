"""What is left to be solved again and again while contacts and devices stay as they are?

Most of a car is switched off in any one state. So once the contacts are known: everything that is a straight line is
put in, every node that no bent law reaches is eliminated for good, and the nodes that are left are listed with those
neighbours alone that they really have, in numbers of their own. A node is *bent* where an acting element on it is no
straight line, or where one of its neighbours that is eliminated before it is bent. A node that hangs by one load alone,
a lamp behind an open switch, has the volts of the load's other end whatever its law: it is eliminated, the load left
out.

In: `Arrays`, which elements act, their rows of figures. Out: `Held`, filled anew for each way the contacts lie.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit

from loomwright.network.arrays import ONE, TWO, Arrays, Reach, Steps, type_b, type_f, type_i, type_u
from loomwright.network.elimination import eliminate
from loomwright.network.foreseen import HANGS, Foreseen, feed, foresee, room_to_foresee
from loomwright.network.lean import lean
from loomwright.network.reach import IDLE
from loomwright.network.records import Law

__all__ = [
    "ELEMENTS",
    "END_A",
    "END_B",
    "LAW",
    "LEFT",
    "LIMIT",
    "NEAR",
    "ROW",
    "SLOT",
    "STRAIGHT",
    "Held",
    "Live",
    "hold",
    "room_to_hold",
]

END_A, END_B, SLOT, LAW, ROW, LIMIT = 0, 1, 2, 3, 4, 5
"""Lines of `Held.bent`: both ends and the edge, in the numbers of what is left; law, row of figures; see `kernel`."""
ELEMENTS, STRAIGHT, LEFT, NEAR, PAIRS = 0, 1, 2, 3, 4
"""What is counted in `Held.counts`."""
_IDLE, _LOAD, _MORE = 0, 1, 2
"""What an edge carries that is no straight line: nothing, one load that takes no amps at no volts, anything else."""
_BESIDE = 1 << 20
"""Marks in `Held.bends` a node beside one that is bent and goes before it; below it are counted its own elements."""
_LAMP, _CURRENT = int(Law.LAMP), int(Law.CURRENT)


class Live(NamedTuple):
    """What of a network is needed while it changes: which elements do, their ends, edges, laws, and the order its nodes
    go in, with the first step that is not done once a job and the first that a bent law may reach."""

    element: type_i
    nonlinear: type_i
    from_step: type_i
    to_step: type_i
    slot: type_i
    law: type_i
    figures: type_f
    steps: Steps
    first: int
    first_bent: int
    reach: Reach


class Held(NamedTuple):
    """The straight part eliminated, the bent part listed.

    edge, part, ref, inj, share: of all steps, see `elimination`.  straight: those eliminated, in order.
    number: of each step among those left.  place: of each edge among theirs.  carries: of each edge, what on it is no
    straight line.  bends: of each step, its bent elements; nothing where it is straight.
    left, left_step: what is left, in numbers of its own.  left_edge, left_ref, left_inj: its straight part.
    bent: acting elements that are no straight line, one column each.  foreseen: those taken as one.
    """

    counts: type_i
    edge: type_f
    part: type_f
    ref: type_f
    inj: type_f
    share: type_f
    straight: type_u
    number: type_u
    place: type_u
    carries: type_b
    bends: type_u
    left: Steps
    left_step: type_u
    left_edge: type_f
    left_ref: type_f
    left_inj: type_f
    bent: type_i
    foreseen: Foreseen


@njit(cache=True, nogil=True, error_model="numpy")  # type: ignore[misc, unused-ignore]
def room_to_hold(net: Arrays) -> Held:
    """Room for the bent part of a network, made once for many states."""
    nodes = net.nodes + 1
    count = nodes - net.first_live_step
    edges = net.base_edge.shape[1]
    return Held(
        np.zeros(5, np.int64),
        np.zeros(edges), np.zeros(edges), np.zeros(nodes), np.zeros(nodes), np.zeros(nodes),
        # those that no bent law reaches come first, whatever acts
        np.arange(net.first_live_step, nodes).astype(np.uint32), np.zeros(nodes, np.uint32), np.zeros(edges, np.uint32),
        np.zeros(edges, np.uint8), np.zeros(nodes, np.uint32),
        Steps(
            np.zeros(count + 1, np.uint64), np.zeros(edges, np.uint32), np.zeros(count + 1, np.uint64),
            np.zeros(len(net.steps.pair_edge), np.uint32),
        ),
        np.zeros(count + 1, np.uint32), np.zeros(edges), np.zeros(count + 1), np.zeros(count + 1),
        np.zeros((6, len(net.nonlinear)), np.int64),
        room_to_foresee(len(net.reach.ptr) - 1, len(net.a), len(net.nonlinear)),
    )  # fmt: skip


@lean
def hold(live: Live, base_edge: type_f, base_ref: type_f, rows: type_i, acts: type_b, held: Held) -> None:
    """Fill `held` for the elements that act.

    Args:
        base_edge, base_ref: of the thermal row that applies.
        rows: row of figures for each element.
    """
    steps = live.steps
    start = steps.ptr[live.first]
    _lay_bare(
        base_edge, base_ref, np.uint64(start), np.uint64(live.first), held.edge, held.ref, held.inj, held.carries,
        held.bends,
    )  # fmt: skip
    feed(live.reach, acts, held.foreseen.fed, held.foreseen.ahead)
    held.counts[ELEMENTS] = _stamp(
        live.element, live.from_step, live.to_step, live.slot, live.law, live.figures, rows, acts, live.reach.island,
        live.reach.straight, held.foreseen, held.edge, held.ref, held.inj, held.carries, held.bends, held.bent,
    )  # fmt: skip
    eliminate(
        steps, np.uint64(live.first), np.uint64(live.first_bent), held.edge, held.part, held.ref, held.inj, held.share
    )
    _part(steps, live.first, live.first_bent, held)
    _number_anew(held.counts, held.carries, held.place, held.number, held.left, held.bent, len(held.ref) - 1)


@lean
def _lay_bare(
    base_edge: type_f, base_ref: type_f, first_edge: np.uint64, first: np.uint64, edge: type_f, ref: type_f,
    inj: type_f, carries: type_b, bends: type_u,
) -> None:  # fmt: skip
    """What never changes, and nothing else; one array after the other, which the compiler makes block copies of."""
    for k in range(first_edge, np.uint64(len(edge))):
        edge[k] = base_edge[k]
    for k in range(first_edge, np.uint64(len(edge))):
        carries[k] = 0
    for k in range(first, np.uint64(len(ref))):
        ref[k] = base_ref[k]
    for k in range(first, np.uint64(len(ref))):
        inj[k] = 0.0
    for k in range(first, np.uint64(len(ref))):
        bends[k] = 0


@lean
def _stamp(
    elements: type_i, from_step: type_i, to_step: type_i, slots: type_i, laws: type_i, figures: type_f, rows: type_i,
    acts: type_b, island: type_i, straight: type_b, foreseen: Foreseen, edge: type_f, ref: type_f, inj: type_f,
    carries: type_b, bends: type_u, bent: type_i,
) -> int:  # fmt: skip
    """Put in the straight lines that act and list the others; how many of those."""
    fed, _, doubted, taken, pieces, taken_count = foreseen
    count = lines = 0
    for element in elements:
        if not acts[element]:
            continue
        a, b, slot, row = from_step[element], to_step[element], slots[element], rows[element]
        if laws[element] == 0:
            siemens = figures[row, 0]
            offset_a = siemens * figures[row, 1]
            if slot >= 0:
                edge[slot] += siemens
            else:
                ref[min(a, b)] += siemens
            inj[a] += offset_a
            inj[b] -= offset_a
            continue
        law = laws[element]
        if straight[element] and not doubted[element]:
            piece, siemens, offset_a = foresee(law, figures, row, fed[island[a]], fed[island[b]])
            if piece:
                taken[lines], pieces[lines] = element, (HANGS if straight[element] == IDLE else piece)
                lines += 1
                if siemens > 0.0:
                    if slot >= 0:
                        edge[slot] += siemens
                    else:
                        ref[min(a, b)] += siemens
                    inj[a] -= offset_a
                    inj[b] += offset_a
                continue
        bends[a] += 1
        bends[b] += 1
        if slot >= 0:
            carries[slot] = _LOAD if carries[slot] == _IDLE and (law == _LAMP or law >= _CURRENT) else _MORE
        bent[END_A, count] = a
        bent[END_B, count] = b
        bent[SLOT, count] = slot
        bent[LAW, count] = law
        bent[ROW, count] = row
        count += 1
    taken_count[0] = lines
    return count


@lean
def _hangs_by(start: np.uint64, end: np.uint64, edge: type_f, carries: type_b, part: type_f) -> np.uint64:
    """The one edge start .. end-1 that carries anything, where it is a load; else the end. Parts are set to nothing."""
    one = end
    for j in range(start, end):
        part[j] = 0.0
        if edge[j] != 0.0 or carries[j]:
            if one != end or carries[j] != _LOAD:
                return end
            one = np.uint64(j)
    return one


@lean
def _part(steps: Steps, first: int, first_bent: int, held: Held) -> None:
    """Of the steps from first_bent on eliminate what is straight, and list the rest with the edges that may carry
    something."""
    ptr, near, pair_ptr, pair_edge = steps
    edge, part, ref, inj, share = held.edge, held.part, held.ref, held.inj, held.share
    carries, bends, place, number, straight = held.carries, held.bends, held.place, held.number, held.straight
    left_ptr, left_near, left_pair_ptr, left_pair = held.left
    left_step, left_edge, left_ref, left_inj = held.left_step, held.left_edge, held.left_ref, held.left_inj
    lefts = nears = pairs = np.uint64(0)
    straights = np.uint64(first_bent - first)
    for step in range(np.uint64(first_bent), np.uint64(len(ptr) - 1)):
        start = ptr[step]
        end = ptr[step + ONE]
        pair = pair_ptr[step]
        if bends[step] == 1 and ref[step] == 0.0 and inj[step] == 0.0:
            one = _hangs_by(start, end, edge, carries, part)
            if one < end:
                carries[one] = _IDLE
                bends[near[one]] -= 1
                part[one] = 1.0
                share[step] = 0.0
                straight[straights] = step
                straights += ONE
                continue
        if bends[step]:
            number[step] = lefts
            left_step[lefts] = step
            left_ptr[lefts] = nears
            left_pair_ptr[lefts] = pairs
            left_ref[lefts] = ref[step]
            left_inj[lefts] = inj[step]
            lefts += ONE
            for j in range(start, end):
                if edge[j] == 0.0 and not carries[j]:
                    pair += end - j - ONE
                    continue
                bends[near[j]] |= _BESIDE
                place[j] = nears
                left_near[nears] = near[j]
                left_edge[nears] = edge[j]
                nears += ONE
                for m in range(j + ONE, end):
                    if edge[m] != 0.0 or carries[m]:
                        carries[pair_edge[pair]] = _MORE
                        left_pair[pairs] = pair_edge[pair]
                        pairs += ONE
                    pair += ONE
            continue
        straight[straights] = step
        straights += ONE
        own_ref = ref[step]
        own_inj = inj[step]
        if end - start == TWO:
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
            edge[pair_edge[pair]] += p0 * e1
            continue
        total = own_ref
        for j in range(start, end):
            total += edge[j]
        one_by_total = 1.0 / total if total != 0.0 else 0.0
        share[step] = one_by_total
        for j in range(start, end):
            one = edge[j] * one_by_total
            part[j] = one
            if one == 0.0:
                pair += end - j - ONE
                continue
            ref[near[j]] += own_ref * one
            inj[near[j]] += own_inj * one
            for m in range(j + ONE, end):
                edge[pair_edge[pair]] += one * edge[m]
                pair += ONE
    left_ptr[lefts] = nears
    counts = held.counts
    counts[STRAIGHT], counts[LEFT], counts[NEAR], counts[PAIRS] = straights, lefts, nears, pairs


@lean
def _number_anew(
    counts: type_i, carries: type_b, place: type_u, number: type_u, left: Steps, bent: type_i, reference: int
) -> None:  # fmt: skip
    """Neighbours, pairs and bent elements in the numbers of what is left, loads left out dropped; the reference comes
    last."""
    _, left_near, _, left_pair = left
    number[reference] = counts[LEFT]
    for k in range(counts[NEAR]):
        left_near[k] = number[left_near[k]]
    for k in range(counts[PAIRS]):
        left_pair[k] = place[left_pair[k]]
    kept = 0
    for k in range(counts[ELEMENTS]):
        slot = bent[SLOT, k]
        if slot >= 0 and carries[slot] == _IDLE:
            continue
        bent[END_A, kept] = number[bent[END_A, k]]
        bent[END_B, kept] = number[bent[END_B, k]]
        bent[SLOT, kept] = place[slot] if slot >= 0 else slot
        bent[LAW, kept] = bent[LAW, k]
        bent[ROW, kept] = bent[ROW, k]
        kept += 1
    counts[ELEMENTS] = kept
