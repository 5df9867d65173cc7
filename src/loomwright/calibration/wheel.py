"""What does a toothed wheel on the crank give at a speed: how often a tooth comes, how long its gap is?

A wheel of N teeth, m of them missing, is counted with its missing ones: teeth come at N * rpm / 60, and across the gap
m + 1 of them pass. A gap is told from a tooth by how much longer it lasts than the one before; halfway, as a ratio, is
the square root of m + 1: the crank may slow by that much within one tooth before a gap is seen where there is none.

Source: geometry; no tabulated figure.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from loomwright.refusals import OutOfReach

__all__ = ["WheelSignal", "wheel_signal"]

_S_PER_MIN = 60.0
_MS = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelSignal:
    """The signal at one speed. tooth_hz: by the whole count. [Hz]   tooth_s, gap_s: from edge to edge. [s]

    ratio: gap over tooth. [-]   halfway: the ratio that is neither. [-]   teeth: that are really there. [-]
    """

    rpm: float
    tooth_hz: float
    tooth_s: float
    gap_s: float
    ratio: float
    halfway: float
    teeth: int

    @property
    def says(self) -> str:
        """What a scope shows, in words."""
        return (
            f"At {self.rpm:g}/min: {self.tooth_hz:.4g} Hz, a tooth every {_MS * self.tooth_s:.4g} ms, the gap "
            f"{_MS * self.gap_s:.4g} ms ({self.ratio:g} times as long); {self.teeth} teeth a turn are counted"
        )


def wheel_signal(wheel: str, rpm: float) -> WheelSignal:
    """The signal of a wheel.

    Args:
        wheel: teeth and those missing.
        rpm: speed of the crank. [rpm]
    Raises:
        OutOfReach: it cannot be a wheel with a gap, or it stands still.
    Example:
        >>> wheel_signal("60-2", 6000.0).tooth_hz
        6000.0
    """
    count, _, gone = wheel.partition("-")
    if not (count.isdecimal() and gone.isdecimal()) or not 0 < int(gone) < int(count) // 2:
        raise OutOfReach("teeth", wheel, "teeth and those missing, such as 60-2")
    if rpm <= 0.0:
        raise OutOfReach("rpm", rpm, "a speed above nothing")
    tooth_s = _S_PER_MIN / (int(count) * rpm)
    return WheelSignal(
        rpm=rpm,
        tooth_hz=1.0 / tooth_s,
        tooth_s=tooth_s,
        gap_s=tooth_s * (int(gone) + 1),
        ratio=int(gone) + 1.0,
        halfway=sqrt(int(gone) + 1.0),
        teeth=int(count) - int(gone),
    )
