"""A sensor's table: true to its curve, honest about its ends; an earth that is up told from a sensor that is wrong."""

from __future__ import annotations

from itertools import combinations
from time import process_time

import numpy as np
import pytest

from loomwright.calibration.breakpoints import place_breakpoints, table_wrong
from loomwright.calibration.sensor_curves import Compared, earth_lift, points_curve, thermistor_curve
from loomwright.calibration.sensor_words import before_of, compared_of, pairs_of, probe_of
from loomwright.calibration.thermistor import divider_v, thermistor_of
from loomwright.refusals import BadDocument, OutOfReach

POINTS = [(0, 5975), (50, 806.9), (100, 175.7)]


def test_a_table_is_within_what_it_says_of_the_printed_curve():
    made = thermistor_curve(POINTS, pull_up_ohm=1000, least_c=-30, most_c=120, count=16)
    at, reads = [row[0] for row in made.table.rows], [row[1] for row in made.table.rows]
    # ohms of the workshop manual's own table, and the degrees it prints beside them
    for celsius, ohm in ((-20, 15971), (0, 5975), (40, 1152), (80, 308.6), (110, 135.2)):
        read = np.interp(divider_v(ohm, 1000.0), at, reads)
        assert read == pytest.approx(celsius, abs=made.worst + 0.05)
    assert made.worst < 0.5 * made.even


def test_the_placing_is_the_best_of_every_choice_on_random_curves():
    dice = np.random.default_rng(7)
    for _ in range(6):
        x = np.cumsum(dice.uniform(0.1, 1.0, 11))
        y = dice.normal(size=11)
        for count in (2, 3, 5, 7):
            every = (
                table_wrong(x, y, x[list(at)], y[list(at)])
                for at in ((0, *inner, 10) for inner in combinations(range(1, 10), count - 2))
            )
            assert place_breakpoints(x, y, count).worst == pytest.approx(min(every), abs=1e-12)


def test_a_table_that_reaches_beyond_its_points_says_so():
    far = thermistor_curve(POINTS, pull_up_ohm=2490, least_c=-40, most_c=120)
    near = thermistor_curve(POINTS, pull_up_ohm=2490, least_c=0, most_c=100)
    assert any("beyond them the curve is a guess" in says for says in far.says)
    assert near.says == ()


def test_an_end_that_looks_open_is_told():
    made = thermistor_curve(POINTS, pull_up_ohm=220, least_c=0, most_c=100, count=8)
    assert made.says == ()
    cold = thermistor_curve(POINTS, pull_up_ohm=220, least_c=-40, most_c=100, count=8)
    assert any("takes for open" in says for says in cold.says)


def test_a_straight_sensor_keeps_its_two_points_and_a_bent_one_its_own():
    assert points_curve([(0.5, 0), (4.5, 10)], count=16, unit="bar").table.rows == ((0.5, 0), (4.5, 10))
    bent = points_curve([(0.5, 0), (1, 1), (2, 4), (3, 9), (4, 16)], count=3)
    assert len(bent.table.rows) == 3
    assert 0 < bent.worst <= bent.even


def test_points_that_turn_back_or_are_no_pairs_are_told():
    with pytest.raises(BadDocument):
        points_curve([(0.5, 0), (4.5, 10), (3.0, 12)])
    with pytest.raises(BadDocument):
        points_curve([])
    with pytest.raises(BadDocument) as told:
        pairs_of("0:5975 50;806 x:1")
    assert [one.found for one in told.value.problems] == ["50;806", "x:1"]
    for count in (1, 65):
        with pytest.raises(OutOfReach):
            thermistor_curve(POINTS, pull_up_ohm=1000, count=count)
    with pytest.raises(OutOfReach):
        thermistor_curve(POINTS, pull_up_ohm=0)


def test_one_earth_that_is_up_is_told_from_one_sensor_that_is_wrong():
    curve = thermistor_of(POINTS)
    true_v = [divider_v(curve.resistance_ohm(t), 2490.0) for t in (18.0, 18.5, 60.0)]
    names = ("coolant", "air", "oil")
    up = [
        Compared(name=name, expected=v / 5, read=(0.08 + (5.0 - 0.08) * v / 5) / 5)
        for name, v in zip(names, true_v, strict=True)
    ]
    said = earth_lift(up)
    assert len(said) == 1
    assert "One earth that is up by 80 mV explains coolant, air, oil" in said[0]
    alone = [Compared(name=one.name, expected=one.expected, read=one.expected) for one in up[:2]] + [up[2]]
    assert earth_lift(alone)[0].startswith("oil: +80 mV by itself")
    assert earth_lift(alone[:2]) == ()


def test_readings_before_the_crank_need_their_thermometer_and_known_names():
    with pytest.raises(BadDocument) as told:
        before_of({"hours": "12", "coolant_c": "18", "throttle_v": "much"})
    assert [one.column for one in told.value.problems] == ["coolant_c", "throttle_v", "air_c"]
    with pytest.raises(BadDocument):
        compared_of("coolant=2.5")


def test_the_best_of_four_hundred_points_is_there_in_a_second():
    x = np.linspace(0.0, 5.0, 400)
    begun = process_time()
    placed = place_breakpoints(x, np.exp(x), 32)
    assert process_time() - begun < 1.0
    assert placed.worst < placed.even


@pytest.mark.parametrize(("lift_v", "is_told"), [(0.0140, False), (0.0160, True), (-0.0140, False), (-0.0160, True)])
def test_an_earth_is_up_from_fifteen_millivolts_on(lift_v, is_told):
    # what a ten-bit input reads, three steps of 4.9 mV; V = up + (ref - up) * share: read - expected = up (1 - e) / ref
    two = [Compared(name=n, expected=e, read=e + lift_v * (1.0 - e) / 5.0) for n, e in (("a", 0.2), ("b", 0.6))]
    assert bool(earth_lift(two)) == is_told


@pytest.mark.parametrize(("apart_v", "together"), [(0.029, True), (0.031, False)])
def test_two_lifts_that_are_apart_are_no_one_earth(apart_v, together):
    lifts = (("a", 0.2, 0.1), ("b", 0.6, 0.1 + apart_v))
    two = [Compared(name=n, expected=e, read=e + up * (1.0 - e) / 5.0) for n, e, up in lifts]
    assert any("explains a, b together" in said for said in earth_lift(two)) == together


def test_a_pair_of_a_probe_without_a_time_is_taken_as_a_minute_warm():
    assert [one.since_s for one in probe_of("0.95/0.97 1.05/1.07@12")] == [60.0, 12.0]
