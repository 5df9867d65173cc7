"""Short ways to write the strokes of a symbol, round its own centre.

x to the right, y down, millimetres, 0 in the middle of the symbol. Nothing here decides what a symbol looks like.
"""

from __future__ import annotations

from dataclasses import replace

from loomwright.drawings.symbols.items import Arc, Box, Circle, Fill, Item, Line, Polyline, Text, WireStroke

__all__ = ["arc", "box", "circle", "dash", "flipped", "letter", "line", "path", "shape"]

THIN_MM = 0.22


def line(x1_mm: float, y1_mm: float, x2_mm: float, y2_mm: float, *, thin: bool = False) -> Line:
    """A straight stroke between two points.

    Args:
        x1_mm: where it begins, to the right. [mm]
        y1_mm: where it begins, down. [mm]
        x2_mm: where it ends, to the right. [mm]
        y2_mm: where it ends, down. [mm]
    """
    stroke = Line(x1_mm=x1_mm, y1_mm=y1_mm, x2_mm=x2_mm, y2_mm=y2_mm)
    return replace(stroke, width_mm=THIN_MM) if thin else stroke


def dash(x1_mm: float, y1_mm: float, x2_mm: float, y2_mm: float) -> Line:
    """A broken stroke: what moves a contact.

    Args:
        x1_mm: where it begins, to the right. [mm]
        y1_mm: where it begins, down. [mm]
        x2_mm: where it ends, to the right. [mm]
        y2_mm: where it ends, down. [mm]
    """
    return Line(x1_mm=x1_mm, y1_mm=y1_mm, x2_mm=x2_mm, y2_mm=y2_mm, width_mm=THIN_MM, dashed=True)


def path(*points_mm: tuple[float, float], thin: bool = False) -> Polyline:
    """A stroke with corners.

    Args:
        *points_mm: its corners. [mm]
    """
    return Polyline(points_mm=points_mm, width_mm=THIN_MM) if thin else Polyline(points_mm=points_mm)


def shape(*points_mm: tuple[float, float], fill: Fill = "") -> Polyline:
    """A closed shape, filled or not.

    Args:
        *points_mm: its corners. [mm]
    """
    return Polyline(points_mm=points_mm, closed=True, fill=fill)


def circle(x_mm: float, y_mm: float, radius_mm: float, *, fill: Fill = "") -> Circle:
    """A circle.

    Args:
        x_mm: its centre, to the right. [mm]
        y_mm: its centre, down. [mm]
        radius_mm: how large. [mm]
    """
    return Circle(x_mm=x_mm, y_mm=y_mm, radius_mm=radius_mm, fill=fill)


def arc(x_mm: float, y_mm: float, radius_mm: float, from_deg: float, to_deg: float) -> Arc:
    """A piece of a circle, clockwise.

    Args:
        x_mm: its centre, to the right. [mm]
        y_mm: its centre, down. [mm]
        radius_mm: how large. [mm]
        from_deg: where it begins; 0 to the right, 90 down. [deg]
        to_deg: where it ends. [deg]
    """
    return Arc(x_mm=x_mm, y_mm=y_mm, radius_mm=radius_mm, from_deg=from_deg, to_deg=to_deg)


def box(x_mm: float, y_mm: float, width_mm: float, height_mm: float, *, dashed: bool = False, fill: Fill = "") -> Box:
    """A rectangle by its upper left corner.

    Args:
        x_mm: that corner, to the right. [mm]
        y_mm: that corner, down. [mm]
        width_mm: how wide. [mm]
        height_mm: how high. [mm]
    """
    return Box(x_mm=x_mm, y_mm=y_mm, width_mm=width_mm, height_mm=height_mm, dashed=dashed, fill=fill)


def letter(text: str, x_mm: float = 0.0, y_mm: float = 0.0, size_mm: float = 3.2) -> Text:
    """A letter inside a symbol, its middle at the point.

    Args:
        x_mm: to the right. [mm]
        y_mm: down. [mm]
        size_mm: how large. [mm]
    """
    return Text(x_mm=x_mm, y_mm=y_mm + 0.33 * size_mm, text=text, size_mm=size_mm, anchor="middle", strong=True)


def flipped(items: tuple[Item, ...]) -> tuple[Item, ...]:
    """The same strokes upside down; letters stay upright."""
    return tuple(_flipped(item) for item in items)


def _flipped(item: Item) -> Item:
    if isinstance(item, Line):
        return replace(item, y1_mm=-item.y1_mm, y2_mm=-item.y2_mm)
    if isinstance(item, Polyline | WireStroke):
        return replace(item, points_mm=tuple((x, -y) for x, y in item.points_mm))
    if isinstance(item, Circle):
        return replace(item, y_mm=-item.y_mm)
    if isinstance(item, Arc):
        return replace(item, y_mm=-item.y_mm, from_deg=-item.to_deg, to_deg=-item.from_deg)
    if isinstance(item, Box):
        return replace(item, y_mm=-item.y_mm - item.height_mm)
    return item
