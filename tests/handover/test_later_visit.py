"""A later visit: each reading against the newest passed one of its test, and a symptom as a reading."""

from __future__ import annotations

import pytest

from loomwright.handover.handed_over import baseline_of
from loomwright.handover.later_visit import blank_visit, read_again, readings_of, symptom_of
from loomwright.job.conditions import parse_condition
from loomwright.job.edits import add_row
from loomwright.job.reading import job_from_text
from loomwright.refusals import BadDocument, OutOfReach
from tests.pages.shelves import SMALL

VOLTS = {"test": "lamp", "point": "LA1.1", "low": "11", "high": "13", "unit": "V", "when": "key=run, SW1=on"}
OPEN = {"test": "loop", "low": "1000000", "unit": "ohm"}


def job():
    made = job_from_text(SMALL)
    for cells in (
        {**VOLTS, "value": "9", "verdict": "failed"},
        {**VOLTS, "value": "12", "verdict": "passed"},
        {**OPEN, "value": "20000000", "verdict": "passed"},
        {"test": "never", "low": "1", "high": "2", "unit": "V", "value": "5", "verdict": "failed"},
    ):
        made = add_row(made, "proofs", cells)
    return made


def test_the_newest_reading_is_the_baseline_only_where_it_passed():
    assert [(one.test, one.value) for one in baseline_of(job().proofs)] == [("lamp", 12.0), ("loop", 20e6)]
    worse = add_row(job(), "proofs", {**VOLTS, "value": "8", "verdict": "failed"})
    assert [one.test for one in baseline_of(worse.proofs)] == ["loop"]


@pytest.mark.parametrize(
    ("test", "text", "verdict"),
    [
        ("lamp", "12.4", "as then"),
        ("lamp", "12.6 V", "moved"),
        ("lamp", "11.4", "moved"),
        ("lamp", "10.9", "outside"),
        ("loop", "open", "as then"),
        ("loop", "12M", "as then"),
        ("loop", "9M", "moved"),
        ("loop", "900k", "outside"),
        ("never", "1.5", "no baseline"),
    ],
)
def test_a_reading_is_held_against_the_band_and_the_old_figure(test, text, verdict):
    assert read_again(job().proofs, [(test, text)])[0].verdict == verdict


def test_a_test_that_was_never_made_and_a_figure_that_is_none_are_told_together():
    with pytest.raises(BadDocument) as told:
        read_again(job().proofs, [("lampp", "12"), ("lamp", "much")])
    assert [problem.row for problem in told.value.problems] == [2, 3]
    assert "Did you mean lamp?" in str(told.value)


def test_volts_of_a_visit_go_to_the_fault_finder_with_their_states():
    readings = readings_of(read_again(job().proofs, [("lamp", "3"), ("loop", "12M")]))
    assert [(one.point, one.value, one.when.text) for one in readings] == [("LA1.1", 3.0, "key=run, SW1=on")]


def test_what_was_read_with_a_pin_put_to_the_body_by_hand_is_no_reading_of_the_car_by_itself():
    name = "live/LA1.1/key.run+lead.ECU.A2"
    made = add_row(job(), "proofs", {**VOLTS, "test": name, "value": "12", "verdict": "passed"})
    assert readings_of(read_again(made.proofs, [(name, "3")])) == ()


def test_the_sheet_to_fill_in_says_how_the_car_was_prepared_for_each_test():
    heads, *rows = blank_visit(job().proofs, {"lamp": "controllers unplugged"})
    column = heads.index("for it")
    assert [(row[0], row[column]) for row in rows] == [
        ("lamp", "controllers unplugged"),
        ("loop", "as on the test sheet"),
    ]


def test_a_dead_part_is_no_current_in_its_wire_and_a_large_part_is_asked_for_its_point():
    read = symptom_of(job(), "LA1", parse_condition("key=run, SW1=on"))
    assert (read.point, read.measure, read.value) == ("W6", "clamp", 0.0)
    with pytest.raises(OutOfReach, match="a part or a point with a wire; nearest: LA1"):
        symptom_of(job(), "LA9", parse_condition("always"))
    third = add_row(job(), "wires", {"id": "W99", "from": "LA1.1", "to": "body"})
    with pytest.raises(OutOfReach, match=r"LA1\.1 LA1\.2"):
        symptom_of(third, "LA1", parse_condition("always"))
