"""One wire in still air: figures worked out by hand, and what must hold for any wire."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.heat.one_wire import MELT_C, bodies_of, carries_a, root_between, settled_c, surface_of_c
from loomwright.heat.still_air import Around, lost_w_per_m, pressure_kpa_at
from loomwright.refusals import OutOfReach
from loomwright.tables.conductors import sizes_mm2

ROAD = [0.35, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0]


# worked out once by another program from the same inputs, to four figures: Morgan's and Churchill and Chu's amps
@pytest.mark.parametrize(
    ("size_mm2", "air_c", "copper_c", "morgan_a", "churchill_a"),
    [
        (0.5, 60.0, 105.0, 12.26, 11.38),
        (1.5, 60.0, 105.0, 23.72, 22.15),
        (2.5, 60.0, 105.0, 32.83, 30.83),
        (6.0, 25.0, 105.0, 77.23, 72.79),
        (25.0, 80.0, 125.0, 153.5, 147.7),
    ],
)
def test_amps_for_a_temperature_are_those_worked_out_elsewhere(size_mm2, air_c, copper_c, morgan_a, churchill_a):
    body = bodies_of([size_mm2], gauge="road")
    ours = [
        float(carries_a(copper_c, body, Around(ambient_c=air_c, law=law))[0]) for law in ("morgan", "churchill_chu")
    ]
    assert ours == pytest.approx([morgan_a, churchill_a], rel=3e-3)


@pytest.mark.parametrize(
    ("size_mm2", "amps", "air_c", "morgan_c", "churchill_c"),
    [(1.5, 20.0, 40.0, 72.1, 76.9), (1.5, 20.25, 60.0, 93.1, 97.8), (16.0, 100.0, 60.0, 95.2, 98.5)],
)
def test_temperatures_for_a_current_are_those_worked_out_elsewhere(size_mm2, amps, air_c, morgan_c, churchill_c):
    body = bodies_of([size_mm2], gauge="road")
    for law, at_c in (("morgan", morgan_c), ("churchill_chu", churchill_c)):
        assert settled_c(np.array([amps]), body, Around(ambient_c=air_c, law=law))[0] == pytest.approx(at_c, abs=0.3)


def test_the_jacket_and_the_heat_of_one_line_are_those_worked_by_hand():
    body, around = bodies_of([2.5], gauge="road"), Around(ambient_c=60.0, law="morgan")
    jacket = surface_of_c(np.array([105.0]), body, around)
    assert jacket[0] == pytest.approx(102.16, abs=0.05)
    assert lost_w_per_m(jacket, body.outside_mm, around)[0] == pytest.approx(10.926, rel=3e-3)


def test_emissivity_pressure_and_nothing_else_move_it_as_worked_by_hand():
    body = bodies_of([2.5], gauge="road")
    dull = carries_a(105.0, body, Around(ambient_c=60.0, law="morgan", emissivity_frac=0.5))[0]
    thin = carries_a(105.0, body, Around(ambient_c=60.0, law="morgan", pressure_kpa=69.682))[0]
    assert [dull, thin] == pytest.approx([30.48, 31.74], rel=3e-3)


def test_thin_air_on_a_mountain_is_the_standard_atmospheres():
    assert pressure_kpa_at(1500.0) == pytest.approx(84.56, rel=1e-3)
    assert pressure_kpa_at(18_288.0) == pytest.approx(7.2, rel=0.02)  # 60 000 ft


def test_a_current_that_would_melt_it_has_no_temperature():
    body = bodies_of([0.5], gauge="road")
    assert settled_c(np.array([200.0]), body, Around(ambient_c=20.0))[0] == np.inf


def test_air_as_hot_as_the_class_leaves_nothing_to_carry():
    assert carries_a(105.0, bodies_of([2.5]), Around(ambient_c=105.0))[0] == 0.0
    assert carries_a(105.0, bodies_of([2.5]), Around(ambient_c=140.0))[0] == 0.0


def test_air_as_cold_as_the_poles_and_as_thin_as_near_space_is_still_covered():
    assert (Around(ambient_c=-60.0).ambient_c, Around(ambient_c=300.0).ambient_c) == (-60.0, 300.0)
    assert (Around(ambient_c=20.0, pressure_kpa=1.0).pressure_kpa, pressure_kpa_at(-500.0) > 101.325) == (1.0, True)
    for beyond in ({"ambient_c": -60.1}, {"ambient_c": 300.1}, {"ambient_c": 20.0, "pressure_kpa": 0.9}):
        with pytest.raises(OutOfReach):
            Around(**beyond)


def test_what_no_method_covers_is_refused():
    with pytest.raises(OutOfReach, match="ambient_c"):
        Around(ambient_c=500.0)
    with pytest.raises(OutOfReach, match="size_mm2"):
        bodies_of([0.05])
    with pytest.raises(OutOfReach, match="copper_c"):
        carries_a(MELT_C + 1.0, bodies_of([1.0]), Around(ambient_c=20.0))
    with pytest.raises(OutOfReach, match="altitude_m"):
        pressure_kpa_at(50_000.0)


@settings(max_examples=60, deadline=None)
@given(
    size=st.sampled_from([size for size in sizes_mm2() if 0.35 <= size <= 70.0]),
    air=st.floats(-40.0, 120.0),
    rise=st.floats(1.0, 150.0),
    law=st.sampled_from(["morgan", "churchill_chu"]),
)
def test_amps_for_a_temperature_give_that_temperature_back(size, air, rise, law):
    body, around = bodies_of([size]), Around(ambient_c=air, law=law)
    amps = carries_a(air + rise, body, around)
    # Morgan's five pieces do not quite meet, so where two join a temperature has a hair of play
    assert settled_c(amps, body, around)[0] == pytest.approx(air + rise, abs=0.01 if law == "churchill_chu" else 2.0)


ROOT_C = 1e-5
"""Two roots that are the same in truth may differ by this. [K]"""


@settings(max_examples=60, deadline=None)
@given(amps=st.floats(0.0, 60.0), more=st.floats(0.1, 10.0), air=st.floats(-40.0, 120.0))
def test_more_current_hotter_air_and_thinner_wire_are_never_cooler(amps, more, air):
    body = bodies_of(ROAD)
    base = settled_c(np.full(len(ROAD), amps), body, Around(ambient_c=air))
    assert np.all(base >= air - 1e-6)
    assert np.all(settled_c(np.full(len(ROAD), amps + more), body, Around(ambient_c=air)) >= base)
    assert np.all(settled_c(np.full(len(ROAD), amps), body, Around(ambient_c=air + more)) >= base)
    # the search for the root stops within some microkelvin
    assert np.all(base[:-1] >= base[1:] - ROOT_C)


def test_many_at_once_are_the_same_as_one_by_one():
    amps = np.linspace(1.0, 12.0, len(ROAD))
    around = Around(ambient_c=60.0)
    each = [settled_c(amps[[k]], bodies_of([size]), around)[0] for k, size in enumerate(ROAD)]
    assert settled_c(amps, bodies_of(ROAD), around) == pytest.approx(each, abs=1e-4)


def test_a_root_that_is_not_there_is_told():
    at, found = root_between(lambda x: x - np.array([1.0, 5.0]), np.zeros(2), np.full(2, 3.0))
    assert list(found) == [True, False]
    assert at[0] == pytest.approx(1.0)
