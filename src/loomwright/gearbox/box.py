"""What is known of the gearbox and the car it moves: the records that everything else in this room goes by.

Torque between the points of a curve runs straight. With part pedal the engine gives

    T = T_shut + pedal * (T_full - T_shut),   T_shut = -(0.04 + 0.08 n / n_limit) * T_peak

which is what an electric throttle set to torque does, and near enough for a cable (typical, from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from loomwright.gearbox.line_record import Lines
from loomwright.gearbox.tyre import Tyre

__all__ = [
    "GRIP_FRAC",
    "Box",
    "Converter",
    "Engine",
    "FluidHeat",
    "GearPattern",
    "Programme",
    "guide_least_rpm",
    "least_in_rpm",
    "output_rpm",
    "rpm_in",
    "speed_in_kmh",
]

GRIP_FRAC = 0.55
"""Dry road 0.9, six tenths of the weight on the driven wheels as it pulls away. [0..1] Typical, from memory."""
_PER_HOUR = 0.06  # mm a turn, turns a minute -> km/h: 60 / 1e6 * 1000
_MM_PER_M = 1000.0
_SECOND, _ABOVE = 0.9, 0.125  # source: wltp-least-speed
_EARLY_SECOND = 0.75  # common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Engine:
    """The engine. torque_rpm, torque_nm: its full-throttle curve, point by point. [rpm] and [Nm]

    is_estimated: nobody measured the curve.
    """

    idle_rpm: float
    rated_rpm: float
    limit_rpm: float
    torque_rpm: tuple[float, ...]
    torque_nm: tuple[float, ...]
    is_estimated: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Converter:
    """The torque converter, by the ratio of turbine speed to pump speed.

    speed_ratios: ascending from 0 to 1. [-]   torque_ratios: turbine over pump. [-]
    k_rpm: pump speed that takes 1 Nm; at other torques it goes with the root. [rpm]
    """

    speed_ratios: tuple[float, ...]
    k_rpm: tuple[float, ...]
    torque_ratios: tuple[float, ...]
    is_typical: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class GearPattern:
    """The truth table of the gear solenoids. gears: gear -> which are on, in the order of `names`.

    A name that is the id of a part of the job lets its network be asked what stays on with the loom unplugged.
    pressure: name of the pressure solenoid, where there is one.
    pressure_unplugged: what the line pressure does with no current: full, least, or empty where nobody knows.
    pressure_kpa: at the tapping, idle in D and stalled; None where nobody typed them. [kPa]
    """

    names: tuple[str, ...]
    gears: Mapping[int, tuple[bool, ...]]
    pressure_unplugged: str = ""
    pressure: str = ""
    pressure_kpa: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FluidHeat:
    """What the fluid's temperature does to the changes.

    cold_c: below it no overdrive and no lock-up. [C]   hot_c, hot_off_c: hot mode begins and ends. [C]
    store_kj_per_k: heat the fluid and the case take up, kilojoules a kelvin. [-]
    cooler_w_per_k: what the cooler carries off, watts a kelvin. [-]
    """

    cold_c: float = 20.0
    hot_c: float = 120.0
    hot_off_c: float = 110.0
    store_kj_per_k: float = 28.0
    cooler_w_per_k: float = 70.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Programme:
    """What a set of lines is drawn from; see the table `gear_wishes`.

    light, bend: as in that table. [-]
    min_gap_s, min_back_s: least time between two changes, and before one is undone. [s]
    highest: gear it uses; 0 for all, less where it keeps overdrive out. [-]
    """

    name: str
    wish: str
    light: float
    full_frac: float
    bend: float
    gap_frac: float
    kick_frac: float
    lock_from: int
    lock_rpm: float
    min_gap_s: float = 1.0
    min_back_s: float = 2.0
    highest: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """The gearbox in its car.

    ratios: of the forward gears, first to last. [-]   reverse, final_drive: ratios. [-]
    mass_g: with driver and load. [g]
    road_n: what holds it back on the flat: a constant, a part by the speed, one by its square (km/h). [N]
    kept_frac: of the torque that goes through the gears. [0..1]
    least_rpm: below which a gear above the second lugs. [rpm]
    highest: selector position -> highest gear in it.   extent: for what is said to be estimated or typical.
    grip_frac: the most the tyres pull, as a share of the weight. [0..1]
    kept: programme -> lines that somebody drew; one that is not there goes by a first set.
    """

    title: str
    ratios: tuple[float, ...]
    reverse: float | None
    final_drive: float
    tyre: Tyre
    mass_g: float
    road_n: tuple[float, float, float]
    kept_frac: float
    engine: Engine
    least_rpm: float
    converter: Converter
    pattern: GearPattern | None
    highest: Mapping[str, int]
    reverse_inhibit_kmh: float | None
    heat: FluidHeat
    programmes: tuple[Programme, ...]
    extent: tuple[str, ...] = ()
    grip_frac: float = GRIP_FRAC
    kept: Mapping[str, Lines] = field(default_factory=lambda: MappingProxyType({}))


def guide_least_rpm(*, idle_rpm: float, rated_rpm: float, gear: int) -> float:
    """The least engine speed that a test procedure lets a clutched or locked gear be driven at.

    n_idle in first, 0.9 n_idle in second, n_idle + 0.125 (n_rated - n_idle) above.

    Args:
        idle_rpm: of the engine. [rpm]
        rated_rpm: where its power peaks. [rpm]
        gear: counted from 1. [-]
    Source:
        `wltp-least-speed`.
    Example:
        >>> guide_least_rpm(idle_rpm=750.0, rated_rpm=5500.0, gear=3)
        1343.75
    """
    if gear <= 2:
        return idle_rpm if gear == 1 else _SECOND * idle_rpm
    return idle_rpm + _ABOVE * (rated_rpm - idle_rpm)


def least_in_rpm(box: Box, gear: int) -> float:
    """Turbine speed below which a gear is too high; second comes in earlier than those above it.

    Args:
        gear: counted from 1. [-]
    """
    return max(_SECOND * box.engine.idle_rpm, _EARLY_SECOND * box.least_rpm) if gear == 2 else box.least_rpm


def speed_in_kmh(box: Box, gear: int, engine_rpm: float) -> float:
    """Road speed at an engine speed, the converter locked.

    Args:
        gear: counted from 1. [-]
        engine_rpm: of the engine. [rpm]
    """
    return _PER_HOUR * engine_rpm * box.tyre.rolled_mm / _MM_PER_M / (box.ratios[gear - 1] * box.final_drive)


def rpm_in(box: Box, gear: int, speed_kmh: float) -> float:
    """Engine speed at a road speed, the converter locked.

    Args:
        gear: counted from 1. [-]
        speed_kmh: of the car. [km/h]
    """
    return speed_kmh * box.ratios[gear - 1] * box.final_drive / (_PER_HOUR * box.tyre.rolled_mm / _MM_PER_M)


def output_rpm(box: Box, speed_kmh: float) -> float:
    """Speed of the gearbox's output shaft at a road speed; lines given by it outlive a change of axle or tyre.

    Args:
        speed_kmh: of the car. [km/h]
    """
    return speed_kmh * box.final_drive / (_PER_HOUR * box.tyre.rolled_mm / _MM_PER_M)
