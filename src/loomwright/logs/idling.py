"""Does it idle, warm up and cool as it should?

In: a drive. Out: findings, and whether the fan was seen to come on and go off.
LOG-30 idle speed wanders.  LOG-31 the coolant never warms, or cools while driven.  LOG-33 too hot.
LOG-34 the fan hunts, or never came on though it was hot.  LOG-37 stalls.
Idle is: throttle at its closed place, engine warm and running slowly, the car standing, for long enough.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.findings import Finding
from loomwright.logs.drive import Drive
from loomwright.logs.limits import limit_source
from loomwright.logs.spans import Span, spans_of, times
from loomwright.logs.steady import is_running
from loomwright.logs.trigger import ran

__all__ = ["Idle", "cooling_findings", "fan_cycles", "idle_findings", "idles_of"]

_MINUTE_S = 60.0
_SETTLE_S, _LEAVE_S = 3.0, 2.0  # left out while it comes to idle, and while it is opened up again
_STANDS_KMH = 1.0
_MOST_SHORT = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Idle:
    """One idle. at_s, lasts_s: when, how long. [s]  mean_rpm, spread_rpm: engine speed. [1/min]  span_rpm: from least
    to most. [1/min]  warm: coolant warm."""

    at_s: float
    lasts_s: float
    mean_rpm: float
    spread_rpm: float
    span_rpm: float
    warm: bool


def idles_of(drive: Drive, limits: Mapping[str, float]) -> tuple[Idle, ...]:
    """Every idle that lasts long enough, its first and last seconds left out.

    Throttle closed, and standing where that is known; one of the two must have been recorded.
    """
    throttle = drive.of.get("throttle", np.full(drive.time_s.size, np.nan, np.float32))
    has_throttle = bool(np.isfinite(throttle).any())
    if not drive.has("engine_speed") or not (has_throttle or drive.has("road_speed")):
        return ()
    speed = drive.of["engine_speed"]
    mask = is_running(drive, limits) & (speed <= limits["idle_most_rpm"])
    if has_throttle:
        mask &= throttle <= float(np.nanpercentile(throttle, 1.0)) + limits["idle_throttle_share"]
    if drive.has("road_speed"):
        mask &= ~(drive.of["road_speed"] > _STANDS_KMH)
    found = []
    for span in spans_of(drive, mask, limits["idle_least_s"] + _SETTLE_S):
        part = speed[span.first + int(_SETTLE_S / drive.step_s) : span.end - int(_LEAVE_S / drive.step_s)]
        part = part[np.isfinite(part)].astype(np.float64)
        if part.size < 2:
            continue
        warm = not drive.has("coolant") or float(np.nan_to_num(drive.of["coolant"][span.first])) >= limits["warm_c"]
        found.append(
            Idle(
                at_s=span.at_s,
                lasts_s=span.lasts_s,
                mean_rpm=float(part.mean()),
                spread_rpm=float(part.std(ddof=1)),
                span_rpm=float(np.ptp(part)),
                warm=warm,
            )
        )
    return tuple(found)


def idle_findings(drive: Drive, limits: Mapping[str, float], idles: tuple[Idle, ...]) -> tuple[Finding, ...]:
    """LOG-30 and LOG-37."""
    found = []
    warm = [idle for idle in idles if idle.warm]
    worst = max(warm, key=lambda idle: idle.spread_rpm / idle.mean_rpm, default=None)
    if worst is not None and worst.spread_rpm / worst.mean_rpm > limits["idle_share"]:
        found.append(
            Finding(
                rule="LOG-30",
                severity="warning",
                label=f"idle at {worst.at_s:.1f} s",
                wrong=f"warm idle wanders round {worst.mean_rpm:.0f} 1/min by {worst.span_rpm:.0f} in all",
                found=100.0 * worst.spread_rpm / worst.mean_rpm,
                allowed=100.0 * limits["idle_share"],
                unit="% of its mean",
                source=limit_source("idle_share"),
                mend="Look for an air leak, then idle mixture and spark, then how fast the idle valve is moved",
            )
        )
    if drive.has("engine_speed"):
        found += _stalls(drive, limits)
    return tuple(found)


def _stalls(drive: Drive, limits: Mapping[str, float]) -> list[Finding]:
    """The engine dies with its supply on and the car rolling: nobody switched it off."""
    if not drive.has("road_speed"):
        return []
    found = []
    running = ran(drive, limits)
    for span in spans_of(drive, running, limits["stall_s"]):
        if span.end >= running.size or drive.stretch[span.end] != drive.stretch[span.first]:
            continue
        if not np.isfinite(drive.of["engine_speed"][span.end]):
            continue  # not read is not stopped
        if float(np.nan_to_num(drive.of["road_speed"][span.end])) > _STANDS_KMH:
            found.append(
                Finding(
                    rule="LOG-37",
                    severity="fault",
                    label=f"at {drive.time_s[span.end]:.1f} s",
                    wrong="the engine stops while the car rolls",
                    mend="Look at volts and trigger just before it in the log; do not drive on until it is found",
                )
            )
    return found


def fan_cycles(drive: Drive) -> tuple[Span, ...]:
    """Every time the fan came on and went off within an unbroken stretch."""
    if not drive.has("fan"):
        return ()
    on = np.nan_to_num(drive.of["fan"]) > 0.0
    return tuple(
        span
        for span in spans_of(drive, on)
        if span.first > 0 and span.end < on.size and drive.stretch[span.first - 1] == drive.stretch[span.end]
    )


def cooling_findings(drive: Drive, limits: Mapping[str, float]) -> tuple[Finding, ...]:
    """LOG-31, LOG-33 and LOG-34."""
    if not drive.has("coolant"):
        return ()
    coolant = drive.of["coolant"]
    running = ran(drive, limits)
    found: list[Finding] = []
    hottest = float(np.nanmax(np.where(running, coolant, np.nan), initial=-np.inf))
    if hottest > limits["coolant_most_c"]:
        at_s = float(drive.time_s[np.nanargmax(np.where(running, coolant, -np.inf))])
        found.append(
            Finding(
                rule="LOG-33",
                severity="fault",
                label=f"at {at_s:.1f} s",
                wrong="the coolant gets too hot",
                found=hottest,
                allowed=limits["coolant_most_c"],
                unit="°C",
                source=limit_source("coolant_most_c"),
                mend=(
                    "Bleed the cooling, try the fan by hand, compare the sensor with a thermometer; "
                    "fingers off the cap while hot"
                ),
            )
        )
    found += _warm_up(drive, limits, coolant, running)
    return (*found, *_fan(drive, limits, hottest))


def _warm_up(
    drive: Drive, limits: Mapping[str, float], coolant: NDArray[np.float32], running: NDArray[np.bool_]
) -> list[Finding]:
    for span in spans_of(drive, running, limits["warm_up_minutes"] * _MINUTE_S):
        part = coolant[span.rows]
        late = part[int(limits["warm_up_minutes"] * _MINUTE_S / drive.step_s) :]
        late = late[np.isfinite(late)]
        if late.size and float(np.median(late)) < limits["thermostat_least_c"]:
            return [
                Finding(
                    rule="LOG-31",
                    severity="warning",
                    label=f"run from {span.at_s:.1f} s",
                    wrong=f"the coolant is not warm after {limits['warm_up_minutes']:g} minutes",
                    found=float(np.median(late)),
                    allowed=limits["thermostat_least_c"],
                    unit="°C",
                    source=limit_source("thermostat_least_c"),
                    mend=(
                        "Try the thermostat; compare the sensor with a thermometer: one that reads cold "
                        "keeps the fuel rich"
                    ),
                )
            ]
    return []


def _fan(drive: Drive, limits: Mapping[str, float], hottest: float) -> list[Finding]:
    if not drive.has("fan"):
        return []
    found = []
    on = np.nan_to_num(drive.of["fan"]) > 0.0
    if hottest > limits["coolant_most_c"] and not on.any():
        found.append(
            Finding(
                rule="LOG-34",
                severity="fault",
                label="fan",
                wrong="never came on though the coolant was hot",
                found=hottest,
                allowed=limits["coolant_most_c"],
                unit="°C",
                source=limit_source("coolant_most_c"),
                mend="Try its relay and its fuse by hand; it may start with the key off",
            )
        )
    short = [span for span in fan_cycles(drive) if span.lasts_s < limits["fan_short_s"]]
    if len(short) >= _MOST_SHORT:
        found.append(
            Finding(
                rule="LOG-34",
                severity="warning",
                label="fan",
                wrong=f"goes on and off {times(len(short))}",
                found=min(span.lasts_s for span in short),
                allowed=limits["fan_short_s"],
                unit="s",
                source=limit_source("fan_short_s"),
                mend="Set its off-point 3 to 6 K below its on-point",
            )
        )
    return found
