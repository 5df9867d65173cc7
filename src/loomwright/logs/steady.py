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
        begin, end = max(0, first - rows + 1), min(figures.size, first + _PIECE)
        most = least = figures[begin:end]
        reach = 1
        while reach < rows and reach < most.size:  # twice as far back with each turn; a blank stays one
            step = min(reach, rows - reach)
            most, least = _farther(np.maximum, most, step), _farther(np.minimum, least, step)
            reach += step
        own = band if isinstance(band, float | int) else band[first:end]
        within[first:end] = (most - least)[first - begin :] <= own
    return within


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
    speed, mixture = drive.of["engine_speed"], drive.of["mixture"]
    keep = (speed >= limits["running_rpm"]) & (mixture >= limits["mixture_least"]) & (mixture <= limits["mixture_most"])
    band = np.maximum(np.float32(2.0 * limits["steady_rpm"]), np.float32(2.0 * limits["steady_rpm_share"]) * speed)
    keep &= stayed_within(speed, window, band)
    if drive.has("manifold_pressure"):
        keep &= stayed_within(drive.of["manifold_pressure"], window, 2.0 * limits["steady_pressure_kpa"])
    if drive.has("throttle"):
        keep &= stayed_within(drive.of["throttle"], window, 2.0 * limits["steady_throttle_share"])
    if drive.has("mixture_target"):
        keep &= stayed_within(drive.of["mixture_target"], window, 0.005)
    if drive.has("coolant"):
        keep &= drive.of["coolant"] >= limits["warm_c"]
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
    rows = np.flatnonzero(keep)
    speed = drive.of["engine_speed"]
    load = drive.of.get("manifold_pressure", drive.of.get("throttle"))
    load_now = np.zeros(rows.size) if load is None else load[rows].astype(np.float64)
    lag = np.rint(delay_s(speed[rows].astype(np.float64), load_now) / drive.step_s).astype(np.int64)
    then = np.maximum(rows - lag, 0)
    change = np.log(drive.of["mixture"][rows].astype(np.float64))
    change -= np.log(drive.of["mixture_target"][then] if drive.has("mixture_target") else target)
    if drive.has("trim"):
        change += np.log1p(np.nan_to_num(drive.of["trim"][then].astype(np.float64)) / 100.0)
    sound = np.isfinite(change)
    rows, then, change = rows[sound], then[sound], change[sound]
    if rows.size == 0:
        empty = np.zeros(0)
        return Visits(
            at_s=empty, rpm=empty, load=empty, change=empty, rows=np.zeros(0, np.int64), variance=empty, measured=empty
        )
    most = max(_ROWS_NEEDED, round(limits["visit_s"] / drive.step_s))
    first = np.ones(rows.size, bool)
    first[1:] = np.diff(rows) != 1
    begins = np.flatnonzero(first)
    inside = np.arange(rows.size) - np.repeat(begins, np.diff(np.append(begins, rows.size)))
    starts = np.flatnonzero(inside % most == 0)
    counts = np.diff(np.append(starts, rows.size))

    def mean(figures: NDArray[np.float64]) -> NDArray[np.float64]:
        total: NDArray[np.float64] = np.add.reduceat(figures, starts) / counts
        return total

    middle = mean(change)
    off = change - np.repeat(middle, counts)
    spread = float((off**2).sum() / max(1, rows.size - starts.size))
    near = np.diff(np.repeat(np.arange(starts.size), counts)) == 0
    lag_one = float((off[1:] * off[:-1])[near].mean() / spread) if near.any() and spread > 0.0 else 0.0
    rho = min(max(lag_one, 0.0), _MOST_CORRELATED)
    alike = np.clip((1.0 + rho) / (1.0 - rho), 1.0, counts)
    found = Visits(
        at_s=drive.time_s[rows[starts]],
        rpm=mean(speed[then].astype(np.float64)),
        load=mean(load[then].astype(np.float64)) if load is not None else np.zeros(starts.size),
        change=middle,
        rows=counts.astype(np.int64),
        variance=np.maximum(spread, 1e-10) * alike / counts,
        measured=mean(drive.of["mixture"][rows].astype(np.float64)),
    )
    return found.only(counts >= min(_ROWS_NEEDED, most))
