"""A cell's value as text and back: nothing of a text is lost, nothing of a figure is made up."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.sheets.workbook_cells import (
    LONGEST_TEXT,
    figure_of,
    text_fault,
    text_of_date,
    text_of_span,
    text_of_value,
)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (1.5, "1.5"),
        (16.0, "16"),
        (-0.0, "0"),
        (0.1 + 0.2, "0.3"),
        (0.30000000000000004, "0.3"),
        (1 / 3, "0.333333333333333"),
        (2 / 3, "0.666666666666667"),
        (123456789012345.0, "123456789012345"),
        (1e-7, "1e-07"),
        (1e20, "1e+20"),
        (True, "yes"),
        (False, "no"),
        ("16 AWG", "16 AWG"),
        ("0012", "0012"),
    ],
)
def test_what_text_a_value_stands_for(value, text):
    assert text_of_value(value) == text


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_figure_keeps_the_digits_a_spreadsheet_works_with(value):
    assert math.isclose(float(text_of_value(value)), value, rel_tol=1e-14, abs_tol=1e-323)


@given(st.one_of(st.text(alphabet="0123456789.,-+eE ", max_size=20), st.floats().map(repr), st.integers().map(str)))
def test_a_text_is_a_figure_only_if_that_figure_reads_as_the_same_text(text):
    figure = figure_of(text)
    assert figure is None or text_of_value(figure) == text


def test_what_a_figure_would_lose_stays_text():
    kept = ["0012", "1.0", "2.50", "1e3", "+5", "-0", "1,5", " 7", "0.30000000000000004", "12345678901234567", "5 mm"]
    assert [text for text in kept if figure_of(text) is not None] == []
    assert [figure_of(text) for text in ("0.5", "-12", "1200", "0")] == [0.5, -12.0, 1200.0, 0.0]


@pytest.mark.parametrize(
    ("days", "from_1904", "text"),
    [
        (45443.0, False, "2024-05-31"),
        (45443.4375, False, "2024-05-31T10:30"),
        (45443.43752315, False, "2024-05-31T10:30:02"),
        (0.3368055555555556, False, "08:05"),
        (1.0, False, "1900-01-01"),
        (59.0, False, "1900-02-28"),
        (61.0, False, "1900-03-01"),
        (60.0, False, None),
        (43981.0, True, "2024-05-31"),
        (2_958_465.0, False, "9999-12-31"),
        (2_958_466.0, False, None),
        (-1.0, False, None),
        (1e300, False, None),
        (math.nan, False, None),
        (math.inf, True, None),
        (45443.999999999, False, "2024-06-01"),
    ],
)
def test_a_date_is_written_as_iso_8601_says(days, from_1904, text):
    assert text_of_date(days, from_1904=from_1904) == text


@pytest.mark.parametrize(
    ("days", "text"),
    [(1.25, "30:00"), (0.0, "0:00"), (1 / 86_400, "0:00:01"), (-0.5, "-12:00"), (1e7, None), (math.nan, None)],
)
def test_a_length_of_time_is_hours_and_minutes(days, text):
    assert text_of_span(days) == text


def test_what_no_cell_can_hold_is_told():
    assert text_fault("a" * LONGEST_TEXT) == ""
    assert text_fault("a" * (LONGEST_TEXT + 1)) == "32768 letters"
    assert text_fault("😀" * 16_383) == ""
    assert text_fault("😀" * 16_384) == "32768 letters"
    assert [text for text in ("\0", "\ud800", "\ufffe", "\uffff") if not text_fault(text)] == []
    assert [text for text in ("\x07", "\r\n", "\t", "\x7f", "é") if text_fault(text)] == []
