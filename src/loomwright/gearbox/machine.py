"""How does a gearbox with its car become arrays for the compiled code?

Source: the grip is the share of the weight that `box` names.
"""

from __future__ import annotations

import numpy as np

from loomwright.gearbox.box import Box
from loomwright.gearbox.moving import GRAVITY, Machine

__all__ = ["machine_of"]

_GRAMS = 1000.0
_MM = 1000.0


def machine_of(box: Box) -> Machine:
    """A box as arrays."""
    return Machine(
        mass=box.mass_g / _GRAMS,
        rolled=box.tyre.rolled_mm / _MM,
        final=box.final_drive,
        kept=box.kept_frac,
        idle=box.engine.idle_rpm,
        limit=box.engine.limit_rpm,
        peak=max(box.engine.torque_nm),
        grip=box.grip_frac * box.mass_g / _GRAMS * GRAVITY,
        road=np.array(box.road_n),
        ratios=np.array(box.ratios),
        rpm=np.array(box.engine.torque_rpm),
        torque=np.array(box.engine.torque_nm),
        speed_ratios=np.array(box.converter.speed_ratios),
        k=np.array(box.converter.k_rpm),
        torque_ratios=np.array(box.converter.torque_ratios),
    )
