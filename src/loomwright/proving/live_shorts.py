"""May the car be live while something is read, or could a fault that is still possible burn a wire meanwhile?

A short behind a fuse blows it, and that is the end of it, but for the new fuse that each such reading takes. Ahead of
the fuses nothing ends it but the wire: there no reading is asked of the car as it stands, and the battery goes through
a lamp first.

Source: a lamp of 21 W in the battery's lead before a car is made live, practice of the trade: common practice.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["FUSE_BITS", "burns_a", "is_too_risky", "may_burn"]

Figures = NDArray[np.float64]
_MOST_A = 60.0
"""What any wire carries beyond its share in the sound car, and no fuse has ended: typical, ours [A]."""
_BURNS_A_PER_MM2 = 30.0
"""The same of thin wires: some three times what they may carry for long; typical, common practice [A/mm2]."""
FUSE_BITS = 1.0
"""Trouble of a fuse that a reading blows, against what it tells: ours [bit]."""
_MAY_FRAC = 0.02
"""Odds from which the lamp is asked for: ours [0..1]."""


def burns_a(size_mm2: float | None) -> float:
    """What a wire may carry beyond its share in the sound car, before the lamp goes in first. [A]

    Args:
        size_mm2: of the wire; None where nobody knows. [mm2]
    Example:
        >>> burns_a(0.5), burns_a(16.0), burns_a(None)
        (15.0, 60.0, 60.0)
    """
    return _MOST_A if size_mm2 is None else min(_MOST_A, _BURNS_A_PER_MM2 * size_mm2)


def is_too_risky(amps: Figures, most_a: Figures, weights: Figures) -> bool:
    """Whether a wire is likely enough to carry far more than in the sound car, whatever fuses have opened.

    Args:
        amps: by fault, the sound car first, and wire. [A]
        most_a: what each wire may carry beyond its share in the sound car, as `burns_a` gives it. [A]
        weights: of the faults, the sound car left out. [0..1]
    Example:
        >>> amps, most_a = np.array([[2.0, 0.0], [2.0, 0.1], [2.0, 228.0]]), np.array([60.0, 60.0])
        >>> [is_too_risky(amps, most_a, np.array(odds)) for odds in ([0.99, 0.01], [0.9, 0.1])]
        [False, True]
    """
    return bool(weights[may_burn(amps, most_a)].sum() > _MAY_FRAC)


def may_burn(amps: Figures, most_a: Figures) -> NDArray[np.bool_]:
    """With which faults a wire carries far more than in the sound car.

    Args:
        amps: by fault, the sound car first and not told of, and wire. [A]
        most_a: what each wire may carry beyond its share in the sound car. [A]
    """
    beyond = (np.abs(amps[1:]) - np.abs(amps[0]) - most_a).max(axis=1, initial=-np.inf)
    return np.asarray(beyond > 0.0)
