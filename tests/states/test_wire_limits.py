"""What a wire may carry, and how hot it gets, beside printed figures and arithmetic shown."""

from __future__ import annotations

from math import inf, sqrt

import pytest

from loomwright.states.ratings.wire_limits import (
    WireLimit,
    adiabatic_k,
    after_c,
    carries_a,
    damage_c,
    limits_of,
    short_time_a,
    steady_c,
    time_constant_s,
)
from tests.states.small_jobs import car, scene


def limit(size_mm2: float = 1.5, insulation_c: float = 105.0, ambient_c: float = 40.0) -> WireLimit:
    return WireLimit(wire="W1", size_mm2=size_mm2, insulation_c=insulation_c, ambient_c=ambient_c, excess_k=0.0)


def test_sixteen_gauge_carries_what_the_boat_table_prints():
    # 33 CFR 183.425 Table 5: 16 AWG, 105 degC, 30 degC ambient: 25 A
    assert carries_a(limit(1.3087), 30.0) == 25.0


def test_steady_temperature_goes_with_the_square_of_the_current():
    # 20 A of 25 A at 30 degC: 30 + 75 x 0.64 = 78 degC; the root law of a handbook would give 97
    assert steady_c(limit(1.3087), amps=20.0, ambient_c=30.0) == pytest.approx(78.0, abs=0.01)


def test_at_its_own_amps_a_wire_is_as_hot_as_its_class():
    assert steady_c(limit(), amps=carries_a(limit()), ambient_c=40.0) == pytest.approx(105.0)


@pytest.mark.parametrize(
    ("start_c", "end_c", "printed"),
    [(70.0, 160.0, 115), (90.0, 250.0, 143), (105.0, 160.0, 87), (105.0, 250.0, 135)],
)
def test_k_is_the_printed_factor(start_c, end_c, printed):
    # IEC 60364-5-54: 115 and 143; the last two worked out in the same way for a wire that starts hot
    assert round(adiabatic_k(start_c, end_c)) == printed


def test_half_a_square_millimetre_reaches_the_end_in_the_printed_time():
    # 0.5 mm2, k 115, 140 A: (115 x 0.5 / 140)^2 = 0.169 s
    assert (adiabatic_k(70.0, 160.0) * 0.5 / 140.0) ** 2 == pytest.approx(0.169, abs=0.001)


def test_in_a_short_time_heating_is_adiabatic():
    # 300 A for 0.1 s: I2 t R' / C at the resistance of the class, nothing lost
    ohm_per_mm = 0.0133 * (234.5 + 105.0) / 254.5 / 1000.0
    rise_k = 300.0**2 * 0.1 * ohm_per_mm / (0.00345 * 1.5)
    found = after_c(limit(), amps=300.0, ambient_c=40.0, start_c=40.0, time_s=0.1)
    assert found - 40.0 == pytest.approx(rise_k, rel=0.01)


def test_after_a_long_time_it_is_steady():
    found = after_c(limit(), amps=20.0, ambient_c=40.0, start_c=105.0, time_s=3600.0)
    assert found == pytest.approx(steady_c(limit(), amps=20.0, ambient_c=40.0), abs=0.01)


def test_the_time_constant_is_that_of_copper_alone():
    # 2.5 mm2: copper and insulation together settle in 63 s by a heat balance; copper is some two thirds of it
    assert 30.0 < time_constant_s(limit(2.5), 40.0) < 63.0


def test_half_a_minute_allows_more_than_for_ever_and_five_seconds_more_still():
    always = carries_a(limit(16.0))
    cranking = short_time_a(limit(16.0), ambient_c=40.0, time_s=30.0)
    stall = short_time_a(limit(16.0), ambient_c=40.0, time_s=5.0)
    assert always < cranking < stall
    # what it allows ends at the class temperature
    end_c = after_c(limit(16.0), amps=cranking, ambient_c=40.0, start_c=40.0, time_s=30.0)
    assert end_c == pytest.approx(105.0, abs=0.01)
    # for times short against the time constant amps go with one over the root of time
    assert stall / cranking == pytest.approx(sqrt(6.0), rel=0.1)


def test_a_place_as_hot_as_the_class_allows_nothing():
    hot = limit(ambient_c=105.0)
    assert carries_a(hot) == 0.0
    assert short_time_a(hot, ambient_c=105.0, time_s=30.0) == 0.0
    # any current at all is too much there, and none leaves it as warm as the place
    assert steady_c(hot, amps=0.1, ambient_c=105.0) == inf
    assert steady_c(hot, amps=0.0, ambient_c=105.0) == 105.0


def test_pvc_and_crosslinked_insulation_end_at_their_printed_temperatures():
    assert (damage_c(85.0), damage_c(105.0), damage_c(125.0)) == (160.0, 160.0, 250.0)


def test_a_wire_of_unknown_size_or_insulation_has_no_limit():
    seen = scene(car(changed={"W5": {"size_mm2": ""}, "W6": {"insulation": "old rubber"}}))
    found = limits_of(seen)
    assert {"W5", "W6"}.isdisjoint(found)
    assert found["W7"].insulation_c == 105.0


def test_the_hotter_end_counts():
    job = car(places=[{"id": "bay", "ambient_c": "90"}], changed={"SW1": {"place": "bay"}})
    found = limits_of(scene(job))
    assert (found["W5"].ambient_c, found["W5"].excess_k) == (90.0, 50.0)
    assert found["W7"].ambient_c == 40.0
