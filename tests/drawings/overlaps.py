"""What lies on what in a drawing? Looks at the strokes and words themselves, not at how they were placed."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from math import cos, hypot, radians, sin

from loomwright.drawings.symbols.items import Arc, Box, Circle, Drawing, Item, Line, Polyline, Text, WireStroke
from loomwright.drawings.symbols.letters import text_box

Rect = tuple[float, float, float, float]
Segment = tuple[float, float, float, float]

LEAST_MM, NEAR_MM, SYMBOL_MM = 0.02, 0.1, 7.0


def texts_on_texts(drawing: Drawing) -> list[str]:
    """Pairs of words that overlap."""
    texts = [(item, _ink_box(item)) for item in drawing.items if isinstance(item, Text)]
    found = []
    for number, (one, box) in enumerate(texts):
        for other, beside in texts[number + 1 :]:
            if _meet(box, beside):
                found.append(f"{one.text!r} on {other.text!r}")
    return found


def texts_on_strokes(drawing: Drawing) -> list[str]:
    """Words that a stroke runs through, whosever it is. The grey field behind a position at rest is no stroke."""
    strokes = [
        (item, _around(segment, half), segment, half) for item in drawing.items for segment, half in _segments(item)
    ]
    found = []
    for text in drawing.items:
        if isinstance(text, Text):
            box = _ink_box(text)
            for item, bounds, segment, half in strokes:
                if _meet(box, bounds) and _hits(segment, _grown(box, half)):
                    found.append(f"{text.text!r} on {type(item).__name__} of {item.about or 'the frame'}")
                    break
    return found


def wires_through_symbols(drawing: Drawing) -> list[str]:
    """Wires that run through a box, a circle or a symbol's rectangle that they do not end at."""
    shapes = [
        (item.about, rect)
        for item in drawing.items
        if isinstance(item, Box | Circle) and item.about and (rect := _inside(item)) is not None
    ]
    found = []
    for wire in drawing.items:
        if isinstance(wire, WireStroke):
            for segment, half in _segments(wire):
                found.extend(
                    f"{wire.about} through {about}"
                    for about, rect in shapes
                    if _hits(segment, _grown(rect, half - 0.3))
                )
    return found


def wires_on_wires(drawing: Drawing) -> list[str]:
    """Wires that lie along each other."""
    pieces = [
        (wire.about, segment)
        for wire in drawing.items
        if isinstance(wire, WireStroke)
        for segment, _ in _segments(wire)
    ]
    found = []
    for number, (one, (ax, ay, bx, by)) in enumerate(pieces):
        for other, (cx, cy, dx, dy) in pieces[number + 1 :]:
            if one == other:
                continue
            upright, beside = abs(ax - bx) < 1e-6, abs(cx - dx) < 1e-6
            if upright and beside and abs(ax - cx) < 0.9:
                low, high = max(min(ay, by), min(cy, dy)), min(max(ay, by), max(cy, dy))
            elif not upright and not beside and abs(ay - cy) < 0.9:
                low, high = max(min(ax, bx), min(cx, dx)), min(max(ax, bx), max(cx, dx))
            else:
                continue
            if high - low > 0.05:
                found.append(f"{one} along {other}")
    return found


def crossings(drawing: Drawing) -> int:
    """How often two wires cross."""
    pieces = [
        (wire.about, segment)
        for wire in drawing.items
        if isinstance(wire, WireStroke)
        for segment, _ in _segments(wire)
    ]
    return sum(
        one[0] != other[0] and _cross(one[1], other[1])
        for number, one in enumerate(pieces)
        for other in pieces[number + 1 :]
    )


def outside(drawing: Drawing) -> list[str]:
    """What reaches over the page's edge."""
    return [
        item.text
        for item in drawing.items
        if isinstance(item, Text) and not _within(_ink_box(item), (0.0, 0.0, drawing.width_mm, drawing.height_mm))
    ]


def _cross(one: Segment, other: Segment) -> bool:
    (ax, ay, bx, _by), (cx, cy, dx, dy) = one, other
    if (ax == bx) == (cx == dx):
        return False
    if ax == bx:
        (ax, ay, bx, _by), (cx, cy, dx, dy) = other, one
    return min(ax, bx) < cx < max(ax, bx) and min(cy, dy) < ay < max(cy, dy)


def _ink_box(text: Text) -> Rect:
    left, top, right, bottom = text_box(text)
    return left + LEAST_MM, top + LEAST_MM, right - LEAST_MM, bottom - LEAST_MM


def _segments(item: Item) -> Iterator[tuple[Segment, float]]:
    if isinstance(item, Line):
        yield (item.x1_mm, item.y1_mm, item.x2_mm, item.y2_mm), item.width_mm / 2
    elif isinstance(item, Polyline | WireStroke):
        points = item.points_mm
        if isinstance(item, Polyline) and item.closed:
            points = (*points, points[0])
        yield from (((*one, *other), item.width_mm / 2) for one, other in itertools.pairwise(points))
    elif isinstance(item, Box) and item.line_mm:
        left, top = item.x_mm, item.y_mm
        right, bottom = left + item.width_mm, top + item.height_mm
        for segment in (
            (left, top, right, top),
            (right, top, right, bottom),
            (left, bottom, right, bottom),
            (left, top, left, bottom),
        ):
            yield segment, item.line_mm / 2
    elif isinstance(item, Circle | Arc):
        first, last = (item.from_deg, item.to_deg) if isinstance(item, Arc) else (0.0, 360.0)
        turns = [radians(first + (last - first) * n / 24) for n in range(25)]
        points = tuple((item.x_mm + item.radius_mm * cos(t), item.y_mm + item.radius_mm * sin(t)) for t in turns)
        yield from (((*one, *other), item.width_mm / 2) for one, other in itertools.pairwise(points))


def _inside(item: Box | Circle) -> Rect | None:
    if isinstance(item, Circle):
        half = item.radius_mm * 0.7
        return (
            None if item.radius_mm < 1.5 else (item.x_mm - half, item.y_mm - half, item.x_mm + half, item.y_mm + half)
        )
    if item.height_mm < 1.2:
        return None  # the bar of a connector, which wires pass through
    return item.x_mm + 0.3, item.y_mm + 0.5, item.x_mm + item.width_mm - 0.3, item.y_mm + item.height_mm - 0.5


def _around(segment: Segment, half: float) -> Rect:
    x1, y1, x2, y2 = segment
    return min(x1, x2) - half, min(y1, y2) - half, max(x1, x2) + half, max(y1, y2) + half


def _grown(rect: Rect, by: float) -> Rect:
    return rect[0] - by, rect[1] - by, rect[2] + by, rect[3] + by


def _meet(one: Rect, other: Rect) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _within(one: Rect, other: Rect) -> bool:
    return one[0] >= other[0] and one[1] >= other[1] and one[2] <= other[2] and one[3] <= other[3]


def _hits(segment: Segment, rect: Rect) -> bool:
    """Whether a straight piece touches a rectangle (Liang and Barsky)."""
    x1, y1, x2, y2 = segment
    left, top, right, bottom = rect
    if hypot(x2 - x1, y2 - y1) == 0:
        return left < x1 < right and top < y1 < bottom
    first, last = 0.0, 1.0
    for step, room in ((x1 - x2, x1 - left), (x2 - x1, right - x1), (y1 - y2, y1 - top), (y2 - y1, bottom - y1)):
        if step == 0:
            if room <= 0:
                return False
        elif step < 0:
            first = max(first, room / step)
        else:
            last = min(last, room / step)
    return first < last


def loose_ends(drawing: Drawing) -> list[str]:
    """Ends of wires and of long leads that nothing else touches: no stroke, no ring, no head of an arrow."""
    items = [item for item in drawing.items if not isinstance(item, Text)]
    found = []
    for item in items:
        if isinstance(item, WireStroke):
            ends = [item.points_mm[0], item.points_mm[-1]]
        elif isinstance(item, Line) and item.x1_mm == item.x2_mm and abs(item.y1_mm - item.y2_mm) > SYMBOL_MM:
            ends = [(item.x1_mm, item.y1_mm), (item.x2_mm, item.y2_mm)]
        else:
            continue
        for x, y in ends:
            spot = (x - NEAR_MM, y - NEAR_MM, x + NEAR_MM, y + NEAR_MM)
            others = (other for other in items if other is not item)
            if not any(_touches(other, (x, y), spot) for other in others):
                found.append(f"{item.about} at {x:.1f}, {y:.1f}")
    return found


def _touches(item: Item, at: tuple[float, float], spot: Rect) -> bool:
    if isinstance(item, Circle) and hypot(item.x_mm - at[0], item.y_mm - at[1]) <= item.radius_mm + NEAR_MM:
        return True
    if isinstance(item, Polyline) and item.fill:  # the head of an arrow
        xs, ys = zip(*item.points_mm, strict=True)
        return _meet(spot, (min(xs), min(ys), max(xs), max(ys)))
    return any(_hits(segment, _grown(spot, half)) for segment, half in _segments(item))
