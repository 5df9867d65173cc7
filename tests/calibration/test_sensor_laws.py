"""Sensors with a law of their own: what one reading means, and readings that mean nothing."""

from __future__ import annotations

import pytest

from loomwright.calibration.sensor_laws import meant_by, platinum_c
from loomwright.calibration.sensor_words import read_by_law
from loomwright.refusals import BadDocument, OutOfReach


# the resistances that IEC 60751's formula gives a sensor of 100 ohm
@pytest.mark.parametrize(("ohm", "celsius"), [(84.2707, -40.0), (100.0, 0.0), (138.5055, 100.0), (313.7080, 600.0)])
def test_a_platinum_thermometer_says_its_temperature(ohm, celsius):
    assert platinum_c(ohm) == pytest.approx(celsius, abs=1e-3)
    assert platinum_c(10.0 * ohm, 1000.0) == pytest.approx(celsius, abs=1e-3)


def test_the_cold_junction_is_added_in_millivolts():
    # 28.000 mV and 1.203 mV of 30 degrees are 701.77; adding 30 to what 28.000 mV alone mean would be 703.1
    [found] = meant_by(read_by_law("type_k_mv=28,000; junction_c=30"))
    assert (found.what, found.unit) == ("thermocouple", "°C")
    assert found.value == pytest.approx(701.77, abs=0.01)


# both scales are in print: 5 ms is 95 degrees on one, 125 on the other
@pytest.mark.parametrize(("k_per_ms", "fuel_c"), [(33.75, 27.5), (41.25, 42.5)])
def test_a_fuel_sensor_says_alcohol_and_temperature_by_its_own_scale(k_per_ms, fuel_c):
    alcohol, fuel = meant_by({"flex_hz": 135.0, "flex_ms": 3.0, "k_per_ms": k_per_ms})
    assert (alcohol.value, alcohol.unit) == (pytest.approx(85.0), "%")
    assert (fuel.value, fuel.unit) == (pytest.approx(fuel_c), "°C")


@pytest.mark.parametrize(
    "read", [{}, {"type_k_mv": 28.0}, {"flex_hz": 135.0, "flex_ms": 3.0}, {"platinum_ohm": 100.0, "junction_c": 30.0}]
)
def test_names_that_belong_to_no_law_are_told_with_those_that_do(read):
    with pytest.raises(OutOfReach) as caught:
        meant_by(read)
    assert "type_k_mv junction_c" in caught.value.allowed


@pytest.mark.parametrize(
    "read",
    [
        {"platinum_ohm": 18.0},
        {"platinum_ohm": 391.0},
        {"platinum_ohm": 100.0, "zero_ohm": 0.0},
        {"type_k_mv": 60.0, "junction_c": 20.0},
        {"flex_hz": 170.0, "flex_ms": 3.0, "k_per_ms": 41.25},
    ],
)
def test_readings_no_sound_sensor_gives_are_refused(read):
    with pytest.raises(OutOfReach):
        meant_by(read)


def test_words_that_are_no_readings_are_all_told():
    with pytest.raises(BadDocument) as caught:
        read_by_law("typ_k_mv=28; junction_c=warm")
    assert [(one.column, one.mend) for one in caught.value.problems] == [
        ("typ_k_mv", "Write type_k_mv"),
        ("junction_c", "Read it again"),
    ]
