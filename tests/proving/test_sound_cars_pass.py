"""A sound car whose parts are all a little off passes the plan; what a switch feeds is asked with the switch on."""

from __future__ import annotations

import numpy as np
import pytest

from loomwright.car import Car
from loomwright.cli.asking import open_given
from loomwright.handover.plan_strays import drawn_cars
from loomwright.handover.probing import ohmmeters_in, ohms_read
from loomwright.handover.proof_plan import Planned, plan_of
from loomwright.network.solve import solve_many
from loomwright.proving.bands import amps_band, volts_band
from loomwright.proving.live_tests import unplugged_at
from loomwright.proving.selector_tests import selector_tests
from loomwright.tables.tolerances import tolerances
from tests.proving.faulty_car import FaultyCar

CARS = 6
LOADS = ("lamp_current", "motor_current", "starter_current", "electronics_current", "coil_resistance", "resistor")


@pytest.fixture(scope="module")
def tourer() -> Planned:
    """A car with lamps, a dip switch and a clutch."""
    return plan_of(Car(open_given("tourer").job).scene)


def test_sound_cars_of_another_generator_pass_the_live_tests(car: Car, planned: Planned) -> None:
    off = tuple(name for name in unplugged_at(car.filled, car.kinds) if "." not in name)
    others = ("lead", "key.start")  # what the made-up car cannot do: a cavity earthed by hand, the starter's lead off
    asked = [one for one in planned.live if one.test.stage == "live" and not any(n in one.test.id for n in others)]
    failed = []
    for seed in range(CARS):
        one = FaultyCar(car, {}, np.random.default_rng(seed))
        for live in asked:
            test = live.test
            volts = one.volts(test.point, dict(planned.car.states[live.state]), off)
            if not test.low <= volts <= test.high:
                failed.append((seed, test.id, volts, test.low, test.high))
    assert len(asked) > 40
    assert failed == []


def test_sound_cars_pass_the_tests_in_ohms(car: Car, planned: Planned) -> None:
    asked = [one for one in planned.plan.of("dead") if one.measure == "ohms" and not one.id.startswith("dead/ends/")]
    job, kinds = car.filled, car.kinds
    dead = ohmmeters_in(job, kinds, car.scene.compiled, [(one.point, one.to) for one in asked])
    failed = []
    for drawn in drawn_cars(dead.compiled, job, kinds, cars=CARS, seed=3):
        batch = solve_many(drawn, dead.states)
        for row, test in enumerate(asked, start=1):
            ohm = ohms_read(drawn, batch, row)
            ohm = float("inf") if ohm is None else ohm
            if not test.low <= ohm <= (float("inf") if test.high is None else test.high):
                failed.append((test.id, ohm, test.low, test.high))
    assert failed == []


def test_a_band_of_amps_is_wider_than_any_load_strays() -> None:
    low, high = amps_band(1.0)
    for name in LOADS:
        one = tolerances()[name]
        ends = (1.0 / one.most, 1.0 / one.least) if name in ("coil_resistance", "resistor") else (one.least, one.most)
        assert low < ends[0], name
        assert ends[1] < high, name


def test_a_point_behind_a_resistance_has_the_band_its_parts_ask_for(tourer: Planned) -> None:
    wider = [
        one.test
        for one in tourer.live
        if one.test.stage == "live" and (one.test.low, one.test.high) != volts_band(one.test.expected, measured=False)
    ]
    assert all(one.low <= volts_band(one.expected, measured=False)[0] for one in wider)
    assert all(one.high >= volts_band(one.expected, measured=False)[1] for one in wider)


def test_main_beam_is_live_with_two_switches_moved(tourer: Planned) -> None:
    lamps = [one.test for one in tourer.live if one.test.point.endswith(".56a") and one.test.low > 9.0]
    assert lamps
    assert all("lights=head" in one.when and "dip=high" in one.when for one in lamps)


def test_a_fuse_behind_a_switch_is_asked_with_that_switch_on(tourer: Planned) -> None:
    tests = tourer.plan.of("power-up")
    loaded = [one for one in tests if one.measure == "amps" and "switched on by hand" in one.does]
    assert any("lamp" not in one.id and one.expected > 1.0 for one in loaded)
    assert not any("as long as the controllers are unplugged" in one.says for one in tests), "every fuse is fed"


def test_without_a_selector_the_clutch_lets_the_starter_turn(tourer: Planned) -> None:
    words = {one.when: one.word for one in tourer.plan.of("selector")}
    assert words == {"key=start": "no", "CLU=on, key=start": "yes"}


def test_the_display_is_asked_place_by_place_and_what_stands_alike_is_asked_as_one() -> None:
    told = {one.id: one for one in selector_tests(Car(open_given("van").job).scene)}
    shows = {name.rsplit("/", 1)[1]: one.does for name, one in told.items() if name.startswith("selector/display/")}
    assert shows["3"] == "the display shows 3"
    assert shows["P"] == shows["N"] == "the display shows P or N"
    assert "ECU.B15 0.0 V" in told["selector/display/3"].says
    assert {name for name, one in told.items() if one.word == "yes" and "/starter/" in name} == {
        "selector/starter/P",
        "selector/starter/N",
    }
