"""Hours spent against hours quoted: what is within, beyond the usual, over; nothing spent is lost."""

from __future__ import annotations

import pytest

from loomwright.car import Car
from loomwright.handover.quote_hours import StageHours
from loomwright.handover.quote_sheet import hours_words, price_words, range_words
from loomwright.job.reading import job_from_text
from tests.handover.small_quote import sheets


def against(*entries: tuple[str, str, str]) -> dict[str, StageHours]:
    rows = [{"stage": stage, "minutes": minutes, "who": who} for stage, minutes, who in entries]
    told = Car(job_from_text(sheets(hours=rows))).hours
    return {line.stage: line for line in told.stages} | {"whole": told.whole}


@pytest.mark.parametrize(
    ("minutes", "standing", "over"),
    # arrival is quoted at 45, 60, 90 minutes
    [("60", "within", 0.0), ("61", "beyond usual", 0.0), ("90", "beyond usual", 0.0), ("100", "over", 10.0)],
)
def test_a_stage_is_over_beyond_the_most_that_was_quoted(minutes, standing, over):
    line = against(("arrival", minutes, "A"))["arrival"]
    assert (line.standing, line.over_minutes) == (standing, over)


def test_time_is_summed_by_who_the_most_first():
    line = against(("survey", "30", "A"), ("survey", "1.5 h", "B"), ("survey", "10", "A"))["survey"]
    assert [(one.who, one.spent_minutes) for one in line.by] == [("B", 90.0), ("A", 40.0)]
    assert line.spent_minutes == 130.0


def test_time_of_no_stage_or_of_a_stage_that_is_not_quoted_is_not_lost():
    found = against(("", "20", "A"), ("gearbox", "30", "A"), ("washing", "5", "B"))
    assert [found[name].spent_minutes for name in ("", "gearbox", "washing", "whole")] == [20.0, 30.0, 5.0, 55.0]
    assert found["gearbox"].standing == "over"


def test_a_stage_that_is_quoted_and_not_begun_stands_there():
    line = against()["loom"]
    assert (line.standing, line.spent_minutes) == ("none", 0.0)
    assert line.quoted.usual_minutes == pytest.approx(107.76)


def test_printed_ranges_hold_what_was_counted():
    quoted = against()["loom"].quoted
    least, most = (float(word) for word in hours_words(quoted).split("(")[1].rstrip(")").split(" to "))
    assert least * 60 <= quoted.least_minutes
    assert most * 60 >= quoted.most_minutes


def test_prices_are_printed_to_the_whole_with_thousands_apart():
    whole = Car(job_from_text(sheets())).quote.part("one").sum
    assert whole is not None
    assert price_words(12345.6, "EUR") == "12 346 EUR"
    assert range_words(whole, "EUR") == "89 EUR (70 to 130)"
