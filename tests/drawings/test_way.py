"""The way of a current on a drawing: its wires in order, which way through each, heavier than the rest, numbered."""

from __future__ import annotations

from itertools import pairwise
from math import hypot

import pytest

from loomwright.car import Car
from loomwright.drawings.circuit_drawing import painted_circuit, way_laid
from loomwright.drawings.content.way_steps import way_steps
from loomwright.drawings.painting.way_marks import shown_way
from loomwright.drawings.symbols.fields import field_of
from loomwright.drawings.symbols.items import Circle, Polyline, Text, WireStroke
from loomwright.writers.svg import svg_text
from tests.states.small_jobs import car as small_car
from tests.states.small_jobs import wire

PATH = ("BAT", "W3", "F1", "W4", "KEY", "W5", "SW1", "W6", "LA1", "W7")
OTHER = wire("W8", "SW1.2", "LA2.1", circuit="work")
EARTH = wire("W9", "LA2.2", "body", circuit="work")
SECOND = {"id": "LA2", "kind": "lamp", "circuit": "work", "settings": "watt=21"}


@pytest.fixture(scope="module")
def lamps() -> Car:
    return Car(small_car(parts=[SECOND], wires=[OTHER, EARTH]))


def told(car: Car, path, amps=None):
    steps = way_steps(car.laid.wiring, path, amps or {})
    return [(one.number, one.wire, one.leaves, one.enters) for one in steps]


def test_steps_follow_the_path_from_point_to_point(lamps):
    assert told(lamps, PATH) == [
        (1, "W3", "BAT.+", "F1.1"),
        (2, "W4", "F1.2", "KEY.30"),
        (3, "W5", "KEY.15", "SW1.1"),
        (4, "W6", "SW1.2", "LA1.1"),
        (5, "W7", "LA1.2", "body"),
    ]


def test_a_wire_taken_against_its_row_is_told_the_other_way():
    turned = Car(small_car(changed={"W5": {"from": "SW1.1", "to": "KEY.15"}}))
    (step,) = [one for one in way_steps(turned.laid.wiring, PATH) if one.wire == "W5"]
    assert (step.leaves, step.enters, step.is_forward, step.is_directed) == ("KEY.15", "SW1.1", False, True)


def test_the_current_decides_over_the_path_and_turns_one_that_was_named_backwards(lamps):
    amps = lamps.solve({"key": "run", "SW1": "on"}).amps
    assert told(lamps, PATH[::-1], amps) == told(lamps, PATH)


def test_a_wire_alone_with_no_current_has_no_direction(lamps):
    (step,) = way_steps(lamps.laid.wiring, ("W6",))
    assert not step.is_directed


def test_a_way_by_itself_draws_its_wires_and_nothing_else(lamps):
    steps = way_steps(lamps.laid.wiring, PATH)
    laid, name = way_laid(lamps.laid.wiring, steps)
    (drawing,) = painted_circuit(laid, name, shown_way(lamps.laid.wiring, steps), "the way")
    strokes = [item for item in drawing.items if isinstance(item, WireStroke)]
    assert sorted(one.about for one in strokes) == ["W3", "W4", "W5", "W6", "W7"]
    assert drawing.title == "the way"
    assert "LA2" not in svg_text(drawing)


def marks_on(drawing):
    numbers = [item for item in drawing.items if isinstance(item, Text) and item.text.isdecimal() and item.strong]
    rings = [item for item in drawing.items if isinstance(item, Circle) and item.fill == "paper" and item.about]
    arrows = [
        item
        for item in drawing.items
        if isinstance(item, Polyline) and item.closed and item.fill == "ink" and item.width_mm == 0.0 and item.about
    ]
    return {item.about: item.text for item in numbers if item.about}, rings, arrows


def test_on_its_circuit_the_way_is_heavier_numbered_and_pointed_and_the_rest_drawn_back(lamps):
    steps = way_steps(lamps.laid.wiring, PATH)
    (plain,) = painted_circuit(lamps.laid, "work")
    (drawing,) = painted_circuit(lamps.laid, "work", shown_way(lamps.laid.wiring, steps))
    wide = {item.about: item.width_mm for item in drawing.items if isinstance(item, WireStroke)}
    was = {item.about: item.width_mm for item in plain.items if isinstance(item, WireStroke)}
    assert all(wide[name] > was[name] for name in ("W5", "W6", "W7"))
    assert all(0.0 < wide[name] < was[name] for name in ("W8", "W9"))
    numbers, _, arrows = marks_on(drawing)
    assert {name: numbers[name] for name in ("W5", "W6", "W7")} == {"W5": "3", "W6": "4", "W7": "5"}
    assert {one.about for one in arrows} >= {"W5", "W6", "W7"}
    back = [item for item in drawing.items if isinstance(item, Text) and item.about == "LA2"]
    assert back
    assert all(item.ink == "soft" and not item.strong for item in back)


def test_arrows_point_where_the_current_goes(lamps):
    steps = way_steps(lamps.laid.wiring, PATH)
    (drawing,) = painted_circuit(lamps.laid, "work", shown_way(lamps.laid.wiring, steps))
    _, _, arrows = marks_on(drawing)
    lines = {item.about: item.points_mm for item in drawing.items if isinstance(item, WireStroke)}
    for arrow in arrows:
        tip, left, right = arrow.points_mm
        root = ((left[0] + right[0]) / 2, (left[1] + right[1]) / 2)
        points = lines[arrow.about]  # all of these are taken as their rows have them
        assert gone_mm(points, tip) > gone_mm(points, root), arrow.about


def gone_mm(points, place):
    """How far along a line a place near it is."""
    best, gone = (1e9, 0.0), 0.0
    for (ax, ay), (bx, by) in pairwise(points):
        long = hypot(bx - ax, by - ay)
        along = ((place[0] - ax) * (bx - ax) + (place[1] - ay) * (by - ay)) / long
        off = hypot(place[0] - ax - (bx - ax) * along / long, place[1] - ay - (by - ay) * along / long)
        if -1.0 <= along <= long + 1.0:
            best = min(best, (round(off, 3), gone + along))
        gone += long
    return best[1]


def test_rings_cover_no_words_of_the_way_by_itself(lamps):
    steps = way_steps(lamps.laid.wiring, PATH)
    laid, name = way_laid(lamps.laid.wiring, steps)
    (drawing,) = painted_circuit(laid, name, shown_way(lamps.laid.wiring, steps))
    _, rings, _ = marks_on(drawing)
    rings = [one for one in rings if one.radius_mm > 1.5]
    words = [item for item in drawing.items if isinstance(item, Text) and not item.text.isdecimal()]
    assert len(rings) == 5
    for ring in rings:
        for word in words:
            left, top, right, bottom = field_of(word)
            x, y = max(left, min(ring.x_mm, right)), max(top, min(ring.y_mm, bottom))
            assert hypot(ring.x_mm - x, ring.y_mm - y) > ring.radius_mm * 0.7, (ring.about, word.text)
