"""On which hills and with how much pedal does it go to and fro between two gears?

Two maps. With the pedal kept still: in the lower gear the car gains speed all the way to the up line, in the higher it
loses speed all the way back to the down line. With the speed kept: the pedal that holds it in the lower gear
lies beyond
the up line, the pedal it needs in the higher lies below the down line, so each change asks for the other.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.gearbox.box import Box
from loomwright.gearbox.driving import line_set
from loomwright.gearbox.lines import Lines
from loomwright.gearbox.machine import machine_of
from loomwright.gearbox.moving import Floats, hunts_at_pedal, hunts_at_speed

__all__ = ["GRADES_FRAC", "Hunting", "Patch", "hunting"]

GRADES_FRAC = tuple(step * 0.12 / 39.0 for step in range(40))
"""Grades that are looked at, up to 12 %. [0..1]"""
_MARKS = 40
_LEAST_PEDAL = 0.05
_KMH = 3.6
_SPEEDS_KMH = (15.0, 150.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """A pair of gears that hunts. lower: the lower gear. [-]   is_held: the driver keeps the speed; else the pedal.

    grade_frac: least and most. [0..1]   at: least and most of the other axis: pedal 0..1, or km/h. [-]
    share: of the map. [-]
    at_grade_frac, at_pedal_frac: of the mildest place that hunts. [0..1]
    at_kmh: its speed. [km/h]
    """

    lower: int
    is_held: bool
    grade_frac: tuple[float, float]
    at: tuple[float, float]
    share: float
    at_grade_frac: float
    at_kmh: float
    at_pedal_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Hunting:
    """Both maps: a row a grade, a column a pedal or a speed; the lower gear of the pair that hunts, or 0."""

    by_pedal: NDArray[np.int64]
    by_speed: NDArray[np.int64]
    pedals_frac: tuple[float, ...]
    speeds_kmh: tuple[float, ...]
    patches: tuple[Patch, ...]


def hunting(box: Box, lines: Lines) -> Hunting:
    """Both maps of a programme, 40 by 40 each, and the patches on them."""
    machine, its = machine_of(box), line_set(box, lines)
    pedals = np.linspace(_LEAST_PEDAL, 1.0, _MARKS)
    speeds = np.linspace(*_SPEEDS_KMH, _MARKS)
    grades = np.array(GRADES_FRAC)
    by_pedal = hunts_at_pedal(machine, its, pedals, grades)
    by_speed, pressed = hunts_at_speed(machine, its, speeds / _KMH, grades)
    patches = [
        patch
        for lower in range(1, len(box.ratios))
        for patch in (
            _patch(by_pedal, lower, pedals, None),
            _patch(by_speed, lower, speeds, pressed),
        )
        if patch is not None
    ]
    return Hunting(
        by_pedal=by_pedal,
        by_speed=by_speed,
        pedals_frac=tuple(float(one) for one in pedals),
        speeds_kmh=tuple(float(one) for one in speeds),
        patches=tuple(patches),
    )


def _patch(found: NDArray[np.int64], lower: int, axis: Floats, pressed: Floats | None) -> Patch | None:
    rows, columns = np.nonzero(found == lower)
    if rows.shape[0] == 0:
        return None
    row, column = int(rows[0]), int(columns[0])  # row by row, so the mildest grade comes first
    return Patch(
        lower=lower,
        is_held=pressed is not None,
        grade_frac=(GRADES_FRAC[int(rows.min())], GRADES_FRAC[int(rows.max())]),
        at=(float(axis[columns.min()]), float(axis[columns.max()])),
        share=rows.shape[0] / found.size,
        at_grade_frac=GRADES_FRAC[row],
        at_kmh=float(axis[column]) if pressed is not None else 0.0,
        at_pedal_frac=float(pressed[row, column]) if pressed is not None else float(axis[column]),
    )
