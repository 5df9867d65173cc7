"""Does the engine turn as fast as road speed and ratios say, gear by gear, on a recorded drive?

With the converter locked and nothing slipping, engine speed over what road speed and ratios make of it is 1. All gears
off alike: tyre, final drive, or the pulses of the speed signal. One gear off: its ratio, or the gear that is told is
not the one that is in. Locked by its line and yet above 1: the converter's clutch does not hold, or is not asked to.
Where it is so for a part of that time only, the part tells which: up to some speed beyond the line, lock-up comes late;
from some pedal on, the clutch gives way under load. One of the two is named where it parts slipping from holding rows.
A row counts where gear and pedal have stood so for two seconds and the car rolls. An open converter lets the engine
turn faster, never slower, under a pressed pedal: a gear's own figure is the low end of what was seen.

Source: v = 0.06 n C / (i i_fd); the limits are our choice.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.gearbox.box import Box, rpm_in
from loomwright.gearbox.line_record import Lines
from loomwright.gearbox.lines import line_at_kmh

__all__ = ["RATIO_USES", "RoadRatio", "ratio_says", "ratio_wrong", "road_ratios"]

RATIO_USES = ("road_speed", "throttle", "gear", "engine_speed")
"""Quantities of a recorded drive that ratios are read from."""
_PERCENT = 100.0
_SETTLED_S, _LEAST_S, _GAP_S = 2.0, 5.0, 1.0
_PRESSED, _ROLLS_KMH, _OVER_LINE_KMH = 0.05, 15.0, 3.0
_LOW_PERCENT = 5.0
_OFF, _ALIKE = 0.03, 0.03
_PARTS = 0.85  # so large a share of slipping and of holding rows must lie on their own side; our choice
_LATE_KMH = 6.0  # what the wait for lock-up and a change of pedal take; our choice


@dataclass(frozen=True, slots=True, kw_only=True)
class RoadRatio:
    """One gear. lasts_s: how long it was seen. [s]   low, middle: engine speed over what the road makes of it. [-]

    locked: the middle of it where the gear's line has the converter locked; None where that was hardly driven. [-]
    slips_s: for how long it slipped there. [s]   slip: the middle of it then. [-]
    late_kmh: it slips up to so far beyond its line. [km/h]   from_pedal_frac: it slips from so much pedal on. [0..1]
    """

    gear: int
    lasts_s: float
    low: float
    middle: float
    locked: float | None = None
    slips_s: float = 0.0
    slip: float = 1.0
    late_kmh: float | None = None
    from_pedal_frac: float | None = None

    @property
    def own(self) -> float:
        """What counts as the gear's own. [-]"""
        return self.low if self.locked is None else self.locked


def road_ratios(
    box: Box, lines: Lines, at_s: NDArray[np.float64], of: Mapping[str, NDArray[np.float32]]
) -> tuple[RoadRatio, ...]:
    """Every gear that was driven for five seconds; none where a column is missing.

    Args:
        lines: of the programme that was driven.
        at_s: of each row. [s]
        of: quantity -> its figures; the throttle in per cent.
    """
    if any(name not in of for name in RATIO_USES) or at_s.size < 2:
        return ()
    kmh, pedal, gear, rpm = (of[name].astype(np.float64) for name in RATIO_USES)
    pedal = pedal / _PERCENT
    step_s = float(np.median(np.diff(at_s)))
    drives = (pedal >= _PRESSED) & (kmh >= _ROLLS_KMH) & np.isfinite(rpm) & np.isfinite(gear)
    found = []
    for number in range(1, len(box.ratios) + 1):
        in_it = drives & (np.rint(np.nan_to_num(gear)) == number)
        counts = _settled(at_s, in_it)
        if np.count_nonzero(counts) * step_s < _LEAST_S:
            continue
        told = rpm[counts] / np.array([rpm_in(box, number, speed) for speed in kmh[counts]])
        line = lines.lock_kmh[number - 1]
        locked: float | None = None
        slips = _Slips()
        if line[-1] > 0.0:
            at = np.array([line_at_kmh(lines.pedal_frac, line, min(1.0, p)) for p in pedal[in_it]])
            over = in_it.copy()
            over[in_it] = kmh[in_it] > at + _OVER_LINE_KMH
            asked = _settled(at_s, over)
            if np.count_nonzero(asked) * step_s >= _LEAST_S:
                there = rpm[asked] / np.array([rpm_in(box, number, speed) for speed in kmh[asked]])
                locked = float(np.median(there))
                beyond = np.zeros(kmh.size)
                beyond[in_it] = kmh[in_it] - at
                slips = _slips(there, beyond[asked], pedal[asked], step_s)
        found.append(
            RoadRatio(
                gear=number,
                lasts_s=float(np.count_nonzero(counts) * step_s),
                low=float(np.percentile(told, _LOW_PERCENT)),
                middle=float(np.median(told)),
                locked=locked,
                slips_s=slips.lasts_s,
                slip=slips.middle,
                late_kmh=slips.late_kmh,
                from_pedal_frac=slips.from_pedal_frac,
            )
        )
    return tuple(found)


def ratio_says(ratios: Sequence[RoadRatio]) -> tuple[str, ...]:
    """What was seen, gear by gear."""
    said = []
    for one in ratios:
        locked = "" if one.locked is None else f", {one.locked:.2f} where its line has the converter locked"
        said.append(
            f"gear {one.gear}: the engine turns {one.middle:.2f} times what road speed and ratios make of it, "
            f"{one.low:.2f} at the least{locked}"
        )
    return tuple(said)


def ratio_wrong(ratios: Sequence[RoadRatio]) -> tuple[str, ...]:
    """What is wrong with what was seen.

    Example:
        >>> seen = [RoadRatio(gear=n, lasts_s=60.0, low=1.06, middle=1.07) for n in (2, 3)]
        >>> ratio_wrong(seen)[0].partition(":")[0]
        'All gears are off alike, by +6 %'
    """
    own = [one.own for one in ratios]
    mean = float(np.mean(own)) if own else 1.0
    if len(own) > 1 and max(own) - min(own) <= _ALIKE and abs(mean - 1.0) > _OFF:
        told = (
            f"All gears are off alike, by {_PERCENT * (mean - 1.0):+.0f} %: tyre, final drive or the pulses of the "
            f"speed signal; it fits if road speed reads {mean:.2f} times as much"
        )
        return (told,)
    said = []
    for one in ratios:
        if one.own < 1.0 - _OFF:
            said.append(
                f"Gear {one.gear}: the engine turns slower than that gear lets it: its ratio is another, or another "
                "gear is in than is told"
            )
        elif one.late_kmh is not None:
            said.append(
                f"Gear {one.gear}: lock-up comes late, {one.late_kmh:.0f} km/h beyond its line; till then it slips by "
                f"{_PERCENT * (one.slip - 1.0):.0f} %: another programme, a cold fluid, or the line in the controller "
                "is not this one"
            )
        elif one.from_pedal_frac is not None:
            said.append(
                f"Gear {one.gear} slips by {_PERCENT * (one.slip - 1.0):.0f} % from "
                f"{_PERCENT * one.from_pedal_frac:.0f} % pedal on where its line has the converter locked: a clutch "
                "gives way under load, or lock-up is let go there; read the line pressure, no load until it is known"
            )
        elif one.locked is not None and one.locked > 1.0 + _OFF:
            said.append(
                f"Gear {one.gear} slips by {_PERCENT * (one.locked - 1.0):.0f} % where its line has the converter "
                "locked: it is not asked to (cold fluid?), or its clutch does not hold; no load before that is known"
            )
    return tuple(said)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Slips:
    """How a gear slips where its line has it locked; as the fields of `RoadRatio`. middle: of it then. [-]"""

    lasts_s: float = 0.0
    middle: float = 1.0
    late_kmh: float | None = None
    from_pedal_frac: float | None = None


def _slips(
    there: NDArray[np.float64], beyond: NDArray[np.float64], pedal: NDArray[np.float64], step_s: float
) -> _Slips:
    """How it slips, from rows that the line has locked.

    Args:
        there: engine speed over what the road makes of it. [-]
        beyond: how far over the line. [km/h]
        pedal: 0 to 1. [-]
    """
    slipping = there > 1.0 + _OFF
    lasts_s = float(np.count_nonzero(slipping) * step_s)
    if lasts_s < _LEAST_S:
        return _Slips(lasts_s=lasts_s)
    middle = float(np.median(there[slipping]))
    if np.count_nonzero(~slipping) * step_s < _LEAST_S:
        return _Slips(lasts_s=lasts_s, middle=middle)
    late, at_kmh = _parted(-beyond, slipping)
    load, at_frac = _parted(pedal, slipping)
    if late >= max(load, _PARTS) and -at_kmh > _LATE_KMH:
        return _Slips(lasts_s=lasts_s, middle=middle, late_kmh=-at_kmh)
    if load >= _PARTS:
        return _Slips(lasts_s=lasts_s, middle=middle, from_pedal_frac=at_frac)
    return _Slips(lasts_s=lasts_s, middle=middle)


def _parted(figures: NDArray[np.float64], slipping: NDArray[np.bool_]) -> tuple[float, float]:
    """How well one figure parts slipping rows, at or above it, from those that hold, and which. [-]"""
    order = np.argsort(figures, kind="stable")
    is_slip = slipping[order]
    above = np.cumsum(is_slip[::-1])[::-1] / max(1, int(is_slip.sum()))  # of the slipping ones, those from here on
    below = np.concatenate([[0.0], np.cumsum(~is_slip)[:-1]]) / max(1, int((~is_slip).sum()))
    both = np.minimum(above, below)
    best = int(np.argmax(both))
    return float(both[best]), float(figures[order][best])


def _settled(at_s: NDArray[np.float64], holds: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Where something has held for two seconds without a gap."""
    begins = holds.copy()
    begins[1:] &= ~holds[:-1] | (np.diff(at_s) > _GAP_S)
    since = np.where(begins, at_s, -np.inf)
    counts: NDArray[np.bool_] = holds & (at_s - np.maximum.accumulate(since) >= _SETTLED_S)
    return counts
