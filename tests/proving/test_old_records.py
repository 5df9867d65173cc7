"""A record of the car as it was before a change stands beside the test and counts no more."""

from __future__ import annotations

import pytest

from loomwright.job.edits import add_row
from loomwright.job.job import Job
from loomwright.proving.plan import STAGES, PlannedTest, failed_before, held_off, stood_of
from loomwright.proving.taking import taken

ENDS = {"id": "dead/ends/W1", "point": "A.1", "to": "B.1", "unit": "ohm", "low": 0.0, "high": 0.24, "measure": "ohms"}


def planned(**cells: object) -> PlannedTest:
    return PlannedTest(stage="dead", does="", **{**ENDS, **cells})  # type: ignore[arg-type]  # cells by their names


def stood(then: PlannedTest, now: PlannedTest, typed: str = "0.1"):
    proofs = add_row(Job(), "proofs", taken(then, typed, time="now").cells).proofs
    return stood_of([now], proofs)[0]


def test_a_record_at_the_same_place_counts_also_the_other_way_round():
    assert stood(planned(), planned()).verdict == "passed"
    assert stood(planned(), planned(point="B.1", to="A.1")).verdict == "passed"


@pytest.mark.parametrize("moved", [{"to": "B.2"}, {"point": "A.9"}])
def test_a_wire_that_was_moved_to_another_cavity_is_proved_again(moved):
    found = stood(planned(), planned(**moved))
    assert found.verdict == "not taken"
    assert [row.value for row in found.before] == [0.1]
    assert found.rows == ()


@pytest.mark.parametrize(
    ("low", "high", "verdict"),
    [(0.0, 0.3, "passed"), (0.24, 0.5, "passed"), (0.25, 0.5, "not taken"), (1e6, None, "not taken")],
)
def test_a_record_counts_as_long_as_the_bands_of_then_and_now_meet(low, high, verdict):
    assert stood(planned(), planned(low=low, high=high)).verdict == verdict


def test_a_place_that_was_open_and_is_a_coil_now_is_read_again():
    was = planned(low=1e6, high=None)
    assert stood(was, was, "OL").verdict == "passed"
    assert stood(was, planned(low=70.0, high=110.0), "OL").verdict == "not taken"


def test_a_re_test_after_the_change_counts_beside_the_older():
    then, now = planned(), planned(to="B.2")
    job = add_row(Job(), "proofs", taken(then, "0.1", time="one").cells)
    job = add_row(job, "proofs", taken(now, "OL", time="two").cells)
    found = stood_of([now], job.proofs)[0]
    assert (found.verdict, len(found.before), len(found.rows)) == ("failed", 1, 1)


def test_a_row_that_says_no_place_and_no_band_counts():
    job = add_row(Job(), "proofs", {"test": "dead/ends/W1", "verdict": "passed", "value": "0.1", "unit": "ohm"})
    assert stood_of([planned()], job.proofs)[0].verdict == "passed"


def test_a_dead_test_that_failed_keeps_the_power_off_until_it_is_read_again():
    dead, power = (
        planned(),
        PlannedTest(id="power/F1/lamp", stage="power-up", does="", point="F1", measure="lamp", word="dark"),
    )
    live = PlannedTest(
        id="live/A.1/rest", stage="live", does="", point="A.1", measure="volts", unit="V", low=-0.5, high=0.5
    )
    job = add_row(Job(), "proofs", taken(dead, "OL", time="one").cells)
    job = add_row(job, "proofs", taken(live, "12", time="one").cells)

    def held(stage):
        return failed_before(stood_of([dead, power, live], job.proofs), stage)

    assert held("dead") == (), "dead tests go on: they find out more"
    assert [held(stage) for stage, _ in STAGES[1:]] == [("dead/ends/W1",)] * (len(STAGES) - 1)
    job = add_row(job, "proofs", taken(power, "full", time="two").cells)
    assert held("power-up") == ("dead/ends/W1",), "a fuse that draws too much stops the fuses after it by its own words"
    assert held("live") == ("dead/ends/W1", "power/F1/lamp")
    job = add_row(job, "proofs", taken(dead, "0.1", time="three").cells)
    assert held("power-up") == ()
    assert held("outputs") == ("power/F1/lamp",), "volts that are wrong are hunted with the car live"


def test_a_record_in_another_unit_was_read_at_another_test():
    job = add_row(Job(), "proofs", {"test": "dead/ends/W1", "verdict": "passed", "value": "0.1", "unit": "V"})
    assert stood_of([planned()], job.proofs)[0].verdict == "not taken"


@pytest.mark.parametrize(("count", "told"), [(1, "W1 failed"), (3, "W3 failed"), (4, "W3 and 1 more failed")])
def test_three_tests_that_keep_the_power_off_are_named(count, told):
    tests, job = [planned(id=f"dead/ends/W{n}") for n in range(1, count + 1)], Job()
    for test in tests:
        job = add_row(job, "proofs", taken(test, "OL", time="now").cells)
    stood = stood_of(tests, job.proofs)
    assert told in held_off(stood, "power-up")[0]
    assert held_off(stood, "dead") == ()
