"""Where did the box really change on the road, and how far is that from the lines?

Every change by one gear in a recorded drive, with the speed and the pedal it was made at, beside the speed that its
line has at that pedal. A change takes a while: the recorded one lies a little beyond the line when all is well. What
lies far off is another programme, a hot or cold fluid, a hand on the selector, or a line that the controller has not.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.gearbox.line_record import Lines
from loomwright.gearbox.lines import line_at_kmh
from loomwright.refusals import NoAnswer

__all__ = ["ROAD_USES", "RoadChange", "changes_of_drive", "road_changes", "road_says"]

ROAD_USES = ("road_speed", "throttle", "gear")
"""Quantities of a recorded drive that its changes are read from."""
_PERCENT = 100.0

_FAR_KMH = 6.0  # what a change takes at 2 m/s2 and 0.6 s, and the sensor's step; our choice


@dataclass(frozen=True, slots=True, kw_only=True)
class RoadChange:
    """One change as it was recorded. lower: the lower gear of the pair. [-]   line_kmh: what its line has there. [km/h]

    at_s: when. [s]   kmh: road speed. [km/h]   pedal_frac: [0..1]
    """

    at_s: float
    lower: int
    is_up: bool
    kmh: float
    pedal_frac: float
    line_kmh: float

    @property
    def off_kmh(self) -> float:
        """Beyond the line; below nothing where it came early. [km/h]"""
        return self.kmh - self.line_kmh if self.is_up else self.line_kmh - self.kmh

    @property
    def name(self) -> str:
        """Of its line: up 1-2, down 2-1."""
        return f"up {self.lower}-{self.lower + 1}" if self.is_up else f"down {self.lower + 1}-{self.lower}"

    @property
    def is_far(self) -> bool:
        """It lies further from its line than a change takes."""
        return abs(self.off_kmh) > _FAR_KMH


def road_changes(
    lines: Lines,
    at_s: NDArray[np.float64],
    kmh: NDArray[np.float64],
    pedal_frac: NDArray[np.float64],
    gear: NDArray[np.float64],
) -> tuple[RoadChange, ...]:
    """Every change by one gear, in order.

    Args:
        at_s: of each sample. [s]
        kmh: road speed. [km/h]
        pedal_frac: of the way down. [0..1]
        gear: as the controller told it; 0 or less is none. [-]
    Raises:
        NoAnswer: no sample has all three.
    """
    whole = np.isfinite(kmh) & np.isfinite(pedal_frac) & np.isfinite(gear)
    if not whole.any():
        raise NoAnswer("the changes of the log", ("Road speed, pedal and gear are wanted in one log: map them.",))
    times, speeds, pedals, gears = at_s[whole], kmh[whole], pedal_frac[whole], np.rint(gear[whole]).astype(np.int64)
    steps = np.diff(gears)
    found = []
    for k in np.flatnonzero((np.abs(steps) == 1) & (np.minimum(gears[1:], gears[:-1]) >= 1)):
        lower, is_up = int(min(gears[k], gears[k + 1])), bool(steps[k] > 0)
        table = lines.up_kmh if is_up else lines.down_kmh
        if lower > len(table):
            continue
        pedal = float(min(1.0, max(0.0, pedals[k])))
        found.append(
            RoadChange(
                at_s=float(times[k]),
                lower=lower,
                is_up=is_up,
                kmh=float(speeds[k]),
                pedal_frac=pedal,
                line_kmh=line_at_kmh(lines.pedal_frac, table[lower - 1], pedal),
            )
        )
    return tuple(found)


def changes_of_drive(
    lines: Lines, at_s: NDArray[np.float64], of: Mapping[str, NDArray[np.float32]]
) -> tuple[RoadChange, ...]:
    """Every change by one gear of a recorded drive.

    Args:
        at_s: of each row. [s]
        of: quantity -> its figures; the throttle in per cent.
    Raises:
        NoAnswer: it lacks road speed, pedal or gear.
    """
    missing = [name.replace("_", " ") for name in ROAD_USES if name not in of]
    if missing:
        words = f"It has no column for: {', '.join(missing)}. Log it, or name the column so."
        raise NoAnswer("the changes of the log", (words,))
    speed, pedal, gear = (of[name].astype(np.float64) for name in ROAD_USES)
    return road_changes(lines, at_s, speed, pedal / _PERCENT, gear)


def road_says(changes: Sequence[RoadChange]) -> tuple[str, ...]:
    """Line by line how many changes were made, the middle of how far beyond it, and how many lie far off."""
    told = []
    for name in sorted({one.name for one in changes}, key=lambda name: (name.startswith("down"), name)):
        here = [one for one in changes if one.name == name]
        middle = float(np.median([one.off_kmh for one in here]))
        where = f"{abs(middle):.1f} km/h {'beyond' if middle >= 0.0 else 'before'} the line"
        far = sum(one.is_far for one in here)
        count = "1 change" if len(here) == 1 else f"{len(here)} changes"
        told.append(f"{name}: {count}, the middle one {where}, {far} far off")
    return tuple(told)
