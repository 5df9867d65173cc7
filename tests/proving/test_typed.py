"""A figure is read as the display shows it, and a reading that can hardly be meant is asked about before it counts."""

from __future__ import annotations

from math import inf

import pytest

from loomwright.proving.plan import PlannedTest
from loomwright.proving.taking import taken
from loomwright.proving.typed import figure_read, unit_typed
from loomwright.refusals import OutOfReach


@pytest.mark.parametrize(
    ("text", "unit", "figure"),
    [
        ("0,4", "ohm", 0.4),
        ("91,8 ohm", "ohm", 91.8),
        ("0,91k", "ohm", 910.0),
        ("400 mV", "V", 0.4),
        ("12,6 V", "V", 12.6),
        ("12.60 V DC", "V", 12.6),
        ("-12.3VDC", "V", -12.3),
        ("3500 mA", "A", 3.5),
        ("64 F", "degC", 160.0 / 9.0),
        *((word, "ohm", inf) for word in ("OL", "O.L", "0L", "0.L", ".OL", "open", "inf", "∞", "> 20 MΩ", ">1M")),
    ],
)
def test_a_figure_is_read_as_the_display_shows_it(text, unit, figure):
    assert figure_read(text, unit) == pytest.approx(figure)


@pytest.mark.parametrize(
    ("text", "unit", "word"),
    [
        ("12.6V", "ohm", "earth lead is off before a tip touches"),
        ("400 mV", "ohm", "Volts were read: set the meter to ohms"),
        ("3 ohm", "V", "Ohms were read: set the meter to volts"),
        ("3 V", "A", "Volts were read: set the meter to amps"),
        ("OL", "V", "over its range"),
        ("open", "A", "over its range"),
        ("> 2k", "ohm", "over its highest range"),
        ("1,000", "ohm", "the comma may stand between thousands"),
        ("12,600", "V", "the comma may stand between thousands"),
        ("400 m", "ohm", "400 mohm"),
        ("beep", "ohm", "such as 0.4"),
        ("nan", "V", "such as 12.6"),
        ("", "A", "such as 3.5"),
    ],
)
def test_what_is_no_reading_is_told_with_what_would_be_one(text, unit, word):
    with pytest.raises(OutOfReach) as refused:
        figure_read(text, unit)
    assert word in refused.value.allowed
    assert refused.value.found == text


def test_a_bare_figure_may_be_of_any_unit():
    assert [unit_typed(text) for text in ("12.6", "12,6 V", "40 mA", "0.1 ohm", "18 C", "much")] == [
        "",
        "V",
        "A",
        "ohm",
        "degC",
        "",
    ]


def _test(unit, low, high, expected=None, when=""):
    measure = {"V": "volts", "ohm": "ohms", "A": "amps"}[unit]
    return PlannedTest(
        id="t",
        stage="",
        does="",
        point="X.1",
        measure=measure,
        when=when,
        low=low,
        high=high,
        unit=unit,
        expected=expected,
    )


OPEN, ENDS = _test("ohm", 1e6, None), _test("ohm", 0.0, 0.24, 0.04)
LIVE, DEAD = _test("V", 11.7, 12.9, 12.3, "key=run"), _test("V", -0.5, 0.5, 0.0)


@pytest.mark.parametrize(
    ("test", "typed", "verdict", "asks"),
    [
        (OPEN, "1", "failed", "a 1 alone at the left of the display"),
        (OPEN, "1.", "failed", "a 1 alone at the left of the display"),
        (OPEN, "1 ohm", "failed", ""),
        (OPEN, "2", "failed", ""),
        (ENDS, "1", "failed", ""),
        (ENDS, "-0.05", "passed", ""),
        (ENDS, "-0.1", "passed", ""),
        (ENDS, "-0.2", "failed", "less than no ohms"),
        (_test("ohm", None, 0.24), "-5", "failed", "less than no ohms"),
        (LIVE, "-12.3", "failed", "were the leads changed over?"),
        (LIVE, "-11", "failed", ""),
        (LIVE, "13", "failed", ""),
        (LIVE, "15", "failed", "a charger on?"),
        (DEAD, "13", "failed", ""),
        (DEAD, "-0.4", "passed", ""),
        (_test("V", 13.5, 14.6, 14.1, "engine=running"), "14,2", "passed", ""),
        (_test("A", 2.7, 4.4, 3.5), "-3,5", "passed", ""),
    ],
)
def test_a_reading_is_asked_about_where_it_can_hardly_be_meant(test, typed, verdict, asks):
    found = taken(test, typed, time="now")
    assert found.verdict == verdict
    assert asks in found.asks
    assert bool(found.asks) == bool(asks)


@pytest.mark.parametrize(
    ("unit", "typed", "asks"),
    [
        ("A", "2000", False),
        ("A", "2001", True),
        ("ohm", "1e9", False),
        ("ohm", "1.1e9", True),
        ("V", "13.2", False),
        ("V", "13.21", True),
    ],
)
def test_more_than_a_car_can_show_is_asked_about(unit, typed, asks):
    wide = _test(unit, None, 1e12)
    assert bool(taken(wide, f"{typed} {unit}", time="now").asks) == asks


@pytest.mark.parametrize(("typed", "asks"), [("60", False), ("61", True), ("64 F", False)])
def test_air_no_warmer_than_sixty_degrees_is_taken(typed, asks):
    air = PlannedTest(id="sensor/air", stage="sensors", does="", point="", measure="thermometer", unit="degC")
    assert bool(taken(air, typed, time="now").asks) == asks
