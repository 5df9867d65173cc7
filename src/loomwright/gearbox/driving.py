"""The car driven in the model before it is driven on the road: step by step at 10 Hz, changes by the lines.

Driven after a speed (a cycle, a hill): the pedal is what that speed needs, at most the whole of it, and what is left
the brakes do. Driven by the pedal: the car goes where it will, each step by Heun's rule. A change is made at
once; no other
is made for `min_gap_s`, none back for `min_back_s`, but at the limit and on a kick-down.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from loomwright.gearbox.box import Box
from loomwright.gearbox.lines import Lines
from loomwright.gearbox.machine import machine_of
from loomwright.gearbox.moving import STEP_S, Floats, LineSet, run
from loomwright.refusals import OutOfReach

__all__ = ["STEP_S", "Drive", "Road", "drive_after", "drive_by_pedal", "line_set"]

_KMH = 3.6
_LONGEST_S = 100_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Road:
    """The road and how it is set out on. grade_frac: rise over run. [0..1]   fluid_c: at the start. [C]

    highest: gear that may be used; 0 for all. [-]
    """

    grade_frac: float = 0.0
    fluid_c: float = 60.0
    highest: int = 0


class Drive(NamedTuple):
    """A drive, one figure a step of `STEP_S`. grade_frac: of the road."""

    at_s: Floats
    wanted_kmh: Floats
    kmh: Floats
    pedal_frac: Floats
    gear: NDArray[np.int64]
    locked: NDArray[np.bool_]
    rpm: Floats
    fluid_c: Floats
    grade_frac: float
    kicked: NDArray[np.bool_]


def drive_after(box: Box, lines: Lines, at_s: Floats, speed_kmh: Floats, road: Road | None = None) -> Drive:
    """Driven after a speed given point by point.

    Args:
        at_s: the points' times, rising. [s]
        speed_kmh: their speeds. [km/h]
    Raises:
        OutOfReach: times that do not rise, or a drive of more than a day.
    """
    grid = _grid(at_s)
    wanted = np.interp(grid, at_s, speed_kmh) / _KMH
    return _drive(box, lines, grid, wanted, np.zeros(0), road or Road(), float(wanted[0]))


def drive_by_pedal(
    box: Box, lines: Lines, at_s: Floats, pedal_frac: Floats, road: Road | None = None, *, from_kmh: float = 0.0
) -> Drive:
    """Driven by the pedal, given point by point.

    Args:
        at_s: the points' times, rising. [s]
        pedal_frac: the pedal at them. [0..1]
        from_kmh: speed at the start. [km/h]
    Raises:
        OutOfReach: times that do not rise, or a drive of more than a day.
    """
    grid = _grid(at_s)
    pedal = np.clip(np.interp(grid, at_s, pedal_frac), 0.0, 1.0)
    return _drive(box, lines, grid, np.zeros(0), pedal, road or Road(), from_kmh / _KMH)


def line_set(box: Box, lines: Lines, highest: int = 0) -> LineSet:
    """The lines as arrays.

    Args:
        highest: gear that may be used; 0 for all that the programme uses. [-]
    """
    heat = box.heat
    return LineSet(
        pedal=np.array(lines.pedal_frac),
        up=_table(lines.up_kmh),
        down=_table(lines.down_kmh),
        kick=np.array(lines.kick_kmh) / _KMH,
        lock=_table(lines.lock_kmh),
        unlock=_table(lines.unlock_kmh),
        kick_at=lines.kick_frac,
        gap=lines.min_gap_s,
        back=lines.min_back_s,
        highest=min(highest or len(box.ratios), lines.highest or len(box.ratios)),
        cold=heat.cold_c,
        hot=heat.hot_c,
        hot_off=heat.hot_off_c,
        store=heat.store_kj_per_k * 1000.0,
        cooler=heat.cooler_w_per_k,
        guard=box.engine.limit_rpm,
    )


def _table(lines_kmh: tuple[tuple[float, ...], ...]) -> Floats:
    return np.array(lines_kmh).reshape(len(lines_kmh), -1) / _KMH


def _grid(at_s: Floats) -> Floats:
    if at_s.shape[0] < 2 or np.any(np.diff(at_s) <= 0.0) or at_s[-1] - at_s[0] > _LONGEST_S:
        raise OutOfReach("times", f"{at_s.shape[0]} points", f"two or more, rising, {_LONGEST_S:g} s at most")
    return np.arange(at_s[0], at_s[-1] + 0.5 * STEP_S, STEP_S)


def _drive(box: Box, lines: Lines, grid: Floats, wanted: Floats, pedal: Floats, road: Road, start: float) -> Drive:
    its = line_set(box, lines, road.highest)
    speed, pedals, gears, locked, rpm, fluid, kicked = run(
        machine_of(box), its, grid.shape[0], wanted, pedal, road.grade_frac, road.fluid_c, start
    )
    return Drive(
        at_s=grid,
        wanted_kmh=wanted * _KMH if wanted.shape[0] else speed * _KMH,
        kmh=speed * _KMH,
        pedal_frac=pedals,
        gear=gears,
        locked=locked,
        rpm=rpm,
        fluid_c=fluid,
        grade_frac=road.grade_frac,
        kicked=kicked,
    )
