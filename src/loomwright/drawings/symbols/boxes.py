"""The small pictures inside boxes: what sort of thing it is, beside its name.

Drawn by our own hand, in a field of eight by six millimetres round its centre.
"""

from __future__ import annotations

from math import cos, pi, sin

from loomwright.drawings.symbols.items import Item
from loomwright.drawings.symbols.strokes import arc, box, circle, letter, line, path, shape

__all__ = ["ICON_HIGH_MM", "ICON_WIDE_MM", "icon"]

ICON_WIDE_MM = 8.0
"""How wide the field of a picture is. [mm]"""

ICON_HIGH_MM = 6.4
"""How high it is. [mm]"""


def icon(symbol: str) -> tuple[Item, ...]:
    """The picture of a box; none where it has none."""
    return _ICONS.get(symbol, ())


def _wave(turns: int = 3) -> Item:
    step = 6.0 / (2 * turns)
    points = []
    for number in range(2 * turns):
        y = 1.6 if number % 2 else -1.6
        points.extend([(-3.0 + number * step, y), (-3.0 + (number + 1) * step, y)])
    return path(*points)


def _teeth() -> Item:
    points = []
    for number in range(10):
        for radius, part in ((2.9, 0.05), (2.9, 0.45), (2.1, 0.55), (2.1, 0.95)):
            turn = (number + part) * 2 * pi / 10
            points.append((radius * cos(turn), radius * sin(turn)))
    return shape(*points)


def _lying_winding(x: float, y: float) -> tuple[Item, ...]:
    return tuple(arc(x + step, y, 0.9, 180.0, 360.0) for step in (-1.8, 0.0, 1.8))


def _sine(y: float, sign: float) -> Item:
    return path(*((-3.4 + 0.34 * n, y + sign * 1.2 * sin(n * pi / 5)) for n in range(21)))


_GENERATOR = circle(0.0, 0.0, 2.9)
_ICONS: dict[str, tuple[Item, ...]] = {
    "generator": (_GENERATOR, letter("G", 0.0, -1.0, 2.5), letter("3~", 0.0, 1.35, 1.7)),
    "generator_dc": (_GENERATOR, letter("G", 0.0, -0.5, 2.8), line(-0.9, 1.7, 0.9, 1.7)),
    "cut_out": (
        path((-3.2, 1.2), (-1.2, 1.2), (0.6, -1.0)),
        line(1.0, 1.2, 3.2, 1.2),
        box(-1.6, 1.9, 3.2, 1.2),
    ),
    "starter": (
        circle(1.2, 0.4, 2.5),
        letter("M", 1.2, 0.4, 2.7),
        path((-3.4, 2.4), (-3.4, 1.0), (-2.4, -1.4)),
        line(-3.4, -3.0, -3.4, -1.5),
    ),
    "timer": (box(-3.2, -1.5, 3.0, 3.0), circle(2.0, 0.0, 1.8), path((2.0, -1.1), (2.0, 0.0), (2.9, 0.5))),
    "pulse": (_wave(),),
    "motor_box": (circle(0.0, 0.0, 2.8), letter("M", 0.0, 0.0, 3.0)),
    "wiper": (
        circle(-1.4, 0.8, 2.1),
        letter("M", -1.4, 0.8, 2.3),
        path((0.2, -0.6), (2.0, -2.4)),
        arc(0.2, -0.4, 2.6, 290.0, 350.0),
    ),
    "transistor": (
        line(-3.0, 0.0, -0.8, 0.0),
        line(-0.8, -1.8, -0.8, 1.8),
        path((-0.8, -0.8), (1.6, -2.2), (1.6, -3.0)),
        path((-0.8, 0.8), (1.6, 2.2), (1.6, 3.0)),
        shape((1.4, 2.1), (0.2, 2.0), (0.8, 1.1), fill="ink"),
    ),
    "coil_box": (
        *_lying_winding(-0.6, 1.0),
        line(-3.2, 1.7, 2.0, 1.7),
        path((1.6, -2.8), (2.4, -1.2), (1.9, -1.1), (2.8, 0.6)),
        line(-3.3, 1.0, -3.3, 2.4),
    ),
    "slider": (
        box(-3.2, -0.9, 6.4, 1.8),
        line(0.6, -2.9, 0.6, -1.6),
        shape((0.6, -0.9), (0.1, -2.0), (1.1, -2.0), fill="ink"),
    ),
    "pressure_box": (circle(0.0, 0.0, 2.7), letter("p", 0.0, -0.15, 3.0)),
    "flow": (
        line(-3.2, -2.0, 3.2, -2.0),
        line(-3.2, 2.0, 3.2, 2.0),
        line(-2.6, 0.0, 1.6, 0.0),
        shape((2.8, 0.0), (1.4, -0.7), (1.4, 0.7), fill="ink"),
    ),
    "hall": (_teeth(), circle(0.0, 0.0, 0.5)),
    "pickup": (
        *_lying_winding(0.0, 0.4),
        line(-2.7, 0.4, -2.7, 1.8),
        line(2.7, 0.4, 2.7, 1.8),
        line(-2.7, -1.1, 2.7, -1.1),
    ),
    "crystal": (
        box(-1.0, -1.9, 2.0, 3.8),
        line(-1.9, -1.9, -1.9, 1.9),
        line(1.9, -1.9, 1.9, 1.9),
        line(-3.2, 0.0, -1.9, 0.0),
        line(1.9, 0.0, 3.2, 0.0),
    ),
    "heated_cell": (
        box(-2.6, -1.9, 2.2, 3.8),
        path((0.8, -1.9), (1.8, -1.2), (0.8, -0.4), (1.8, 0.4), (0.8, 1.2), (1.8, 1.9)),
    ),
    "gauge_box": (
        circle(0.0, 0.0, 2.8),
        line(-1.0, 1.5, 0.9, -1.4),
        shape((1.2, -1.9), (0.1, -1.2), (0.9, -0.7), fill="ink"),
    ),
    "level": (path((-3.2, -1.6), (-0.4, -1.6), (-0.4, 1.2), (3.2, 1.2)),),
    "sound": (
        box(-2.6, -1.0, 1.6, 2.0),
        shape((-1.0, -1.0), (0.6, -2.4), (0.6, 2.4), (-1.0, 1.0)),
        arc(0.8, 0.0, 1.5, 310.0, 410.0),
        arc(0.8, 0.0, 2.6, 310.0, 410.0),
    ),
    "key": (circle(-1.8, 0.0, 1.3), path((-0.5, 0.0), (3.0, 0.0), (3.0, 1.2)), line(1.8, 0.0, 1.8, 0.9)),
    "socket": (
        circle(0.0, 0.0, 2.9),
        *(circle(1.6 * cos(k * pi / 3), 1.6 * sin(k * pi / 3), 0.3, fill="ink") for k in range(6)),
    ),
    "pair": (_sine(0.0, 1.0), _sine(0.0, -1.0)),
}
