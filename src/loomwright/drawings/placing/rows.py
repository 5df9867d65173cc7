"""In which row of the page does each unit stand?

    row 0            supply lines
    last row         earth
    in between       a unit stands below everything that feeds it

What switches and protects stands as high as it can, what uses current and what drives it as low as it can, so that
fuses come on top and loads in the lower half. Where the ways run in a circle (a switch fed by what it feeds) the wire
that closes the circle is left out of the count; it is drawn all the same and runs back up.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loomwright.drawings.content.sketch import Side, Sketch

__all__ = ["rows_of"]

Way = tuple[int, int, int]


def rows_of(sketch: Sketch) -> tuple[int, ...]:
    """The row of every unit, 0 on top."""
    count = len(sketch.units)
    below: dict[int, dict[int, int]] = {unit: {} for unit in range(count)}
    for link in sketch.links:
        one, other = link.ends
        if one.side == other.side or one.unit == other.unit:
            continue
        upper, lower = (one.unit, other.unit) if one.side == "lower" else (other.unit, one.unit)
        below[upper][lower] = 1
    for first, follower in _beside(sketch, "upper"):
        below[first].setdefault(follower, 0)
    order = _order(sketch, below)
    place = {unit: number for number, unit in enumerate(order)}
    ways = [
        (upper, lower, step) for upper in order for lower, step in below[upper].items() if place[lower] > place[upper]
    ]
    high = _highest(sketch, ways, order)
    deep = max((high[unit] for unit in range(count) if sketch.units[unit].band != "earth"), default=0)
    last = max(deep + 1, 2)
    low = _lowest(sketch, ways, order, last)
    late = _late(sketch, ways, order)
    rows = []
    for unit in range(count):
        band = sketch.units[unit].band
        rows.append(0 if band == "supply" else last if band == "earth" else low[unit] if unit in late else high[unit])
    return _level(sketch, rows, ways, last)


def _beside(sketch: Sketch, side: Side) -> list[tuple[int, int]]:
    """Units that hang on a neighbour's terminal of the same side only, each with that neighbour, nearest first."""
    joined: dict[int, list[int]] = {}
    held = {
        end.unit
        for link in sketch.links
        for end, other in (link.ends, link.ends[::-1])
        if end.side == side != other.side
    }
    for link in sketch.links:
        first, second = link.ends
        if first.side == second.side == side and first.unit != second.unit:
            joined.setdefault(first.unit, []).append(second.unit)
            joined.setdefault(second.unit, []).append(first.unit)
    found: list[tuple[int, int]] = []
    waiting = [unit for unit in joined if unit in held]
    seen = set(waiting)
    while waiting or len(seen) < len(joined):
        if not waiting:
            waiting = [next(unit for unit in joined if unit not in seen)]
            seen.update(waiting)
        unit = waiting.pop(0)
        for other in joined[unit]:
            if other not in seen:
                seen.add(other)
                waiting.append(other)
                found.append((unit, other))
    return found


def _order(sketch: Sketch, below: Mapping[int, Mapping[int, int]]) -> list[int]:
    """The units so that, circles apart, each comes before those below it."""
    state: dict[int, int] = {}
    found: list[int] = []
    rank = {"supply": 0, "early": 1, "late": 2, "earth": 3}
    starts = sorted(below, key=lambda unit: (rank[sketch.units[unit].band], unit))
    for start in starts:
        if start in state:
            continue
        state[start] = 1
        waiting = [(start, iter(below[start]))]
        while waiting:
            unit, rest = waiting[-1]
            following = next((one for one in rest if one not in state), None)
            if following is None:
                found.append(unit)
                waiting.pop()
            else:
                state[following] = 1
                waiting.append((following, iter(below[following])))
    return found[::-1]


def _highest(sketch: Sketch, ways: Sequence[Way], order: Sequence[int]) -> dict[int, int]:
    rows = {unit: 0 if sketch.units[unit].band == "supply" else 1 for unit in order}
    for upper, lower, step in ways:
        if sketch.units[lower].band != "supply":
            rows[lower] = max(rows[lower], rows[upper] + step)
    return rows


def _lowest(sketch: Sketch, ways: Sequence[Way], order: Sequence[int], last: int) -> dict[int, int]:
    rows = {unit: last if sketch.units[unit].band == "earth" else last - 1 for unit in order}
    for upper, lower, step in reversed(ways):
        rows[upper] = min(rows[upper], rows[lower] - step)
    return rows


def _late(sketch: Sketch, ways: Sequence[Way], order: Sequence[int]) -> set[int]:
    """Units that stand low: loads and what drives them, and all that is below such a one."""
    late = {unit for unit in order if sketch.units[unit].band == "late"}
    for upper, lower, step in ways:
        if upper in late and step:
            late.add(lower)
    return late


def _level(sketch: Sketch, rows: list[int], ways: Sequence[Way], last: int) -> tuple[int, ...]:
    """Arrows stand right below or above their unit; what hangs on a neighbour only stands beside it."""
    floor: dict[int, int] = {}
    for upper, lower, step in ways:
        if step:
            floor[lower] = max(floor.get(lower, 0), rows[upper])
    for first, follower in _beside(sketch, "lower"):
        if rows[first] > floor.get(follower, 0) and sketch.units[follower].band == "late":
            rows[follower] = min(rows[follower], rows[first])
    for link in sketch.links:
        for end, other in (link.ends, link.ends[::-1]):
            if sketch.units[end.unit].form not in ("arrow", "free") or sketch.units[end.unit].band == "earth":
                continue
            if sketch.units[other.unit].form not in ("arrow", "free"):
                step = 0 if end.side == other.side else 1 if other.side == "lower" else -1
                rows[end.unit] = min(max(rows[other.unit] + step, 0), last)
    return tuple(rows)
