"""What came of a drive: changes a kilometre, changes undone, time in each gear, engine speeds, the fluid's heat?

A change counts as undone when the opposite one follows within five seconds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.gearbox.box import Box
from loomwright.gearbox.cycles import cycle_called
from loomwright.gearbox.driving import STEP_S, Drive, Road, drive_after, drive_by_pedal
from loomwright.gearbox.lines import Lines

__all__ = ["RPM_BIN", "RUNS", "Judged", "judged", "run_called", "run_words", "undone"]

UNDONE_S = 5.0
"""An opposite change within this undoes one. [s] Our choice."""
RPM_BIN = 500
"""Width of a step of the engine speeds. [rpm]"""
_KMH_BEHIND = 3.0
_KMH = 3.6
_M_PER_KM = 1000.0
_HILL_S, _HILL_KMH = 300.0, 70.0
_TIP_S = (0.0, 10.0, 10.1, 25.0, 25.1, 40.0)
_TIP = (0.18, 0.18, 0.70, 0.70, 0.18, 0.18)

RUNS = (
    *("udds", "wltc", "hwfet", "us06", "urban", "extra_urban", "european"),
    *("hill", "long_hill", "full_throttle", "tip_in"),
)
"""What it can be sent on: published cycles, then runs of our own."""
_RUN_WORDS = {
    "udds": "urban schedule (UDDS)",
    "wltc": "WLTC of class 3b",
    "hwfet": "highway schedule (HWFET)",
    "us06": "brisk schedule (US06)",
    "urban": "European urban part",
    "extra_urban": "European extra-urban part",
    "european": "European cycle (NEDC)",
    "hill": "70 km/h up 6 %",
    "long_hill": "70 km/h up 8 %, long",
    "full_throttle": "full pedal from rest",
    "tip_in": "pedal pressed at 60 km/h",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A drive in figures. distance_m: driven. [m]   changes, undone, kicked: counts. [-]   per_km: changes. [-]

    gear_frac: share of the time in each gear. [0..1]   locked_frac: with the converter locked. [0..1]
    rpm_frac: share of the time in each 500 1/min. [0..1]   behind_s: slower than asked by over 3 km/h. [s]
    top_rpm: the highest. [rpm]   fluid_c: the warmest. [C]   to_100_s: from rest, where it gets there. [s]
    """

    programme: str
    run: str
    distance_m: float
    changes: int
    per_km: float
    undone: int
    kicked: int
    gear_frac: tuple[float, ...]
    locked_frac: float
    rpm_frac: tuple[float, ...]
    top_rpm: float
    behind_s: float
    fluid_c: float
    to_100_s: float | None


def run_words(run: str) -> str:
    """One of `RUNS` in words.

    Example:
        >>> run_words("wltc")
        'WLTC of class 3b'
    """
    return _RUN_WORDS[run]


def run_called(box: Box, lines: Lines, run: str, *, highest: int = 0) -> Drive:
    """One of `RUNS`, driven.

    hill: 70 km/h for five minutes up 6 %. long_hill: the same for twenty minutes up 8 %. full_throttle: from
    rest, a minute.
    tip_in: a pedal of 18 %, then 70 % for fifteen seconds, from 60 km/h. All four are our own.

    Args:
        highest: gear that may be used; 0 for all. [-]
    Raises:
        OutOfReach: no run of that name.
    """
    if run in ("hill", "long_hill"):
        longer, grade = (_HILL_S, 0.06) if run == "hill" else (4.0 * _HILL_S, 0.08)
        at_s, speed = np.array([0.0, longer]), np.array([_HILL_KMH, _HILL_KMH])
        return drive_after(box, lines, at_s, speed, Road(grade_frac=grade, highest=highest))
    if run == "full_throttle":
        return drive_by_pedal(box, lines, np.array([0.0, 60.0]), np.array([1.0, 1.0]), Road(highest=highest))
    if run == "tip_in":
        road = Road(highest=highest)
        return drive_by_pedal(box, lines, np.array(_TIP_S), np.array(_TIP), road, from_kmh=60.0)
    cycle = cycle_called(run)
    return drive_after(box, lines, np.array(cycle.at_s), np.array(cycle.speed_kmh), Road(highest=highest))


def judged(drive: Drive, *, programme: str, run: str, gears: int) -> Judged:
    """The drive in figures.

    Args:
        gears: of the box. [-]
    """
    changes = np.flatnonzero(np.diff(drive.gear))
    distance_m = float(np.sum(drive.kmh) * STEP_S / _KMH)
    bins = np.bincount((drive.rpm // RPM_BIN).astype(np.int64))
    fast = np.flatnonzero(drive.kmh >= 100.0)
    directions = [int(drive.gear[k + 1] - drive.gear[k]) for k in changes]
    return Judged(
        programme=programme,
        run=run,
        distance_m=distance_m,
        changes=len(changes),
        per_km=len(changes) / distance_m * _M_PER_KM if distance_m > 0.0 else 0.0,
        undone=undone([float(drive.at_s[k]) for k in changes], directions),
        kicked=int(np.sum(drive.kicked)),
        gear_frac=tuple(float(np.mean(drive.gear == gear)) for gear in range(1, gears + 1)),
        locked_frac=float(np.mean(drive.locked)),
        rpm_frac=tuple(float(one) for one in bins / drive.rpm.shape[0]),
        top_rpm=float(np.max(drive.rpm)),
        behind_s=float(np.sum(drive.wanted_kmh - drive.kmh > _KMH_BEHIND) * STEP_S),
        fluid_c=float(np.max(drive.fluid_c)),
        to_100_s=float(drive.at_s[fast[0]]) if fast.shape[0] and drive.kmh[0] == 0.0 else None,
    )


def undone(at_s: Sequence[float], directions: Sequence[int]) -> int:
    """Changes answered by the opposite one within five seconds.

    Args:
        at_s: when each was made. [s]
        directions: 1 up, -1 down, of each. [-]
    Example:
        >>> undone([10.0, 13.0, 30.0], [1, -1, 1])
        1
    """
    pairs = zip(at_s, at_s[1:], directions, directions[1:], strict=False)
    return sum(second - first <= UNDONE_S and one * other < 0 for first, second, one, other in pairs)
