"""The symbols of what opens and protects: contacts by what moves them, fuses, connectors.

After IEC 60617 as it is remembered, drawn by our own hand; contacts are drawn as they lie at rest. Each symbol stands
round its own centre, its lines reach straight up and down.
"""

from __future__ import annotations

from loomwright.drawings.symbols.items import Item, moved
from loomwright.drawings.symbols.strokes import arc, box, circle, dash, letter, line, path, shape

__all__ = ["contact", "contact_resistor", "protection"]

_UP_MM = 4.2

_PIVOT = 2.1


def contact(symbol: str, *, closed: bool) -> tuple[Item, ...]:
    """A contact at rest with what moves it on its left: hand, key, lever, push, pressure, warmth, door, crash, coil."""
    blade = path((0.0, _PIVOT), (1.9, -2.9)) if closed else path((0.0, _PIVOT), (-2.4, -2.3))
    fixed = [line(0.0, -_PIVOT, 1.7, -_PIVOT)] if closed else []
    items: list[Item] = [
        line(0.0, -_UP_MM, 0.0, -_PIVOT),
        line(0.0, _PIVOT, 0.0, _UP_MM),
        circle(0.0, _PIVOT, 0.35, fill="ink"),
        blade,
        *fixed,
    ]
    middle = (0.85, -0.1) if closed else (-1.2, -0.1)
    mover = _MOVERS.get(symbol)
    if symbol == "contact_old":
        return (*items, box(-3.2, -2.8, 6.0, 5.6, dashed=True))
    if mover is not None:
        items.extend((dash(middle[0], middle[1], -4.4, middle[1]), *mover))
    return tuple(items)


def contact_resistor(*, closed: bool) -> tuple[Item, ...]:
    """A contact with a resistor behind it, as an isolator bleeds an alternator."""
    upper = moved(contact("contact_hand", closed=closed), x_mm=0.0, y_mm=-4.0)
    return (*upper, box(-1.3, 1.4, 2.6, 5.2), line(0.0, 0.2, 0.0, 1.4), line(0.0, 6.6, 0.0, 8.2))


def protection(symbol: str) -> tuple[Item, ...]:
    """A fuse, a fusible link, a circuit breaker, or one way of a connector."""
    return _PROTECTION[symbol]


_MOVERS: dict[str, tuple[Item, ...]] = {
    "contact_hand": (line(-4.4, -1.3, -4.4, 1.1),),
    "contact_push": (path((-3.8, -1.3), (-4.4, -1.3), (-4.4, 1.1), (-3.8, 1.1)),),
    "contact_key": (circle(-5.2, -0.1, 0.8), line(-6.0, -0.1, -7.0, -0.1)),
    "contact_lever": (circle(-5.0, -0.1, 0.6, fill="ink"),),
    "contact_pressure": (box(-7.4, -1.6, 3.0, 3.0), letter("p", -5.9, -0.3, 2.2)),
    "contact_temperature": (box(-7.4, -1.6, 3.0, 3.0), letter("ϑ", -5.9, -0.1, 2.2)),
    "contact_door": (arc(-4.4, -0.1, 1.2, 90.0, 270.0), line(-4.4, -1.3, -4.4, 1.1)),
    "contact_crash": (shape((-4.4, -0.1), (-6.2, -1.2), (-6.2, 1.0), fill="ink"),),
}
_PROTECTION: dict[str, tuple[Item, ...]] = {
    "fuse": (box(-1.35, -2.9, 2.7, 5.8), line(0.0, -4.2, 0.0, 4.2)),
    "link": (
        line(0.0, -4.2, 0.0, -3.0),
        line(0.0, 3.0, 0.0, 4.2),
        circle(0.0, -2.5, 0.5),
        circle(0.0, 2.5, 0.5),
        arc(0.0, -1.0, 1.0, 90.0, 270.0),
        arc(0.0, 1.0, 1.0, 270.0, 450.0),
    ),
    "breaker": (
        line(0.0, -4.2, 0.0, -3.0),
        line(0.0, 3.0, 0.0, 4.2),
        circle(0.0, -2.5, 0.5),
        circle(0.0, 2.5, 0.5),
        arc(-0.4, 0.0, 2.2, 295.0, 425.0),
        line(0.7, -0.9, 2.8, -0.9, thin=True),
        line(1.75, -1.9, 1.75, -0.9, thin=True),
    ),
    "plug": (
        line(0.0, -3.2, 0.0, -2.0),
        box(-0.5, -2.0, 1.0, 2.2, fill="ink"),
        arc(0.0, 0.2, 1.4, 0.0, 180.0),
        line(0.0, 1.6, 0.0, 3.2),
    ),
}
