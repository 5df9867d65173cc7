"""The tests of overlaps themselves: what lies on something is seen, what lies beside it is not."""

from __future__ import annotations

from loomwright.drawings.symbols.items import Box, Circle, Drawing, Item, Line, Text, WireStroke
from tests.drawings.overlaps import (
    crossings,
    outside,
    texts_on_strokes,
    texts_on_texts,
    wires_on_wires,
    wires_through_symbols,
)


def page(*items: Item) -> Drawing:
    """A page with a few items on it."""
    return Drawing(id="x", title="x", sheet=1, sheets=1, width_mm=100.0, height_mm=100.0, tracks=(), items=items)


def words(x: float, y: float, text: str = "FF1") -> Text:
    """A few letters."""
    return Text(x_mm=x, y_mm=y, text=text, size_mm=2.5, font="figures")


def wire(name: str, *points: tuple[float, float]) -> WireStroke:
    """A wire."""
    return WireStroke(points_mm=points, colour="RD", width_mm=1.0, about=name)


def test_words_on_words_would_be_caught():
    assert texts_on_texts(page(words(10, 10), words(12, 10))) == ["'FF1' on 'FF1'"]
    assert texts_on_texts(page(words(10, 10), words(10, 13))) == []


def test_a_stroke_through_words_would_be_caught():
    across = Line(x1_mm=0, y1_mm=9.5, x2_mm=50, y2_mm=9.5)
    slanted = Line(x1_mm=9, y1_mm=5, x2_mm=16, y2_mm=12)
    assert len(texts_on_strokes(page(words(10, 10), across))) == 1
    assert len(texts_on_strokes(page(words(10, 10), slanted))) == 1
    assert len(texts_on_strokes(page(words(10, 10), wire("W1", (12, 0), (12, 50))))) == 1
    assert len(texts_on_strokes(page(words(10, 10), Circle(x_mm=10, y_mm=9, radius_mm=2)))) == 1
    assert texts_on_strokes(page(words(10, 10), Line(x1_mm=0, y1_mm=12, x2_mm=50, y2_mm=12))) == []
    assert texts_on_strokes(page(words(10, 10), Circle(x_mm=12, y_mm=9, radius_mm=6))) == []


def test_a_wire_through_a_symbol_would_be_caught():
    box = Box(x_mm=10, y_mm=10, width_mm=20, height_mm=10, about="ECU")
    assert wires_through_symbols(page(box, wire("W1", (15, 0), (15, 50)))) == ["W1 through ECU"]
    assert wires_through_symbols(page(box, wire("W1", (15, 0), (15, 10)))) == []
    assert wires_through_symbols(page(box, wire("W1", (8, 0), (8, 50)))) == []


def test_wires_along_each_other_would_be_caught():
    one = wire("W1", (10, 0), (10, 20))
    assert wires_on_wires(page(one, wire("W2", (10.5, 15), (10.5, 30)))) == ["W1 along W2"]
    assert wires_on_wires(page(one, wire("W2", (10, 20), (10, 30)))) == []
    assert wires_on_wires(page(one, wire("W2", (12, 15), (12, 30)))) == []


def test_crossings_are_counted():
    one = wire("W1", (10, 0), (10, 20))
    assert crossings(page(one, wire("W2", (0, 10), (20, 10)))) == 1
    assert crossings(page(one, wire("W2", (0, 10), (5, 10), (5, 15), (20, 15)))) == 1
    assert crossings(page(one, wire("W2", (11, 10), (20, 10)))) == 0


def test_words_over_the_edge_would_be_caught():
    assert outside(page(words(97, 50))) == ["FF1"]
    assert outside(page(words(50, 50))) == []
