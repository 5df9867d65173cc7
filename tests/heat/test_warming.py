"""A wire after a time: the adiabatic law for short times, the balance for long ones, and what lies between."""

from __future__ import annotations

from math import exp, inf

import numpy as np
import pytest

from loomwright.heat.one_wire import MELT_C, WireBodies, bodies_of
from loomwright.heat.still_air import Around
from loomwright.heat.warming import warming_of
from loomwright.refusals import OutOfReach

AROUND = Around(ambient_c=60.0, law="morgan")


def pure_copper(size_mm2: float) -> WireBodies:
    """A wire whose resistance is that of its own copper, as the factor k takes it."""
    road = bodies_of([size_mm2], gauge="road")
    return WireBodies(
        r20_ohm_per_m=np.array([0.017241 / size_mm2]),
        copper_mm2=road.copper_mm2,
        conductor_mm=road.conductor_mm,
        outside_mm=road.outside_mm,
    )


# t = (k S / I)^2, k 115 from 70 to 160 degC: 0.169 s and 0.243 s; the table prints 115 for 114.8
@pytest.mark.parametrize(("size_mm2", "amps", "time_s"), [(0.5, 140.0, 0.169), (1.5, 350.0, 0.243)])
def test_a_short_warms_copper_by_the_adiabatic_law(size_mm2, amps, time_s):
    wire = warming_of(pure_copper(size_mm2), AROUND)
    curve = wire.curve(amps, time_s=2.0 * time_s, start_c=70.0, copper_alone=True)
    assert curve.first_s(160.0) == pytest.approx(time_s, rel=0.02)


def test_the_jacket_s_heat_makes_a_short_cooler_and_leaving_it_out_is_the_safe_side():
    wire = warming_of(bodies_of([1.5], gauge="road"), AROUND)
    whole = wire.curve(350.0, time_s=0.2, start_c=105.0).end_c
    alone = wire.curve(350.0, time_s=0.2, start_c=105.0, copper_alone=True).end_c
    assert alone > whole > 105.0


@pytest.mark.parametrize(("size_mm2", "tau_s"), [(0.5, 25.0), (1.5, 46.0), (2.5, 63.0), (6.0, 110.0), (25.0, 265.0)])
def test_time_constants_are_those_worked_out_elsewhere(size_mm2, tau_s):
    assert warming_of(bodies_of([size_mm2], gauge="road"), AROUND).tau_s == pytest.approx(tau_s, rel=0.02)


def test_it_ends_where_the_balance_settles():
    wire = warming_of(bodies_of([2.5], gauge="road"), AROUND)
    assert wire.curve(30.0, time_s=3600.0).end_c == pytest.approx(wire.settled_c(30.0), abs=0.1)


def test_three_time_constants_are_some_95_percent():
    wire = warming_of(bodies_of([2.5], gauge="road"), AROUND)
    rise = (wire.curve(20.0, time_s=3.0 * wire.tau_s).end_c - 60.0) / (wire.settled_c(20.0) - 60.0)
    assert rise == pytest.approx(1.0 - exp(-3.0), abs=0.02)


def test_it_cools_to_the_air_again():
    wire = warming_of(bodies_of([2.5], gauge="road"), AROUND)
    assert wire.curve(0.0, time_s=20.0 * wire.tau_s, start_c=105.0).end_c == pytest.approx(60.0, abs=0.1)


def test_a_load_that_comes_and_goes_peaks_between_its_mean_and_for_ever():
    wire = warming_of(bodies_of([1.5], gauge="road"), AROUND)
    mean_c, always_c = wire.settled_c(25.0 * 0.5), wire.settled_c(25.0)  # a quarter of the time: half the amps, in heat
    peak_c = wire.peak_c(25.0, on_s=15.0, off_s=45.0)
    assert mean_c < peak_c < always_c
    assert wire.peak_c(25.0, on_s=0.5, off_s=1.5) == pytest.approx(mean_c, abs=1.0)
    assert wire.peak_c(25.0, on_s=1200.0, off_s=1200.0) == pytest.approx(always_c, abs=0.5)


def test_a_load_that_is_never_off_or_off_for_a_moment_peaks_where_it_settles():
    wire = warming_of(bodies_of([1.5], gauge="road"), AROUND)
    for off_s in (0.0, 0.5):
        assert wire.peak_c(25.0, on_s=300.0, off_s=off_s) == pytest.approx(wire.settled_c(25.0), abs=0.5)


def test_copper_that_melts_stays_at_its_melting():
    wire = warming_of(bodies_of([0.5], gauge="road"), AROUND)
    curve = wire.curve(400.0, time_s=5.0)
    assert curve.end_c == MELT_C
    assert curve.first_s(2000.0) == inf


def test_no_time_at_all_and_several_wires_are_refused():
    wire = warming_of(bodies_of([0.5]), AROUND)
    with pytest.raises(OutOfReach, match="time_s"):
        wire.curve(5.0, time_s=0.0)
    with pytest.raises(OutOfReach, match="time_s"):
        wire.curve(5.0, time_s=inf)
    with pytest.raises(OutOfReach, match="off_s"):
        wire.peak_c(5.0, on_s=1.0, off_s=-1.0)
    with pytest.raises(OutOfReach, match="wires"):
        warming_of(bodies_of([0.5, 1.0]), AROUND)
