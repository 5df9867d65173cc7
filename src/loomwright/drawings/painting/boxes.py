"""The strokes and words of boxes, controllers and the tables of switches.

A box holds its picture and its words; the numbers of its terminals stand inside, under their wires. A controller's
box is broken, since it shows only the pins of this circuit, each with what it does. A switch's table has a line for
each position: dots where terminals are joined there, and a grey field for the position at rest.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from loomwright.drawings.content.sketch import SIDES, Side
from loomwright.drawings.content.switches import Position
from loomwright.drawings.painting.spot import Spot, plugs_at, port_bar, stroke, terminal_number, words_beside
from loomwright.drawings.placing.lettering import DOES, TERMINAL
from loomwright.drawings.placing.room import PAD_MM, ROW_MM, TEXT_GAP_MM
from loomwright.drawings.placing.shapes_boxes import box_head_mm, does_lines, port_words_mm, table_columns
from loomwright.drawings.symbols.boxes import ICON_WIDE_MM, icon
from loomwright.drawings.symbols.items import Box, Circle, Item, Line, Polyline, moved

__all__ = ["painted_box", "painted_table"]


def painted_box(spot: Spot) -> tuple[Item, ...]:
    """A box or a controller."""
    unit, shape = spot.unit, spot.shape
    firsts = [spot.at[pins[0]] for side in SIDES for _, pins in spot.side(side)[:1]]
    lasts = [spot.at[pins[-1]] for side in SIDES for _, pins in spot.side(side)[-1:]]
    words = [(spot.main_mm(port, side), port_words_mm(unit, port) / 2) for side in SIDES for port, _ in spot.side(side)]
    left = min([x - PAD_MM for x in firsts] + [x - half - 0.8 for x, half in words])
    right = max([x + PAD_MM for x in lasts] + [x + half + 0.8 for x, half in words] + [left + shape.least_mm])
    top, bottom = spot.port_mm("upper"), spot.port_mm("lower")
    items: list[Item] = [
        Box(
            x_mm=left,
            y_mm=top,
            width_mm=right - left,
            height_mm=bottom - top,
            dashed=unit.form == "controller",
            about=unit.about,
        )
    ]
    for side in SIDES:
        items += port_bar(spot, side) + plugs_at(spot, side)
        for port, _ in spot.side(side):
            items += _port_words(spot, port, side)
    picture = icon(unit.symbol)
    head, foot = box_head_mm(unit, "upper"), box_head_mm(unit, "lower")
    middle = (top + head + bottom - foot) / 2
    wide = shape.wide_mm + (ICON_WIDE_MM + TEXT_GAP_MM if picture else 0.0)
    start = (left + right - wide) / 2
    if picture:
        items += moved(picture, x_mm=start + ICON_WIDE_MM / 2, y_mm=middle, about=unit.about)
        start += ICON_WIDE_MM + TEXT_GAP_MM
    return (*items, *words_beside(spot, start, y_mm=middle))


def painted_table(spot: Spot) -> tuple[Item, ...]:
    """A switch with its positions."""
    unit, shape = spot.unit, spot.shape
    columns = [spot.at[pin] for pin in table_columns(spot.side("upper"), spot.side("lower"))]
    top = spot.y_mm - len(unit.positions) * ROW_MM / 2
    bottom = spot.y_mm + len(unit.positions) * ROW_MM / 2
    left, right = columns[0] - shape.least_mm + 0.6, columns[-1] + PAD_MM
    items: list[Item] = []
    for number, position in enumerate(unit.positions):
        if position.rest:
            items.append(_rest_field(left, right, top + number * ROW_MM, unit.about))
    items.append(Box(x_mm=left, y_mm=top, width_mm=right - left, height_mm=bottom - top, about=unit.about))
    column: dict[str, float] = {}
    for side in SIDES:
        for port, _ in spot.side(side):
            column[unit.ports[port].point.partition(".")[2]] = spot.main_mm(port, side)
            items.append(_column_line(spot, port, side, top))
            items += terminal_number(spot, port, side)
    for number, position in enumerate(unit.positions):
        items += _position_row(position, column, left, top + (number + 0.5) * ROW_MM, unit.about)
    for side in SIDES:
        items += port_bar(spot, side) + plugs_at(spot, side)
    return (*items, *words_beside(spot, right + TEXT_GAP_MM))


def _rest_field(left: float, right: float, top: float, about: str) -> Item:
    """The grey field of the position at rest."""
    return Box(x_mm=left, y_mm=top, width_mm=right - left, height_mm=ROW_MM, line_mm=0.0, fill="rule", about=about)


def _column_line(spot: Spot, port: int, side: Side, top: float) -> Item:
    """The line of a terminal down to its last dot, so that an end without a dot is seen to be none."""
    unit = spot.unit
    rows = [
        number
        for number, position in enumerate(unit.positions)
        if any(unit.ports[port].terminal in group for group in position.joins)
    ]
    far = max(rows, default=0) if side == "upper" else min(rows, default=len(unit.positions) - 1)
    x = spot.main_mm(port, side)
    return stroke(x, spot.port_mm(side), x, top + (far + 0.5) * ROW_MM, 0.3, unit.about)


def _position_row(position: Position, column: Mapping[str, float], left: float, y: float, about: str) -> Iterator[Item]:
    """A position's name, the mark of rest, and the terminals that are joined there."""
    yield TERMINAL.text(position.name, left + 2.0, y + 0.65, about=about)
    if position.rest:
        corners = ((left + 0.5, y - 0.7), (left + 1.6, y), (left + 0.5, y + 0.7))
        yield Polyline(points_mm=corners, closed=True, fill="ink", width_mm=0.0, about=about)
    for group in position.joins:
        xs = sorted(column[name] for name in group if name in column)
        if len(xs) > 1:
            dashed = not position.verified
            yield Line(x1_mm=xs[0], y1_mm=y, x2_mm=xs[-1], y2_mm=y, width_mm=0.45, dashed=dashed, about=about)
        for x in xs:
            yield Circle(x_mm=x, y_mm=y, radius_mm=0.7, width_mm=0.2, fill="ink", about=about)


def _port_words(spot: Spot, port: int, side: Side) -> list[Item]:
    """A terminal's number inside the box, and what a controller's pin does under it."""
    one = spot.unit.ports[port]
    x = spot.main_mm(port, side)
    about = spot.unit.about
    lines = does_lines(one.does)
    y = spot.port_mm(side) + (2.4 if side == "upper" else -1.2)
    items: list[Item] = []
    if one.terminal:
        items.append(TERMINAL.text(one.terminal, x, y, anchor="middle", about=about))
    step = DOES.line_mm
    first = y + step if side == "upper" else y - TERMINAL.line_mm * 0.9 - (len(lines) - 1) * step
    for number, line in enumerate(lines):
        items.append(DOES.text(line, x, first + number * step, anchor="middle", about=about))
    return items
