"""The symbols of what uses, stores or senses: lamps, motors, windings, resistors, instruments.

After IEC 60617 as it is remembered, drawn by our own hand. Each symbol stands round its own centre, its lines reach
straight up and down.
"""

from __future__ import annotations

from math import cos, pi, sin

from loomwright.drawings.symbols.items import Item
from loomwright.drawings.symbols.strokes import arc, box, circle, dash, letter, line, path, shape

__all__ = ["LOADS"]

_REACH = 4.6


def _leads(inside: float, reach: float = _REACH) -> tuple[Item, ...]:
    return (line(0.0, -reach, 0.0, -inside), line(0.0, inside, 0.0, reach))


def _winding() -> tuple[Item, ...]:
    bumps = tuple(arc(0.0, y, 1.05, 270.0, 450.0) for y in (-2.1, 0.0, 2.1))
    return (*_leads(3.15), *bumps)


def _arrow(x: float, y: float, dx: float, dy: float) -> Item:
    """An arrowhead at a point, looking along (dx, dy)."""
    size = (dx * dx + dy * dy) ** 0.5
    ux, uy = dx / size, dy / size
    return shape(
        (x, y),
        (x - 1.3 * ux - 0.5 * uy, y - 1.3 * uy + 0.5 * ux),
        (x - 1.3 * ux + 0.5 * uy, y - 1.3 * uy - 0.5 * ux),
        fill="ink",
    )


def _motor() -> tuple[Item, ...]:
    return (*_leads(3.2), circle(0.0, 0.0, 3.2), letter("M", 0.0, 0.0, 3.4))


def _blade(turn_deg: float) -> Item:
    """One blade of a fan: a thin drop."""
    turn = turn_deg * pi / 180
    points = [(0.0, 0.0), (1.0, -0.65), (1.9, -0.45), (2.1, 0.0), (1.9, 0.45), (1.0, 0.65)]
    return shape(*((5.6 + x * cos(turn) - y * sin(turn), x * sin(turn) + y * cos(turn)) for x, y in points), fill="ink")


def _spark() -> tuple[Item, ...]:
    return (
        line(1.9, -2.6, 1.9, 2.6, thin=True),
        line(2.4, -2.6, 2.4, 2.6, thin=True),
        path((3.4, -2.2), (4.3, -0.2), (3.6, 0.0), (4.5, 2.0), thin=True),
        _arrow(4.7, 2.5, 0.9, 2.0),
    )


def _instrument(text: str = "") -> tuple[Item, ...]:
    inside: tuple[Item, ...] = (
        (letter(text, 0.0, 0.0, 3.4),) if text else (line(-1.2, 1.8, 1.0, -1.6), _arrow(1.3, -2.05, 2.2, -3.4))
    )
    return (*_leads(3.2), circle(0.0, 0.0, 3.2), *inside)


def _diode() -> tuple[Item, ...]:
    return (
        line(0.0, -_REACH, 0.0, _REACH),
        shape((-1.8, -1.5), (1.8, -1.5), (0.0, 1.5), fill="paper"),
        line(-1.8, 1.5, 1.8, 1.5),
    )


def _resistor() -> tuple[Item, ...]:
    return (*_leads(3.0), box(-1.3, -3.0, 2.6, 6.0))


def _variable() -> tuple[Item, ...]:
    return (*_resistor(), line(-2.9, 2.2, 2.7, -2.0), _arrow(3.1, -2.3, 5.6, -4.2))


LOADS: dict[str, tuple[Item, ...]] = {
    "lamp": (*_leads(2.7), circle(0.0, 0.0, 2.7), line(-1.9, -1.9, 1.9, 1.9), line(-1.9, 1.9, 1.9, -1.9)),
    "motor": _motor(),
    "fan": (*_motor(), _blade(-58.0), _blade(62.0), _blade(180.0), circle(5.6, 0.0, 0.35, fill="ink")),
    "pump": (*_motor(), shape((3.9, -1.5), (3.9, 1.5), (6.3, 0.0), fill="ink")),
    "relay_coil": (*_leads(2.0), box(-3.2, -2.0, 6.4, 4.0)),
    "solenoid": (*_winding(), box(2.0, -2.4, 1.3, 4.8), line(3.3, 0.0, 4.4, 0.0)),
    "solenoid_linear": (
        *_winding(),
        box(2.0, -2.4, 1.3, 4.8),
        line(1.2, 2.6, 4.4, -2.4, thin=True),
        _arrow(4.8, -3.0, 3.2, -5.0),
    ),
    "injector": (
        *_winding(),
        box(2.0, -2.6, 1.4, 3.4),
        shape((2.0, 0.8), (3.4, 0.8), (2.7, 2.0), fill="ink"),
        line(2.7, 2.0, 2.2, 3.4, thin=True),
        line(2.7, 2.0, 2.7, 3.6, thin=True),
        line(2.7, 2.0, 3.2, 3.4, thin=True),
    ),
    "valve": (*_winding(), dash(1.1, 0.0, 2.3, 0.0), shape((2.3, -1.5), (2.3, 1.5), (5.3, -1.5), (5.3, 1.5))),
    "ignition_coil": (*_winding(), *_spark()),
    "resistor": _resistor(),
    "heater": (*_resistor(), *(line(-1.3, y, 1.3, y) for y in (-1.5, 0.0, 1.5))),
    "ntc": (*_resistor(), path((-3.0, 2.6), (-2.0, 2.6), (2.4, -2.4)), letter("ϑ", 3.9, -1.9, 2.4)),
    "variable": _variable(),
    "variable_pressure": (*_variable(), letter("p", -3.2, -1.4, 2.6)),
    "capacitor": (*_leads(0.55), line(-2.2, -0.55, 2.2, -0.55), line(-2.2, 0.55, 2.2, 0.55)),
    "diode": _diode(),
    "led": (
        *_diode(),
        line(2.2, -0.6, 3.6, -2.0, thin=True),
        _arrow(4.0, -2.4, 1.0, -1.0),
        line(2.6, 0.9, 4.0, -0.5, thin=True),
        _arrow(4.4, -0.9, 1.0, -1.0),
    ),
    "gauge": _instrument(),
    "gauge_a": _instrument("A"),
    "gauge_v": _instrument("V"),
    "horn": (*_leads(1.7), box(-1.6, -1.7, 3.0, 3.4), shape((1.4, -1.2), (3.8, -2.8), (3.8, 2.8), (1.4, 1.2))),
    "old_load": (*_leads(3.0), box(-2.6, -3.0, 5.2, 6.0, dashed=True), line(-1.2, 1.2, 1.2, -1.2, thin=True)),
}
"""Symbol -> its strokes."""
