"""A circuit on a screen, lit by the current of a state."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from loomwright.drawings.circuit_drawing import circuit_drawings, laid_circuits
from loomwright.drawings.painting.copper import beside, thickness_mm
from loomwright.drawings.painting.wires import WIRE_MM
from loomwright.drawings.screens import Lit, Screen, screens_of
from loomwright.drawings.symbols.items import Circle, Polyline, Text, WireStroke
from tests.states.small_jobs import car as small_car
from tests.states.small_jobs import wire

ON = {"key": "run", "SW1": "on"}


def lit(car: Car, state: dict[str, str]) -> Lit:
    look = car.in_states.look(state)
    plan = car.in_states.plan(look)
    return Lit(
        state=look.solved.state,
        amps=look.solved.amps,
        energised=frozenset(plan.energised),
        points={point: look.standing(point) for point in look.solved.volts},
        contacts=look.contacts,
        working=frozenset(load.part for circuit in plan.circuits for load in circuit.loads if load.works),
    )


def screen(car: Car, circuit: str, state: dict[str, str]) -> Screen:
    (found,) = screens_of(car.laid, circuit, lit(car, state))
    return found


def copper_mm(found: Screen, wire_id: str) -> float:
    """How thick the copper line beside a wire is; 0 where there is none."""
    thing = next(one for one in found.things if one.about == wire_id)
    return sum(item.width_mm for item in thing.items if isinstance(item, Polyline) and item.ink == "copper")


@pytest.fixture(scope="module")
def lamp_car() -> Car:
    return Car(small_car())


def test_every_wire_of_the_circuit_can_be_touched_once(lamp_car):
    found = screen(lamp_car, "work", {})
    wires = [one.about for one in found.things if one.sort == "wire"]
    assert sorted(wires) == ["W5", "W6", "W7"]
    assert all(one.points_mm for one in found.things if one.sort == "wire")
    assert {"SW1", "LA1"} <= {one.about for one in found.things if one.sort == "part"}


def test_copper_stands_beside_what_is_energised_and_is_thicker_with_current(lamp_car):
    dead, live, lamp_on = (screen(lamp_car, "work", state) for state in ({}, {"key": "run"}, ON))
    assert [copper_mm(dead, one) for one in ("W5", "W6", "W7")] == [0.0, 0.0, 0.0]
    assert copper_mm(live, "W5") > 0.0 == copper_mm(live, "W6")
    assert copper_mm(lamp_on, "W5") > copper_mm(live, "W5")
    assert copper_mm(lamp_on, "W7") == pytest.approx(copper_mm(lamp_on, "W6"))


def test_a_copper_line_does_not_lie_on_its_wire():
    corners = ((10.0, 0.0), (10.0, 20.0), (40.0, 20.0), (40.0, 50.0))
    for amps in (0.0, 1.0, 30.0, 500.0):
        wide = thickness_mm(amps)
        line = beside(corners, wide, 40.0)
        assert len(line) == len(corners)
        gaps = [abs(line[0][0] - 10.0), abs(line[1][1] - 20.0), abs(line[-1][0] - 40.0)]
        assert all(gap - wide / 2 > WIRE_MM / 2 for gap in gaps)
        # to the left where its label stands
        assert line[-1][0] < 40.0


def test_a_switch_lies_as_it_is_set_and_a_lamp_that_works_is_copper(lamp_car):
    def strokes(found: Screen, part: str) -> list[object]:
        return [item for one in found.things if one.about == part for item in one.items if not isinstance(item, Text)]

    off, on = screen(lamp_car, "work", {"key": "run"}), screen(lamp_car, "work", ON)
    assert strokes(off, "SW1") != strokes(on, "SW1")
    assert not any(getattr(item, "ink", "") == "copper" for item in strokes(off, "LA1"))
    assert any(getattr(item, "ink", "") == "copper" for item in strokes(on, "LA1"))


def test_ends_tell_live_dead_and_floating():
    car = Car(
        small_car(
            parts=[{"id": "X", "kind": "splice"}, {"id": "Y", "kind": "splice"}],
            wires=[wire("W8", "X.1", "Y.1", circuit="work")],
        )
    )
    fills = {item.fill for item in screen(car, "work", ON).ends if isinstance(item, Circle)}
    assert fills == {"copper", "ink", "paper"}


def test_tracks_have_the_numbers_of_the_paper(lamp_car):
    paper = next(one for one in circuit_drawings(laid_circuits(lamp_car.filled, lamp_car.kinds)) if one.id == "work")
    numbers = [item.text for item in screen(lamp_car, "work", {}).ground if isinstance(item, Text)]
    assert numbers == [str(track.number) for track in paper.tracks]


def test_wires_keep_their_colours():
    car = Car(small_car(changed={"W6": {"colour": "WH/BU"}}))
    thing = next(one for one in screen(car, "work", ON).things if one.about == "W6")
    assert [item.colour for item in thing.items if isinstance(item, WireStroke)] == ["WH/BU"]
