"""When did the car run steadily enough for its mixture to be believed?

In: a drive. Out: which rows count, and the visits they make up: unbroken steady stretches, long ones split.
Method: over a window before each row engine speed, manifold pressure and throttle must stay within their bands,
coolant be warm and the measured mixture inside its probe's range. A row's mixture was burnt one delay earlier, so its
cell is that of the row one delay before; the window is at least twice the delay. Rows of a visit go with each other
and count as one
witness: log of measured over target (and what the closed loop added), its mean, its spread.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.logs.drive import Drive

__all__ = ["Visits", "is_running", "stayed_within", "steady_rows", "visits_of"]

_MOST_CORRELATED = 0.98
_PIECE = 65_536  # rows looked at together: what the processor keeps at hand
_ROWS_NEEDED = 3
_TARGET_BAND = 0.005


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Visits:
    """Steady visits, one figure each.

    at_s: when each began. [s]   rpm: engine speed. [1/min]   load: manifold pressure. [kPa]   change: mean of the log
    of measured over target. [-]   rows: samples in it. [-]   variance: of its mean. [-]   measured: mean mixture. [-]
    """

    at_s: NDArray[np.float64]
    rpm: NDArray[np.float64]
    load: NDArray[np.float64]
    change: NDArray[np.float64]
    rows: NDArray[np.int64]
    variance: NDArray[np.float64]
    measured: NDArray[np.float64]

    def only(self, keep: NDArray[np.bool_]) -> Visits:
        """The visits of a selection."""
        return Visits(
            at_s=self.at_s[keep],
            rpm=self.rpm[keep],
            load=self.load[keep],
            change=self.change[keep],
            rows=self.rows[keep],
            variance=self.variance[keep],
            measured=self.measured[keep],
        )


def is_running(drive: Drive, limits: Mapping[str, float]) -> NDArray[np.bool_]:
    """Where the engine turns by itself; everywhere where its speed was not recorded."""
    if not drive.has("engine_speed"):
        return np.ones(drive.time_s.size, bool)
    running: NDArray[np.bool_] = drive.of["engine_speed"] >= limits["running_rpm"]
    return running


def stayed_within(figures: NDArray[np.float32], rows: int, band: float | NDArray[np.float32]) -> NDArray[np.bool_]:
    """Where the last rows, this one among them, lie within a band from least to most; blanks are never within.

    Args:
        rows: how many.
        band: from least to most. [-]
    """

    within = np.empty(figures.size, bool)
    for first in range(0, figures.size, _PIECE):
        begin, own = max(0, first - rows + 1), slice(first, first + _PIECE)
        span = _span(figures[begin : own.stop], rows)[first - begin :]
        within[own] = span <= (band if isinstance(band, float | int) else band[own])
    return within


def _span(figures: NDArray[np.float32], rows: int) -> NDArray[np.float32]:
    """From least to most of the last rows, this one among them; blank where one of them is."""
    most = least = figures
    reach = 1
    while reach < rows and reach < most.size:  # twice as far back with each turn; a blank stays one
        step = min(reach, rows - reach)
        most, least = _farther(np.maximum, most, step), _farther(np.minimum, least, step)
        reach += step
    return most - least


def _farther(pick: np.ufunc, figures: NDArray[np.float32], step: int) -> NDArray[np.float32]:
    """The most, or the least, of each figure and of the one so many rows before it."""
    found = figures.copy()
    pick(figures[step:], figures[:-step], out=found[step:])
    return found


def steady_rows(drive: Drive, limits: Mapping[str, float], delay_s: float) -> NDArray[np.bool_]:
    """Which rows count.

    Args:
        drive: with mixture and engine speed at least.
        limits: the bands.
        delay_s: the longest there is. [s]
    """
    window = max(2, round(max(limits["steady_window_s"], 2.0 * delay_s) / drive.step_s))
    bands = {
        "manifold_pressure": 2.0 * limits["steady_pressure_kpa"],
        "throttle": 2.0 * limits["steady_throttle_share"],
        "mixture_target": _TARGET_BAND,
    }
    held = [(drive.of[name], band) for name, band in bands.items() if drive.has(name)]
    keep = np.zeros(drive.time_s.size, bool)
    for first in range(0, keep.size, _PIECE):
        own, begin = slice(first, first + _PIECE), max(0, first - window + 1)
        speed, mixture = drive.of["engine_speed"][own], drive.of["mixture"][own]
        good = speed >= limits["running_rpm"]
        good &= (mixture >= limits["mixture_least"]) & (mixture <= limits["mixture_most"])
        if drive.has("coolant"):
            good &= drive.of["coolant"][own] >= limits["warm_c"]
        band = np.maximum(np.float32(2.0 * limits["steady_rpm"]), np.float32(2.0 * limits["steady_rpm_share"]) * speed)
        for figures, most in ((drive.of["engine_speed"], band), *held):
            if not good.any():
                break
            good &= _span(figures[begin : own.stop], window)[first - begin :] <= most
        keep[own] = good
    if drive.stretch[-1] > 0:
        begins = np.searchsorted(drive.stretch, drive.stretch)
        keep &= np.arange(keep.size) - begins >= window
    else:
        keep[:window] = False
    return keep


def visits_of(
    drive: Drive,
    limits: Mapping[str, float],
    keep: NDArray[np.bool_],
    delay_s: Callable[[NDArray[np.float64], NDArray[np.float64]], NDArray[np.float64]],
    target: float,
) -> Visits:
    """The visits that steady rows make up.

    Args:
        drive: with mixture and engine speed at least.
        keep: the rows that count.
        delay_s: delay at engine speeds and manifold pressures. [s]
        target: mixture aimed for where the log has no target. [-]
    """
    rows, then, change = _changes(drive, np.flatnonzero(keep), delay_s, target)
    if rows.size == 0:
        empty = np.zeros(0)
        return Visits(
            at_s=empty, rpm=empty, load=empty, change=empty, rows=np.zeros(0, np.int64), variance=empty, measured=empty
        )
    most = max(_ROWS_NEEDED, round(limits["visit_s"] / drive.step_s))
    starts = _starts(rows, most)
    counts = np.diff(np.append(starts, rows.size))

    def mean(figures: NDArray[np.float64] | NDArray[np.float32]) -> NDArray[np.float64]:
        total: NDArray[np.float64] = np.add.reduceat(figures, starts, dtype=np.float64) / counts
        return total

    middle = mean(change)
    off = change - np.repeat(middle, counts)
    near = rows.size - starts.size
    spread = float((off**2).sum() / max(1, near))
    follow = float((off[1:] * off[:-1]).sum() - (off[starts[1:]] * off[starts[1:] - 1]).sum())  # within visits only
    lag_one = follow / near / spread if near and spread > 0.0 else 0.0
    rho = min(max(lag_one, 0.0), _MOST_CORRELATED)
    alike = np.clip((1.0 + rho) / (1.0 - rho), 1.0, counts)
    load = _load(drive)
    found = Visits(
        at_s=drive.time_s[rows[starts]],
        rpm=mean(drive.of["engine_speed"][then]),
        load=mean(load[then]) if load is not None else np.zeros(starts.size),
        change=middle,
        rows=counts.astype(np.int64),
        variance=np.maximum(spread, 1e-10) * alike / counts,
        measured=mean(drive.of["mixture"][rows]),
    )
    return found.only(counts >= min(_ROWS_NEEDED, most))


def _load(drive: Drive) -> NDArray[np.float32] | None:
    return drive.of.get("manifold_pressure", drive.of.get("throttle"))


def _changes(
    drive: Drive,
    rows: NDArray[np.intp],
    delay_s: Callable[[NDArray[np.float64], NDArray[np.float64]], NDArray[np.float64]],
    target: float,
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64]]:
    """Of each row that counts: the row its mixture was burnt in, and the log of measured over target."""
    speed, mixture, load = drive.of["engine_speed"], drive.of["mixture"], _load(drive)
    then = np.empty(rows.size, np.intp)
    change = np.empty(rows.size)
    for first in range(0, rows.size, _PIECE):
        own = slice(first, first + _PIECE)
        now = rows[own]
        load_now = np.zeros(now.size) if load is None else load[now].astype(np.float64)
        lag = np.rint(delay_s(speed[now].astype(np.float64), load_now) / drive.step_s).astype(np.intp)
        before = then[own] = np.maximum(now - lag, 0)
        aimed = drive.of["mixture_target"][before].astype(np.float64) if drive.has("mixture_target") else target
        wants = np.log(mixture[now].astype(np.float64) / aimed)
        if drive.has("trim"):
            wants += np.log1p(np.nan_to_num(drive.of["trim"][before].astype(np.float64)) / 100.0)
        change[own] = wants
    sound = np.isfinite(change)
    return (rows, then, change) if sound.all() else (rows[sound], then[sound], change[sound])


def _starts(rows: NDArray[np.intp], most: int) -> NDArray[np.intp]:
    """Where each visit begins among the rows: a stretch without a break, cut into pieces of so many at most."""
    begins = np.concatenate([[0], np.flatnonzero(np.diff(rows) != 1) + 1])
    pieces = -(-np.diff(np.append(begins, rows.size)) // most)
    number = np.arange(pieces.sum()) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    found: NDArray[np.intp] = np.repeat(begins, pieces) + most * number
    return found
