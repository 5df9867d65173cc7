"""May the car be live while something is read, or could a fault that is still possible burn a wire meanwhile?

A short behind a fuse blows it, and that is the end of it. Ahead of the fuses nothing ends it but the wire: there no
reading is asked of the car as it stands, and the battery goes through a lamp first.

Source: a lamp of 21 W in the battery's lead before a car is made live, practice of the trade: common practice.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["is_too_risky"]

Figures = NDArray[np.float64]
_BURNS_A = 60.0
"""What a wire carries beyond its share in the sound car, and no fuse has ended: typical, ours [A]."""
_MAY_FRAC = 0.02
"""Odds from which the lamp is asked for: ours [0..1]."""


def is_too_risky(amps: Figures, weights: Figures) -> bool:
    """Whether a wire is likely enough to carry far more than in the sound car, whatever fuses have opened.

    Args:
        amps: by fault, the sound car first, and wire. [A]
        weights: of the faults, the sound car left out. [0..1]
    Example:
        >>> amps = np.array([[2.0, 0.0], [2.0, 0.1], [2.0, 228.0]])
        >>> is_too_risky(amps, np.array([0.99, 0.01])), is_too_risky(amps, np.array([0.9, 0.1]))
        (False, True)
    """
    beyond = (np.abs(amps[1:]) - np.abs(amps[0])).max(axis=1, initial=0.0)
    return bool(weights[beyond > _BURNS_A].sum() > _MAY_FRAC)
