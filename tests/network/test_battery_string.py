"""Two batteries in series feed the car as one; a second battery beside the first is none of its string."""

from __future__ import annotations

import pytest

from loomwright.network.battery_string import battery_string
from tests.network.cars import job, solved

TOP = {"BA2": "battery; emf_v=12.6", "LA": "lamp; watt=24; volt=24"}
SERIES = ["W1 BAT.- body", "W2 BAT.+ BA2.-", "W3 BA2.+ LA.1", "W4 LA.2 body"]


def test_the_lamp_sees_both():
    made = job({"BAT": "battery; emf_v=12.6", **TOP}, SERIES, "system_voltage=24")
    assert battery_string(made) == ("BAT", "BA2")
    found = solved(made)
    assert found.volts["LA.1"] == pytest.approx(25.2, abs=0.2)
    assert found.volts["BAT.+"] == pytest.approx(12.6, abs=0.1)


def test_the_one_listed_first_need_not_be_the_earthed_one():
    swapped = ["W1 BA2.- body", "W2 BA2.+ BAT.-", "W3 BAT.+ LA.1", "W4 LA.2 body"]
    made = job({"BAT": "battery; emf_v=12.6", **TOP}, swapped, "system_voltage=24")
    assert battery_string(made) == ("BA2", "BAT")
    assert solved(made).volts["LA.1"] == pytest.approx(25.2, abs=0.2)


def test_a_fuse_between_them_does_not_part_the_string():
    through = ["W1 BAT.- body", "W2 BAT.+ F1.1", "W5 F1.2 BA2.-", "W3 BA2.+ LA.1", "W4 LA.2 body"]
    made = job({"BAT": "battery", "F1": "fuse; rating_a=60", **TOP}, through, "system_voltage=24")
    assert battery_string(made) == ("BAT", "BA2")


def test_a_second_battery_with_an_earth_of_its_own_is_no_string():
    beside = ["W1 BAT.- body", "W2 BA2.- body", "W3 BA2.+ LA.1", "W4 LA.2 body", "W5 BAT.+ BA2.+"]
    assert battery_string(job(TOP, beside)) == ("BAT",)


def test_on_positive_earth_the_string_goes_the_other_way():
    turned = ["W1 BAT.+ body", "W2 BAT.- BA2.+", "W3 BA2.- LA.1", "W4 LA.2 body"]
    made = job({"BAT": "battery; emf_v=12.6", **TOP}, turned, "earth=positive system_voltage=24")
    assert battery_string(made) == ("BAT", "BA2")
    assert solved(made).volts["LA.1"] == pytest.approx(-25.2, abs=0.2)


def test_one_whose_earth_is_lost_is_not_the_cars_though_it_stands_first():
    beside = ["W1 BAT.- engine", "W3 BA2.+ LA.1", "W4 LA.2 body", "W5 BAT.+ BA2.+", "W9 BA2.- EP.1"]
    made = job({**TOP, "EP": "earth_point"}, beside)
    assert [part.id for part in made.parts][:2] == ["BAT", "BA2"]
    assert battery_string(made) == ("BA2",)
    assert battery_string(job({**TOP, "EP": "earth_point"}, [*beside[1:4], "W1 BAT.- body", beside[4]])) == ("BAT",)
