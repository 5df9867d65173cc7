"""How does a drawing become a DXF file that a plotter, a laser or any drawing program opens?

In: strokes and words in layers, in millimetres, downwards. Out: text, DXF of release 12, upwards as DXF has it, one
unit a millimetre. Every layer is named for what lies in it, so that it can be hidden or cut by itself. Lengths are kept
to a ten-thousandth of a millimetre. Only plain entities are used: LINE, CIRCLE, ARC, POLYLINE, TEXT; the same drawing
gives the same bytes. Release 12 knows no fonts of ours: words are in the reader's own, as wide as its letters are.

A circuit drawing has its layers by what things are:

    wires-RD, wires-BN ...   wires by the base of their colour; wires-open where nobody has decided it
    symbols, frame, words    strokes of symbols; thin rules and the frame; all words

Source: the group codes of the published DXF reference of release 12, from memory; the file is audited by another
library in a test.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from loomwright.drawings.symbols.items import Arc, Box, Circle, Drawing, Item, Line, Points, Text, WireStroke

__all__ = ["circuit_dxf", "circuit_layers", "dxf_text"]

Layered = Iterable[tuple[str, Item]]
"""(layer, what is drawn), in the order in which it is drawn."""

_PLAIN = 7
_COLOURS: Mapping[str, int] = {
    "BK": 7, "BN": 34, "RD": 1, "OG": 30, "YE": 2, "GN": 3, "BU": 5, "VT": 6, "GY": 8, "WH": 9, "PK": 221, "GD": 42,
    "TQ": 4, "SR": 254, "GNYE": 62,
}  # fmt: skip
"""Base of a wire's colour -> the nearest of the colours DXF counts by number. [-]"""

_HEADER = (
    "0", "SECTION", "2", "HEADER", "9", "$ACADVER", "1", "AC1009", "9", "$MEASUREMENT", "70", "1", "0", "ENDSEC",
)  # fmt: skip
_WIRES = "wires-"
_OPEN = "open"
_CAPITALS = 0.66
"""How high capitals are, in shares of the size of the letters; DXF measures words by them. [-]"""


def dxf_text(items: Layered, *, height_mm: float) -> str:
    """Layered items as DXF.

    Args:
        height_mm: of the page: what is lowest on it comes to lie at nought. [mm]
    Example:
        >>> line = Line(x1_mm=0.0, y1_mm=0.0, x2_mm=5.0, y2_mm=0.0)
        >>> dxf_text([("runs", line)], height_mm=10.0).split().index("LINE") > 0
        True
    """
    drawn = list(items)
    layers = list(dict.fromkeys(_clean(layer) for layer, _ in drawn))
    pairs: list[str] = [*_HEADER, *_layers(layers), "0", "SECTION", "2", "ENTITIES"]
    for layer, item in drawn:
        pairs.extend(_drawn(item, _clean(layer), height_mm))
    return "\n".join([*pairs, "0", "ENDSEC", "0", "EOF"]) + "\n"


def circuit_dxf(drawing: Drawing) -> str:
    """A circuit drawing as DXF, one sheet a file."""
    return dxf_text(circuit_layers(drawing), height_mm=drawing.height_mm)


def circuit_layers(drawing: Drawing) -> Sequence[tuple[str, Item]]:
    """The items of a circuit drawing, each with its layer.

    Example:
        >>> stroke = WireStroke(points_mm=((0.0, 0.0), (0.0, 5.0)), colour="RD/WH", width_mm=1.0, about="W1")
        >>> page = {"sheet": 1, "sheets": 1, "width_mm": 210.0, "height_mm": 297.0}
        >>> circuit_layers(Drawing(id="fan", title="", tracks=(), items=(stroke,), **page))[0][0]
        'wires-RD'
    """
    return [(_layer(item, drawing), item) for item in drawing.items]


def _layer(item: Item, drawing: Drawing) -> str:
    if isinstance(item, WireStroke):
        return f"{_WIRES}{item.colour.partition('/')[0] or _OPEN}"
    if isinstance(item, Text):
        return "words"
    is_page = isinstance(item, Box) and item.width_mm > drawing.width_mm / 2 and item.height_mm > drawing.height_mm / 2
    return "frame" if is_page or item.ink in ("soft", "rule") else "symbols"


def _layers(names: Sequence[str]) -> Iterator[str]:
    yield from ("0", "SECTION", "2", "TABLES")
    yield from ("0", "TABLE", "2", "LTYPE", "70", "1")
    yield from ("0", "LTYPE", "2", "CONTINUOUS", "70", "64", "3", "Solid line", "72", "65", "73", "0", "40", "0.0")
    yield from ("0", "ENDTAB", "0", "TABLE", "2", "LAYER", "70", str(len(names) + 1))
    for name in ("0", *names):
        colour = _COLOURS.get(name.removeprefix(_WIRES), _PLAIN) if name.startswith(_WIRES) else _PLAIN
        yield from ("0", "LAYER", "2", name, "70", "0", "62", str(colour), "6", "CONTINUOUS")
    yield from ("0", "ENDTAB", "0", "ENDSEC")


def _drawn(item: Item, layer: str, high: float) -> Iterator[str]:
    if isinstance(item, Line):
        yield from ("0", "LINE", "8", layer)
        yield from (*_point(item.x1_mm, high - item.y1_mm), *_point(item.x2_mm, high - item.y2_mm, 1))
    elif isinstance(item, Circle):
        yield from ("0", "CIRCLE", "8", layer, *_point(item.x_mm, high - item.y_mm), "40", _n(item.radius_mm))
    elif isinstance(item, Arc):
        # clockwise on the page is counter-clockwise once the page is turned over
        yield from ("0", "ARC", "8", layer, *_point(item.x_mm, high - item.y_mm), "40", _n(item.radius_mm))
        yield from ("50", _n(-item.to_deg % 360.0), "51", _n(-item.from_deg % 360.0))
    elif isinstance(item, Text):
        yield from _words(item, layer, high)
    elif isinstance(item, Box):
        left, top, right, bottom = item.x_mm, item.y_mm, item.x_mm + item.width_mm, item.y_mm + item.height_mm
        yield from _stroke(((left, top), (right, top), (right, bottom), (left, bottom)), layer, high, closed=True)
    elif isinstance(item, WireStroke):
        yield from _stroke(item.points_mm, layer, high, width_mm=item.width_mm)
    else:
        yield from _stroke(item.points_mm, layer, high, closed=item.closed)


def _words(item: Text, layer: str, high: float) -> Iterator[str]:
    text = _clean(item.text)
    if not text.strip():
        return
    x, y = item.x_mm, high - item.y_mm
    anchor = {"start": 0, "middle": 1, "end": 2}[item.anchor]
    yield from ("0", "TEXT", "8", layer, *_point(x, y), "40", _n(item.size_mm * _CAPITALS), "1", text)
    if anchor:
        yield from ("72", str(anchor), *_point(x, y, 1))


def _stroke(
    points: Points, layer: str, high: float, *, closed: bool = False, width_mm: float = 0.0
) -> Iterator[str]:  # fmt: skip
    yield from ("0", "POLYLINE", "8", layer, "66", "1", *_point(0.0, 0.0), "70", "1" if closed else "0")
    if width_mm:
        yield from ("40", _n(width_mm), "41", _n(width_mm))
    for x, y in points:
        yield from ("0", "VERTEX", "8", layer, *_point(x, high - y))
    yield from ("0", "SEQEND", "8", layer)


def _point(x: float, y: float, number: int = 0) -> tuple[str, ...]:
    return str(10 + number), _n(x), str(20 + number), _n(y), str(30 + number), "0.0"


def _n(value: float) -> str:
    text = f"{value:.4f}"
    return "0.0000" if text == "-0.0000" else text


def _clean(text: str) -> str:
    """The words on one line, as release 12 holds them: what is not ASCII by its number."""
    plain = "".join(letter if letter.isprintable() else " " for letter in text)
    return "".join(letter if letter.isascii() else _by_number(letter) for letter in plain)


def _by_number(letter: str) -> str:
    pair = letter.encode("utf-16-be")
    return "".join(f"\\U+{pair[at]:02X}{pair[at + 1]:02X}" for at in range(0, len(pair), 2))
