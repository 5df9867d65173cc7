"""Figures of the gearbox room that outside sources print too, by the names the cases use."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from loomwright.gearbox.box import Box, Converter, Engine, guide_least_rpm, output_rpm, rpm_in, speed_in_kmh
from loomwright.gearbox.box_reading import shipped_box
from loomwright.gearbox.cycles import cycle_called
from loomwright.gearbox.driving import STEP_S, drive_after, drive_by_pedal
from loomwright.gearbox.lines import Lines, first_lines, programme_called
from loomwright.gearbox.machine import machine_of
from loomwright.gearbox.moving import MASS_FACTOR, drive_n, hold_n
from loomwright.gearbox.tyre import ROLLED, Tyre, tyre_of

__all__ = ["GEARS"]

KMH = 3.6
MILE_M = 1609.344
LBF_N = 4.4482216


def _box(**changes: object) -> Box:
    return replace(shipped_box(), **changes)  # type: ignore[arg-type]


def _rolling(rolled_mm: float) -> Tyre:
    return Tyre(size="", width_mm=0.0, aspect=0.0, rim_mm=rolled_mm / ROLLED)


def _cycle_m(cycle: str) -> float:
    found = cycle_called(cycle)
    return float(np.trapezoid(found.speed_kmh, found.at_s)) / KMH


def _stall_rpm(nm: str) -> float:
    """Engine speed of a full pedal against the brakes, the engine giving so much at any speed."""
    engine = replace(shipped_box().engine, torque_rpm=(750.0, 6000.0), torque_nm=(float(nm), float(nm)))
    return float(drive_n(machine_of(_box(engine=engine)), 0.0, 1, 1.0, False)[1])


def _hold_n(a: str, c: str, kmh: str) -> float:
    return float(hold_n(machine_of(_box(road_n=(float(a), 0.0, float(c)))), float(kmh) / KMH, 0.0))


def _radius_in(ratio: str, mph: str, rpm: str) -> float:
    """Rolling radius at which a speed in a gear is that of an engine speed; speed goes with the radius."""
    kmh = speed_in_kmh(_box(ratios=(float(ratio),), final_drive=1.0, tyre=_rolling(2.0 * np.pi * 25.4)), 1, float(rpm))
    return float(mph) * MILE_M / 1000.0 / kmh


def _slip_rpm(engine: str, shaft: str, ratio: str) -> float:
    """Engine speed beyond that of a locked gear at the same output shaft."""
    box = _box(ratios=(float(ratio),))
    kmh = float(shaft) / output_rpm(box, 1.0)
    return float(engine) - rpm_in(box, 1, kmh)


def _hold_lb(a: str, b: str, c: str, mph: str) -> float:
    """Coefficients in pounds of force and miles an hour, turned to newtons and km/h."""
    mile = MILE_M / 1000.0
    road = (float(a) * LBF_N, float(b) * LBF_N / mile, float(c) * LBF_N / mile**2)
    return float(hold_n(machine_of(_box(road_n=road)), float(mph) * mile / KMH, 0.0))


def _cycle_mph(cycle: str, at: str) -> float:
    found = cycle_called(cycle)
    return float(np.interp(float(at), found.at_s, found.speed_kmh)) / (MILE_M / 1000.0)


def _cycle_mean_mph(cycle: str) -> float:
    return _cycle_m(cycle) / MILE_M / (cycle_called(cycle).at_s[-1] / 3600.0)


def _wheel_kwh(cycle: str, kg: str, a: str, c: str) -> float:
    """Work at the wheels over a trace, braking left out: each second's mean speed, 1.03 times the mass."""
    found = cycle_called(cycle)
    speed = np.asarray(found.speed_kmh) / KMH
    step = np.diff(np.asarray(found.at_s, float))
    middle = (speed[1:] + speed[:-1]) / 2.0
    machine = machine_of(_box(mass_g=float(kg) * 1000.0, road_n=(float(a), 0.0, float(c))))
    force = np.array([float(hold_n(machine, float(v), 0.0)) for v in middle]) + 1.03 * float(kg) * np.diff(speed) / step
    return float((np.maximum(force, 0.0) * middle * step).sum()) / 3.6e6


def _driven_kwh(cycle: str, kg: str, a: str, c: str) -> float:
    """The same work of the car as it was driven in the model, at ten steps a second."""
    found, mass = cycle_called(cycle), float(kg)
    box = _box(mass_g=mass * 1000.0, road_n=(float(a), 0.0, float(c)))
    lines = first_lines(box, programme_called(box, "normal"))
    speed = drive_after(box, lines, np.asarray(found.at_s, float), np.asarray(found.speed_kmh)).kmh / KMH
    middle, machine = (speed[1:] + speed[:-1]) / 2.0, machine_of(box)
    force = np.array([float(hold_n(machine, float(v), 0.0)) for v in middle]) + 1.03 * mass * np.diff(speed) / STEP_S
    return float((np.maximum(force, 0.0) * middle).sum()) * STEP_S / 3.6e6


def _two_seater_kmh(grip: str = "0.55") -> NDArray[np.float64]:
    """Its speeds at full throttle from rest, ten a second."""
    kg = 1741.0 + 75.0
    box = _box(
        engine=Engine(
            idle_rpm=700.0,
            rated_rpm=6500.0,
            limit_rpm=6500.0,
            torque_rpm=(1000.0, 2020.0, 2990.0, 3500.0, 5000.0, 6500.0),
            torque_nm=(306.0, 385.0, 439.0, 450.0, 450.0, 367.0),
        ),
        ratios=(4.71, 3.14, 2.11, 1.67, 1.29, 1.0, 0.84, 0.67),
        final_drive=3.31,
        tyre=tyre_of("295/30R20"),
        mass_g=kg * 1000.0,
        kept_frac=0.92,
        grip_frac=float(grip),
        road_n=(0.012 * kg * 9.80665, 0.0, 0.5 * 1.2 * 0.36 * 2.42 / KMH**2),
        highest={"D": 8},
    )
    lines = first_lines(box, programme_called(box, "sport"))
    return drive_by_pedal(box, lines, np.array([0.0, 80.0]), np.array([1.0, 1.0])).kmh


def _resistance_lb(lb: str, cd_ft2: str, slug: str, mph: str, grade: str = "0") -> float:
    """What holds a car back, its three coefficients turned to newtons and km/h."""
    weight, feet = float(lb), 1000.0 / 3600.0 / 0.3048  # ft/s in a km/h
    road = (0.01 * weight, 0.01 * weight / 147.0 * feet, 0.5 * float(slug) * float(cd_ft2) * feet**2)
    kg = weight * LBF_N / 9.80665
    machine = machine_of(_box(mass_g=kg * 1000.0, road_n=tuple(LBF_N * one for one in road)))
    return float(hold_n(machine, float(mph) * MILE_M / 3600.0, float(grade))) / LBF_N


def _to_60_mph_s(kg: str) -> float:
    """From rest in one gear: the force and the power that are printed, as a torque curve at the wheels."""
    printed, moved = 1560.0 * 1.01, float(kg) * 1.01
    pull_n, power_w, drag = (3.117 + 0.046) * printed, 62.1 * printed, 0.000136 * printed
    rolled_m, ratio = 2.0 * np.pi * 0.3, 11.0
    rpm = np.concatenate([[1.0], np.linspace(19.0, 40.0, 400) * 60.0 * ratio / rolled_m])
    speed = rpm * rolled_m / 60.0 / ratio
    force = np.minimum(pull_n, power_w / speed)
    box = _box(
        engine=replace(
            shipped_box().engine,
            idle_rpm=0.5,
            limit_rpm=20_000.0,
            torque_rpm=tuple(rpm),
            torque_nm=tuple(force * rolled_m / (2.0 * np.pi) / ratio),
        ),
        converter=Converter(speed_ratios=(0.0, 1.0), torque_ratios=(1.0, 1.0), k_rpm=(1e-3, 1e-3)),
        ratios=(ratio, 1.0),
        final_drive=1.0,
        tyre=_rolling(rolled_m * 1000.0),
        mass_g=moved / MASS_FACTOR * 1000.0,
        road_n=(0.046 * moved, 0.0, drag / KMH**2),
        kept_frac=1.0,
        grip_frac=1.0,
        highest={"D": 2},
    )
    never = ((900.0,) * 2,)
    lines = Lines(
        programme="one gear",
        pedal_frac=(0.0, 1.0),
        up_kmh=never,
        down_kmh=((0.0, 0.0),),
        kick_kmh=(0.0,),
        kick_frac=1.0,
        lock_kmh=((0.0, 0.0),) * 2,
        unlock_kmh=((0.0, 0.0),) * 2,
        min_gap_s=1.0,
        min_back_s=2.0,
        highest=0,
    )
    kmh = drive_by_pedal(box, lines, np.array([0.0, 20.0]), np.array([1.0, 1.0]), from_kmh=0.01).kmh
    sixty = 60.0 * MILE_M / 1000.0
    past = int(np.argmax(kmh >= sixty))
    return STEP_S * (past - float((kmh[past] - sixty) / (kmh[past] - kmh[past - 1])))


GEARS: Mapping[str, Callable[..., float]] = {
    "gear_rolled_mm": lambda size: tyre_of(size).rolled_mm,
    "gear_rpm": lambda ratio, kmh: rpm_in(
        _box(ratios=(float(ratio),), final_drive=3.9, tyre=_rolling(1927.3)), 1, float(kmh)
    ),
    "gear_kmh": lambda ratio, rpm: speed_in_kmh(
        _box(ratios=(float(ratio),), final_drive=3.9, tyre=_rolling(1927.3)), 1, float(rpm)
    ),
    "gear_shaft_rpm": lambda rolled_mm, axle, kmh: output_rpm(
        _box(final_drive=float(axle), tyre=_rolling(float(rolled_mm))), float(kmh)
    ),
    "gear_least_rpm": lambda idle, rated, gear: guide_least_rpm(
        idle_rpm=float(idle), rated_rpm=float(rated), gear=int(gear)
    ),
    "gear_stall_rpm": _stall_rpm,
    "gear_hold_n": _hold_n,
    "gear_hill_n": lambda kg, grade: float(
        hold_n(machine_of(_box(mass_g=float(kg) * 1000.0, road_n=(0.0, 0.0, 0.0))), 10.0, float(grade))
    ),
    "gear_cycle_miles": lambda cycle: _cycle_m(cycle) / MILE_M,
    "gear_cycle_m": _cycle_m,
    "gear_radius_in": _radius_in,
    "gear_slip_rpm": _slip_rpm,
    "gear_hold_lb": _hold_lb,
    "gear_hold_kw": lambda a, c, kmh: _hold_n(a, c, kmh) * float(kmh) / KMH / 1000.0,
    "gear_cycle_mph": _cycle_mph,
    "gear_cycle_mean_mph": _cycle_mean_mph,
    "gear_wheel_kwh": _wheel_kwh,
    "gear_driven_kwh": _driven_kwh,
    "gear_resistance_lb": _resistance_lb,
    "gear_to_60_mph_s": _to_60_mph_s,
    "gear_to_100_s": lambda grip: float(np.argmax(_two_seater_kmh(grip) >= 100.0)) * STEP_S,
    "gear_top_kmh": lambda: float(_two_seater_kmh().max()),
}
