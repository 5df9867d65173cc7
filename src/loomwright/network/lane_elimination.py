"""How are nodes taken out of many networks side by side, alike but for their figures, and how do volts come back?

Star-mesh elimination as in `elimination`, in plain numpy, one lane a network. What a step needs stands in lines one
below the other: its edges, its conductance to the reference, its injected current; so that a step is few sums over
blocks of lines. Beside the volts a *tie* comes back by the same parts: the volts each node would have with one volt at
the reference and no current anywhere: nothing where a node floats.

In: an order, lines of lanes. Out: parts and shares, then ties and volts, in place.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from loomwright.network.arrays import Steps, type_f, type_i

__all__ = [
    "Order",
    "Parts",
    "eliminate_lanes",
    "line_of_edge",
    "line_of_ref",
    "order_of",
    "room_for_parts",
    "substitute_lanes",
]


@dataclass(frozen=True, slots=True, eq=False)
class Order:
    """Some steps that follow one another.

    first: number of the first.  top: its first line.  steps: for each its first line, neighbours, and for each of these
    the lines its share of the block below goes to: edges, then the conductance to the reference.
    """

    first: int
    top: int
    bottom: int
    edges: tuple[int, int]
    steps: tuple[tuple[int, tuple[int, ...], tuple[tuple[int, ...], ...]], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Parts:
    """What the elimination leaves: the part of each edge, the share of each step; one column a lane."""

    part: type_f
    share: type_f

    def of(self, lanes: type_i) -> Parts:
        """Some of the lanes."""
        return Parts(self.part[:, lanes], self.share[:, lanes])


def line_of_edge(steps: Steps) -> type_i:
    """The line of each edge; two more lines follow those of each step."""
    ptr: type_i = steps.ptr.astype(np.int64)
    steps_of_edges: type_i = np.repeat(np.arange(len(ptr) - 1), ptr[1:] - ptr[:-1])
    lines: type_i = np.arange(len(steps_of_edges)) + 2 * steps_of_edges
    return lines


def line_of_ref(steps: Steps) -> type_i:
    """The line of each step's conductance to the reference; its injected current is the next. One more for the
    reference itself."""
    ptr: type_i = steps.ptr.astype(np.int64)
    return np.append(ptr[1:] + 2 * np.arange(len(ptr) - 1), ptr[-1] + 2 * (len(ptr) - 1))


def order_of(steps: Steps, first: int, last: int) -> Order:
    """Steps first .. last-1, lines counted over all steps."""
    edge_line, ref_line = line_of_edge(steps).tolist(), line_of_ref(steps).tolist()
    ptr, near, pairs = steps.ptr.tolist(), steps.near.tolist(), steps.pair_edge.tolist()
    found = []
    for step in range(first, last):
        around = near[ptr[step] : ptr[step + 1]]
        pair = int(steps.pair_ptr[step])
        goes = []
        for k, one in enumerate(around):
            more = len(around) - 1 - k
            goes.append((*(edge_line[edge] for edge in pairs[pair : pair + more]), ref_line[one]))
            pair += more
        found.append((ptr[step] + 2 * step, tuple(around), tuple(goes)))
    return Order(first, ptr[first] + 2 * first, ptr[last] + 2 * last, (ptr[first], ptr[last]), tuple(found))


def room_for_parts(order: Order, lanes: int) -> Parts:
    """Room for what an elimination leaves."""
    return Parts(np.empty((order.edges[1] - order.edges[0], lanes)), np.empty((len(order.steps), lanes)))


def eliminate_lanes(order: Order, lines: type_f, top: int, room: Parts) -> Parts:
    """Eliminate some steps in place.

    Args:
        lines: conductances and currents from line `top` on, one column a lane.
        room: written over; large arrays cost more to get than to fill.
    """
    count = lines.shape[1]
    part, share = room.part, room.share
    most = max((len(around) for _, around, _ in order.steps), default=0)
    total, lost, block = np.empty(count), np.empty(count, bool), np.empty((most + 1, count))
    row_of, block_of = list(lines), list(block)
    at = 0
    for k, (first, around, goes) in enumerate(order.steps):
        start = first - top
        degree = len(around)
        ref = start + degree
        np.add.reduce(lines[start : ref + 1], axis=0, out=total)
        # where nothing leads away, all parts come out as nothing, and so must the share
        np.equal(total, 0.0, out=lost)
        np.add(total, lost, out=total)
        own = share[k]
        np.divide(1.0, total, out=own)
        parts = part[at : at + degree]
        np.multiply(lines[start:ref], own, out=parts)
        np.subtract(own, lost, out=own)
        at += degree
        for j in range(degree):
            targets = goes[j]
            edges = len(targets) - 1
            here = block[: edges + 2]
            np.multiply(lines[start + j + 1 : ref + 2], parts[j], out=here)
            for m in range(edges):
                row = row_of[targets[m] - top]
                np.add(row, block_of[m], out=row)
            there = targets[edges] - top
            pair = lines[there : there + 2]
            np.add(pair, here[edges:], out=pair)
    return room


def substitute_lanes(order: Order, parts: Parts, lines: type_f, top: int, ties: bool, found: type_f) -> None:
    """Ties or volts of some steps, the last first; a floating node's volts stay where they were. [-, V]

    Args:
        lines: as they were left, from line `top` on; the conductance to the reference or the current is asked.
        ties: which of the two.
        found: of every step, one below the other; written in place.
    """
    work, count = np.empty(lines.shape[1]), len(parts.part)
    row_of, part_of = list(found), list(parts.part)
    floats = (parts.share == 0.0).any(axis=1)
    at = count
    for k in range(len(order.steps) - 1, -1, -1):
        first, around, _ = order.steps[k]
        line = first - top + len(around) + (0 if ties else 1)
        at -= len(around)
        own, share = row_of[order.first + k], parts.share[k]
        kept = own.copy() if floats[k] and not ties else own
        np.multiply(lines[line], share, out=own)
        for j, near in enumerate(around):
            np.multiply(row_of[near], part_of[at + j], out=work)
            np.add(own, work, out=own)
        if kept is not own:
            np.copyto(own, kept, where=share == 0.0)
