"""Is a spark off by whole teeth of the crank wheel, and which way must it come?"""

from __future__ import annotations

from math import inf

__all__ = ["way_of", "whole_teeth"]

_TURN_DEG = 360.0


def way_of(off_deg: float) -> str:
    """Which way the spark must come.

    Args:
        off_deg: seen less commanded, before top centre. [deg]
    Example:
        >>> way_of(3.0), way_of(-3.0)
        ('later', 'earlier')
    """
    return "later" if off_deg > 0.0 else "earlier"


def whole_teeth(off_deg: float, within_deg: float, teeth: int) -> tuple[list[str], list[str]]:
    """The words, and the name of the mistake, where a difference is whole teeth of the wheel; nothing where it is not.

    Args:
        off_deg: seen less commanded. [deg]
        within_deg: how near to whole teeth it must lie; a sixth of a tooth at most. [deg]
        teeth: of the wheel, the missing ones counted; 0: not known. [-]
    Example:
        >>> whole_teeth(6.2, 1.0, 60)[1], whole_teeth(3.0, 1.0, 60)
        (['one tooth off'], ([], []))
    """
    pitch = _TURN_DEG / teeth if teeth else inf
    whole = round(off_deg / pitch) if teeth else 0
    if not whole or abs(off_deg - whole * pitch) > min(within_deg, pitch / 6.0):
        return [], []
    count = "one tooth" if abs(whole) == 1 else f"{abs(whole)} teeth"
    told = (
        f"The difference, {off_deg:+.1f}°, is {count} of a wheel of {teeth}: the first tooth after the gap is "
        f"counted wrong. Move the tooth count by {abs(whole)} so that the spark comes {way_of(off_deg)}, not the angle."
    )
    return [told], [f"{abs(whole)} teeth off" if abs(whole) > 1 else "one tooth off"]
