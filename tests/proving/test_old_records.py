"""A record of the car as it was before a change stands beside the test and counts no more."""

from __future__ import annotations

import pytest

from loomwright.job.edits import add_row
from loomwright.job.job import Job
from loomwright.proving.plan import PlannedTest, stood_of
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
