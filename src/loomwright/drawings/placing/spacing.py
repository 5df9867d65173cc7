"""How far to the right does each pin stand, so that nothing touches and most wires run straight?

Every pin keeps a least distance from the one before it in its row; a wire whose two pins can stand on one line
without forcing anything apart gets one line. Counting is in steps of 2 mm, whole numbers throughout, so that two
lines are either the same or clearly apart.

    x[right] >= x[left] + distance    for neighbours in a row, on its upper edge, through its units, on its lower edge
    x[one] = x[other]                 for the two ends of a unit with one way through; then, the longest first, for the
                                      two pins of a wire in a channel, as long as no circle of distances comes of it
    x = the longest way from the left; what is still crooked is pulled straighter as far as there is room
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from math import ceil
from types import MappingProxyType

from loomwright.drawings.placing.grid import Cell, Grid, Pin
from loomwright.drawings.placing.ordering import Order
from loomwright.drawings.placing.room import PIN_MM, Room, Shape, main_pin

__all__ = ["STEP_MM", "spread_mm"]

STEP_MM = 2.0
"""The step of all places across the page. [mm]"""

_PASS_MM = 1.6
_BETWEEN_UNITS_MM = 2.0
_PULLS = 3
_TRIES = 1
Gap = tuple[Pin, Pin, int]


def spread_mm(
    grid: Grid, order: Order, shapes: Sequence[Shape], labels: Mapping[Pin, float]
) -> tuple[Mapping[Pin, float], float]:
    """Where every pin stands from the left, and how wide all is together. [mm]

    Args:
        shapes: of the units, by number.
        labels: pin -> how much room its wire's label takes on its right, where it has one.
    """
    pins, gaps, firsts, lasts = _gaps(grid, order, shapes, labels)
    wished = [*(pair for shape in shapes for pair in shape.fond), *_wishes(grid, order)]
    lines, places = _tried(pins, gaps, shapes, wished, frozenset())
    for _ in range(_TRIES):
        loose = _too_wide(shapes, lines, places)
        if not loose:
            break
        lines, places = _tried(pins, gaps, shapes, wished, loose)
    left = min((places[lines.root(pin)] - need for pin, need in firsts), default=0)
    right = max((places[lines.root(pin)] + need for pin, need in lasts), default=0)
    found = {pin: (places[lines.root(pin)] - left) * STEP_MM for pin in pins}
    return MappingProxyType(found), (right - left) * STEP_MM


def _tried(
    pins: Sequence[Pin],
    gaps: Sequence[Gap],
    shapes: Sequence[Shape],
    wished: Sequence[tuple[Pin, Pin]],
    loose: Collection[Pin],
) -> tuple[_Lines, list[int]]:
    """Lines and their places; a loose pin follows no wire."""
    lines = _Lines(pins, gaps)
    for shape in shapes:
        for one, other in shape.same:
            lines.join(one, other)
    kept = [pair for pair in wished if pair[0] not in loose and pair[1] not in loose]
    for one, other in kept:
        lines.join_if_free(one, other)
    places = lines.placed()
    lines.pulled(places, [(one, other) for one, other in kept if lines.root(one) != lines.root(other)])
    return lines, places


def _too_wide(shapes: Sequence[Shape], lines: _Lines, places: Sequence[int]) -> frozenset[Pin]:
    """Pins that lie too far from their fellows: all of them but the first go where those are."""
    loose: set[Pin] = set()
    for shape in shapes:
        for pins, most_mm in shape.tight:
            across = [places[lines.root(pin)] for pin in pins]
            if (max(across) - min(across)) * STEP_MM > most_mm:
                loose.update(pin for pin in pins if pin != pins[0] and pin != shape.core)
    return frozenset(loose)


def _steps(distance_mm: float) -> int:
    return max(1, ceil(distance_mm / STEP_MM - 1e-9))


def _gaps(
    grid: Grid, order: Order, shapes: Sequence[Shape], labels: Mapping[Pin, float]
) -> tuple[list[Pin], list[Gap], list[tuple[Pin, int]], list[tuple[Pin, int]]]:
    """All pins, all least distances, and what the outermost need to the left and to the right."""
    pins: dict[Pin, None] = {}
    gaps: list[Gap] = []
    firsts: list[tuple[Pin, int]] = []
    lasts: list[tuple[Pin, int]] = []
    for row in range(grid.rows):
        for edge in (order.upper[row], order.lower[row]):
            pins.update(dict.fromkeys(edge))
            for one, other in itertools.pairwise(edge):
                need = 2 * PIN_MM if one not in labels else labels[one] + PIN_MM
                gaps.append((one, other, _steps(need)))
            if edge:
                lasts.append((edge[-1], _steps(labels.get(edge[-1], PIN_MM))))
        rooms = [_rooms(cell, row, shapes) for cell in order.rows[row]]
        for left, right in itertools.pairwise(rooms):
            for room in left:
                for beside in right:
                    need = room.right_mm + beside.left_mm + _BETWEEN_UNITS_MM
                    gaps.append((room.pin, beside.pin, _steps(need)))
        firsts.extend((room.pin, _steps(room.left_mm)) for room in (rooms[0] if rooms else ()))
        lasts.extend((room.pin, _steps(room.right_mm)) for room in (rooms[-1] if rooms else ()))
    for shape in shapes:
        gaps.extend((one, other, _steps(need)) for one, other, need in shape.apart)
    return list(pins), gaps, firsts, lasts


def _rooms(cell: Cell, row: int, shapes: Sequence[Shape]) -> tuple[Room, ...]:
    if cell[0] == "unit":
        return shapes[cell[1]].rooms
    return (Room(pin=("pass", cell[1], row), left_mm=_PASS_MM, right_mm=_PASS_MM),)


def _wishes(grid: Grid, order: Order) -> Iterator[tuple[Pin, Pin]]:
    """The pairs of pins that had better stand on one line, the most wished first: long runs, then middles of ports."""
    middles = {main_pin(pins) for found in order.ports.values() for _, pins in found}

    def rank(net: tuple[Pin, Pin]) -> tuple[int, int]:
        passing = sum(pin[0] == "pass" for pin in net)
        middle = sum(pin in middles for pin in net)
        return (-passing, -middle)

    pairs = [net.pins for nets in grid.nets for net in nets if net.above[0] != net.above[1]]
    yield from sorted(pairs, key=rank)


class _Lines:
    """Pins on common lines, and least distances between lines; made and thrown away within one call."""

    def __init__(self, pins: Iterable[Pin], gaps: Iterable[Gap]) -> None:
        self.number = {pin: count for count, pin in enumerate(pins)}
        count = len(self.number)
        self.parent = list(range(count))
        self.after: list[dict[int, int]] = [{} for _ in range(count)]
        self.before: list[dict[int, int]] = [{} for _ in range(count)]
        for one, other, need in gaps:
            self._gap(self.number[one], self.number[other], need)

    def root(self, pin: Pin) -> int:
        """The line a pin stands on."""
        return self._root(self.number[pin])

    def join(self, one: Pin, other: Pin) -> None:
        """Put two pins on one line."""
        keep, gone = self.root(one), self.root(other)
        if keep == gone:
            return
        self.parent[gone] = keep
        for side, back in ((self.after, self.before), (self.before, self.after)):
            for line, need in side[gone].items():
                del back[line][gone]
                if line != keep:
                    side[keep][line] = max(side[keep].get(line, 0), need)
                    back[line][keep] = side[keep][line]
            side[gone] = {}

    def join_if_free(self, one: Pin, other: Pin) -> None:
        """Put two pins on one line unless one must stand to the right of the other."""
        first, second = self.root(one), self.root(other)
        if first != second and not self._leads(first, second) and not self._leads(second, first):
            self.join(one, other)

    def placed(self) -> list[int]:
        """The place of every line: as far to the left as the distances let it."""
        places = [0] * len(self.parent)
        for line in self._order():
            places[line] = max((places[one] + need for one, need in self.before[line].items()), default=0)
        return places

    def pulled(self, places: list[int], crooked: Sequence[tuple[Pin, Pin]]) -> None:
        """Lines moved to the middle of what they are joined to, as far as their neighbours let them."""
        wanted: dict[int, list[int]] = {}
        for one, other in crooked:
            wanted.setdefault(self.root(one), []).append(self.root(other))
            wanted.setdefault(self.root(other), []).append(self.root(one))
        order = self._order()
        for turn in range(_PULLS):
            for line in order[::-1] if turn % 2 == 0 else order:
                least = max((places[one] + need for one, need in self.before[line].items()), default=0)
                most = min((places[one] - need for one, need in self.after[line].items()), default=None)
                if line in wanted:
                    there = sorted(places[one] for one in wanted[line])
                    middle = there[(len(there) - 1) // 2]
                elif most is not None and not self.before[line]:
                    middle = most  # nothing holds it on the left: close to what follows
                else:
                    continue
                places[line] = max(least, middle if most is None else min(most, middle))

    def _gap(self, one: int, other: int, need: int) -> None:
        if one != other and need > self.after[one].get(other, 0):
            self.after[one][other] = need
            self.before[other][one] = need

    def _root(self, line: int) -> int:
        while self.parent[line] != line:
            self.parent[line] = self.parent[self.parent[line]]
            line = self.parent[line]
        return line

    def _leads(self, start: int, end: int) -> bool:
        """Whether one line must stand to the left of another."""
        seen = {start}
        waiting = [start]
        while waiting:
            for line in self.after[waiting.pop()]:
                if line == end:
                    return True
                if line not in seen:
                    seen.add(line)
                    waiting.append(line)
        return False

    def _order(self) -> list[int]:
        """The lines so that each comes after all to its left."""
        lines = [line for line in range(len(self.parent)) if self.parent[line] == line]
        left = {line: len(self.before[line]) for line in lines}
        ready = [line for line in lines if not left[line]]
        found = []
        for line in ready:
            found.append(line)
            for other in self.after[line]:
                left[other] -= 1
                if not left[other]:
                    ready.append(other)
        return found
