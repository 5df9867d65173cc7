"""The wires of a sheet: their corners on the page, their labels, and where each may be found.

A wire is one stroke from port to port. Its label stands to the right of it, just above the unit it comes down to.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from loomwright.drawings.content.wiring import Wiring
from loomwright.drawings.placing.grid import end_pin
from loomwright.drawings.placing.layout import LEVEL_MM, Laid
from loomwright.drawings.placing.lettering import LABEL, LABEL_GAP_MM, LABEL_ID, label_lines
from loomwright.drawings.symbols.items import Item, Line, Points, Polyline, WireStroke

__all__ = ["WIRE_MM", "label_places", "wire_items", "wire_points"]

WIRE_MM = 1.15
"""How thick a wire is drawn, over its edges. [mm]"""

_LEAD_MM = 0.3


def wire_points(laid: Laid, link: int) -> Points:
    """The corners of a link from its first end to its second, in the sheet's own measure."""
    pieces: list[list[tuple[float, float]]] = []
    for number, bends in enumerate(laid.bends):
        for bend in bends:
            if bend.link == link:
                pieces.append([(x, _level_mm(laid, number, level)) for x, level in bend.points])
    points: list[tuple[float, float]] = []
    start = _port_point(laid, link, 0)
    for piece in _chained(pieces, start):
        points.extend(piece)
    whole = [start, *points, _port_point(laid, link, 1)]
    return tuple(_straightened(whole))


def wire_items(wiring: Wiring, laid: Laid) -> Iterator[Item]:
    """The strokes of all links, leads first, and the labels of the wires."""
    for number, link in enumerate(laid.sketch.links):
        if not link.wire:
            points = wire_points(laid, number)
            about = laid.sketch.units[link.ends[0].unit].about
            if len(points) == 2:
                (x1, y1), (x2, y2) = points
                yield Line(x1_mm=x1, y1_mm=y1, x2_mm=x2, y2_mm=y2, width_mm=_LEAD_MM, about=about)
            else:
                yield Polyline(points_mm=points, width_mm=_LEAD_MM, about=about)
    for number, link in enumerate(laid.sketch.links):
        if link.wire:
            colour = wiring.wires[link.wire].colour
            yield WireStroke(points_mm=wire_points(laid, number), colour=colour, width_mm=WIRE_MM, about=link.wire)
    for spot in laid.labels:
        wire = wiring.wires[laid.sketch.links[spot.link].wire]
        x = laid.at[spot.pin] + LABEL_GAP_MM
        channel = laid.channels[spot.channel]
        y = channel.upper_mm if spot.above else channel.lower_mm
        first, *rest = label_lines(wire)
        yield LABEL_ID.text(first, x, y + 0.76 * LABEL_ID.line_mm, about=wire.id)
        y += LABEL_ID.line_mm
        for line in rest:
            yield LABEL.text(line, x, y + 0.76 * LABEL.line_mm, about=wire.id)
            y += LABEL.line_mm


def label_places(laid: Laid) -> Mapping[str, float]:
    """Where across the sheet each wire's label stands, by its id. [mm]"""
    return {laid.sketch.links[spot.link].wire: laid.at[spot.pin] for spot in laid.labels}


def _level_mm(laid: Laid, channel: int, level: int) -> float:
    here = laid.channels[channel]
    if level < 0:
        return here.top_mm
    return here.bottom_mm if level >= laid.levels[channel] else here.level_mm + level * LEVEL_MM


def _port_point(laid: Laid, link: int, end: int) -> tuple[float, float]:
    place = laid.sketch.links[link].ends[end]
    shape = laid.shapes[place.unit]
    middle = laid.middles_mm[laid.grid.row_of[place.unit]]
    return laid.at[end_pin(laid.sketch, link, end)], middle + shape.port_mm(place.port, place.side)


def _chained(
    pieces: list[list[tuple[float, float]]], start: tuple[float, float]
) -> Iterator[list[tuple[float, float]]]:
    """The pieces of a link, channel by channel, each turned so that it goes on from the one before."""
    left = list(pieces)
    here = start
    while left:
        best = min(left, key=lambda piece: min(_apart(here, piece[0]), _apart(here, piece[-1])))
        left.remove(best)
        if _apart(here, best[-1]) < _apart(here, best[0]):
            best = best[::-1]
        yield best
        here = best[-1]


def _apart(one: tuple[float, float], other: tuple[float, float]) -> float:
    # pieces of one link meet on one line: how far across counts before how far down
    return abs(one[0] - other[0]) * 1000.0 + abs(one[1] - other[1])


def _straightened(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """The corners without doubles and without those in the middle of a straight piece."""
    found: list[tuple[float, float]] = []
    for x, y in ((round(x, 3), round(y, 3)) for x, y in points):
        if found and found[-1] == (x, y):
            continue
        if len(found) > 1 and (found[-2][0] == found[-1][0] == x or found[-2][1] == found[-1][1] == y):
            found[-1] = (x, y)
            continue
        found.append((x, y))
    return found
