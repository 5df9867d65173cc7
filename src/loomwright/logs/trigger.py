"""Was the trigger lost while the engine ran?

In: a drive. Out: the moments in which engine speed was gone and back again, and findings.
LOG-14 the trigger is lost while running: by the controller's own count of it where that was recorded, else by a speed
that falls to nought and is back within half a second. No engine stops and runs again so fast; it fires at the wrong
time meanwhile, or not at all. `ran` is where the engine ran, such moments bridged.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from loomwright.findings import Finding
from loomwright.logs.drive import Drive
from loomwright.logs.limits import limit_source
from loomwright.logs.spans import Span, spans_of
from loomwright.logs.steady import is_running

__all__ = ["lost_moments", "ran", "trigger_findings"]

_BEFORE_S = 1.0


def lost_moments(drive: Drive, limits: Mapping[str, float]) -> tuple[Span, ...]:
    """Where the speed is gone for a moment between two stretches of running."""
    if not drive.has("engine_speed"):
        return ()
    speed, running = drive.of["engine_speed"], is_running(drive, limits)
    found = []
    for span in spans_of(drive, ~running):
        if span.first == 0 or span.end >= running.size or span.lasts_s > limits["trigger_lost_s"]:
            continue
        own = drive.stretch[span.first]
        if drive.stretch[span.first - 1] != own or drive.stretch[span.end] != own:
            continue
        if bool((speed[span.rows] < limits["crank_rpm"]).any()):
            found.append(span)
    return tuple(found)


def ran(drive: Drive, limits: Mapping[str, float]) -> NDArray[np.bool_]:
    """Where the engine turned by itself, whatever the trigger lost for a moment."""
    running = is_running(drive, limits).copy()
    for span in lost_moments(drive, limits):
        running[span.rows] = True
    return running


def trigger_findings(drive: Drive, limits: Mapping[str, float]) -> tuple[Finding, ...]:
    """LOG-14."""
    at_s = [span.at_s for span in lost_moments(drive, limits)]
    if drive.has("trigger_losses", "engine_speed"):
        count = np.nan_to_num(drive.of["trigger_losses"]).astype(np.float64)
        rises = np.diff(count, prepend=count[:1])
        before = max(1, round(_BEFORE_S / drive.step_s))
        settled = ran(drive, limits)
        settled[before:] &= settled[:-before]  # the first turns of a start are no loss
        settled[:before] = False
        told = (rises > 0.0) & settled
        if float(rises[told].sum()) >= len(at_s):
            at_s = [float(drive.time_s[k]) for k in np.flatnonzero(told) for _ in range(int(rises[k]))]
    if not at_s:
        return ()
    return (
        Finding(
            rule="LOG-14",
            severity="fault",
            label=f"first at {at_s[0]:.1f} s",
            wrong="the trigger is lost while the engine runs: spark and fuel are wrong meanwhile",
            found=float(len(at_s)),
            allowed=0.0,
            unit="times",
            source=limit_source("trigger_lost_s"),
            mend=(
                "Look at the volts just then; check the trigger sensor's gap, its polarity, its screen and its earth, "
                "and how near its wires lie to the coils'; no load until it is found"
            ),
        ),
    )
