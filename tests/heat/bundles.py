"""How much a bundle carries until its warmest wire is as warm as it may be, as handbooks derate it."""

from __future__ import annotations

import numpy as np

from loomwright.heat.crowd import crowd_heat
from loomwright.heat.one_wire import WireBodies
from loomwright.heat.still_air import Around, Floats

__all__ = ["most_times"]

_HALVINGS = 40


def most_times(
    amps: Floats,
    bodies: WireBodies,
    around: Around,
    *,
    bundle_mm: float,
    limit_c: float,
) -> float:
    """How many times its currents a bundle stands before its warmest wire reaches a temperature. [-]

    Args:
        amps: through each wire.
        bodies: the wires.
        around: the bundle.
        bundle_mm: diameter. [mm]
        limit_c: of the copper. [C]
    """

    def warmest(times: float) -> float:
        return float(np.max(crowd_heat(times * amps, bodies, around, bundle_mm=bundle_mm).copper_c))

    if limit_c <= around.ambient_c or not float(np.max(np.abs(amps))) > 0.0:
        return 0.0
    low, high = 0.0, 1.0
    while warmest(high) < limit_c:
        low, high = high, 2.0 * high
    for _ in range(_HALVINGS):
        half = (low + high) / 2.0
        low, high = (low, half) if warmest(half) >= limit_c else (half, high)
    return low
