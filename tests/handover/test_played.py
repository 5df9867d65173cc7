"""A way is gone step by step, and each step tells what moves, what holds by its past and what stays on."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from loomwright.handover.played import play, ways_of
from loomwright.refusals import OutOfReach
from tests.states.small_jobs import car
from tests.states.test_truth import HOLDING


def test_a_relay_that_holds_itself_is_held_by_its_past_until_the_key_goes_off():
    steps = play(
        Car(car(**HOLDING)).compiled,
        [{"key": "run"}, {"key": "run", "PB": "on"}, {"key": "run"}, {}, {"key": "run"}],
    )
    assert [step.pulls for step in steps] == [(), ("K1",), (), (), ()]
    assert [step.holds for step in steps] == [(), (), ("K1",), (), ()]
    assert [step.by_past for step in steps] == [(), (), ("K1",), (), ()]
    assert [step.drops for step in steps] == [(), (), (), ("K1",), ()]
    assert [step.goes_on for step in steps] == [(), ("LA2",), (), (), ()]
    assert [step.stays_on for step in steps] == [(), (), ("LA2",), (), ()]
    assert [step.goes_off for step in steps] == [(), (), (), ("LA2",), ()]


def test_a_step_that_cannot_occur_is_passed_over():
    # nobody can crank a car without a starter; the step after it comes from the one before it
    steps = play(Car(car(**HOLDING)).compiled, [{"key": "run", "PB": "on"}, {"engine": "cranking"}, {"key": "run"}])
    assert [step.occurs for step in steps] == [True, False, True]
    assert steps[2].by_past == ("K1",)


def test_only_ways_that_key_and_engine_can_go_are_offered():
    of = Car(car())
    assert [way.word for way in ways_of(of.variables)] == ["off", "start", "stall"]
    assert ways_of([one for one in of.variables if one.name != "key"]) == ()


def test_a_value_that_the_car_does_not_have_is_refused():
    with pytest.raises(OutOfReach):
        play(Car(car()).compiled, [{"key": "sideways"}])
