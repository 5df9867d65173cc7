"""How much room do boxes, controllers and the tables of switches need?

A box is as wide as its pins and its words ask for; the numbers of its terminals stand inside, under their wires, and
for a controller what each pin does. A table has a column for each terminal and a line for each position.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from loomwright.drawings.content.sketch import Side, Unit
from loomwright.drawings.placing.grid import Pin
from loomwright.drawings.placing.lettering import DOES, TERMINAL, WordLine
from loomwright.drawings.placing.room import (
    PAD_MM,
    PIN_MM,
    PORT_ZONE_MM,
    ROW_MM,
    TEXT_GAP_MM,
    Room,
    Shape,
    SidePorts,
    main_pin,
    pins_of,
    plug_mm,
    plugged_mm,
    rooms_at,
    spread_pins,
)
from loomwright.drawings.symbols.boxes import ICON_HIGH_MM, ICON_WIDE_MM, icon
from loomwright.drawings.symbols.letters import wrapped

__all__ = ["box_head_mm", "box_shape", "does_lines", "port_words_mm", "table_columns", "table_shape"]

_DOES_WIDE_MM = 12.0
_COLUMN_MM = 5.0
_BOX_MM = 40.0
_BOX_PIN_MM = 14.0


def does_lines(does: str) -> tuple[str, ...]:
    """What a controller's pin does, in lines."""
    return wrapped(does.replace("_", " "), most_mm=_DOES_WIDE_MM, size_mm=DOES.size_mm)


def box_head_mm(unit: Unit, side: Side) -> float:
    """How deep the words at a box's ports reach into it. [mm]"""
    ports = [port for port in unit.ports if port.side == side]
    if not ports:
        return 0.8
    does = max((len(does_lines(port.does)) for port in ports if port.does), default=0)
    return PORT_ZONE_MM + 0.2 + does * DOES.line_mm


def table_columns(
    upper: Sequence[tuple[int, tuple[Pin, ...]]], lower: Sequence[tuple[int, tuple[Pin, ...]]]
) -> list[Pin]:
    """The columns of a switch's table, left to right: both sides dealt in evenly, each in its own order."""
    placed = [
        ((number + 0.5) / len(side), rank, main_pin(pins))
        for rank, side in enumerate((upper, lower))
        for number, (_, pins) in enumerate(side)
    ]
    return [pin for _, _, pin in sorted(placed)]


def box_shape(
    unit: Unit, lines: tuple[WordLine, ...], wide: float, high: float, upper: SidePorts, lower: SidePorts
) -> Shape:
    """A box or a controller measured."""
    picture = ICON_WIDE_MM + TEXT_GAP_MM if icon(unit.symbol) else 0.0
    tall = box_head_mm(unit, "upper") + box_head_mm(unit, "lower") + max(high, ICON_HIGH_MM if picture else 0.0) + 1.2
    half = tall / 2
    least = wide + picture + 3.0
    halves = {number: port_words_mm(unit, number) / 2 for number in range(len(unit.ports))}
    rooms = []
    for side in (upper, lower):
        if side:
            first, last = side[0], side[-1]
            pad = max(PAD_MM, halves[first[0]] + 0.8, plug_mm(unit, first[0]))
            rooms.append(Room(pin=first[1][0], left_mm=pad, right_mm=least - PAD_MM))
            rooms.append(Room(pin=last[1][-1], left_mm=PIN_MM, right_mm=max(PAD_MM, halves[last[0]] + 0.8)))
    apart = [*spread_pins(unit, upper, halves), *spread_pins(unit, lower, halves)]
    for side in (upper, lower):
        mains = [(port, main_pin(pins)) for port, pins in side]
        apart.extend(
            (one, other, halves[before] + halves[port] + 1.0)
            for (before, one), (port, other) in itertools.pairwise(mains)
        )
    return Shape(
        up_mm=half,
        down_mm=half,
        top_mm=half + plugged_mm(unit, "upper"),
        bottom_mm=half + plugged_mm(unit, "lower"),
        lines=lines,
        wide_mm=wide,
        high_mm=high,
        rooms=tuple(rooms),
        apart=tuple(apart),
        least_mm=least,
        fond=((main_pin(upper[0][1]), main_pin(lower[0][1])),) if len(upper) == len(lower) == 1 else (),
        tight=() if unit.form == "controller" else ((pins_of(upper) + pins_of(lower), _box_limit(upper, lower)),),
    )


def port_words_mm(unit: Unit, port: int) -> float:
    """How wide the words at a port inside a box are. [mm]"""
    one = unit.ports[port]
    return max(
        TERMINAL.long_mm(one.terminal),
        *(DOES.long_mm(line) for line in does_lines(one.does)),
        0.0,
    )


def table_shape(
    unit: Unit, lines: tuple[WordLine, ...], wide: float, high: float, upper: SidePorts, lower: SidePorts
) -> Shape:
    """A switch with its positions measured."""
    half = max(len(unit.positions) * ROW_MM / 2 + PORT_ZONE_MM + 0.4, high / 2 + 0.8)
    words = max(TERMINAL.long_mm(position.name) for position in unit.positions) + 5.0
    columns = table_columns(upper, lower)
    rooms = [
        Room(pin=columns[0], left_mm=words, right_mm=PIN_MM),
        Room(pin=columns[-1], left_mm=PIN_MM, right_mm=PAD_MM + TEXT_GAP_MM + wide + 0.4),
    ]
    apart = [(one, other, _COLUMN_MM) for one, other in itertools.pairwise(columns)]
    return Shape(
        up_mm=half,
        down_mm=half,
        top_mm=half + plugged_mm(unit, "upper"),
        bottom_mm=half + plugged_mm(unit, "lower"),
        lines=lines,
        wide_mm=wide,
        high_mm=high,
        rooms=(*rooms, *rooms_at(unit, upper), *rooms_at(unit, lower)),
        apart=(*spread_pins(unit, upper), *spread_pins(unit, lower), *apart),
        least_mm=words,
    )


def _box_limit(upper: SidePorts, lower: SidePorts) -> float:
    return _BOX_MM + _BOX_PIN_MM * (len(pins_of(upper)) + len(pins_of(lower)))
