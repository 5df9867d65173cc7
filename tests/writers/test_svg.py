"""Drawings as SVG: well-formed, millimetres, words as words, nothing that only a browser draws, a picture in print."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
import typst

from loomwright.drawings.circuit_drawing import circuit_drawings, laid_circuits
from loomwright.drawings.symbols.items import Arc, Box, Circle, Drawing, Item, Line, Polyline, Text, WireStroke
from loomwright.sheets.csv_folder import open_folder
from loomwright.tables.kinds import load_kinds
from loomwright.tables.limits import COLOURS
from loomwright.writers.paper_paint import PAINT
from loomwright.writers.svg import svg_text

PACKAGE = Path(__file__).parents[2] / "src" / "loomwright"
FONTS = PACKAGE / "writers" / "fonts"
SVG = "{http://www.w3.org/2000/svg}"
SHAPES = {"svg", "title", "g", "line", "polyline", "polygon", "circle", "rect", "path", "text"}
NASTY = "<b>\"R&D\" & 'x'</b> ]]> \x0b\ud800 Öl"


def page(*items: Item, **changes: object) -> Drawing:
    """A small page."""
    fields: dict[str, object] = {"id": "fan1", "title": "left fan", "sheet": 1, "sheets": 2, "tracks": ()}
    return Drawing(**{**fields, "width_mm": 60.0, "height_mm": 40.0, "items": items, **changes})  # type: ignore[arg-type]


def parsed(text: str) -> ET.Element:
    """The picture as a tree."""
    return ET.fromstring(text.encode())


def picture(svg: str, wide_mm: float, high_mm: float) -> bytes:
    """The picture as the papers would print it, with their fonts and no other."""
    source = f"#set page(width: {wide_mm}mm, height: {high_mm}mm, margin: 0mm)\n"
    source += '#image(bytes(sys.inputs.svg), format: "svg", width: 100%)'
    made = typst.Compiler(
        source.encode(), font_paths=[str(FONTS)], ignore_system_fonts=True, sys_inputs={"svg": svg}
    ).compile(format="png", ppi=72)
    assert isinstance(made, bytes)
    return made


@pytest.fixture(scope="module")
def van() -> tuple[Drawing, ...]:
    """The drawings of the van."""
    return circuit_drawings(laid_circuits(open_folder(PACKAGE / "examples" / "van" / "mended"), load_kinds()))


def test_the_page_is_in_millimetres():
    root = parsed(svg_text(page()))
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("60mm", "40mm", "0 0 60 40")
    assert root.get("version") == "1.1"
    assert root.find(f"{SVG}title").text == "fan1 1/2: left fan"


def test_every_item_becomes_what_it_is():
    items = (
        Line(x1_mm=1.0, y1_mm=2.0, x2_mm=3.0, y2_mm=4.5, dashed=True, about="F1"),
        Polyline(points_mm=((0.0, 0.0), (1.0, 1.0)), about="F1"),
        Polyline(points_mm=((0.0, 0.0), (1.0, 1.0), (0.0, 1.0)), closed=True, fill="ink", width_mm=0.0),
        Circle(x_mm=5.0, y_mm=6.0, radius_mm=1.5, fill="paper"),
        Arc(x_mm=0.0, y_mm=0.0, radius_mm=1.0, from_deg=0.0, to_deg=90.0),
        Box(x_mm=1.0, y_mm=1.0, width_mm=10.0, height_mm=5.0, dashed=True),
        Text(x_mm=1.0, y_mm=2.0, text="F1", size_mm=2.5, font="figures", strong=True, anchor="middle", about="F1"),
    )
    line, open_path, closed, circle, arc, box, text = list(parsed(svg_text(page(*items))))[1:]
    assert (line.tag, line.get("y2"), line.get("data-about")) == (f"{SVG}line", "4.5", "F1")
    assert line.get("stroke-dasharray")
    assert (open_path.tag, open_path.get("points"), open_path.get("fill")) == (f"{SVG}polyline", "0,0 1,1", "none")
    assert (closed.tag, closed.get("stroke")) == (f"{SVG}polygon", "none")
    assert (circle.get("r"), circle.get("fill")) == ("1.5", "#ffffff")
    assert arc.get("d") == "M 1 0 A 1 1 0 0 1 0 1"
    assert (box.get("width"), box.get("fill")) == ("10", "none")
    assert (text.text, text.get("font-size"), text.get("text-anchor")) == ("F1", "2.5", "middle")
    assert "Source Code Pro" in text.get("font-family")
    assert "monospace" in text.get("font-family")
    assert text.get("font-weight") == "600"


def test_words_fall_back_on_any_font_without_serifs():
    text = parsed(svg_text(page(Text(x_mm=0.0, y_mm=0.0, text="fan", size_mm=2.0))))[-1]
    assert text.get("font-family").startswith("'Source Sans 3'")
    assert text.get("font-family").endswith("sans-serif")


@pytest.mark.parametrize("colour", [*COLOURS, "WH/BU", "GN/YE", "BK/WH"])
def test_a_wire_has_two_dark_edges_its_colour_and_its_tracer(colour):
    points = ((1.0, 1.0), (1.0, 9.0))
    group = parsed(svg_text(page(WireStroke(points_mm=points, colour=colour, width_mm=1.2, about="W1"))))[-1]
    assert group.get("data-about") == "W1"
    edge, base, *tracer = list(group)
    code, _, second = colour.partition("/")
    assert edge.get("stroke") == "#3a3733"
    assert float(edge.get("stroke-width")) == 1.2
    assert 0.2 <= 1.2 - float(base.get("stroke-width")) <= 0.5
    assert base.get("stroke") == PAINT[code][0]
    wanted = [PAINT[second][0]] if second else list(PAINT[code][1:])
    assert [stroke.get("stroke") for stroke in tracer] == wanted
    assert all(float(stroke.get("stroke-width")) < 0.5 for stroke in tracer)


def test_a_wire_of_open_colour_is_two_broken_lines_and_no_paint():
    group = parsed(svg_text(page(WireStroke(points_mm=((0.0, 0.0), (0.0, 9.0)), colour="", width_mm=1.2, about="W1"))))[
        -1
    ]
    assert [stroke.get("stroke") for stroke in group] == ["#3a3733", "#ffffff"]
    assert group[0].get("stroke-dasharray")


def test_whatever_the_sheets_say_stays_words():
    drawing = page(Text(x_mm=0.0, y_mm=0.0, text=NASTY, size_mm=2.0, about=NASTY), id=NASTY, title=NASTY)
    root = parsed(svg_text(drawing))
    kept = NASTY.replace("\x0b", "").replace("\ud800", "")
    assert root[-1].text == kept
    assert root[-1].get("data-about") == kept
    assert root.get("data-about") == kept
    assert {element.tag for element in root.iter()} == {f"{SVG}svg", f"{SVG}title", f"{SVG}text"}


def test_the_vans_pictures_hold_only_plain_shapes_and_no_styles(van):
    for drawing in van:
        text = svg_text(drawing)
        root = parsed(text)
        assert {element.tag.removeprefix(SVG) for element in root.iter()} <= SHAPES
        keys = {key for element in root.iter() for key in element.attrib}
        assert not keys & {"class", "style", "transform", "href", "id"}
        assert "url(" not in text
        assert not re.search(r"\b(nan|inf|e[-+]\d)", text)


def test_every_wires_id_is_there_once_as_words(van):
    for drawing in van:
        words = [element.text for element in parsed(svg_text(drawing)).iter(f"{SVG}text")]
        for wire in {item.about for item in drawing.items if isinstance(item, WireStroke)}:
            assert words.count(wire) == 1, (drawing.id, wire)


def test_the_same_drawing_gives_the_same_text(van):
    again = circuit_drawings(laid_circuits(open_folder(PACKAGE / "examples" / "van" / "mended"), load_kinds()))
    assert [svg_text(drawing) for drawing in again] == [svg_text(drawing) for drawing in van]


def test_nothing_reaches_over_the_edge_of_a_page(van):
    for drawing in van:
        for element in parsed(svg_text(drawing)).iter():
            for key, most in (("x", drawing.width_mm), ("y", drawing.height_mm), ("cx", drawing.width_mm)):
                assert 0 <= float(element.get(key, 0)) <= most


def test_the_papers_print_a_drawing_with_its_words(van):
    drawing = next(one for one in van if one.id == "fan1")
    whole = picture(svg_text(drawing), drawing.width_mm, drawing.height_mm)
    bare = tuple(item for item in drawing.items if not isinstance(item, Text))
    empty = picture(
        svg_text(page(*bare, width_mm=drawing.width_mm, height_mm=drawing.height_mm)),
        drawing.width_mm,
        drawing.height_mm,
    )
    assert whole.startswith(b"\x89PNG")
    assert len(whole) > 1.2 * len(empty)
