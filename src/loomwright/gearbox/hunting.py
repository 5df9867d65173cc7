"""On which hills and with how much pedal does it go to and fro between two gears?

Two maps. With the pedal kept still: in the lower gear the car gains speed all the way to the up line, in the higher it
loses speed all the way back to the down line. With the speed kept: the pedal that holds it in the lower gear lies
beyond the up line, the pedal it needs in the higher lies below the down line, so each change asks for the other.

Not all of it is met on the road. It is ordinary on a hill under 8 %, at 130 km/h or less, and, with the pedal kept
still, where the speed falls by less than 15 % from one line to the other: where it falls by more the foot moves first,
and what happens then is told by the other map.

Source: the 15 % are our choice, held against a published table of six gears: on the cars that were tried it goes to and
fro by the first map at 13 to 24 km/h and 1 to 7 %, the speed falling by 20 to 46 % each time.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.gearbox.box import Box
from loomwright.gearbox.driving import line_set
from loomwright.gearbox.lines import Lines
from loomwright.gearbox.machine import machine_of
from loomwright.gearbox.moving import Floats, LineSet, at, down_at, hunts_at_pedal, hunts_at_speed

__all__ = ["FOOT_MOVES_FRAC", "GRADES_FRAC", "STEEP_FRAC", "Hunting", "Patch", "hunting"]

GRADES_FRAC = tuple(step * 0.12 / 39.0 for step in range(40))
"""Grades that are looked at, up to 12 %. [0..1]"""
STEEP_FRAC = 0.08
"""Hills from here on are no ordinary ones. [0..1] Our choice."""
_LAWFUL_KMH = 130.0  # our choice
FOOT_MOVES_FRAC = 0.15
"""The speed falls by so much, and the pedal does not stay where it was. [0..1] Our choice, see above."""
_MARKS = 40
_LEAST_PEDAL = 0.05
_KMH = 3.6
_SPEEDS_KMH = (15.0, 150.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """A pair of gears that hunts. lower: the lower gear. [-]   is_held: the driver keeps the speed; else the pedal.

    grade_frac: least and most. [0..1]   at: least and most of the other axis: pedal 0..1, or km/h. [-]
    share: of the map. [-]
    at_grade_frac, at_pedal_frac: of the mildest place that hunts, an ordinary one where there is one. [0..1]
    at_kmh: its speed; with the pedal kept that of the change up. [km/h]   falls_frac: how much of that it loses until
    the change down; 0 with the speed kept.   is_ordinary: it is met on the road, see above.
    """

    lower: int
    is_held: bool
    grade_frac: tuple[float, float]
    at: tuple[float, float]
    share: float
    at_grade_frac: float
    at_kmh: float
    at_pedal_frac: float
    falls_frac: float
    is_ordinary: bool


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
            _patch(by_pedal, lower, pedals, pedals, *_falls(its, lower - 1, pedals)),
            _patch(by_speed, lower, speeds, pressed, speeds, None),
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


def _falls(its: LineSet, pair: int, pedals: Floats) -> tuple[Floats, Floats]:
    """Speed of the change up at each pedal, and how much of it is lost until the change down. [-]

    Args:
        pair: from 0. [-]
        pedals: 0 to 1. [-]
    """
    up = np.array([at(its.pedal, its.up[pair], pedal) for pedal in pedals])
    down = np.array([down_at(its, pair, pedal) for pedal in pedals])
    return up * _KMH, (up - down) / up


def _patch(
    found: NDArray[np.int64], lower: int, axis: Floats, pressed: Floats, speeds_kmh: Floats, falls: Floats | None
) -> Patch | None:
    """A pair's patch on a map.

    Args:
        axis: of the columns.
        pressed: pedal of each column, or of each place of the map. [-]
        speeds_kmh: of each column. [km/h]
        falls: share of the speed that is lost, of each column; None where the speed is kept. [-]
    """
    rows, columns = np.nonzero(found == lower)
    if rows.shape[0] == 0:
        return None
    lost = np.zeros(axis.shape[0]) if falls is None else falls
    met = (np.array(GRADES_FRAC)[rows] < STEEP_FRAC) & (speeds_kmh[columns] <= _LAWFUL_KMH)
    met &= lost[columns] < FOOT_MOVES_FRAC
    mildest = int(np.argmax(met))  # row by row, so the mildest grade comes first
    row, column = int(rows[mildest]), int(columns[mildest])
    return Patch(
        lower=lower,
        is_held=falls is None,
        grade_frac=(GRADES_FRAC[int(rows.min())], GRADES_FRAC[int(rows.max())]),
        at=(float(axis[columns.min()]), float(axis[columns.max()])),
        share=rows.shape[0] / found.size,
        at_grade_frac=GRADES_FRAC[row],
        at_kmh=float(speeds_kmh[column]),
        at_pedal_frac=float(pressed[row, column] if pressed.ndim == 2 else pressed[column]),
        falls_frac=float(lost[column]),
        is_ordinary=bool(met.any()),
    )
