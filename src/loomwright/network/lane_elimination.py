"""How are nodes taken out of many networks side by side, alike but for their figures, and how do volts come back?

Star-mesh elimination as in `elimination`, in plain numpy, one lane a network. What a step needs stands in lines one
below the other: its edges, its conductance to the reference, its injected current; so that a step is few sums over
blocks of lines. Beside the volts a *tie* comes back by the same parts: the volts each node would have with one volt at
the reference and no current anywhere: nothing where a node floats.

All of it is calls of numpy on rows that stay where they are, written down once and made as often as there are steps:
looking the rows up costs as much as the sums.

In: an order (`lane_order`), lines of lanes. Out: parts and shares, then ties and volts, in place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loomwright.network.arrays import type_f, type_i

__all__ = [
    "LOST", "Calls", "Order", "Parts", "Step", "eliminate_lanes", "elimination", "room_for_parts", "run",
    "substitute_lanes", "substitution",
]  # fmt: skip

type_bool = NDArray[np.bool_]

Calls = list[Any]
"""One after the other what is called, with which two, and where the outcome goes. Flat: the collector would go through
many small records again and again."""

_MANY = 4
"""From so many neighbours on one sum over a block is cheaper than a sum for each [-]."""
_ONE = np.array(1.0)
_LEAST = np.array(1e-200)
"""Added to every sum: nothing beside one that leads anywhere, and one that leads nowhere can be divided by. [S]"""
LOST = 1e199
"""A larger share is that of a node that nothing leads away from. [ohm]"""


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """One node taken out.

    node: where its volts stand.  line: its first.  part: the first of its parts.  share: where its share stands.
    tied: something that never changes leads from it to the reference.  around: its neighbours.  goes: for each of these
    where its share of the block below goes to, by runs of lines: places first .. last-1 of the block, and the first of
    the lines; edges, then the conductance to the reference, the current.
    """

    node: int
    line: int
    part: int
    share: int
    tied: bool
    around: tuple[int, ...]
    goes: tuple[tuple[tuple[int, int, int], ...], ...]

    @property
    def end_line(self) -> int:
        """The first line after it."""
        return self.line + len(self.around) + 2

    @property
    def end_part(self) -> int:
        """The first part after it."""
        return self.part + len(self.around)


@dataclass(frozen=True, slots=True, eq=False)
class Order:
    """Some steps that follow one another.  top, bottom: their first line, and the first after them.  edges: of all."""

    top: int
    bottom: int
    edges: int
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Parts:
    """What the elimination leaves: the part of each edge, the share of each step; one column a lane."""

    part: type_f
    share: type_f

    def of(self, lanes: type_i) -> Parts:
        """Some of the lanes."""
        return Parts(self.part[:, lanes], self.share[:, lanes])


def room_for_parts(order: Order, lanes: int) -> Parts:
    """Room for what an elimination leaves."""
    return Parts(np.empty((order.edges, lanes)), np.empty((len(order.steps), lanes)))


def run(calls: Calls) -> None:
    """Make the calls."""
    each = iter(calls)
    for call, one, other, out in zip(each, each, each, each, strict=True):
        call(one, other, out)


def elimination(order: Order, lines: type_f, top: int, room: Parts) -> Calls:
    """The calls that eliminate some steps in place.

    Args:
        lines: conductances and currents from line `top` on, one column a lane.
        room: written over.
    """
    add, multiply, divide = np.add, np.multiply, np.divide
    most = max((len(step.around) for step in order.steps), default=0)
    total, block = np.empty(lines.shape[1]), np.empty((most + 1, lines.shape[1]))
    rows, parts, shares, blocks = list(lines), list(room.part), list(room.share), list(block)
    calls: Calls = []
    for step in order.steps:
        start, degree, share = step.line - top, len(step.around), shares[step.share]
        if degree < _MANY:
            calls += (add, rows[start + degree], rows[start] if degree else _LEAST, total)
            for k in range(1, degree):
                calls += (add, total, rows[start + k], total)
        else:
            calls += (_sum_up, lines[start : start + degree + 1], _LEAST, total)
        if degree and not step.tied:
            calls += (add, total, _LEAST, total)
        calls += (divide, _ONE, total, share)
        if degree == 1:
            calls += (multiply, rows[start], share, parts[step.part])
        elif degree:
            at = slice(step.part, step.part + degree)
            calls += (multiply, lines[start : start + degree], share, room.part[at])
        for j, runs in enumerate(step.goes):
            below = lines[start + j + 1 : start + degree + 2]
            calls += (multiply, below, parts[step.part + j], block[: degree - j + 1])
            for first, last, line in runs:
                if last - first == 1:
                    calls += (add, rows[line - top], blocks[first], rows[line - top])
                else:
                    there = lines[line - top : line - top + last - first]
                    calls += (add, there, block[first:last], there)
    return calls


def _sum_up(rows: type_f, _: type_f, out: type_f) -> None:
    np.add.reduce(rows, axis=0, out=out)


def substitution(steps: Sequence[Step], parts: Parts, lines: type_f, top: int, ties: bool, found: type_f) -> Calls:
    """The calls that bring back ties or volts of some steps of an order, the last first; a floating node's volts stay
    where they were. [-, V]

    Args:
        lines: as they were left, from line `top` on; the conductance to the reference or the current is asked.
        ties: which of the two.
        found: of every node, one below the other; written in place.
    """
    work, kept = np.empty(lines.shape[1]), np.empty(lines.shape[1])
    rows, part_of, shares = list(found), list(parts.part), list(parts.share)
    lost = np.zeros(len(shares), bool)
    add, multiply = np.add, np.multiply
    calls: Calls = [] if ties else [_mark_lost, parts.share, None, lost]
    for step in reversed(steps):
        keeps = not (ties or step.tied)
        own, share, is_lost = rows[step.node], shares[step.share], lost[step.share : step.share + 1]
        if keeps:
            calls += (_keep, own, is_lost, kept)
        calls += (multiply, lines[step.line - top + len(step.around) + (0 if ties else 1)], share, own)
        for part, near in enumerate(step.around, step.part):
            calls += (multiply, rows[near], part_of[part], work, add, own, work, own)
        if keeps:
            calls += (_put_back, kept, (is_lost, share), own)
    return calls


def _mark_lost(shares: type_f, _: None, out: type_bool) -> None:
    """The nodes that nothing leads away from in any lane."""
    np.greater(shares.max(axis=1, initial=0.0), LOST, out=out)


def _keep(volts: type_f, lost: type_bool, out: type_f) -> None:
    if lost:
        np.copyto(out, volts)


def _put_back(kept: type_f, lost_and_share: tuple[type_bool, type_f], out: type_f) -> None:
    lost, share = lost_and_share
    if lost:
        np.copyto(out, kept, where=share > LOST)


def eliminate_lanes(order: Order, lines: type_f, top: int, room: Parts) -> Parts:
    """Eliminate some steps in place, see `elimination`."""
    run(elimination(order, lines, top, room))
    return room


def substitute_lanes(
    steps: Sequence[Step], parts: Parts, lines: type_f, top: int, ties: bool, found: type_f
) -> None:  # fmt: skip
    """Ties or volts of some steps of an order, see `substitution`. [-, V]"""
    run(substitution(steps, parts, lines, top, ties, found))
