"""Where is each change made: lines of road speed over the pedal, one up and one down a pair of gears?

A first set is drawn from the car and the wish of the programme:

    down(0) = speed at which the higher gear turns `light` times its least speed       up(0) = down(0) / (1 - gap)
    up(1)   = speed at which the lower gear turns `full_frac` of the highest change speed
    up(p)   = up(0) + (up(1) - up(0)) p^bend        down(p) = (1 - gap) up(p), never beyond the over-rev guard

The highest change speed lies below the limit by what the engine gains while the change is made. Kick-down lines stand
apart: with the pedal beyond `kick_frac`, a lower gear is taken wherever it stays under the guard and a tenth under what
up is with that pedal: nearer to it the gear that was kicked down to would change up again at once.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import replace

from loomwright.gearbox.box import Box, Programme, guide_least_rpm, least_in_rpm, output_rpm, rpm_in, speed_in_kmh
from loomwright.gearbox.line_record import Lines
from loomwright.refusals import OutOfReach

__all__ = [
    "GUARD_FRAC",
    "PEDALS_FRAC",
    "Lines",
    "first_lines",
    "highest_change_rpm",
    "line_at_kmh",
    "lines_of",
    "programme_called",
    "resampled",
]

PEDALS_FRAC = tuple(step / 10.0 for step in range(11))
"""Pedal breakpoints of a first set. [0..1]"""
GUARD_FRAC = 0.97
"""A change down may bring the engine to this share of its limit. [0..1] Common practice, no source."""
_LEAD_FRAC = 0.035  # of the limit, gained while the change is made; typical, from memory
_KICK_BELOW = 0.90  # a kick-down line lies this far below the up line at the least pedal that it counts from
_UNLOCK_BELOW = 0.88
_LOCK_PEDAL_RISE = 0.55  # lock-up waits for this much more speed at full pedal


def highest_change_rpm(box: Box) -> float:
    """Engine speed at which a change up at full pedal is asked for, at most.

    Example:
        >>> from loomwright.gearbox.box_reading import shipped_box
        >>> round(highest_change_rpm(shipped_box()))
        5790
    """
    return box.engine.limit_rpm * (1.0 - _LEAD_FRAC)


def programme_called(box: Box, name: str) -> Programme:
    """A programme by its name.

    Raises:
        OutOfReach: the box has none of that name, with those it has.
    """
    for programme in box.programmes:
        if programme.name == name:
            return programme
    raise OutOfReach("programme", name, " ".join(one.name for one in box.programmes))


def lines_of(box: Box, programme: Programme) -> Lines:
    """The lines of a programme: those that are kept with the box, else a first set."""
    return box.kept.get(programme.name) or first_lines(box, programme)


def first_lines(box: Box, programme: Programme, pedals_frac: tuple[float, ...] = PEDALS_FRAC) -> Lines:
    """A first set of lines of a programme, to be looked at, driven in the model, changed.

    Args:
        pedals_frac: the breakpoints. [0..1]
    """
    pairs = range(1, len(box.ratios))
    ups, downs, kicks = [], [], []
    for lower in pairs:
        closed = speed_in_kmh(box, lower + 1, programme.light * least_in_rpm(box, lower + 1)) / (
            1.0 - programme.gap_frac
        )
        full = speed_in_kmh(box, lower, programme.full_frac * highest_change_rpm(box))
        full = max(full, closed)
        up = tuple(closed + (full - closed) * pedal**programme.bend for pedal in pedals_frac)
        guard = speed_in_kmh(box, lower, GUARD_FRAC * box.engine.limit_rpm)
        ups.append(up)
        downs.append(tuple(min((1.0 - programme.gap_frac) * speed, guard) for speed in up))
        kicks.append(min(_KICK_BELOW * line_at_kmh(pedals_frac, up, programme.kick_frac), guard))
    locks = [_lock(box, programme, gear, pedals_frac) for gear in range(1, len(box.ratios) + 1)]
    return Lines(
        programme=programme.name,
        pedal_frac=pedals_frac,
        up_kmh=tuple(ups),
        down_kmh=tuple(downs),
        kick_kmh=tuple(kicks),
        kick_frac=programme.kick_frac,
        lock_kmh=tuple(locks),
        unlock_kmh=tuple(tuple(_UNLOCK_BELOW * speed for speed in line) for line in locks),
        min_gap_s=programme.min_gap_s,
        min_back_s=programme.min_back_s,
        highest=programme.highest,
    )


def line_at_kmh(pedal_frac: tuple[float, ...], line_kmh: tuple[float, ...], at_frac: float) -> float:
    """A line between its breakpoints, straight.

    Args:
        pedal_frac: its breakpoints. [0..1]
        line_kmh: its speeds. [km/h]
        at_frac: the pedal. [0..1]
    """
    for k in range(1, len(pedal_frac)):
        if at_frac <= pedal_frac[k]:
            share = (at_frac - pedal_frac[k - 1]) / (pedal_frac[k] - pedal_frac[k - 1])
            return line_kmh[k - 1] + share * (line_kmh[k] - line_kmh[k - 1])
    return line_kmh[-1]


def resampled(lines: Lines, pedals_frac: tuple[float, ...]) -> Lines:
    """The same lines at other breakpoints.

    Args:
        pedals_frac: rising, from 0 to 1. [0..1]
    Raises:
        OutOfReach: not rising, or not from 0 to 1.
    """
    rising = all(low < high for low, high in itertools.pairwise(pedals_frac))
    if len(pedals_frac) < 2 or not rising or pedals_frac[0] != 0.0 or pedals_frac[-1] != 1.0:
        shown = " ".join(f"{100.0 * pedal:g}" for pedal in pedals_frac)
        raise OutOfReach("breakpoints", shown, "per cent of pedal, rising, from 0 to 100")

    def moved(table: tuple[tuple[float, ...], ...]) -> tuple[tuple[float, ...], ...]:
        return tuple(tuple(line_at_kmh(lines.pedal_frac, line, pedal) for pedal in pedals_frac) for line in table)

    return replace(
        lines,
        pedal_frac=pedals_frac,
        up_kmh=moved(lines.up_kmh),
        down_kmh=moved(lines.down_kmh),
        lock_kmh=moved(lines.lock_kmh),
        unlock_kmh=moved(lines.unlock_kmh),
    )


AXES: Mapping[str, str] = {
    "km/h": "road speed",
    "output": "speed of the output shaft, 1/min",
    "engine": "engine speed, 1/min",
}
"""What a line may be given in, and the words of it."""


def speed_on(box: Box, axis: str, gear: int, speed_kmh: float) -> float:
    """A road speed as the axis of a controller's table has it.

    Args:
        axis: one of `AXES`.
        gear: that the car is in at the line. [-]
        speed_kmh: of the line. [km/h]
    """
    if axis == "output":
        return output_rpm(box, speed_kmh)
    return rpm_in(box, gear, speed_kmh) if axis == "engine" else speed_kmh


def _lock(box: Box, programme: Programme, gear: int, pedals_frac: tuple[float, ...]) -> tuple[float, ...]:
    if gear < programme.lock_from:
        return tuple(0.0 for _ in pedals_frac)
    engine = box.engine
    guide = guide_least_rpm(idle_rpm=engine.idle_rpm, rated_rpm=engine.rated_rpm, gear=max(gear, 3))
    closed = speed_in_kmh(box, gear, max(programme.lock_rpm, guide))  # below that it may drone: GEA-8
    return tuple(closed * (1.0 + _LOCK_PEDAL_RISE * pedal**programme.bend) for pedal in pedals_frac)
