"""What was read at a test goes to the fault finder with the car as it stood for it."""

from __future__ import annotations

import numpy as np
import pytest

from loomwright.car import Car
from loomwright.handover.proof_plan import Planned
from loomwright.job.edits import add_row
from loomwright.job.job import Job
from loomwright.proving.fault_table import no_table
from loomwright.proving.fitting import decades, probes_of
from loomwright.proving.handing_over import reading_of
from loomwright.proving.locate import ranked
from loomwright.proving.plan import PlannedTest
from loomwright.proving.predicted import predicted
from loomwright.proving.suspects import suspects_of
from loomwright.proving.taking import taken

OPEN_OHM = 2e7


def handed(test: PlannedTest, typed: str) -> dict[str, str]:
    """The cells of the reading that goes over, of a test at which that was typed."""
    cells = taken(test, typed, time="now").cells
    return dict(reading_of(test, add_row(Job(), "proofs", cells).proofs[0]))


def test_what_a_sound_car_reads_at_a_test_the_fault_finder_expects_as_well(car: Car, planned: Planned) -> None:
    """Two ways to one figure: the plan solves its own cars, the fault finder takes apart the car as it is driven."""
    job, tests = Job(), []
    for test in planned.plan.tests:
        sound = "open" if test.expected is None else f"{test.expected:.6g}"
        if test.off is not None and test.measure in ("volts", "ohms") and (cells := handed(test, sound)):
            job, tests = add_row(job, "readings", cells), [*tests, test]
    assert {test.id.split("/")[0] for test in tests} == {"dead", "live"}
    assert len(tests) > 300
    probes = probes_of(car.scene, job.readings)
    shown = predicted(car.scene, probes, no_table(car.scene, suspects_of(car.scene)[:1]))[0][0]
    is_ohms = np.array([test.unit == "ohm" for test in tests])
    wanted = np.array([OPEN_OHM if test.expected is None else test.expected for test in tests])
    wanted[is_ohms] = decades(wanted[is_ohms])
    assert np.abs(shown - wanted)[~is_ohms].max() < 0.01
    assert np.abs(shown - wanted)[is_ohms].max() < 0.02, "in decades: a wire's copper, with its crimps or without"


def test_a_test_with_a_cavity_led_to_the_body_or_a_wire_that_hangs_free_is_not_taken_over(planned: Planned) -> None:
    led = next(test for test in planned.plan.tests if test.stage == "live" and "to the body" in test.put)
    assert handed(led, "12.1") == {}
    free = [test for test in planned.plan.tests if test.stage == "live" and test.point == "STR.50"]
    assert free
    assert [handed(test, "0.1") for test in free] == [{}] * len(free)
    lamp = next(test for test in planned.plan.tests if test.measure == "lamp")
    assert handed(lamp, "full") == {}


def test_what_is_off_stands_in_the_reading_with_its_unit(planned: Planned) -> None:
    starter = next(w for w in planned.scene.wires_at["STR.50"])
    live = next(test for test in planned.plan.tests if test.id == "live/ECU.A5/key.run")
    assert handed(live, "0.2") == {
        "point": "ECU.A5",
        "off": f"ECU {starter.id}:STR.50",
        "when": "key=run",
        "measure": "volts",
        "value": "0.2",
        "unit": "V",
    }
    dead = next(test for test in planned.plan.tests if test.id == "dead/body/ECU.A1")
    assert handed(dead, "0.3") == {
        "point": "ECU.A1",
        "to": "body",
        "off": "ECU",
        "measure": "ohms",
        "value": "0.3",
        "unit": "ohm",
    }
    assert handed(dead, "OL")["value"] == "open"


@pytest.mark.parametrize(
    ("test", "typed", "kinds"),
    [("dead/body/ECU.A1", "0.15", {"short to body", "bare"}), ("live/ECU.A5/key.run", "0.1", set())],
)
def test_the_suspect_is_on_the_net_of_the_test_that_failed(
    car: Car, planned: Planned, test: str, typed: str, kinds: set[str]
) -> None:
    failed = next(one for one in planned.plan.tests if one.id == test)
    readings = add_row(Job(), "readings", handed(failed, typed)).readings
    first = ranked(car.scene, readings)[0]
    assert first.odds > 0.5
    assert not kinds or {one.kind for one in first.suspects} <= kinds
    assert any(set(one.at) & set(failed.wires) for one in first.suspects)
