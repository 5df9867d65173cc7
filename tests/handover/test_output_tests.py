"""Outputs one by one: what each does when it is on, against the car solved with that output bridged."""

from __future__ import annotations

import pytest

from loomwright.handover.asking import asked_of, telling_states
from loomwright.handover.cautions import cautions_of
from loomwright.handover.output_tests import output_tests
from tests.handover.bench_van import bench_car
from tests.handover.van import changed, rows


def told(sheets):
    """The car and its output tests."""
    car = bench_car(sheets)
    columns = asked_of(car.compiled, telling_states(car.filled, car.kinds, car.compiled))
    cautions = cautions_of(car.filled, car.kinds)
    return car, output_tests(car.filled, car.kinds, car.compiled, columns, cautions)


@pytest.fixture(scope="module")
def van():
    """The small van and its tests."""
    return told(rows())


def test_every_wired_output_is_tested_with_the_key_on_and_the_engine_stopped(van):
    tests = van[1]
    assert tests.state == "key=run"
    assert [test.pin for test in tests.tests] == ["ECU.A3", "ECU.A4"]


def test_an_output_that_works_a_relay_tells_the_relay_and_what_that_starts(van):
    fan = van[1].tests[0]
    assert fan.starts == ("KF", "FAN")
    assert float(fan.off) > 12.0
    assert float(fan.on) < 0.5
    assert fan.caution == ("Near the fans",)


def test_the_figures_are_those_of_the_car_in_which_that_drive_is_on(van):
    sheets = changed("parts", "ECU")
    next(row for row in sheets["drives"] if row["output"] == "A3")["when"] = "always"
    solved = bench_car(sheets).solve(key="run")
    fan = van[1].tests[0]
    assert float(fan.on) == pytest.approx(solved.volts["ECU.A3"], abs=0.006)
    amps, _, rating = fan.amps.partition(" of ")
    assert float(amps.split()[0]) == pytest.approx(solved.amps["ECU.A3.drive"], rel=0.01)
    assert rating == "1 A"


def test_small_currents_are_told_in_milliamps():
    sheets = changed("parts", "VALVE", settings="ohm=400")
    valve = told(sheets)[1].tests[1]
    assert " mA of 3 A" in valve.amps
    assert 20.0 < float(valve.amps.split()[0]) < 40.0


def test_what_is_on_already_says_so():
    sheets = rows()
    next(row for row in sheets["drives"] if row["output"] == "A4")["when"] = "always"
    valve = told(sheets)[1].tests[1]
    assert (valve.off, valve.starts) == ("on already", ())


def test_without_a_controller_there_is_nothing_to_test():
    sheets = rows()
    sheets["parts"] = [row for row in sheets["parts"] if row["id"] != "ECU"]
    sheets["wires"] = [row for row in sheets["wires"] if not {"ECU"} & {row["from"][:3], row["to"][:3]}]
    sheets["controller_pins"] = sheets["drives"] = []
    tests = told(sheets)[1]
    assert (tests.state, tests.tests) == ("", ())
