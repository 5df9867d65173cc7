"""How much room does each unit need on the page?

Everything is measured from the unit's *core*, the line straight down through its symbol, and from the middle of its
row. Ports lie `up_mm` above and `down_mm` below that middle. Words stand to the right of a symbol, under an earth,
over a supply line, inside a box. What is measured here is what `painting` draws. Boxes and tables: `shapes_boxes`.
"""

from __future__ import annotations

import itertools

from loomwright.drawings.content.sketch import Unit
from loomwright.drawings.placing.grid import Pin
from loomwright.drawings.placing.lettering import STYLES, WordLine, block_mm, word_lines
from loomwright.drawings.placing.room import (
    BAR_MM,
    PIN_MM,
    PORT_ZONE_MM,
    TEXT_GAP_MM,
    Ports,
    Room,
    Shape,
    SidePorts,
    main_pin,
    number_mm,
    pins_of,
    plugged_mm,
    rooms_at,
    spread_pins,
    terminal_mm,
    tight_ports,
)
from loomwright.drawings.placing.shapes_boxes import box_shape, table_shape
from loomwright.drawings.symbols.one_way import inline_symbol

__all__ = ["shape_of"]

_WORDS_MM = {"earth": 19.0, "post": 19.0, "line": 30.0, "box": 24.0, "controller": 30.0, "bar": 24.0}
_OTHER_WORDS_MM = 21.0
_LEGS_MM = 34.0
_COMB_MM = 45.0


def shape_of(number: int, unit: Unit, ports: Ports, circuit: str) -> Shape:
    """The room a unit needs.

    Args:
        number: the unit's.
        ports: from the order of its drawing.
        circuit: the drawing's.
    """
    lines = word_lines(unit.words, most_mm=_WORDS_MM.get(unit.form, _OTHER_WORDS_MM))
    # a supply's number stands before its words, not over them
    wide, high = block_mm([line for line in lines if line.style != "number"], circuit)
    upper, lower = ports[number, "upper"], ports[number, "lower"]
    measure = _MEASURES.get(unit.form, box_shape)
    return measure(unit, lines, wide, high, upper, lower)


def _inline(
    unit: Unit, lines: tuple[WordLine, ...], wide: float, high: float, upper: SidePorts, lower: SidePorts
) -> Shape:
    symbol = inline_symbol(unit.symbol, closed=any(unit.closed), turned=unit.turned)
    half = max(symbol.up_mm, symbol.down_mm, high / 2 - 0.6) + 1.9
    at = [main_pin(pins) for side in (upper, lower) for _, pins in side]
    label = max((terminal_mm(unit, port) for side in (upper, lower) for port, _ in side), default=0.0)
    left = max(symbol.left_mm, label) + 0.6
    core = Room(pin=at[0], left_mm=left, right_mm=symbol.right_mm + TEXT_GAP_MM + wide + 0.4)
    return Shape(
        up_mm=half,
        down_mm=half,
        top_mm=half + plugged_mm(unit, "upper"),
        bottom_mm=half + plugged_mm(unit, "lower"),
        lines=lines,
        wide_mm=wide,
        high_mm=high,
        rooms=(core, *rooms_at(unit, upper), *rooms_at(unit, lower)),
        apart=(*spread_pins(unit, upper), *spread_pins(unit, lower)),
        core=at[0],
        same=((at[0], at[1]),) if len(at) == 2 else (),
        tight=tight_ports(upper, lower),
    )


def _comb(
    unit: Unit, lines: tuple[WordLine, ...], wide: float, high: float, upper: SidePorts, lower: SidePorts
) -> Shape:
    many, few = (lower, upper) if unit.ports[unit.common].side == "upper" else (upper, lower)
    symbols = [inline_symbol(unit.symbol, closed=closed) for closed in (False, True)]
    left = max(symbol.left_mm for symbol in symbols)
    right = max(symbol.right_mm for symbol in symbols)
    reach = max(symbol.up_mm for symbol in symbols)
    half = max(reach + PORT_ZONE_MM, high / 2 + 0.8)
    leads = [(port, main_pin(pins)) for port, pins in many]
    apart = [*spread_pins(unit, many), *spread_pins(unit, few)]
    for (_, one), (port, other) in itertools.pairwise(leads):
        apart.append((one, other, right + 1.0 + max(left, terminal_mm(unit, port))))
    shared = main_pin(few[0][1])
    first = Room(pin=leads[0][1], left_mm=max(left, terminal_mm(unit, leads[0][0])) + 0.6, right_mm=right)
    last = Room(pin=leads[-1][1], left_mm=left, right_mm=right + TEXT_GAP_MM + wide + 0.4)
    return Shape(
        up_mm=half,
        down_mm=half,
        top_mm=half + plugged_mm(unit, "upper"),
        bottom_mm=half + plugged_mm(unit, "lower"),
        lines=lines,
        wide_mm=wide,
        high_mm=high,
        rooms=(first, last, *rooms_at(unit, upper), *rooms_at(unit, lower)),
        apart=tuple(apart),
        same=((shared, leads[(len(leads) - 1) // 2][1]),),
        tight=((tuple(pin for _, pin in leads), _COMB_MM * (len(leads) - 1)), *tight_ports(upper, lower)),
    )


def _bridge(
    unit: Unit, lines: tuple[WordLine, ...], wide: float, high: float, upper: SidePorts, lower: SidePorts
) -> Shape:
    side = upper or lower
    symbol = inline_symbol(unit.symbol)
    legs = [main_pin(pins) for _, pins in side]
    tall = max(symbol.left_mm, symbol.right_mm)
    half = max(tall, high / 2 + 0.4)
    reach = half + PORT_ZONE_MM
    apart = [*spread_pins(unit, side), (legs[0], legs[-1], symbol.up_mm + symbol.down_mm + 1.0)]
    last = Room(pin=legs[-1], left_mm=PIN_MM, right_mm=TEXT_GAP_MM + wide + 0.4)
    up = reach if upper else half
    down = reach if lower else half
    return Shape(
        up_mm=up,
        down_mm=down,
        top_mm=up + plugged_mm(unit, "upper"),
        bottom_mm=down + plugged_mm(unit, "lower"),
        lines=lines,
        wide_mm=wide,
        high_mm=high,
        rooms=(last, *rooms_at(unit, side)),
        apart=tuple(apart),
        tight=(((legs[0], legs[-1]), _LEGS_MM), *tight_ports(side, ())),
    )


def _bar(
    unit: Unit, lines: tuple[WordLine, ...], wide: float, high: float, upper: SidePorts, lower: SidePorts
) -> Shape:
    rooms = [*rooms_at(unit, upper), *rooms_at(unit, lower)]
    for side in (upper, lower):
        if side:
            rooms.append(Room(pin=side[-1][1][-1], left_mm=PIN_MM, right_mm=BAR_MM + TEXT_GAP_MM + wide + 0.4))
    fond: tuple[tuple[Pin, Pin], ...] = ()
    if upper and lower:
        above, below = pins_of(upper), pins_of(lower)
        few, many = (above, below) if len(above) <= len(below) else (below, above)
        fond = tuple((pin, many[int((count + 0.5) / len(few) * len(many))]) for count, pin in enumerate(few))
    zone = PORT_ZONE_MM + 0.3
    return Shape(
        up_mm=0.0,
        down_mm=0.0,
        top_mm=max(zone if upper else 0.0, high / 2),
        bottom_mm=max(zone if lower else 0.0, high / 2),
        lines=lines,
        wide_mm=wide,
        high_mm=high,
        rooms=tuple(rooms),
        apart=(*spread_pins(unit, upper), *spread_pins(unit, lower)),
        fond=fond,
    )


def _line(
    unit: Unit, lines: tuple[WordLine, ...], wide: float, high: float, upper: SidePorts, lower: SidePorts
) -> Shape:
    wide += number_mm(lines)
    high = max(high, STYLES["number"].line_mm)
    first, last = lower[0], lower[-1]
    rooms = [
        Room(pin=first[1][0], left_mm=max(BAR_MM + 0.6, terminal_mm(unit, first[0])), right_mm=wide + 1.5),
        Room(pin=last[1][-1], left_mm=PIN_MM, right_mm=BAR_MM + 1.0),
    ]
    return Shape(
        up_mm=high + 1.4,
        down_mm=0.0,
        top_mm=high + 1.4,
        bottom_mm=PORT_ZONE_MM,
        lines=lines,
        wide_mm=wide,
        high_mm=high,
        rooms=tuple(rooms),
        apart=tuple(spread_pins(unit, lower)),
    )


def _hanging(
    unit: Unit, lines: tuple[WordLine, ...], wide: float, high: float, upper: SidePorts, lower: SidePorts
) -> Shape:
    """Earths, posts, arrows, free ends: a lead, a mark, and words under it, or over it where it points up."""
    side = upper or lower
    port, pins = side[0]
    core = main_pin(pins)
    mark = {"earth": 2.4, "post": 1.4, "arrow": 0.6, "free": 1.0}[unit.form]
    lead = {"earth": PORT_ZONE_MM, "post": PORT_ZONE_MM + 1.4}.get(unit.form, 2.4)
    far = mark + 0.8 + high
    left = max(wide / 2, 2.6, terminal_mm(unit, port)) + 0.7
    return Shape(
        up_mm=lead if upper else far,
        down_mm=far if upper else lead,
        top_mm=lead if upper else far,
        bottom_mm=far if upper else lead,
        lines=lines,
        wide_mm=wide,
        high_mm=high,
        rooms=(Room(pin=core, left_mm=left, right_mm=max(wide / 2, 2.6) + 0.7), *rooms_at(unit, side)),
        apart=tuple(spread_pins(unit, side)),
        core=core,
    )


def _battery(
    unit: Unit, lines: tuple[WordLine, ...], wide: float, high: float, upper: SidePorts, lower: SidePorts
) -> Shape:
    half = max(5.0, high / 2 + 1.4)
    live = [pin for port, pins in lower if port == 0 for pin in pins]
    cell = next(main_pin(pins) for port, pins in lower if port != 0)
    apart = spread_pins(unit, lower)
    order = pins_of(lower)
    right = 3.4 + TEXT_GAP_MM + wide + 1.0
    for pin in live:
        if order.index(pin) > order.index(cell):
            apart.append((cell, pin, right + PIN_MM))
        else:
            apart.append((pin, cell, 5.0))
    return Shape(
        up_mm=half + 5.6,
        down_mm=half,
        top_mm=half + 5.6,
        bottom_mm=half,
        lines=lines,
        wide_mm=wide,
        high_mm=high,
        rooms=(Room(pin=cell, left_mm=4.6, right_mm=right), *rooms_at(unit, lower)),
        apart=tuple(apart),
        core=cell,
        raised=((0, -half + 0.4),),
    )


_MEASURES = {
    "inline": _inline,
    "comb": _comb,
    "bridge": _bridge,
    "box": box_shape,
    "controller": box_shape,
    "table": table_shape,
    "bar": _bar,
    "line": _line,
    "earth": _hanging,
    "post": _hanging,
    "arrow": _hanging,
    "free": _hanging,
    "battery": _battery,
}
