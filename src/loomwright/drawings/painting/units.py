"""The strokes and words of one unit, at its place on the page.

Draws what `shapes` measured. Symbols with one way through, several from one terminal, and lying ones are here; joints
and supplies in `ends`, boxes and tables in `boxes`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from loomwright.drawings.content.sketch import SIDES, Side
from loomwright.drawings.painting.boxes import painted_box, painted_table
from loomwright.drawings.painting.ends import ENDS
from loomwright.drawings.painting.spot import Spot, lead, plugs_at, port_bar, stroke, terminal_number, words_beside
from loomwright.drawings.placing.room import TEXT_GAP_MM, main_pin
from loomwright.drawings.symbols.items import Box, Circle, Item, Line, Polyline, Text, moved
from loomwright.drawings.symbols.one_way import inline_symbol
from loomwright.drawings.symbols.strokes import flipped

__all__ = ["painted"]


def painted(spot: Spot) -> tuple[Item, ...]:
    """All strokes and words of a unit."""
    return tuple(_PAINTERS[spot.unit.form](spot))


def _both(spot: Spot, symbol_up: float, symbol_down: float, x: float, y: float) -> list[Item]:
    """Leads from the ports to a symbol's ends."""
    about = spot.unit.about
    return [
        *lead(x, spot.port_mm("upper"), y - symbol_up, about),
        *lead(x, y + symbol_down, spot.port_mm("lower"), about),
    ]


def _inline(spot: Spot) -> list[Item]:
    unit, core = spot.unit, spot.shape.core
    assert core is not None
    symbol = inline_symbol(unit.symbol, closed=any(unit.closed), turned=unit.turned)
    x = spot.at[core]
    items = [*moved(symbol.items, x_mm=x, y_mm=spot.y_mm, about=unit.about)]
    items += _both(spot, symbol.up_mm, symbol.down_mm, x, spot.y_mm)
    for side in SIDES:
        items += port_bar(spot, side) + plugs_at(spot, side)
        for port, _ in spot.side(side):
            items += terminal_number(spot, port, side, x_mm=x)
    return items + words_beside(spot, x + symbol.right_mm + TEXT_GAP_MM)


def _comb(spot: Spot) -> list[Item]:
    unit = spot.unit
    common: Side = unit.ports[unit.common].side
    many: Side = "lower" if common == "upper" else "upper"
    down = common == "upper"
    symbols = {port: inline_symbol(unit.symbol, closed=unit.closed[port]) for port, _ in spot.side(many)}
    reach = max(symbol.up_mm for symbol in symbols.values())
    bar_y = spot.y_mm + (-reach if down else reach)
    xs = []
    items: list[Item] = []
    for port, pins in spot.side(many):
        x = spot.at[main_pin(pins)]
        xs.append(x)
        symbol = symbols[port]
        # the blades turn on the terminal they share
        strokes = flipped(symbol.items) if down and unit.symbol.startswith("contact") else symbol.items
        items += moved(strokes, x_mm=x, y_mm=spot.y_mm, about=unit.about)
        near = spot.y_mm - symbol.up_mm if down else spot.y_mm + symbol.down_mm
        far = spot.y_mm + symbol.down_mm if down else spot.y_mm - symbol.up_mm
        items += lead(x, near, bar_y, unit.about) + lead(x, far, spot.port_mm(many), unit.about)
        items += terminal_number(spot, port, many)
    for port, pins in spot.side(common):
        x = spot.at[main_pin(pins)]
        xs.append(x)
        items += lead(x, spot.port_mm(common), bar_y, unit.about) + terminal_number(spot, port, common)
    items.append(stroke(min(xs), bar_y, max(xs), bar_y, 0.3, unit.about))
    for side in SIDES:
        items += port_bar(spot, side) + plugs_at(spot, side)
    last = max(spot.at[main_pin(pins)] for _, pins in spot.side(many))
    right = max(symbol.right_mm for symbol in symbols.values())
    return items + words_beside(spot, last + right + TEXT_GAP_MM)


def _bridge(spot: Spot) -> list[Item]:
    unit = spot.unit
    side: Side = "lower" if spot.side("lower") else "upper"
    symbol = inline_symbol(unit.symbol)
    legs = [(port, spot.at[main_pin(pins)]) for port, pins in spot.side(side)]
    left, right = min(x for _, x in legs), max(x for _, x in legs)
    middle = (left + right) / 2
    items: list[Item] = [*moved(_lying(symbol.items), x_mm=middle, y_mm=spot.y_mm, about=unit.about)]
    items.append(stroke(left, spot.y_mm, middle - symbol.up_mm, spot.y_mm, 0.3, unit.about))
    items.append(stroke(middle + symbol.down_mm, spot.y_mm, right, spot.y_mm, 0.3, unit.about))
    for port, x in legs:
        items += lead(x, spot.y_mm, spot.port_mm(side), unit.about) + terminal_number(spot, port, side)
    return items + port_bar(spot, side) + plugs_at(spot, side) + words_beside(spot, right + TEXT_GAP_MM)


def _lying(items: Sequence[Item]) -> tuple[Item, ...]:
    """A symbol turned to lie: its upper end to the left. Letters stay upright."""
    return tuple(_turned(item) for item in items)


def _turned(item: Item) -> Item:
    if isinstance(item, Line):
        return stroke(item.y1_mm, item.x1_mm, item.y2_mm, item.x2_mm, item.width_mm, item.about)
    if isinstance(item, Polyline):
        return Polyline(
            points_mm=tuple((y, x) for x, y in item.points_mm),
            width_mm=item.width_mm,
            closed=item.closed,
            fill=item.fill,
        )
    if isinstance(item, Box):
        return Box(x_mm=item.y_mm, y_mm=item.x_mm, width_mm=item.height_mm, height_mm=item.width_mm, dashed=item.dashed)
    if isinstance(item, Circle):
        return Circle(x_mm=item.y_mm, y_mm=item.x_mm, radius_mm=item.radius_mm, fill=item.fill)
    if isinstance(item, Text):
        middle = item.y_mm - 0.33 * item.size_mm
        return moved((item,), x_mm=middle - item.x_mm, y_mm=item.x_mm - middle)[0]
    return item


_PAINTERS: Mapping[str, Callable[[Spot], Sequence[Item]]] = {
    **ENDS,
    "inline": _inline,
    "comb": _comb,
    "bridge": _bridge,
    "box": painted_box,
    "controller": painted_box,
    "table": painted_table,
}
