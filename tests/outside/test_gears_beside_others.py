"""Gear changes beside others: a general-purpose solver on the same run, counts, a published slip, a regulation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from loomwright.gearbox.box_reading import shipped_box
from loomwright.gearbox.checking import line_findings
from loomwright.gearbox.cycles import cycle_called
from loomwright.gearbox.driving import Road, drive_by_pedal
from loomwright.gearbox.judged import undone as undone_of
from loomwright.gearbox.lines import first_lines, programme_called
from loomwright.gearbox.machine import machine_of
from loomwright.gearbox.moving import drive_n, engine_nm, hold_n, pedal_for

BOX = shipped_box()
LINES = first_lines(BOX, programme_called(BOX, "normal"))
# 40 CFR 86, appendix I (a), read in a copy of the regulation: miles an hour from second 21 on
REGULATION = "3.0 5.9 8.6 11.5 14.3 16.9 17.3 18.1 20.7 21.7 22.4 22.5 22.1 21.5 20.9 20.4 19.8 17.0 14.9"


def changes_of_trace(
    at_s: Sequence[float], speed_kmh: Sequence[float], *, up_kmh: Sequence[float], down_kmh: Sequence[float]
) -> tuple[int, int]:
    """Changes and changes undone over a trace, by speeds alone: one step a point at most, up asked before down."""
    gear, when, directions = 0, [], []
    for time, speed in zip(at_s, speed_kmh, strict=True):
        step = 0
        if gear < len(up_kmh) and speed >= up_kmh[gear]:
            step = 1
        elif gear > 0 and speed < down_kmh[gear - 1]:
            step = -1
        if step:
            gear += step
            when.append(time)
            directions.append(step)
    return len(when), undone_of(when, directions)


def test_the_urban_schedule_is_that_of_the_regulation() -> None:
    cycle = cycle_called("udds")
    ours = [round(speed / 1.609344, 1) for speed in cycle.speed_kmh[21:40]]
    assert ours == [float(one) for one in REGULATION.split()]


@pytest.mark.parametrize(
    ("down", "changes", "undone"),
    [((24.0, 40.0, 64.0), 88, 13), ((16.0, 32.0, 56.0), 70, 0), ((20.4, 34.0, 54.4), 70, 0)],
)
def test_changes_over_the_urban_schedule_are_as_counted_elsewhere(
    down: tuple[float, ...], changes: int, undone: int
) -> None:
    """Counted once before, by another program on another copy of the trace."""
    cycle = cycle_called("udds")
    found = changes_of_trace(cycle.at_s, cycle.speed_kmh, up_kmh=(24.0, 40.0, 64.0), down_kmh=down)
    assert found == (changes, undone)


@pytest.mark.parametrize(
    ("name", "down", "changes", "undone"),
    [
        ("wltc", (24.0, 40.0, 64.0), 96, 12),
        ("wltc", (16.0, 32.0, 56.0), 82, 3),
        ("wltc", (20.4, 34.0, 54.4), 88, 6),
        ("hwfet", (24.0, 40.0, 64.0), 10, 0),
        ("us06", (24.0, 40.0, 64.0), 40, 5),
        ("us06", (16.0, 32.0, 56.0), 40, 3),
    ],
)
def test_changes_over_other_traces_are_as_counted_elsewhere(
    name: str, down: tuple[float, ...], changes: int, undone: int
) -> None:
    cycle = cycle_called(name)
    found = changes_of_trace(cycle.at_s, cycle.speed_kmh, up_kmh=(24.0, 40.0, 64.0), down_kmh=down)
    assert found == (changes, undone)


@pytest.mark.parametrize(
    ("name", "length_m", "mean_kmh", "top_kmh"),
    [("wltc", 23266.3, 46.53, 131.3), ("hwfet", 16506.8, 77.68, 96.4), ("us06", 12887.6, 77.33, 129.2)],
)
def test_traces_are_as_long_and_as_fast_as_published(
    name: str, length_m: float, mean_kmh: float, top_kmh: float
) -> None:
    """Published: WLTC 23 266 m, 46.5 and 131.3 km/h; highway schedule 10.26 miles; US06 8.01 miles and 80.3 mph."""
    cycle = cycle_called(name)
    assert cycle.grade == "read"
    assert float(np.trapezoid(cycle.speed_kmh, cycle.at_s)) / 3.6 == pytest.approx(length_m, abs=0.5)
    assert length_m / cycle.at_s[-1] * 3.6 == pytest.approx(mean_kmh, abs=0.01)
    assert max(cycle.speed_kmh) == pytest.approx(top_kmh, abs=0.05)


def test_the_worldwide_trace_has_the_sum_of_speeds_that_a_package_checks_it_by() -> None:
    assert sum(cycle_called("wltc").speed_kmh) == pytest.approx(83758.6, abs=0.05)


@pytest.mark.parametrize(("name", "kwh"), [("udds", 1.4675), ("hwfet", 1.9474), ("us06", 2.4631), ("wltc", 3.3656)])
def test_work_at_the_wheels_is_as_worked_out_elsewhere(name: str, kwh: float) -> None:
    """1500 kg, 1.03 of it, 150 N and 0.035 N/(km/h)2, each second at its mean speed, braking left out."""
    cycle = cycle_called(name)
    machine = machine_of(replace(BOX, mass_g=1_500_000.0, road_n=(150.0, 0.0, 0.035)))
    speed = np.array(cycle.speed_kmh) / 3.6
    middle = (speed[1:] + speed[:-1]) / 2.0
    force = np.array([hold_n(machine, float(v), 0.0) for v in middle]) + 1.03 * 1500.0 * np.diff(speed)
    ours = float(np.maximum(force, 0.0) @ middle) / 3.6e6
    print(f"\n{name}: {ours:.4f} kWh, elsewhere {kwh:.4f}, {100.0 * (ours / kwh - 1.0):+.3f} %")
    assert ours == pytest.approx(kwh, abs=0.00006)


def test_a_published_table_with_down_above_up_is_a_fault() -> None:
    """A workshop manual's table, axle 2.77, 12.5 % pedal: up 4-5 at 60 km/h, down 5-4 at 69 km/h."""
    flat = (60.0,) * len(LINES.pedal_frac)
    lines = replace(LINES, up_kmh=(*LINES.up_kmh[:2], flat), down_kmh=(*LINES.down_kmh[:2], tuple(69.0 for _ in flat)))
    found = [one for one in line_findings(BOX, lines) if one.rule == "GEA-1" and one.severity == "fault"]
    assert [(one.found, one.allowed) for one in found] == [(69.0, 60.0)]


def test_full_throttle_in_one_locked_gear_is_as_a_general_solver_has_it() -> None:
    """The equation of motion written out once more, with other interpolation and another integrator."""
    never = tuple((400.0,) * 11 for _ in range(3))
    box = replace(BOX, ratios=(1.54, 1.0, 0.7), highest={"D": 3})
    lines = replace(
        LINES,
        up_kmh=never[:2],
        down_kmh=((0.0,) * 11,) * 2,
        kick_kmh=(0.0, 0.0),
        lock_kmh=((1.0,) * 11, *never[:2]),
        unlock_kmh=((0.5,) * 11, *never[:2]),
    )
    drive = drive_by_pedal(
        box, lines, np.array([0.0, 12.0]), np.array([1.0, 1.0]), Road(grade_frac=0.02), from_kmh=30.0
    )
    begin = int(np.flatnonzero(drive.locked)[0])
    rolled = 3.05 * (15 * 25.4 + 2 * 205 * 0.65) / 1000.0
    lever = 1.54 * 3.45 * 2.0 * np.pi / rolled

    def gains(_: float, v: np.ndarray) -> np.ndarray:
        rpm = v * 60.0 * 1.54 * 3.45 / rolled
        torque = np.interp(rpm, BOX.engine.torque_rpm, BOX.engine.torque_nm)
        held = 150.0 + 0.042 * (3.6 * v) ** 2 + 1480.0 * 9.80665 * np.sin(np.arctan(0.02))
        return (torque * lever * 0.92 - held) / (1480.0 * 1.03)

    solved = solve_ivp(gains, (0.0, 8.0), [drive.kmh[begin] / 3.6], rtol=1e-9, atol=1e-9, t_eval=[2.0, 4.0, 6.0, 8.0])
    ours = [float(drive.kmh[begin + step]) for step in (20, 40, 60, 80)]
    assert ours == pytest.approx(list(3.6 * solved.y[0]), rel=2e-4)
    assert ours[-1] > ours[0] + 20.0


def test_a_steady_climb_by_hand() -> None:
    """1480 kg at 60 km/h up 5 %: 150 + 0.042 * 3600 + 1480 * 9.80665 * sin(atan 0.05) = 1026.0 N; in third, locked,
    1026.0 / (1.0 * 3.45 * 2 pi / C) / 0.92 with C = 1.9749 m is 101.6 Nm behind the converter."""
    machine = machine_of(BOX)
    force = 150.0 + 0.042 * 3600.0 + 1480.0 * 9.80665 * np.sin(np.arctan(0.05))
    assert force == pytest.approx(1026.0, abs=0.05)
    pedal = pedal_for(machine, 60.0 / 3.6, 3, force, True)
    rpm = 60.0 * 3.45 / (0.06 * BOX.tyre.rolled_mm / 1000.0)
    assert engine_nm(machine, rpm, pedal) == pytest.approx(101.6, abs=0.05)
    assert drive_n(machine, 60.0 / 3.6, 3, pedal, True)[0] == pytest.approx(force)
