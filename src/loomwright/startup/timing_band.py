"""Where does the fitted line of timing readings run, and how far may it be off at each speed?

The line is offset - 6 rpm delay; its 95 % band at a speed is t s sqrt(1/n + (rpm - mean)^2 / sum of squares).

Source: least squares, as in `startup.timing`.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

from loomwright.startup.timing import Timing, TimingReading, reach_deg

__all__ = ["timing_band"]

_US = 1e6
_DEG_PER_RPM_S = 6.0


def timing_band(
    readings: Sequence[TimingReading], found: Timing, rpm: Sequence[float]
) -> tuple[tuple[float, float], ...]:
    """The line and half the width of its band at some speeds, both in degrees; nothing where nothing was fitted.

    Args:
        readings: those that were fitted, and those set apart.
        found: their verdict.
        rpm: speeds asked for. [rpm]
    Example:
        >>> from loomwright.startup.timing import timing_of
        >>> read = [TimingReading(rpm=n, commanded_deg=10, seen_deg=12) for n in (1000, 2000, 3000)]
        >>> [round(each, 2) for each in timing_band(read, timing_of(read, cylinders=4), [2000])[0]]
        [2.0, 0.33]
    """
    if found.offset is None or found.delay is None:
        return ()
    gone = {one.number for one in found.apart}
    at = [one.rpm for number, one in enumerate(readings, start=1) if number not in gone]
    mean = sum(at) / len(at)
    about = sum((one - mean) ** 2 for one in at)
    reach = reach_deg(found.spread_deg, len(at) - 2)
    slope = -_DEG_PER_RPM_S * found.delay.value / _US
    return tuple((found.offset.value + slope * x, reach * sqrt(1.0 / len(at) + (x - mean) ** 2 / about)) for x in rpm)
