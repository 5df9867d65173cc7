"""When was each row recorded, and where does the recording break?

In: the time column in seconds. Out: rising times and the number of the unbroken stretch each row belongs to.
Method: a step back, or one longer than a second and ten usual steps, begins a new stretch; rows of one time (a clock
that ticks slower than the log writes) are spread evenly up to the next. What comes after a step back is put behind what
stood before it, half a minute on, so that times rise throughout and two recordings are never laid over one another. No
window of any judgement spans two stretches. A step back that is an ordinary step once a day is put to it is midnight on
a clock of the day: the drive goes on.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Clock", "clock_of"]

_GAP_S = 1.0
_GAP_STEPS = 10.0
_BEHIND_S = 30.0
_DAY_S = 86_400.0
_UNEVEN = 3.0
_ENOUGH = 200_000
_RUN = 64
_PIECE = 65_536


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Clock:
    """The times put right.

    time_s: of each row. [s]   stretch: number of the unbroken stretch of each row.   step_s: the usual step. [s]
    says: what was found, in words.
    """

    time_s: NDArray[np.float64]
    stretch: NDArray[np.int32]
    step_s: float
    says: tuple[str, ...]


def clock_of(raw: NDArray[np.float64]) -> Clock:
    """Rising times and unbroken stretches of a time column.

    Args:
        raw: the column in seconds, without blanks.
    Example:
        >>> clock = clock_of(np.array([0.0, 0.1, 0.2, 0.0, 0.1]))
        >>> clock.stretch.tolist(), [round(at_s, 1) for at_s in clock.time_s.tolist()]
        ([0, 0, 0, 1, 1], [0.0, 0.1, 0.2, 30.2, 30.3])
        >>> clock.says
        ('the clock steps back once: two recordings in one file or a restart, put behind from 30.2 s on',)
    """
    some = np.diff(raw[: _ENOUGH + 1])
    if raw.size > _ENOUGH:  # the usual step of a long log is that of parts of it, all over
        starts = np.arange(0, raw.size - _RUN - 1, max(_RUN, raw.size * _RUN // _ENOUGH))
        some = np.diff(raw[starts[:, None] + np.arange(_RUN + 1)], axis=1).ravel()
    some = some[some > 0.0]
    step_s = float(np.median(some)) if some.size else 0.1
    most = max(_GAP_S, _GAP_STEPS * step_s)
    stretch = np.zeros(raw.size, np.int32)
    says = []
    time_s = raw
    if not _is_plain(raw, most):
        steps = np.diff(raw)
        midnight = (steps < 0.0) & (steps + _DAY_S > 0.0) & (steps + _DAY_S <= most)
        if midnight.any():
            raw = raw + np.concatenate([[0.0], np.cumsum(np.where(midnight, _DAY_S, 0.0))])
            time_s, steps = raw, np.diff(raw)
            says.append("the clock passes midnight: taken as one drive")
        back, gap = steps < 0.0, steps > most
        np.cumsum(back | gap, out=stretch[1:])
        if back.any():
            lifts = np.where(back, _BEHIND_S - steps, 0.0)
            raw = raw + np.concatenate([[0.0], np.cumsum(lifts)])
            time_s = raw
            times, behind_s = _times(int(back.sum())), raw[np.argmax(back) + 1]
            what = "two recordings in one file or a restart"
            says.append(f"the clock steps back {times}: {what}, put behind from {behind_s:.1f} s on")
        if gap.any():
            says.append(f"{_times(int(gap.sum()))} nothing was recorded for a while, at most {steps[gap].max():.3g} s")
        repeats = steps.size - int(np.count_nonzero(steps))
        if repeats:
            time_s = _spread(raw, stretch, step_s)
            says.append(f"{repeats} rows repeat the time before them: spread evenly")
            ahead = np.diff(time_s)
            step_s = float(np.median(ahead[ahead > 0.0])) if (ahead > 0.0).any() else step_s
    inside = some[some <= max(_GAP_S, _GAP_STEPS * step_s)]
    if inside.size and time_s is raw and float(np.percentile(inside, 99)) > _UNEVEN * step_s:
        says.append("rows are not evenly apart: each is taken at its own time")
    return Clock(time_s=time_s, stretch=stretch, step_s=step_s, says=tuple(says))


def _is_plain(raw: NDArray[np.float64], most_s: float) -> bool:
    """Whether every step goes ahead and none is long; looked at piece by piece, as the processor likes it."""
    for first in range(0, raw.size - 1, _PIECE):
        steps = np.diff(raw[first : first + _PIECE + 1])
        if not (steps.min() > 0.0 and steps.max() <= most_s):
            return False
    return True


def _spread(raw: NDArray[np.float64], stretch: NDArray[np.int32], step_s: float) -> NDArray[np.float64]:
    """Rows of one time spread evenly up to the next time of their stretch."""
    first = np.ones(raw.size, bool)
    first[1:] = (np.diff(raw) != 0.0) | (np.diff(stretch) != 0)
    starts = np.flatnonzero(first)
    counts = np.diff(np.append(starts, raw.size))
    own = raw[starts]
    room = np.full(starts.size, step_s)
    same = stretch[starts[1:]] == stretch[starts[:-1]]
    room[:-1][same] = np.diff(own)[same]
    inside = np.arange(raw.size) - np.repeat(starts, counts)
    spread: NDArray[np.float64] = np.repeat(own, counts) + inside / np.repeat(counts, counts) * np.repeat(room, counts)
    return spread


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"
