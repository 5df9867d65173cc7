"""What fuel does a drive take, and how much pull is left in hand: two figures to hold sets of lines against each other?

    fuel = (T + T_shut) * 2 pi n / (eta * H),  nothing where the pedal is up and the wheels turn the engine
    pull = (1 - pedal) * (T_full - T_shut) * i * i_fd * 2 pi * kept / C / M,  mean while the car rolls

with T the torque given and T_shut what the engine takes with the pedal up. Good for comparing lines of one car, never
for what it will really take.

Source: the straight line of fuel over torque is the practice of the trade; eta 0.36, H 43 MJ/kg: typical, from memory.
"""

from __future__ import annotations

import numpy as np

from loomwright.gearbox.box import Box
from loomwright.gearbox.driving import STEP_S, Drive
from loomwright.gearbox.moving import Floats

__all__ = ["fuel_g", "pull_ms2"]

_ETA, _HEAT_J_PER_G = 0.36, 43_000.0  # typical, from memory
_SHUT_AT_REST, _SHUT_BY_SPEED = 0.04, 0.08  # as in `box`
_TURN = 2.0 * np.pi / 60.0
_OVERRUN = 1.15  # of idle; below it the fuel comes on again; typical, from memory
_ROLLING_KMH = 1.0
_G_PER_KG, _MM_PER_M = 1000.0, 1000.0


def fuel_g(box: Box, drive: Drive) -> float:
    """Fuel of a drive, estimated. [g]"""
    shut, full = _torques(box, drive.rpm)
    given = -shut + drive.pedal_frac * (full + shut)
    watts = (given + shut) * drive.rpm * _TURN
    is_cut = (drive.pedal_frac <= 0.0) & (drive.rpm > _OVERRUN * box.engine.idle_rpm)
    is_idle = (drive.pedal_frac <= 0.0) & ~is_cut
    watts = np.where(is_cut, 0.0, np.where(is_idle, shut * drive.rpm * _TURN, watts))
    return float(np.sum(watts) * STEP_S / _ETA / _HEAT_J_PER_G)


def pull_ms2(box: Box, drive: Drive) -> float:
    """Pull left in hand, in metres a second, each second: mean while the car rolls. [-]"""
    shut, full = _torques(box, drive.rpm)
    levers = np.array(box.ratios)[drive.gear - 1] * box.final_drive * 2.0 * np.pi / (box.tyre.rolled_mm / _MM_PER_M)
    left = (1.0 - drive.pedal_frac) * (full + shut) * levers * box.kept_frac / (box.mass_g / _G_PER_KG)
    rolls = drive.kmh > _ROLLING_KMH
    return float(np.mean(left[rolls])) if rolls.any() else 0.0


def _torques(box: Box, rpm: Floats) -> tuple[Floats, Floats]:
    engine = box.engine
    shut = (_SHUT_AT_REST + _SHUT_BY_SPEED * rpm / engine.limit_rpm) * max(engine.torque_nm)
    return shut, np.interp(rpm, engine.torque_rpm, engine.torque_nm)
