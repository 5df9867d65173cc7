"""Figures of the gearbox room that outside sources print too, by the names the cases use."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from loomwright.gearbox.box import Box, guide_least_rpm, output_rpm, rpm_in, speed_in_kmh
from loomwright.gearbox.box_reading import shipped_box
from loomwright.gearbox.cycles import cycle_called
from loomwright.gearbox.moving import drive_n, hold_n, machine_of
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
}
