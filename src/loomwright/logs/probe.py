"""When is the mixture probe not to be believed?

In: a drive and its visits. Out: the rows left out, and findings.
LOG-20 the probe does not move for seconds with the engine running: cold, or dead; where its target moves from row to
row meanwhile the two columns are changed over, since no controller asks for another mixture twenty times a second.
LOG-21 it reads leaner the smaller the flow, while at large flow it agrees: air drawn in before the probe (a leak, a
misfire), or a wrong opening delay; the visits at small flow are left out of the correction until it is settled.
LOG-23 it reads an end of its range for most of the drive.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from loomwright.findings import Finding
from loomwright.logs.delay import flow_g_per_s
from loomwright.logs.drive import Drive
from loomwright.logs.limits import limit_source
from loomwright.logs.steady import Visits, is_running, stayed_within

__all__ = ["asleep", "leak_findings", "probe_findings", "stands_still"]

_AT_AN_END = 0.5
_SIGMAS = 4.0
_LEAST_VISITS = 8
_STILL = 1e-6
_MOSTLY = 0.8


def stands_still(drive: Drive, limits: Mapping[str, float]) -> NDArray[np.bool_]:
    """Rows at which the probe has not moved for too long, with the engine running and time given to it to warm up."""
    rows = max(3, round(limits["probe_stuck_s"] / drive.step_s))
    return stayed_within(drive.of["mixture"], rows, _STILL) & is_running(drive, limits) & ~_warming(drive, limits)


def _warming(drive: Drive, limits: Mapping[str, float]) -> NDArray[np.bool_]:
    """Rows just after each start, in which a probe may still be cold."""
    running = is_running(drive, limits)
    warming = np.zeros(running.size, bool)
    for k in np.flatnonzero(running[1:] & ~running[:-1]) + 1:
        end = int(np.searchsorted(drive.time_s[k:], drive.time_s[k] + limits["probe_ready_s"])) + int(k)
        if drive.stretch[min(end, running.size - 1)] == drive.stretch[k]:
            warming[k:end] = True
    return warming


def asleep(drive: Drive, limits: Mapping[str, float], stuck: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Rows in which the probe is not awake: just after each start, and wherever it stands still too long.

    Args:
        stuck: as `stands_still` gives it.
    """
    rows = max(3, round(limits["probe_stuck_s"] / drive.step_s))
    still = stuck | _warming(drive, limits)
    for k in np.flatnonzero(stuck[1:] & ~stuck[:-1]) + 1:  # the seconds before it was noticed stood still too
        still[max(0, k - rows) : k] = True
    return still


def probe_findings(drive: Drive, limits: Mapping[str, float], still: NDArray[np.bool_]) -> tuple[Finding, ...]:
    """LOG-20 and LOG-23.

    Args:
        still: as `stands_still` gives it.
    """
    mixture = drive.of["mixture"]
    running = is_running(drive, limits)
    if not running.any():
        return ()
    found = []
    if still.any():
        share = np.count_nonzero(still) / np.count_nonzero(running)
        at_s = float(drive.time_s[np.argmax(still)])
        what = f"does not move for seconds with the engine running, first at {at_s:.1f} s; left out there"
        is_target = _target_moves(drive, still)
        found.append(
            Finding(
                rule="LOG-20",
                severity="fault" if is_target or share >= _AT_AN_END else "warning",
                label="mixture probe",
                wrong="stands still while its target moves from row to row: the two look changed over"
                if is_target
                else what,
                found=100.0 * share,
                allowed=0.0,
                unit="% of running time",
                source=limit_source("probe_stuck_s"),
                mend="See in the mapping which column is the measured mixture and which the one that is asked for"
                if is_target
                else "Look at its heater, its feed and its plug; let it warm up before the recording begins",
            )
        )
    told = running & ~still
    told &= np.isfinite(mixture)
    ends = mixture < limits["mixture_least"]
    ends |= mixture > limits["mixture_most"]
    ends &= told
    if told.any() and np.count_nonzero(ends) > _AT_AN_END * np.count_nonzero(told):
        found.append(
            Finding(
                rule="LOG-23",
                severity="fault",
                label="mixture probe",
                wrong="reads an end of its range most of the time",
                found=100.0 * float(ends.sum() / told.sum()),
                allowed=100.0 * _AT_AN_END,
                unit="% of running time",
                source=limit_source("mixture_least"),
                mend="Check its scaling in the controller against its own display at two mixtures",
            )
        )
    return tuple(found)


def _target_moves(drive: Drive, still: NDArray[np.bool_]) -> bool:
    """Whether the target is another in nearly every row in which the probe stands still."""
    if not drive.has("mixture_target"):
        return False
    moves = np.diff(drive.of["mixture_target"], prepend=np.float32(np.nan))[still]
    moves = moves[np.isfinite(moves)]
    return moves.size > 0 and bool(np.count_nonzero(moves) > _MOSTLY * moves.size)


def leak_findings(visits: Visits, limits: Mapping[str, float]) -> tuple[tuple[Finding, ...], NDArray[np.bool_]]:
    """LOG-21, and which visits may be believed."""
    believed = np.ones(visits.rpm.size, bool)
    if visits.rpm.size < _LEAST_VISITS:
        return (), believed
    flow = flow_g_per_s(visits.rpm, visits.load)
    inverse = 1.0 / np.maximum(flow, 0.5)
    slope, base, spread = _robust_line(inverse, visits.change)
    large, small = float(np.quantile(inverse, 0.1)), float(np.quantile(inverse, 0.95))
    leaner = slope * (small - large)
    if leaner < limits["leak_lean"] or slope < _SIGMAS * spread or _is_even(inverse, visits.change, slope, base):
        return (), believed
    believed = slope * (inverse - large) < limits["leak_lean"] / 2.0
    finding = Finding(
        rule="LOG-21",
        severity="fault",
        label="mixture probe",
        wrong=f"reads leaner the smaller the flow; {int((~believed).sum())} visits at small flow are left out",
        found=100.0 * float(np.expm1(leaner)),
        allowed=100.0 * limits["leak_lean"],
        unit="% leaner",
        source=limit_source("leak_lean"),
        mend="Listen for an exhaust leak before the probe and for a misfire; then check the injectors' opening delay",
    )
    return (finding,), believed


def _robust_line(x: NDArray[np.float64], y: NDArray[np.float64]) -> tuple[float, float, float]:
    """A line through points, far ones weighing less; slope, height at nought, standard deviation of the slope."""
    w = np.ones(x.size)
    slope = base = spread = 0.0
    for _ in range(5):
        mean_x, mean_y = float(np.average(x, weights=w)), float(np.average(y, weights=w))
        wide = float((w * (x - mean_x) ** 2).sum())
        if wide <= 0.0:
            return 0.0, mean_y, np.inf
        slope = float((w * (x - mean_x) * (y - mean_y)).sum() / wide)
        base = mean_y - slope * mean_x
        off = np.abs(y - base - slope * x)
        scale = max(1.4826 * float(np.median(off)), 1e-6)
        spread = scale / np.sqrt(wide)
        w = 1.0 / np.maximum(1.0, off / (1.5 * scale))
    return slope, base, spread


def _is_even(x: NDArray[np.float64], y: NDArray[np.float64], slope: float, base: float) -> bool:
    """Whether the line tells little of how the visits differ: a table that is wrong here and there, not a leak."""
    whole = float(((y - np.median(y)) ** 2).sum())
    return whole <= 0.0 or float(((y - base - slope * x) ** 2).sum()) > _AT_AN_END * whole
