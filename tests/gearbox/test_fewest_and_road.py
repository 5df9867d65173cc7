"""Fewer changes for the fuel, fuel by hand, a recorded drive beside the lines, solenoids with the loom off."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loomwright.car import Car
from loomwright.gearbox.box import rpm_in
from loomwright.gearbox.box_reading import shipped_box
from loomwright.gearbox.checking import line_findings
from loomwright.gearbox.driving import Drive, drive_after
from loomwright.gearbox.fewest import fewest_changes
from loomwright.gearbox.fuel import fuel_g, pull_ms2
from loomwright.gearbox.judged import run_called
from loomwright.gearbox.lines import first_lines, line_at_kmh, programme_called
from loomwright.gearbox.road_log import road_changes, road_says
from loomwright.gearbox.road_ratio import ratio_says, ratio_wrong, road_ratios
from loomwright.job.reading import job_from_text
from loomwright.refusals import NoAnswer, Stopped

BOX = shipped_box()
NORMAL = first_lines(BOX, programme_called(BOX, "normal"))


def test_no_set_of_the_curve_is_beaten_and_none_breaks_a_rule() -> None:
    told: list[tuple[int, int]] = []
    trade = fewest_changes(
        BOX, programme_called(BOX, "normal"), cycle="urban", tried=15, tell=lambda done, of: told.append((done, of))
    )
    assert told[0] == (0, 15)
    assert told[-1] == (15, 15)
    assert trade.curve
    assert list(trade.curve) == sorted(trade.curve, key=lambda one: one.changes_per_km)
    fuels = [one.fuel_g_per_km for one in trade.curve]
    assert fuels == sorted(fuels, reverse=True)
    for one in trade.curve:
        assert one.pull_ms2 >= trade.least_pull_ms2
        assert not any(found.severity == "fault" for found in line_findings(BOX, one.lines))
    again = fewest_changes(BOX, programme_called(BOX, "normal"), cycle="urban", tried=15)
    assert again.curve == trade.curve


def test_looking_for_them_can_be_stopped() -> None:
    def stop(done: int, of: int) -> None:
        if done == 2:
            raise Stopped(done, of)

    with pytest.raises(Stopped):
        fewest_changes(BOX, programme_called(BOX, "normal"), cycle="urban", tried=24, tell=stop)


def test_more_pull_asked_leaves_fewer_sets() -> None:
    normal = programme_called(BOX, "normal")
    some = fewest_changes(BOX, normal, cycle="urban", tried=9)
    assert fewest_changes(BOX, normal, cycle="urban", tried=9, pull_frac=1.15).fit < some.fit
    assert fewest_changes(BOX, normal, cycle="urban", tried=9, pull_frac=9.0).curve == ()


def steady(rpm: float, pedal: float) -> Drive:
    """Ten seconds at one engine speed and pedal, in third at 60 km/h."""
    one = np.ones(100)
    return Drive(
        at_s=np.arange(100) * 0.1,
        wanted_kmh=60.0 * one,
        kmh=60.0 * one,
        pedal_frac=pedal * one,
        gear=np.full(100, 3),
        locked=one > 0.0,
        rpm=rpm * one,
        fluid_c=60.0 * one,
        grade_frac=0.0,
        kicked=one < 0.0,
    )


def test_fuel_and_pull_of_a_steady_drive_by_hand() -> None:
    """At 2500 1/min the engine gives 238 Nm at most and takes (0.04 + 0.08 * 2500 / 6000) * 250 = 18.333 Nm itself.
    Half the pedal: 0.5 * 256.333 Nm at 261.799 rad/s are 33 554 W, over 0.36 * 43 000 J/g 2.1676 g/s. The half that is
    left, 128.167 Nm * 1.0 * 3.45 * 2 pi / 1.97488 m * 0.92, is 1294.3 N or 0.8745 m/s2 of 1480 kg."""
    assert fuel_g(BOX, steady(2500.0, 0.5)) == pytest.approx(21.676, abs=0.002)
    assert pull_ms2(BOX, steady(2500.0, 0.5)) == pytest.approx(0.8745, abs=0.0002)
    assert fuel_g(BOX, steady(2500.0, 0.0)) == 0.0


def test_changes_of_a_driven_car_lie_on_its_lines_and_another_programmes_do_not() -> None:
    drive = drive_after(BOX, NORMAL, np.array([0.0, 70.0, 90.0, 160.0]), np.array([0.0, 110.0, 110.0, 0.0]))
    at = (drive.at_s, drive.kmh, drive.pedal_frac, drive.gear.astype(float))
    own = road_changes(NORMAL, *at)
    assert [one.name for one in own] == ["up 1-2", "up 2-3", "up 3-4", "down 4-3", "down 3-2", "down 2-1"]
    assert not any(one.is_far for one in own)
    sport = road_changes(first_lines(BOX, programme_called(BOX, "sport")), *at)
    assert sum(one.is_far for one in sport) >= 3
    assert "1 change, the middle" in road_says(own)[0]


UP_AND_DOWN = drive_after(
    BOX, NORMAL, np.array([0.0, 20.0, 60.0, 100.0, 240.0, 260.0]), np.array([0.0, 30.0, 45.0, 100.0, 110.0, 90.0])
)


def logged(*, speed: float = 1.0, rpm: float = 1.0, told: int | None = None, locked_rpm: float = 1.0):
    """The driven car as a log: its road speed, engine speed or a gear told wrong, a locked converter that slips."""
    gear = UP_AND_DOWN.gear if told is None else np.where(UP_AND_DOWN.gear == told + 1, told, UP_AND_DOWN.gear)
    turns = UP_AND_DOWN.rpm * rpm * np.where(UP_AND_DOWN.locked, locked_rpm, 1.0)
    of = {"road_speed": UP_AND_DOWN.kmh * speed, "throttle": UP_AND_DOWN.pedal_frac * 100.0, "gear": gear}
    return UP_AND_DOWN.at_s, {name: np.asarray(one, np.float32) for name, one in (of | {"engine_speed": turns}).items()}


def test_a_sound_car_turns_as_its_ratios_say() -> None:
    ratios = road_ratios(BOX, NORMAL, *logged())
    assert [one.gear for one in ratios] == [1, 2, 3, 4]
    assert ratios[-1].locked == pytest.approx(1.0, abs=0.002)
    assert all(one.low >= 0.99 for one in ratios), "an open converter lets the engine turn faster only"
    assert ratio_wrong(ratios) == ()
    assert ratio_says(ratios)[-1].startswith("gear 4: the engine turns 1.00 times")


def test_a_speed_signal_that_reads_low_is_told_for_all_gears_at_once() -> None:
    says = ratio_wrong(tuple(one for one in road_ratios(BOX, NORMAL, *logged(speed=1.0 / 1.08)) if one.gear > 2))
    assert says[-1].startswith("All gears are off alike, by +8 %")
    assert says[-1].endswith("reads 1.08 times as much")


def test_a_gear_that_is_not_the_one_in_and_a_clutch_that_slips_are_told() -> None:
    # third is told while fourth is in: the engine turns 0.70 times what third would make of it
    wrong = ratio_wrong(road_ratios(BOX, NORMAL, *logged(told=3)))
    assert any(one.startswith("Gear 3: the engine turns slower") for one in wrong)
    slips = ratio_wrong(road_ratios(BOX, NORMAL, *logged(locked_rpm=1.07)))
    assert any(one.startswith("Gear 4 slips by 7 %") for one in slips)


def test_a_log_without_engine_speed_tells_no_ratio() -> None:
    at_s, of = logged()
    assert road_ratios(BOX, NORMAL, at_s, {name: one for name, one in of.items() if name != "engine_speed"}) == ()


def test_a_log_without_a_gear_is_told() -> None:
    with pytest.raises(NoAnswer, match="Road speed, pedal and gear"):
        road_changes(NORMAL, np.zeros(2), np.zeros(2), np.zeros(2), np.full(2, np.nan))


def car_with(*more: dict[str, str]) -> Car:
    wires = [
        {"id": "W1", "from": "BAT.-", "to": "body", "size_mm2": "25", "length_mm": "500"},
        {"id": "W2", "from": "BAT.+", "to": "F1.1", "size_mm2": "2.5", "length_mm": "500"},
        {"id": "W3", "from": "F1.2", "to": "SA.1", "size_mm2": "1", "length_mm": "500"},
        {"id": "W4", "from": "SA.2", "to": "SW.1", "size_mm2": "1", "length_mm": "500"},
        {"id": "W5", "from": "SW.2", "to": "body", "size_mm2": "1", "length_mm": "500"},
        *more,
    ]
    sheets = {
        "vehicle": [{"name": "title", "value": "t"}, {"name": "system_voltage", "value": "12"}],
        "places": [{"id": "bay"}],
        "circuits": [{"id": "gears", "class": "gearbox", "feed": "30"}],
        "parts": [
            {"id": "BAT", "kind": "battery"},
            {"id": "F1", "kind": "fuse", "settings": "rating_a=10", "circuit": "gears"},
            {"id": "SA", "kind": "solenoid", "settings": "ohm=14", "circuit": "gears"},
            {"id": "SW", "kind": "switch"},
        ],
        "wires": wires,
    }
    return Car(job_from_text(sheets))


def test_a_solenoid_that_stays_on_with_the_fuse_out_is_found_by_the_network() -> None:
    assert BOX.pattern is not None
    box = replace(BOX, pattern=replace(BOX.pattern, names=("SA", "B")))
    sound = car_with().gear_unplugged(box)
    assert [one.severity for one in sound] == ["note"]
    second = {"id": "W6", "from": "BAT.+", "to": "SA.1", "size_mm2": "1", "length_mm": "500"}
    earth = {"id": "W7", "from": "SA.2", "to": "body", "size_mm2": "1", "length_mm": "500"}
    found = car_with(second, earth).gear_unplugged(box)
    assert [(one.severity, one.at, dict(one.when)["unplugged"]) for one in found] == [("fault", ("SA",), "the fuse F1")]
    assert "gear 1 is left" in found[0].wrong
    assert car_with().gear_unplugged(BOX) == (), "no part of the job has the names of the table"


LONG = run_called(BOX, NORMAL, "hwfet")


def driven(rows: np.ndarray, times: float, drive: Drive = LONG):
    """A drive as a log in which the engine turns so much faster in some rows."""
    of = {"road_speed": drive.kmh, "throttle": drive.pedal_frac * 100.0, "gear": drive.gear}
    turns = drive.rpm * np.where(rows, times, 1.0)
    return drive.at_s, {name: np.asarray(one, np.float32) for name, one in (of | {"engine_speed": turns}).items()}


def beyond_kmh(drive: Drive = LONG) -> np.ndarray:
    """How far each row lies over the lock-up line of its gear."""
    lines = [NORMAL.lock_kmh[gear - 1] for gear in drive.gear]
    at = [line_at_kmh(NORMAL.pedal_frac, line, pedal) for line, pedal in zip(lines, drive.pedal_frac, strict=True)]
    return drive.kmh - np.array(at)


@pytest.mark.parametrize(("gear", "pedal"), [(3, 0.35), (4, 0.30)])
def test_a_clutch_that_gives_way_under_load_is_told_with_the_pedal(gear: int, pedal: float) -> None:
    seen = road_ratios(BOX, NORMAL, *driven((LONG.gear == gear) & (LONG.pedal_frac > pedal), 1.09))
    (said,) = ratio_wrong(seen)
    assert said.startswith(f"Gear {gear} slips by 9 % from 3")
    assert "gives way under load" in said
    one = next(each for each in seen if each.gear == gear)
    assert one.from_pedal_frac == pytest.approx(pedal, abs=0.015)
    assert one.late_kmh is None


@pytest.mark.parametrize(("late_kmh", "is_told"), [(12.0, True), (9.0, True), (5.0, False)])
def test_a_lock_up_that_comes_late_is_told_with_how_far(late_kmh: float, is_told: bool) -> None:
    seen = road_ratios(BOX, NORMAL, *driven(LONG.locked & (beyond_kmh() < late_kmh), 1.05))
    late = [one for one in seen if one.late_kmh is not None]
    assert bool(late) == is_told
    assert all(one.late_kmh == pytest.approx(late_kmh, abs=0.6) for one in late)
    assert not is_told or any("lock-up comes late" in said for said in ratio_wrong(seen))


def test_a_slip_that_is_short_small_or_everywhere_is_no_part_of_a_line() -> None:
    fourth = LONG.gear == 4
    brief = fourth & (LONG.pedal_frac > 0.30) & (LONG.at_s < LONG.at_s[np.flatnonzero(fourth)[0]] + 20.0)
    assert ratio_wrong(road_ratios(BOX, NORMAL, *driven(brief & (np.cumsum(brief) < 49), 1.09))) == ()
    assert ratio_wrong(road_ratios(BOX, NORMAL, *driven(fourth & (LONG.pedal_frac > 0.30), 1.025))) == ()
    (said,) = ratio_wrong(road_ratios(BOX, NORMAL, *driven(fourth, 1.08)))
    assert said.startswith("Gear 4 slips by 8 % where its line has the converter locked")
    now_and_then = fourth & (np.arange(LONG.at_s.size) // 40 % 2 == 0)
    seen = next(one for one in road_ratios(BOX, NORMAL, *driven(now_and_then, 1.08)) if one.gear == 4)
    assert seen.slips_s > 50.0
    assert (seen.late_kmh, seen.from_pedal_frac) == (None, None), "neither load nor speed tells it"


def cruise(lasts_s: float, gap_s: float = 0.1):
    """Fourth at 80 km/h, the converter locked, half of it before a gap in the recording and half of it behind."""
    half = np.arange(0.0, lasts_s / 2.0, 0.1)
    at_s = np.concatenate([half, half + half[-1] + gap_s])
    one = np.ones(at_s.size)
    of = {
        "road_speed": 80.0 * one,
        "throttle": 20.0 * one,
        "gear": 4.0 * one,
        "engine_speed": rpm_in(BOX, 4, 80.0) * one,
    }
    return at_s, {name: figures.astype(np.float32) for name, figures in of.items()}


@pytest.mark.parametrize(
    ("lasts_s", "gap_s", "is_told"),
    # two seconds until it has settled, then five; a gap of over a second begins anew
    [(7.2, 0.1, True), (6.8, 0.1, False), (8.0, 0.95, True), (8.0, 1.05, False)],
)
def test_a_gear_is_told_once_it_was_driven_settled_for_five_seconds(
    lasts_s: float, gap_s: float, is_told: bool
) -> None:
    assert bool(road_ratios(BOX, NORMAL, *cruise(lasts_s, gap_s))) == is_told


def at_kmh(kmh: float, pedal: float = 0.2, slip: float = 1.0):
    """Fourth for twenty seconds at one speed and pedal."""
    at_s, of = cruise(20.0)
    turns = np.full(at_s.size, rpm_in(BOX, 4, kmh) * slip, np.float32)
    of |= {"road_speed": np.full(at_s.size, kmh, np.float32), "engine_speed": turns}
    return at_s, of | {"throttle": np.full(at_s.size, 100.0 * pedal, np.float32)}


@pytest.mark.parametrize(
    ("kmh", "pedal", "is_told"), [(80, 0.052, True), (80, 0.048, False), (15.1, 0.2, True), (14.9, 0.2, False)]
)
def test_a_gear_is_told_while_it_rolls_under_a_pressed_pedal(kmh: float, pedal: float, is_told: bool) -> None:
    assert bool(road_ratios(BOX, NORMAL, *at_kmh(kmh, pedal))) == is_told


@pytest.mark.parametrize(("over_kmh", "is_locked"), [(3.1, True), (2.9, False)])
def test_a_converter_is_taken_as_locked_from_three_over_its_line_on(over_kmh: float, is_locked: bool) -> None:
    line = line_at_kmh(NORMAL.pedal_frac, NORMAL.lock_kmh[3], 0.2)
    (one,) = road_ratios(BOX, NORMAL, *at_kmh(line + over_kmh))
    assert (one.locked is not None) == is_locked


@pytest.mark.parametrize(("slip", "is_told"), [(1.031, True), (1.029, False)])
def test_a_locked_gear_slips_from_three_per_cent_on(slip: float, is_told: bool) -> None:
    assert bool(ratio_wrong(road_ratios(BOX, NORMAL, *at_kmh(100.0, slip=slip)))) == is_told
