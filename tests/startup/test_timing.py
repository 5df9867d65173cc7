"""Readings of a timing light with a known offset, delay, noise and mistakes."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import t as student

from loomwright.refusals import OutOfReach
from loomwright.startup.timing import TimingReading, teeth_of, timing_of

SPEEDS = (1000, 1500, 2000, 2500, 3000, 4000, 5000, 6000)


def seen(offset=0.0, delay_us=0.0, noise=0.0, commanded=10.0, seed=1, gain=1.0):
    dice = np.random.default_rng(seed)
    asked = np.broadcast_to(commanded, len(SPEEDS))
    return [
        TimingReading(
            rpm=rpm,
            commanded_deg=float(c),
            seen_deg=gain * float(c) + offset - 6 * rpm * delay_us * 1e-6 + noise * dice.normal(),
        )
        for rpm, c in zip(SPEEDS, asked, strict=True)
    ]


def test_offset_and_delay_come_back_without_noise():
    found = timing_of(seen(offset=-4.0, delay_us=80.0), cylinders=4)
    assert found.offset.value == pytest.approx(-4.0)
    assert found.delay.value == pytest.approx(80.0)
    assert "earlier" in found.says[0]
    assert "80 µs late" in found.says[1]
    assert not found.is_true


def test_the_intervals_hold_the_truth_as_often_as_they_say():
    held = [0, 0]
    for seed in range(200):
        found = timing_of(seen(offset=2.0, delay_us=50.0, noise=0.2, seed=seed), cylinders=4)
        held[0] += found.offset.low <= 2.0 <= found.offset.high
        held[1] += found.delay.low <= 50.0 <= found.delay.high
    # 190 of 200 in the mean; four sigma are 12
    assert all(178 <= each <= 200 for each in held), held


def test_true_timing_is_told_true():
    found = timing_of(seen(offset=0.1, noise=0.1), cylinders=6)
    assert found.is_true
    assert found.mistakes == ()


@pytest.mark.parametrize(("teeth", "off", "count"), [(60, 12.0, "2 teeth"), (36, -10.0, "one tooth"), (60, -12.0, "2")])
def test_whole_teeth_are_told_as_teeth(teeth, off, count):
    found = timing_of(seen(offset=off, noise=0.1), cylinders=4, teeth=teeth)
    assert count in found.mistakes[0]
    assert any("tooth count" in says for says in found.says)


def test_a_light_on_another_cylinder_is_set_apart_and_not_averaged():
    readings = seen(offset=1.5, delay_us=30.0)
    wrong = TimingReading(rpm=2200, commanded_deg=10.0, seen_deg=10.0 + 181.0)
    named = TimingReading(rpm=2300, commanded_deg=10.0, seen_deg=11.0, cylinder="3")
    found = timing_of([*readings, wrong, named], cylinders=4)
    assert [one.number for one in found.apart] == [9, 10]
    assert found.mistakes == ("a light on another cylinder",)
    assert found.offset.value == pytest.approx(1.5)
    assert found.delay.value == pytest.approx(30.0)


@pytest.mark.parametrize(("cylinders", "every_deg"), [(3, 240.0), (4, 180.0), (5, 144.0), (6, 120.0), (8, 90.0)])
@pytest.mark.parametrize(("off_deg", "is_named"), [(3.8, True), (-3.8, True), (4.2, False), (-4.2, False)])
def test_another_cylinder_is_named_within_four_degrees_of_its_firing_interval(cylinders, every_deg, off_deg, is_named):
    # four strokes are two turns, 720 degrees; that so near counts is common practice, no source
    wrong = TimingReading(rpm=2200, commanded_deg=10.0, seen_deg=10.0 + every_deg + off_deg)
    found = timing_of([*seen(), wrong], cylinders=cylinders)
    assert [one.number for one in found.apart] == [9], "it is never averaged in"
    assert ("a light on another cylinder" in found.mistakes) == is_named
    if is_named:
        assert f"1 × {every_deg:g}°" in found.apart[0].why


@pytest.mark.parametrize(("off_deg", "is_true"), [(0.9, True), (-0.9, True), (1.1, False), (-1.1, False)])
def test_timing_is_true_within_a_degree(off_deg, is_true):
    found = timing_of(seen(offset=off_deg), cylinders=4)
    assert found.is_true == is_true
    assert ("within 1°" in " ".join(found.says)) == is_true


def test_a_turn_off_is_recognised_by_the_angle_and_by_the_stroke():
    readings = seen()
    turned = TimingReading(rpm=900, commanded_deg=10.0, seen_deg=370.0)
    felt = TimingReading(rpm=250, commanded_deg=10.0, seen_deg=10.0, stroke="exhaust")
    found = timing_of([*readings, turned, felt], cylinders=4)
    assert found.mistakes == ("a turn off",)
    assert [one.number for one in found.apart] == [9, 10]


def test_a_light_that_reads_twice_is_not_taken_for_an_offset():
    varied = timing_of(seen(commanded=[8, 10, 14, 18, 20, 24, 26, 28], gain=2.0), cylinders=4, wasted_spark=True)
    assert varied.offset is None
    assert varied.mistakes == ("a light that reads twice",)
    fixed = timing_of(seen(gain=2.0), cylinders=4, wasted_spark=True)
    assert fixed.mistakes == ("perhaps a light that reads twice",)
    assert "Command another angle" in fixed.says[0]


def test_one_misread_mark_is_asked_for_again():
    readings = seen(offset=1.0, delay_us=20.0, noise=0.1)
    readings[3] = TimingReading(rpm=2500, commanded_deg=10.0, seen_deg=20.0)
    found = timing_of(readings, cylinders=4)
    assert [one.number for one in found.apart] == [4]
    assert "read it again" in found.apart[0].why
    assert found.offset.value == pytest.approx(1.0, abs=0.4)


def test_a_spark_that_gets_earlier_is_no_delay():
    found = timing_of(seen(delay_us=-60.0, noise=0.05), cylinders=4)
    assert "earlier with speed" in found.mistakes


def test_two_readings_are_too_few_and_none_is_refused():
    assert timing_of(seen()[:2], cylinders=4).offset is None
    with pytest.raises(OutOfReach):
        timing_of([], cylinders=4)


def cranked(*differences, rpm=220.0, commanded=10.0):
    return [
        TimingReading(rpm=rpm + n, commanded_deg=commanded, seen_deg=commanded + d) for n, d in enumerate(differences)
    ]


def test_one_reading_while_cranking_tells_which_way_to_turn_the_trigger():
    # 6 * 220 * 100e-6 is 0.13 degrees: a delay hides nothing there
    says = timing_of(cranked(7.5), cylinders=6, teeth=36).says[0]
    assert "At 220/min the spark is +7.5°" in says
    assert "100 µs would be 0.13°" in says
    assert "by -7.5° of advance" in says
    assert "7.5° later" in says
    assert "before the engine is started" in says


def test_a_cranking_reading_near_enough_is_let_through_and_more_are_asked_for():
    says = timing_of(cranked(-1.5), cylinders=6).says[0]
    assert "near enough for the first start" in says
    assert "three speeds or more" in says


def test_a_cranking_reading_off_by_teeth_is_told_as_teeth():
    found = timing_of(cranked(10.4, 9.9), cylinders=6, teeth=36)
    assert "one tooth of a wheel of 36" in found.says[1]
    assert found.mistakes == ("one tooth off",)


def test_one_speed_of_a_running_engine_cannot_part_offset_from_delay():
    assert "cannot be parted" in timing_of(cranked(3.0, rpm=2000.0), cylinders=6).says[0]


def test_no_interval_is_narrower_than_a_mark_can_be_read():
    exact = [TimingReading(rpm=n, commanded_deg=10, seen_deg=13.7 - n * 5e-4) for n in (1000, 2000, 3000)]
    found = timing_of(exact, cylinders=6)
    # half a degree either way is 0.5 / sqrt(3) = 0.289 deg; 1.96 of them, n = 3, mean 2000, sum of squares 2e6
    assert found.offset.high - found.offset.value == pytest.approx(1.96 * 0.28868 * (1 / 3 + 4 / 2) ** 0.5, rel=1e-4)
    assert found.delay.high - found.delay.value == pytest.approx(1.96 * 0.28868 / 2e6**0.5 / 6e-6, rel=1e-4)
    assert found.delay.value == pytest.approx(5e-4 / 6e-6)


def test_an_offset_that_could_be_anything_is_not_told_right():
    wild = [TimingReading(rpm=n, commanded_deg=10, seen_deg=10 + d) for n, d in ((1000, 5.0), (1100, 1.0), (1200, 6.0))]
    found = timing_of(wild, cylinders=6)
    assert "cannot be told" in found.says[1]
    assert not any("is right" in says for says in found.says)


def at_speeds(*differences, speeds=(1000, 2000, 3000, 4000, 5000)):
    return [
        TimingReading(rpm=n, commanded_deg=10.0, seen_deg=10.0 + d)
        for n, d in zip(speeds, differences, strict=len(differences) == len(speeds))
    ]


@pytest.mark.parametrize(
    ("off_deg", "word"),
    [(30.0, "it breaks pistons"), (8.0, "it breaks pistons"), (-8.0, "exhaust and valves glow"), (7.9, ""), (-7.9, "")],
)
def test_a_spark_that_hurts_is_warned_of_before_it_is_corrected(off_deg, word):
    for readings in (at_speeds(*[off_deg] * 5), at_speeds(off_deg, speeds=(850,)), at_speeds(off_deg, speeds=(200,))):
        says = timing_of(readings, cylinders=4).says
        assert ("Danger" in says[0]) == bool(word)
        assert word in says[0]
        assert not word or any("orrect" in one for one in says[1:])


def test_a_spark_that_only_gets_late_with_speed_is_no_danger_at_idle():
    found = timing_of(at_speeds(-0.6, -4.0, -7.0, -10.0, -13.0), cylinders=4)
    assert not any("Danger" in says for says in found.says)
    early = timing_of(at_speeds(0.6, 4.0, 7.0, 10.0, 13.0), cylinders=4)
    assert "13.0° too early" in early.says[0], "the worst of those that come early counts"


def test_one_running_speed_far_off_is_the_angle_and_is_mended_at_idle():
    found = timing_of(at_speeds(-20.0, speeds=(850,)), cylinders=4)
    assert "Correct it by +20.0° of advance" in found.says[1]
    assert "read again at idle" in found.says[1]


def test_what_no_engine_runs_at_is_not_corrected():
    found = timing_of(at_speeds(*[46.0] * 5), cylinders=6)
    assert len(found.says) == 1
    assert "find top centre with a stop in the plug hole" in found.says[0]
    assert len(timing_of(at_speeds(*[44.0] * 5), cylinders=6).says) > 1


def test_readings_that_scatter_ask_for_the_trigger_first():
    says = timing_of(at_speeds(3.0, -3.0, 3.0, -3.0, 3.0), cylinders=6).says
    assert "crank sensor's gap" in says[0]
    calm = timing_of(at_speeds(1.0, -1.0, 1.0, -1.0, 1.0), cylinders=6).says
    assert not any("scatter" in one for one in calm)


def test_readings_that_are_all_another_cylinder_s_say_what_is_done_next():
    away = at_speeds(*[120.0] * 5)
    found = timing_of(away, cylinders=6)
    assert found.says[0].startswith("Put the light's clamp on the lead of cylinder 1")
    assert "the light was on another cylinder's lead" in found.apart[0].why
    named = [TimingReading(rpm=n, commanded_deg=10.0, seen_deg=130.0, cylinder="1") for n in (1000, 2000, 3000)]
    assert "though the light was on cylinder 1" in timing_of(named, cylinders=6).apart[0].why
    turn = timing_of(at_speeds(*[360.0] * 5), cylinders=6)
    assert "a whole turn off" in turn.says[0]


def test_a_wasted_spark_fires_on_the_exhaust_stroke_too():
    felt = [
        TimingReading(rpm=n, commanded_deg=c, seen_deg=c, stroke="exhaust")
        for n, c in ((1000, 8.0), (2000, 20.0), (3000, 24.0))
    ]
    assert timing_of(felt, cylinders=4, wasted_spark=True).is_true
    assert timing_of(felt, cylinders=4).mistakes == ("a turn off",)


def test_what_no_light_shows_is_set_apart_as_typed_wrong():
    found = timing_of([*at_speeds(0.0, 0.1, -0.1, 0.0, 0.1), *at_speeds(1090.0, speeds=(1000,))], cylinders=4)
    assert "typed wrong" in found.apart[0].why
    assert found.offset.value == pytest.approx(0.0, abs=0.2)


@pytest.mark.parametrize(("speeds", "is_fitted"), [((1000, 3000), False), ((1000, 2000, 3000), True)])
def test_three_readings_part_offset_from_delay_and_two_do_not(speeds, is_fitted):
    found = timing_of(at_speeds(*[-0.5, -1.5, -1.5][: len(speeds)], speeds=speeds), cylinders=4)
    assert (found.offset is not None) == is_fitted
    assert is_fitted or "cannot be parted by so few readings" in found.says[0]


def test_a_wheel_has_three_teeth_or_more():
    assert teeth_of("3") == 3
    with pytest.raises(OutOfReach):
        teeth_of("2")


def test_three_readings_are_enough_to_see_that_a_light_reads_twice():
    read = [
        TimingReading(rpm=n, commanded_deg=c, seen_deg=2.0 * c) for n, c in ((1000, 8.0), (1100, 16.0), (1200, 28.0))
    ]
    assert timing_of(read, cylinders=4).mistakes == ("a light that reads twice",)


def test_a_reading_is_lonely_beyond_the_hundredth_point_of_its_residual():
    """Held against a fit of the others alone: one in a hundred, either way, over all seven readings together."""
    speeds = np.array((1000, 1500, 2000, 2500, 3000, 3500, 4000))
    bound = student.ppf(1.0 - 0.01 / (2 * len(speeds)), len(speeds) - 3)
    answers = set()
    for away_deg in np.arange(2.0, 4.0, 0.05):
        off = np.array((0.3, -0.3, 0.35, away_deg, -0.3, 0.3, -0.35))
        others, x = np.delete(off, 3), np.delete(speeds, 3)
        line = np.polyfit(x, others, 1)
        spread = np.sqrt(np.sum((others - np.polyval(line, x)) ** 2) / (len(x) - 2))
        reach = spread * np.sqrt(1.0 + 1.0 / len(x) + (speeds[3] - x.mean()) ** 2 / np.sum((x - x.mean()) ** 2))
        is_lonely = (away_deg - np.polyval(line, speeds[3])) / reach > bound
        found = timing_of(at_speeds(*off, speeds=tuple(speeds)), cylinders=4)
        assert [one.number for one in found.apart] == ([4] if is_lonely else []), away_deg
        answers.add(bool(is_lonely))
    assert answers == {True, False}


def test_a_spark_is_earlier_with_speed_only_where_five_microseconds_are_sure():
    speeds, answers = tuple(range(1000, 7000, 250)), set()
    for earlier_us in range(8, 30):
        read = at_speeds(*[6.0 * n * earlier_us * 1e-6 for n in speeds], speeds=speeds)
        found = timing_of(read, cylinders=4)
        is_named = "earlier with speed" in found.mistakes
        assert is_named == (found.delay.high < -5.0), earlier_us
        answers.add(is_named)
    assert answers == {True, False}
