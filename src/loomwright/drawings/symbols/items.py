"""What is a drawing made of?

Strokes and words in millimetres on a page, left to right and top to bottom, no file format known. A writer turns each
into its own; it decides nothing but shades. What an item shows stands in `about`, the id of a row of the job, so that
a page can link it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

__all__ = [
    "Anchor",
    "Arc",
    "Box",
    "Circle",
    "Drawing",
    "Fill",
    "Font",
    "Ink",
    "Item",
    "Line",
    "Points",
    "Polyline",
    "Text",
    "Track",
    "WireStroke",
    "moved",
]

Ink = Literal["ink", "soft", "rule", "copper"]
"""How dark: ink, soft ink, a thin rule; copper for what is energised."""

Font = Literal["words", "figures"]
"""Which of the two fonts: the one for words, or the one whose letters are all of a width."""

Fill = Literal["", "ink", "rule", "paper", "copper"]
"""What a closed shape is filled with; empty = nothing."""

Anchor = Literal["start", "middle", "end"]
"""Which point of the words stands at the place."""

Points = tuple[tuple[float, float], ...]

STROKE_MM = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A straight stroke.

    x1_mm, y1_mm, x2_mm, y2_mm: its ends. [mm]   width_mm: how thick. [mm]   dashed: broken.
    """

    x1_mm: float
    y1_mm: float
    x2_mm: float
    y2_mm: float
    width_mm: float = STROKE_MM
    ink: Ink = "ink"
    dashed: bool = False
    about: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Polyline:
    """A stroke with corners, or a closed shape.

    points_mm: its corners. [mm]   width_mm: how thick; 0 = only filled. [mm]
    """

    points_mm: Points
    width_mm: float = STROKE_MM
    closed: bool = False
    fill: Fill = ""
    ink: Ink = "ink"
    dashed: bool = False
    about: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle:
    """A circle.

    x_mm, y_mm: its centre. [mm]   radius_mm: how large. [mm]   width_mm: how thick its line. [mm]
    """

    x_mm: float
    y_mm: float
    radius_mm: float
    width_mm: float = STROKE_MM
    fill: Fill = ""
    ink: Ink = "ink"
    about: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Arc:
    """A piece of a circle, clockwise on the page.

    x_mm, y_mm: its centre. [mm]   radius_mm: how large. [mm]
    from_deg, to_deg: where it begins and ends, 0 to the right, 90 down. [deg]   width_mm: how thick its line. [mm]
    """

    x_mm: float
    y_mm: float
    radius_mm: float
    from_deg: float
    to_deg: float
    width_mm: float = STROKE_MM
    ink: Ink = "ink"
    about: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """Words on one line.

    x_mm, y_mm: where the line of writing stands, at `anchor`. [mm]   size_mm: how large the letters are. [mm]
    """

    x_mm: float
    y_mm: float
    text: str
    size_mm: float
    anchor: Anchor = "start"
    font: Font = "words"
    strong: bool = False
    ink: Ink = "ink"
    about: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WireStroke:
    """A wire as it looks: base, tracer along its middle, two dark edges.

    points_mm: its corners. [mm]   colour: IEC 60757 code, empty = open.   width_mm: over its edges. [mm]
    about: the wire's id.
    """

    points_mm: Points
    colour: str
    width_mm: float
    about: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A rectangle.

    x_mm, y_mm: its upper left corner. [mm]   width_mm, height_mm: how large. [mm]   line_mm: how thick its line. [mm]
    """

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    line_mm: float = STROKE_MM
    fill: Fill = ""
    ink: Ink = "ink"
    dashed: bool = False
    about: str = ""


Item = Line | Polyline | Circle | Arc | Text | WireStroke | Box
"""Everything a drawing can hold."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """One numbered track: a current's way down the page. number: counted through all sheets of a circuit. [-]

    x_mm: where it is. [mm]
    """

    number: int
    x_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """One sheet.

    id: the circuit's.   title: its name.   sheet, sheets: this one, of how many. [-]
    width_mm, height_mm: the page. [mm]   tracks: left to right.   items: in the order they are drawn.
    """

    id: str
    title: str
    sheet: int
    sheets: int
    width_mm: float
    height_mm: float
    tracks: tuple[Track, ...]
    items: tuple[Item, ...]


def moved(items: Iterable[Item], *, x_mm: float, y_mm: float, factor: float = 1.0, about: str = "") -> tuple[Item, ...]:
    """The same items elsewhere, and larger or smaller, seen from the corner they are measured from.

    Args:
        x_mm: how far to the right. [mm]
        y_mm: how far down. [mm]
        factor: how many times as large. [-]
        about: what they show; empty = as they are.
    Example:
        >>> moved((Circle(x_mm=1.0, y_mm=0.0, radius_mm=1.0),), x_mm=2.0, y_mm=3.0, factor=2.0)[0].x_mm
        4.0
    """
    return tuple(_moved(item, x_mm, y_mm, factor, about or item.about) for item in items)


def _moved(item: Item, x: float, y: float, k: float, about: str) -> Item:
    # written out: thousands of these are made for every job
    if isinstance(item, Line):
        return Line(
            x1_mm=item.x1_mm * k + x,
            y1_mm=item.y1_mm * k + y,
            x2_mm=item.x2_mm * k + x,
            y2_mm=item.y2_mm * k + y,
            width_mm=item.width_mm * k,
            ink=item.ink,
            dashed=item.dashed,
            about=about,
        )
    if isinstance(item, Text):
        return Text(
            x_mm=item.x_mm * k + x,
            y_mm=item.y_mm * k + y,
            text=item.text,
            size_mm=item.size_mm * k,
            anchor=item.anchor,
            font=item.font,
            strong=item.strong,
            ink=item.ink,
            about=about,
        )
    if isinstance(item, Circle):
        return Circle(
            x_mm=item.x_mm * k + x,
            y_mm=item.y_mm * k + y,
            radius_mm=item.radius_mm * k,
            width_mm=item.width_mm * k,
            fill=item.fill,
            ink=item.ink,
            about=about,
        )
    if isinstance(item, Box):
        return replace(
            item,
            x_mm=item.x_mm * k + x,
            y_mm=item.y_mm * k + y,
            width_mm=item.width_mm * k,
            height_mm=item.height_mm * k,
            line_mm=item.line_mm * k,
            about=about,
        )
    if isinstance(item, Arc):
        return replace(
            item,
            x_mm=item.x_mm * k + x,
            y_mm=item.y_mm * k + y,
            radius_mm=item.radius_mm * k,
            width_mm=item.width_mm * k,
            about=about,
        )
    points = tuple((px * k + x, py * k + y) for px, py in item.points_mm)
    return replace(item, points_mm=points, width_mm=item.width_mm * k, about=about)
