"""Drawings as DXF, opened and audited by another library: layers, lengths to a tenth of a millimetre, words."""

from __future__ import annotations

import io
from itertools import pairwise
from math import dist

import ezdxf
import pytest
from ezdxf.document import Drawing as Opened
from ezdxf.lldxf.encoding import decode_dxf_unicode

from loomwright.car import Car
from loomwright.drawings.circuit_drawing import circuit_drawings, laid_circuits
from loomwright.drawings.symbols.items import Arc, Box, Circle, Line, Polyline, Text, WireStroke
from loomwright.job.reading import job_from_text
from loomwright.writers.dxf import circuit_dxf, dxf_text
from tests.drawings.test_board import sheets
from tests.handover.bench_van import bench_rows

TENTH_MM = 0.1


def opened(text: str) -> Opened:
    """The file as another library reads it, with nothing to complain of."""
    document = ezdxf.read(io.StringIO(text))
    audit = document.audit()
    assert [(one.code, one.message) for one in (*audit.errors, *audit.fixes)] == []
    return document


@pytest.fixture(scope="module")
def car() -> Car:
    """The bench van."""
    return Car(job_from_text(bench_rows()))


def test_the_boards_runs_are_read_back_at_the_lengths_of_the_job():
    rows = sheets()
    board = Car(job_from_text(rows)).board()
    document = opened(dxf_text(board.items, height_mm=board.height_mm))
    lines = document.modelspace().query('LINE[layer=="runs"]')
    found = sorted(one.dxf.start.distance(one.dxf.end) for one in lines)
    assert found == pytest.approx(sorted(float(run["length_mm"]) for run in rows["runs"]), abs=TENTH_MM)
    layers = {layer.dxf.name for layer in document.layers}
    assert layers >= {"runs", "pegs", "wraps", "breakouts", "labels", "sleeves", "words"}


def test_the_wires_of_every_circuit_drawing_are_read_back_as_long_as_they_are_drawn(car):
    drawings = circuit_drawings(laid_circuits(car.filled, car.kinds))
    assert len(drawings) == 5
    for drawing in drawings:
        strokes = [item for item in drawing.items if isinstance(item, WireStroke)]
        drawn = sorted(length(one.points_mm) for one in strokes)
        space = opened(circuit_dxf(drawing)).modelspace()
        wires = [one for one in space.query("POLYLINE") if one.dxf.layer.startswith("wires-")]
        found = sorted(length([tuple(point)[:2] for point in one.points()]) for one in wires)
        assert found == pytest.approx(drawn, abs=TENTH_MM)
        bases = {one.colour.partition("/")[0] or "open" for one in strokes}
        assert {one.dxf.layer for one in wires} == {f"wires-{base}" for base in bases}
        words = sorted(item.text for item in drawing.items if isinstance(item, Text) and item.text.strip())
        assert sorted(read(one.dxf.text) for one in space.query("TEXT")) == words


def test_every_kind_of_stroke_comes_upright_and_at_its_size():
    items = [
        Line(x1_mm=10.0, y1_mm=10.0, x2_mm=10.0, y2_mm=30.0),
        Circle(x_mm=50.0, y_mm=20.0, radius_mm=4.0),
        Arc(x_mm=50.0, y_mm=60.0, radius_mm=4.0, from_deg=0.0, to_deg=90.0),
        Box(x_mm=0.0, y_mm=0.0, width_mm=30.0, height_mm=20.0),
        Polyline(points_mm=((0.0, 0.0), (3.0, 4.0)), closed=False),
    ]
    space = opened(dxf_text([("strokes", item) for item in items], height_mm=100.0)).modelspace()
    (line,), (circle,), (arc,) = space.query("LINE"), space.query("CIRCLE"), space.query("ARC")
    assert (tuple(line.dxf.start)[:2], tuple(line.dxf.end)[:2]) == ((10.0, 90.0), (10.0, 70.0))
    assert (circle.dxf.radius, circle.dxf.center.y) == (4.0, 80.0)
    # a quarter from the right downwards on the page: its ends lie right of and below its middle
    ends = {(round(point.x, 3), round(point.y, 3)) for point in (arc.start_point, arc.end_point)}
    assert ends == {(54.0, 40.0), (50.0, 36.0)}
    box, stroke = space.query("POLYLINE")
    assert box.is_closed
    assert length([tuple(point)[:2] for point in stroke.points()]) == pytest.approx(5.0)


@pytest.mark.parametrize("text", ["Ω ² µ °C", "\U0001f697 car", "לוח", "x" * 200, "two\nlines", "100% \\U+ done"])
def test_words_of_any_letters_are_read_back(text):
    item = Text(x_mm=5.0, y_mm=5.0, text=text, size_mm=3.0, anchor="middle")
    written = dxf_text([("words", item)], height_mm=50.0)
    assert written.isascii()
    (found,) = opened(written).modelspace().query("TEXT")
    assert read(found.dxf.text) == text.replace("\n", " ")


def test_the_same_drawing_gives_the_same_bytes(car):
    one, other = (circuit_dxf(circuit_drawings(laid_circuits(car.filled, car.kinds))[0]) for _ in range(2))
    assert one == other


def length(points: list[tuple[float, ...]] | tuple[tuple[float, float], ...]) -> float:
    """The length of a stroke. [mm]"""
    return sum(dist(one, other) for one, other in pairwise(points))


def read(text: str) -> str:
    """Words as the other library decodes them; letters beyond four figures come in two halves."""
    return decode_dxf_unicode(text).encode("utf-16", "surrogatepass").decode("utf-16")
