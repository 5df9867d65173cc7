"""Which field of the page does an item take?"""

from __future__ import annotations

from loomwright.drawings.symbols.items import Arc, Box, Circle, Item, Line, Text
from loomwright.drawings.symbols.letters import text_mm

__all__ = ["field_of"]


def field_of(item: Item) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of an item. [mm]

    Example:
        >>> field_of(Circle(x_mm=5.0, y_mm=5.0, radius_mm=2.0))
        (3.0, 3.0, 7.0, 7.0)
    """
    if isinstance(item, Line):
        xs, ys = (item.x1_mm, item.x2_mm), (item.y1_mm, item.y2_mm)
        return min(xs), min(ys), max(xs), max(ys)
    if isinstance(item, Circle | Arc):
        r = item.radius_mm
        return item.x_mm - r, item.y_mm - r, item.x_mm + r, item.y_mm + r
    if isinstance(item, Box):
        return item.x_mm, item.y_mm, item.x_mm + item.width_mm, item.y_mm + item.height_mm
    if isinstance(item, Text):
        long = text_mm(item.text, size_mm=item.size_mm, font=item.font, strong=item.strong)
        left = item.x_mm - {"start": 0.0, "middle": long / 2, "end": long}[item.anchor]
        return left, item.y_mm - 0.8 * item.size_mm, left + long, item.y_mm + 0.2 * item.size_mm
    across, down = [x for x, _ in item.points_mm], [y for _, y in item.points_mm]
    return min(across), min(down), max(across), max(down)
