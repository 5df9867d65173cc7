"""Made-up drives with everything known: delay, noise, the table's true want of fuel, faults. Shares no code with the
judge.

An engine breathes rpm/120 * MAP per litre (air at 320 K); its mixture is what was asked times the table's true want
at that speed and load; the probe sees it after a + b / flow and slowed by its own time constant; then noise is added.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import polars as pl
from scipy.signal import lfilter

FINE_S = 0.005
GAS = 287.05 * 320.0


def grams(rpm, map_kpa):
    """Air in grams a second for a litre of engine."""
    return rpm / 120.0 * 1e-3 * map_kpa * 1000.0 / GAS * 1000.0


@dataclass(frozen=True, kw_only=True)
class Plan:
    """What a drive is made of."""

    seed: int = 1
    minutes: float = 12.0
    rate_hz: float = 20.0
    delay_a_ms: float = 60.0
    delay_b: float = 500.0
    tau_ms: float = 70.0
    noise: float = 0.008
    want: Callable[[np.ndarray, np.ndarray], np.ndarray] = lambda rpm, load: np.ones_like(rpm)
    dither: float = 0.05
    warm_from_c: float = 20.0


def made(plan: Plan) -> pl.DataFrame:
    """The drive as a table of usual headings."""
    dice = np.random.default_rng(plan.seed)
    total = int(plan.minutes * 60 / FINE_S)
    t = np.arange(total) * FINE_S
    rpm, load, road, throttle = (np.zeros(total) for _ in range(4))
    load[:] = 100.0
    target = np.ones(total)
    at = int(6.0 / FINE_S)
    crank = int(1.2 / FINE_S)
    rpm[at : at + crank] = 210.0
    load[at : at + crank] = 90.0
    at += crank
    idle = int(45.0 / FINE_S)
    rpm[at : at + idle], load[at : at + idle], throttle[:] = 880.0, 38.0, 1.0
    at += idle
    now = (880.0, 38.0)
    while at < total:
        stays = int(dice.uniform(6.0, 14.0) / FINE_S)
        is_idle = dice.random() < 0.12
        goal = (880.0, 38.0) if is_idle else (dice.uniform(1300, 4300), dice.uniform(30, 95))
        over = int(dice.uniform(0.8, 1.8) / FINE_S)
        ramp = np.linspace(0.0, 1.0, over)
        end = min(total, at + over)
        rpm[at:end] = (now[0] + (goal[0] - now[0]) * ramp)[: end - at]
        load[at:end] = (now[1] + (goal[1] - now[1]) * ramp)[: end - at]
        at = end
        end = min(total, at + stays)
        rpm[at:end], load[at:end] = goal
        road[at:end] = 0.0 if is_idle else goal[0] / 40.0
        throttle[at:end] = 1.0 if is_idle else 4.0 + (goal[1] - 30.0) * 0.9
        step = int(dice.uniform(2.5, 4.0) / FINE_S)
        if dice.random() < 0.7:
            for number, k in enumerate(range(at, end, step)):
                target[k : min(end, k + step)] = 1.0 + plan.dither * (-1.0) ** number * 0.5
        at = end
        now = goal
    coolant = np.minimum(88.0, plan.warm_from_c + (88.0 - plan.warm_from_c) * t / 180.0)
    running = rpm > 400.0
    flow = np.maximum(grams(rpm, load), 0.3)
    mixture = target * plan.want(rpm, load)
    delay = np.minimum((plan.delay_a_ms + plan.delay_b / flow) / 1000.0, 1.4)
    arrives = np.maximum.accumulate(t + delay)
    seen = mixture[np.clip(np.searchsorted(arrives, t, side="right") - 1, 0, total - 1)]
    if plan.tau_ms:
        a = np.exp(-FINE_S * 1000.0 / plan.tau_ms)
        seen = lfilter([1.0 - a], [1.0, -a], seen - seen[0]) + seen[0]
    every = round(1.0 / plan.rate_hz / FINE_S)
    pick = slice(None, None, every)
    count = t[pick].size
    rough = dice.normal(0.0, 1.0, (6, count))
    run = running[pick]
    volts = np.where(run, 14.1, np.where(rpm[pick] > 50, 10.6, 12.5))
    oil = np.where(run, 120.0 + 0.07 * rpm[pick], 0.0)
    fan = ((t[pick] % 160.0) < 45.0) & (coolant[pick] > 86.0)
    return pl.DataFrame(
        {
            "Time (s)": np.round(t[pick], 4),
            "RPM": np.where(rpm[pick] > 0, rpm[pick] + 6.0 * rough[0] * run, 0.0).round(1),
            "TPS (%)": (throttle[pick] + 0.05 * rough[1]).round(2),
            "MAP (kPa)": (load[pick] + 0.3 * rough[2]).round(2),
            "Lambda": np.where(run, seen[pick] + plan.noise * rough[3], 1.5 + 0.01 * rough[3]).round(4),
            "Lambda Target": target[pick].round(4),
            "CLT (°C)": (coolant[pick] + 0.2 * rough[4]).round(1),
            "IAT (°C)": np.full(count, 27.0).round(1),
            "Battery (V)": (volts + 0.03 * rough[5]).round(2),
            "Oil Pressure (kPa)": oil.round(0),
            "Spark (deg)": np.where(run, 18.0 + 0.001 * rpm[pick], 5.0).round(1),
            "Gear": np.where(road[pick] > 1.0, 3, 0),
            "Road Speed (km/h)": road[pick].round(1),
            "Knock Count": np.zeros(count),
            "Fan": fan.astype(int),
        }
    )


def bilinear(rpm_marks, load_marks, values):
    """A want that is straight between the breakpoints, as a controller reads its table."""

    def want(rpm, load):
        x = np.clip(np.interp(rpm, rpm_marks, np.arange(len(rpm_marks))), 0, len(rpm_marks) - 1.001)
        y = np.clip(np.interp(load, load_marks, np.arange(len(load_marks))), 0, len(load_marks) - 1.001)
        i, j = x.astype(int), y.astype(int)
        u, v = x - i, y - j
        return (
            values[j, i] * (1 - u) * (1 - v)
            + values[j, i + 1] * u * (1 - v)
            + values[j + 1, i] * (1 - u) * v
            + values[j + 1, i + 1] * u * v
        )

    return want
