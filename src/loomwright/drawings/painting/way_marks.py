"""How is the way of a current shown on a sheet: its wires heavier, each with its step, the rest drawn back?

Nothing hangs on colour. A wire of the way is drawn thicker, its words strong; on it stands a ring with the number of
the step, and an arrow before the ring points where the current goes. Everything else is thinner and in soft ink, still
to be read. A ring stands where it covers no words and no other wire, as near the middle of its wire as it can.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import hypot

from loomwright.drawings.content.way_steps import WayStep, things_on_way
from loomwright.drawings.content.wiring import Wiring
from loomwright.drawings.symbols.fields import field_of
from loomwright.drawings.symbols.items import Box, Circle, Fill, Item, Points, Polyline, Text, WireStroke

__all__ = ["ShownWay", "drawn_back", "shown_way", "step_marks"]

_HEAVIER, _THINNER = 1.6, 0.5
_STROKE_THINNER = 0.7
_RING_MM = 1.75
_ARROW_FROM_MM, _ARROW_MM = 2.35, 4.6
_ARROW_HALF_MM = 1.45
_RIM_MM = 0.35
_NUMBER_MM = 2.1
_LONG_NUMBER_MM = 1.7
_STEP_MM = 1.5
_AIR_MM = 0.4
_WORDS, _WIRES, _RINGS, _SHORT = 4.0, 1.5, 5.0, 0.5

Field = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownWay:
    """A way to be shown. steps: by wire.   things: ids of its wires and parts, all that stays in full ink."""

    steps: Mapping[str, WayStep]
    things: Collection[str]


def shown_way(wiring: Wiring, steps: Sequence[WayStep]) -> ShownWay:
    """A way as sheets show it."""
    return ShownWay(steps={step.wire: step for step in steps}, things=things_on_way(wiring, steps))


def drawn_back(item: Item, way: ShownWay, about: str = "") -> Item:
    """An item as it looks beside a way: heavier where it is a wire of it, drawn back where it is no part of it.

    Args:
        about: what it shows, where the item does not say.
    """
    name = item.about or about
    if isinstance(item, WireStroke):
        return replace(item, width_mm=item.width_mm * (_HEAVIER if name in way.steps else _THINNER))
    if name in way.things:
        return item
    if isinstance(item, Text):
        return replace(item, ink="soft", strong=False)
    if isinstance(item, Box):
        return replace(item, ink="soft", line_mm=item.line_mm * _STROKE_THINNER)
    item = replace(item, width_mm=item.width_mm * _STROKE_THINNER)
    if item.ink == "ink":
        item = replace(item, ink="soft")
    if isinstance(item, Polyline | Circle) and item.fill == "ink":
        item = replace(item, fill="rule")
    return item


def step_marks(items: Sequence[Item], way: ShownWay) -> tuple[Item, ...]:
    """The rings of the steps, each on its wire.

    Args:
        items: everything on the sheet, in its own measure.
    """
    words = [field_of(item) for item in items if isinstance(item, Text)]
    strokes = [item for item in items if isinstance(item, WireStroke)]
    found: list[Item] = []
    taken: list[tuple[float, float]] = []
    for stroke in strokes:
        step = way.steps.get(stroke.about)
        if step is None or len(stroke.points_mm) < 2:
            continue
        points = stroke.points_mm if step.is_forward else stroke.points_mm[::-1]
        others = [one.points_mm for one in strokes if one is not stroke]
        x, y, across, down = _best(points, words, others, taken)
        taken.append((x, y))
        found.extend(_ring(step, x, y, across, down))
    return tuple(found)


def _ring(step: WayStep, x: float, y: float, across: float, down: float) -> Iterator[Item]:
    if step.is_directed:
        # a rim of paper first, so that the arrow stands out on a dark wire
        yield _arrow(step.wire, x, y, (across, down), _RIM_MM, "paper")
        yield _arrow(step.wire, x, y, (across, down), 0.0, "ink")
    yield Circle(x_mm=x, y_mm=y, radius_mm=_RING_MM, width_mm=0.4, fill="paper", about=step.wire)
    size = _NUMBER_MM if step.number < 10 else _LONG_NUMBER_MM
    yield Text(
        x_mm=x,
        y_mm=round(y + 0.36 * size, 3),
        text=str(step.number),
        size_mm=size,
        anchor="middle",
        font="figures",
        strong=True,
        about=step.wire,
    )


def _arrow(wire: str, x: float, y: float, along: tuple[float, float], rim_mm: float, fill: Fill) -> Polyline:
    """The arrow before a ring, apart from it."""
    across, down = along
    long, half = _ARROW_MM + 2 * rim_mm, _ARROW_HALF_MM + rim_mm
    root = (x + across * (_ARROW_FROM_MM - rim_mm), y + down * (_ARROW_FROM_MM - rim_mm))
    tip = (x + across * long, y + down * long)
    left = (root[0] - down * half, root[1] + across * half)
    right = (root[0] + down * half, root[1] - across * half)
    corners: Points = tuple((round(a, 3), round(b, 3)) for a, b in (tip, left, right))
    return Polyline(points_mm=corners, closed=True, fill=fill, width_mm=0.0, about=wire)


def _best(
    points: Points, words: Sequence[Field], others: Sequence[Points], taken: Sequence[tuple[float, float]]
) -> tuple[float, float, float, float]:
    """The best place along a wire, and which way it goes there."""
    whole = sum(hypot(bx - ax, by - ay) for (ax, ay), (bx, by) in pairwise(points)) or 1.0
    places = []
    gone = 0.0
    for (ax, ay), (bx, by) in pairwise(points):
        long = hypot(bx - ax, by - ay)
        if long > 0.0:
            across, down = (bx - ax) / long, (by - ay) / long
            for far in _along(long):
                x, y = ax + across * far, ay + down * far
                cost = _cost(x, y, across, down, words, others, taken)
                cost += abs((gone + far) / whole - 0.5) + (_SHORT if long < _RING_MM + _ARROW_MM else 0.0)
                places.append((round(cost, 6), gone + far, round(x, 3), round(y, 3), across, down))
        gone += long
    return min(places)[2:]


def _along(long: float) -> Iterable[float]:
    first, last = _RING_MM + _AIR_MM, long - _ARROW_MM - _AIR_MM
    if last <= first:
        return (long / 2,)
    return [first + _STEP_MM * number for number in range(int((last - first) / _STEP_MM) + 1)]


def _cost(
    x: float,
    y: float,
    across: float,
    down: float,
    words: Sequence[Field],
    others: Sequence[Points],
    taken: Sequence[tuple[float, float]],
) -> float:
    """What a ring there would cover."""
    tip_x, tip_y = x + across * _ARROW_MM, y + down * _ARROW_MM
    left, right = min(x - _RING_MM, tip_x) + _AIR_MM, max(x + _RING_MM, tip_x) - _AIR_MM
    top, bottom = min(y - _RING_MM, tip_y) + _AIR_MM, max(y + _RING_MM, tip_y) - _AIR_MM
    cost = _WORDS * sum(a < right and c > left and b < bottom and d > top for a, b, c, d in words)
    for one in others:
        for (ax, ay), (bx, by) in pairwise(one):
            if min(ax, bx) < right and max(ax, bx) > left and min(ay, by) < bottom and max(ay, by) > top:
                cost += _WIRES
    return cost + _RINGS * sum(hypot(x - a, y - b) < _RING_MM + _ARROW_MM for a, b in taken)
