"""How does a drawing become an SVG picture?

In: a `Drawing`. Out: text, SVG 1.1, millimetres, one coordinate a millimetre. Words stay words, set in the fonts of
the papers by name; what an item shows stands in `data-about`. Colours of insulation come from the paint of the
papers. There are no styles from outside and nothing that only a browser draws, so that a PDF shows the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from html import escape
from math import cos, radians, sin

from loomwright.drawings.symbols.items import Arc, Box, Circle, Drawing, Item, Line, Points, Polyline, Text, WireStroke
from loomwright.writers.paper_paint import PAINT

__all__ = ["svg_pieces", "svg_text", "svg_window"]

_EDGE_WORD = "edge"
_INK: Mapping[str, str] = {
    "ink": "#1d1f21",
    "soft": "#5b5d5a",
    "rule": "#d9d3c4",
    "paper": "#ffffff",
    "copper": "#b4652b",
    _EDGE_WORD: "#3a3733",
}
_OF_A_PAGE: Mapping[str, str] = {word: f"var(--{word})" for word in _INK}
_FONTS = {
    "words": "'Source Sans 3', 'Source Sans Pro', sans-serif",
    "figures": "'Source Code Pro', monospace",
}
_DASH = "1.2 0.9"
_EDGE_MM = 0.16
_TRACER_PART = 0.3


def svg_text(drawing: Drawing) -> str:
    """The drawing as SVG 1.1.

    Example:
        >>> page = {"sheet": 1, "sheets": 1, "width_mm": 210.0, "height_mm": 297.0}
        >>> empty = Drawing(id="fan", title="left fan", tracks=(), items=(), **page)
        >>> svg_text(empty).splitlines()[1][:60]
        '<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width='
    """
    wide, high = _n(drawing.width_mm), _n(drawing.height_mm)
    title = f"{drawing.id} {drawing.sheet}/{drawing.sheets}: {drawing.title}"
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{wide}mm" height="{high}mm"'
            f' viewBox="0 0 {wide} {high}" data-about="{escape(_clean(drawing.id))}">'
        ),
        f"<title>{escape(_clean(title), quote=False)}</title>",
    ]
    for item in drawing.items:
        lines.extend(_drawn(item, _INK))
    lines.append("</svg>")
    return "\n".join(lines) + "\n"


def svg_window(
    drawing: Drawing, inside: Iterable[Item], *, room_mm: tuple[float, float, float, float], at_mm: tuple[float, float]
) -> str:
    """A page with a window on something larger: what lies outside the window is not seen.

    Args:
        drawing: the page around it.
        inside: what is looked at, at its true size.
        room_mm: the window on the page: left, top, width, height. [mm]
        at_mm: what of it lies at the window's upper left corner. [mm]
    """
    left, top, wide, high = (_n(value) for value in room_mm)
    across, down = (_n(value) for value in at_mm)
    window = (
        f'<svg x="{left}" y="{top}" width="{wide}" height="{high}" viewBox="{across} {down} {wide} {high}"'
        ' overflow="hidden">'
    )
    pieces = [piece for item in inside for piece in _drawn(item, _INK)]
    return svg_text(drawing).replace("</svg>\n", "\n".join([window, *pieces, "</svg>", "</svg>"]) + "\n")


def svg_pieces(items: Iterable[Item]) -> str:
    """Items as pieces of an SVG that stands in a page; their inks are the page's own (`var(--ink)`).

    Example:
        >>> svg_pieces([Line(x1_mm=0.0, y1_mm=0.0, x2_mm=5.0, y2_mm=0.0, width_mm=0.5)])
        '<line x1="0" y1="0" x2="5" y2="0" stroke="var(--ink)" stroke-width="0.5"/>'
    """
    return "".join(piece for item in items for piece in _drawn(item, _OF_A_PAGE))


def _drawn(item: Item, ink: Mapping[str, str]) -> list[str]:
    if isinstance(item, Line):
        ends = f'x1="{_n(item.x1_mm)}" y1="{_n(item.y1_mm)}" x2="{_n(item.x2_mm)}" y2="{_n(item.y2_mm)}"'
        return [f"<line {ends}{_stroke(ink[item.ink], item.width_mm, item.dashed)}{_about(item.about)}/>"]
    if isinstance(item, Polyline):
        tag = "polygon" if item.closed else "polyline"
        stroke = _stroke(ink[item.ink], item.width_mm, item.dashed)
        return [f'<{tag} points="{_points(item.points_mm)}"{_fill(item.fill, ink)}{stroke}{_about(item.about)}/>']
    if isinstance(item, Circle):
        where = f'cx="{_n(item.x_mm)}" cy="{_n(item.y_mm)}" r="{_n(item.radius_mm)}"'
        stroke = _stroke(ink[item.ink], item.width_mm, False)
        return [f"<circle {where}{_fill(item.fill, ink)}{stroke}{_about(item.about)}/>"]
    if isinstance(item, Arc):
        stroke = _stroke(ink[item.ink], item.width_mm, False)
        return [f'<path d="{_arc(item)}" fill="none"{stroke}{_about(item.about)}/>']
    if isinstance(item, Box):
        where = f'x="{_n(item.x_mm)}" y="{_n(item.y_mm)}" width="{_n(item.width_mm)}" height="{_n(item.height_mm)}"'
        stroke = _stroke(ink[item.ink], item.line_mm, item.dashed)
        return [f"<rect {where}{_fill(item.fill, ink)}{stroke}{_about(item.about)}/>"]
    if isinstance(item, Text):
        return [_text(item, ink)]
    return _wire(item, ink[_EDGE_WORD])


def _text(item: Text, ink: Mapping[str, str]) -> str:
    weight = ' font-weight="600"' if item.strong else ""
    anchor = "" if item.anchor == "start" else f' text-anchor="{item.anchor}"'
    return (
        f'<text x="{_n(item.x_mm)}" y="{_n(item.y_mm)}" font-family="{_FONTS[item.font]}"'
        f' font-size="{_n(item.size_mm)}"{weight}{anchor} fill="{ink[item.ink]}"{_about(item.about)}>'
        f"{escape(_clean(item.text), quote=False)}</text>"
    )


def _wire(item: WireStroke, edge: str) -> list[str]:
    """Edges, base and tracer, one over the other; a colour that nobody has decided is two broken lines."""
    d = _points(item.points_mm)
    about = _about(item.about)
    inside = item.width_mm - 2 * _EDGE_MM
    if not item.colour:
        return [
            f"<g{about}>",
            (
                f'<polyline points="{d}" fill="none" stroke="{edge}" stroke-width="{_n(item.width_mm)}"'
                ' stroke-dasharray="1.4 0.8"/>'
            ),
            f'<polyline points="{d}" fill="none" stroke="#ffffff" stroke-width="{_n(inside)}"/>',
            "</g>",
        ]
    base, _, tracer = item.colour.partition("/")
    shades = PAINT.get(base, ("#ffffff",))
    stripe = PAINT[tracer][0] if tracer in PAINT else shades[1] if len(shades) > 1 else ""
    layers = [(edge, item.width_mm), (shades[0], inside)]
    if stripe:
        layers.append((stripe, item.width_mm * _TRACER_PART))
    drawn = [
        f'<polyline points="{d}" fill="none" stroke="{shade}" stroke-width="{_n(width)}"/>' for shade, width in layers
    ]
    return [f"<g{about}>", *drawn, "</g>"]


def _stroke(shade: str, width_mm: float, dashed: bool) -> str:
    if width_mm <= 0:
        return ' stroke="none"'
    broken = f' stroke-dasharray="{_DASH}"' if dashed else ""
    return f' stroke="{shade}" stroke-width="{_n(width_mm)}"{broken}'


def _fill(fill: str, ink: Mapping[str, str]) -> str:
    return f' fill="{ink[fill]}"' if fill else ' fill="none"'


def _about(about: str) -> str:
    return f' data-about="{escape(_clean(about))}"' if about else ""


def _arc(item: Arc) -> str:
    start, end = radians(item.from_deg), radians(item.to_deg)
    radius = item.radius_mm
    x1, y1 = item.x_mm + radius * cos(start), item.y_mm + radius * sin(start)
    x2, y2 = item.x_mm + radius * cos(end), item.y_mm + radius * sin(end)
    large = 1 if item.to_deg - item.from_deg > 180 else 0
    return f"M {_n(x1)} {_n(y1)} A {_n(radius)} {_n(radius)} 0 {large} 1 {_n(x2)} {_n(y2)}"


def _points(points: Points) -> str:
    return " ".join(f"{_n(x)},{_n(y)}" for x, y in points)


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _clean(text: str) -> str:
    """The same words without what XML cannot hold."""
    return "".join(
        letter
        for letter in text
        if letter in "\t\n" or (letter >= " " and letter not in "\ufffe\uffff" and not "\ud800" <= letter <= "\udfff")
    )
