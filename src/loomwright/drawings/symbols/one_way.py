"""How does a piece with one way through look, and how much room does it need?

Looks a symbol up by the name that the table of symbols gives it. Measures come with it: how far it reaches to the
left, to the right, up and down from its centre; its lines begin at the top and end at the bottom of that.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from loomwright.drawings.symbols.contacts import contact, contact_resistor, protection
from loomwright.drawings.symbols.items import Arc, Box, Circle, Item, Line, Text
from loomwright.drawings.symbols.letters import text_box
from loomwright.drawings.symbols.loads import LOADS
from loomwright.drawings.symbols.strokes import flipped

__all__ = ["Symbol", "inline_symbol", "reach"]

_PROTECTION = ("fuse", "link", "breaker", "plug")
_WAY_MATTERS = ("diode", "led", "plug")


@dataclass(frozen=True, slots=True, kw_only=True)
class Symbol:
    """A symbol round its centre.

    left_mm, right_mm, up_mm, down_mm: how far it reaches. [mm]
    """

    items: tuple[Item, ...]
    left_mm: float
    right_mm: float
    up_mm: float
    down_mm: float


@cache
def inline_symbol(name: str, *, closed: bool = False, turned: bool = False) -> Symbol:
    """A symbol with one way through.

    Args:
        name: as the table of symbols has it.
        closed: of a contact, that it is closed at rest.
        turned: its usual upper end is below; matters where a current has only one way.
    Example:
        >>> inline_symbol("lamp").right_mm
        2.7
    """
    if name == "contact_resistor":
        items = contact_resistor(closed=closed)
    elif name.startswith("contact"):
        items = contact(name, closed=closed)
    elif name in _PROTECTION:
        items = protection(name)
    else:
        items = LOADS[name]
    if turned and name in _WAY_MATTERS:
        items = flipped(items)
    left, top, right, bottom = reach(items)
    return Symbol(items=items, left_mm=-left, right_mm=right, up_mm=-top, down_mm=bottom)


def reach(items: tuple[Item, ...]) -> tuple[float, float, float, float]:
    """The room that strokes and words take, without the thickness of lines: left, top, right, bottom. [mm]"""
    boxes = [_reach(item) for item in items]
    return (
        min((box[0] for box in boxes), default=0.0),
        min((box[1] for box in boxes), default=0.0),
        max((box[2] for box in boxes), default=0.0),
        max((box[3] for box in boxes), default=0.0),
    )


def _reach(item: Item) -> tuple[float, float, float, float]:
    if isinstance(item, Text):
        return text_box(item)
    if isinstance(item, Line):
        xs, ys = (item.x1_mm, item.x2_mm), (item.y1_mm, item.y2_mm)
        return min(xs), min(ys), max(xs), max(ys)
    if isinstance(item, Circle | Arc):
        radius = item.radius_mm
        return item.x_mm - radius, item.y_mm - radius, item.x_mm + radius, item.y_mm + radius
    if isinstance(item, Box):
        return item.x_mm, item.y_mm, item.x_mm + item.width_mm, item.y_mm + item.height_mm
    across, down = zip(*item.points_mm, strict=True)
    return min(across), min(down), max(across), max(down)
