"""At what height does each wire turn in a channel, so that no two lie on each other and few cross?

Each wire that does not run straight through a channel gets a level, a horizontal line. Two wires may share a level
where they lie apart. Where one wire comes down on the line on which another goes on, the first must turn above the
second; where that runs in a circle, one of them makes a step aside first. Among the orders that are left, the one
with fewer crossings is taken, by changing neighbours.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.drawings.placing.grid import Net, Pin

__all__ = ["Bend", "bends_of"]

_NEAR_MM = 1.5
_CLEAR_MM = 1.2
_ASIDE_MM = (2.0, -2.0, 4.0, -4.0, 3.0, -3.0, 6.0, -6.0, 1.0, -1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend:
    """How a link runs through a channel.

    points: (where across, level) of its corners from its first pin to its second; level -1 is the upper edge, the
    number of levels the lower edge, a straight link has none between.
    """

    link: int
    points: tuple[tuple[float, int], ...]


@dataclass(slots=True)
class _Way:
    """One link that turns: its two pins, and the piece of it that lies level."""

    net: Net
    xs: tuple[float, float]
    level: int = 0
    aside: float | None = None

    @property
    def span(self) -> tuple[float, float]:
        xs = self.xs if self.aside is None else (*self.xs, self.aside)
        return min(xs), max(xs)

    def edges(self, above: bool) -> list[float]:
        """Where it leaves for the upper or the lower edge."""
        return [x for x, up in zip(self.xs, self.net.above, strict=True) if up == above]


def bends_of(nets: Sequence[Net], at: Mapping[Pin, float]) -> tuple[tuple[Bend, ...], int]:
    """The corners of every link in a channel, and how many levels there are.

    Args:
        at: where each pin stands from the left. [mm]
    """
    straight = []
    ways: list[_Way] = []
    for net in nets:
        xs = (at[net.pins[0]], at[net.pins[1]])
        if net.above[0] != net.above[1] and abs(xs[0] - xs[1]) < 1e-6:
            straight.append((net, xs[0]))
        else:
            ways.append(_Way(net, xs))
    taken = [x for _, x in straight] + [x for way in ways for x in way.xs]
    ways = _in_order(ways, taken)
    levels = _levelled(ways)
    found = [Bend(link=net.link, points=(_edge(net, 0, x, levels), _edge(net, 1, x, levels))) for net, x in straight]
    found.extend(_bend(way, levels) for way in ways)
    return tuple(found), levels


def _edge(net: Net, end: int, x: float, levels: int) -> tuple[float, int]:
    return (x, -1 if net.above[end] else levels)


def _bend(way: _Way, levels: int) -> Bend:
    first, second = _edge(way.net, 0, way.xs[0], levels), _edge(way.net, 1, way.xs[1], levels)
    corners: tuple[tuple[float, int], ...]
    if way.aside is None:
        corners = ((way.xs[0], way.level), (way.xs[1], way.level))
    else:
        # down on a free line to the last level, and from there to its own line
        upper_first = way.net.above[0]
        low = levels - 1
        one, other = (way.level, low) if upper_first else (low, way.level)
        corners = ((way.xs[0], one), (way.aside, one), (way.aside, other), (way.xs[1], other))
    return Bend(link=way.net.link, points=(first, *corners, second))


def _above(one: _Way, other: _Way) -> bool:
    """Whether one must turn above the other: it comes from the upper edge where the other goes to the lower edge."""
    down = other.edges(above=False) if other.aside is None else []
    return any(abs(x - y) < _NEAR_MM for x in one.edges(above=True) for y in down)


def _in_order(ways: list[_Way], taken: list[float]) -> list[_Way]:
    """The ways from top to bottom: what must be above comes first, then what saves crossings."""
    left = sorted(ways, key=lambda way: (way.span, way.net.link))
    found: list[_Way] = []
    while left:
        free = [way for way in left if not any(other is not way and _above(other, way) for other in left)]
        if not free:
            _step_aside(left, taken)
            continue
        best = min(
            free,
            key=lambda way: (
                sum(_cost(way, other) - _cost(other, way) for other in left if other is not way),
                way.span,
                way.net.link,
            ),
        )
        found.append(best)
        left.remove(best)
    return _exchanged(found)


def _step_aside(left: list[_Way], taken: list[float]) -> None:
    """Of a circle, the first way that runs through makes a step aside before its lower end."""
    for way in left:
        if way.aside is not None or way.net.above[0] == way.net.above[1]:
            continue
        lower = way.edges(above=False)[0]
        for step in _ASIDE_MM:
            if all(abs(lower + step - x) >= _CLEAR_MM for x in taken):
                way.aside = lower + step
                taken.append(lower + step)
                return
    way = next(way for way in left if way.aside is None)
    way.aside = way.edges(above=False)[0] + 1.0 if way.edges(above=False) else way.xs[1]


def _cost(upper: _Way, lower: _Way) -> int:
    """Crossings of two ways if one turns above the other."""
    left, right = upper.span
    count = sum(left < x < right for x in lower.edges(above=True))
    left, right = lower.span
    return count + sum(left < x < right for x in upper.edges(above=False))


def _exchanged(ways: list[_Way]) -> list[_Way]:
    """Neighbours change places as long as that takes crossings away and none must be above the other."""
    for _ in range(len(ways)):
        better = False
        for number in range(len(ways) - 1):
            one, other = ways[number], ways[number + 1]
            if not _above(one, other) and _cost(other, one) < _cost(one, other):
                ways[number], ways[number + 1] = other, one
                better = True
        if not better:
            break
    return ways


def _levelled(ways: Sequence[_Way]) -> int:
    """Give each way its level: under everything before it that it would touch. The number of levels."""
    for number, way in enumerate(ways):
        way.level = 0
        for other in ways[:number]:
            if _touch(way, other):
                way.level = max(way.level, other.level + 1)
    levels = 1 + max((way.level for way in ways), default=-1)
    # a step aside ends on a level of its own, under all others
    return levels + (1 if any(way.aside is not None for way in ways) else 0)


def _touch(one: _Way, other: _Way) -> bool:
    (a, b), (c, d) = one.span, other.span
    return a < d + _NEAR_MM + 1.0 and c < b + _NEAR_MM + 1.0
