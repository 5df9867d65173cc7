"""When was the engine started, how did it go, and did the supply hold?

In: a drive with engine speed. Out: the attempts, each with crank speed, time to run and the least volts, and findings.
LOG-10 a start took too long, or did not take.  LOG-11 the starter turns slowly.  LOG-12 the supply dips further than
the network of this job says it should.  LOG-13 the trigger lost while cranking: a speed that falls to nought, or the
controller's own count of it. One rise of that count belongs to the first turns, in which it is still looking.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loomwright.findings import Finding
from loomwright.logs.drive import Drive
from loomwright.logs.limits import limit_source
from loomwright.logs.spans import Span, spans_of

__all__ = ["Start", "start_findings", "starts_of"]

_BEFORE_S = 1.0
_ONE_ATTEMPT_S = 0.5  # speed lost for less is one attempt still; our choice
_JERK_S = 0.5  # a starter is up to speed by then; our choice
_DROPS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """One attempt to start.

    at_s: when the crankshaft first moved. [s]   crank_s: until the engine ran or it was given up. [s]
    crank_rpm: how fast the starter turned it, at the median. [1/min]   ran_s: how long it ran then; 0 where it did
    not. [s]
    least_v: lowest volts meanwhile; None where they were not recorded. [V]   drops: times the speed fell to nought.
    losses: times the controller counted the trigger as lost; 0 where it did not record that.
    coolant_c: at its beginning. [°C]   soak_s: since the engine last ran in this recording. [s]   None where unknown.
    """

    at_s: float
    crank_s: float
    crank_rpm: float
    ran_s: float
    least_v: float | None
    drops: int
    losses: int = 0
    coolant_c: float | None = None
    soak_s: float | None = None

    @property
    def took(self) -> bool:
        """Whether the engine ran at all."""
        return self.ran_s > 0.0


def starts_of(drive: Drive, limits: Mapping[str, float]) -> tuple[Start, ...]:
    """Every attempt to start that the log holds from its first turn."""
    if not drive.has("engine_speed"):
        return ()
    speed = np.nan_to_num(drive.of["engine_speed"])
    turning = speed >= limits["crank_rpm"]
    merged = turning.copy()
    for span in spans_of(drive, ~turning):
        if span.lasts_s < _ONE_ATTEMPT_S and span.first > 0 and span.end < turning.size and turning[span.first - 1]:
            merged[span.rows] = drive.stretch[span.end] == drive.stretch[span.first - 1]
    found: list[Start] = []
    for span in spans_of(drive, merged):
        if span.first == 0 or drive.stretch[span.first - 1] != drive.stretch[span.first]:
            continue  # it ran when the recording began
        if not np.isfinite(drive.of["engine_speed"][span.first - 1]) and speed[span.first] >= limits["running_rpm"]:
            continue  # not read is not stopped: it runs already where its speed is read again
        last = found[-1] if found and drive.stretch[-1] == 0 else None
        found.append(_attempt(drive, speed, span, limits, last))
    return tuple(found)


def _attempt(
    drive: Drive, speed: NDArray[np.float32], span: Span, limits: Mapping[str, float], last: Start | None
) -> Start:
    """One attempt, from a stretch in which the engine turns.

    Args:
        speed: of the engine over the whole log. [1/min]
        last: the attempt before, in a log without a break.
    """
    part = speed[span.rows]
    runs = np.flatnonzero(part >= limits["running_rpm"])
    end = span.first + (int(runs[0]) if runs.size else part.size)
    crank = speed[span.first : max(end, span.first + 1)]
    crank_s = float(drive.time_s[min(end, speed.size - 1)] - span.at_s)
    coolant = drive.of.get("coolant")
    return Start(
        at_s=span.at_s,
        crank_s=crank_s,
        crank_rpm=float(np.median(crank)),
        ran_s=float(span.lasts_s - crank_s) if runs.size else 0.0,
        least_v=_least_v(drive, span, end),
        drops=int((np.diff((crank < limits["crank_rpm"]).astype(np.int8)) == 1).sum()),
        losses=_losses(drive, span.first, end),
        coolant_c=_known(None if coolant is None else float(coolant[span.first])),
        soak_s=None if last is None else span.at_s - last.at_s - last.crank_s - last.ran_s,
    )


def _losses(drive: Drive, first: int, end: int) -> int:
    """How often the count of lost triggers rose from the first turn until it ran or was given up.

    Args:
        first, end: rows of the attempt; at least one stands before them.
    """
    count = drive.of.get("trigger_losses")
    if count is None:
        return 0
    rises = np.diff(np.nan_to_num(count[first - 1 : end]).astype(np.float64))
    return int(rises[rises > 0.0].sum())


def _least_v(drive: Drive, span: Span, end: int) -> float | None:
    """The lowest volts from just before an attempt until it ran or was given up; None where there are none. [V]"""
    volts = drive.of.get("battery")
    if volts is None:
        return None
    own = int(np.searchsorted(drive.stretch, drive.stretch[span.first]))
    begin = max(own, int(np.searchsorted(drive.time_s[: span.first], span.at_s - _BEFORE_S)))
    return _known(float(np.nanmin(volts[begin : end + 1], initial=np.inf)))


def _known(value: float | None) -> float | None:
    return value if value is not None and np.isfinite(value) else None


def start_findings(
    starts: Sequence[Start], limits: Mapping[str, float], predicted_v: float | None = None, at: tuple[str, ...] = ()
) -> tuple[Finding, ...]:
    """What the attempts tell.

    Args:
        starts: the attempts.
        limits: `crank_most_s`, `stall_s`, `crank_slow_rpm`, `dip_v`.
        predicted_v: volts at the controller while cranking, as the job's network has it; None where it was not asked.
        [V]
        at: the controller's supply point.
    """
    found: list[Finding | None] = []
    for start in starts:
        when = f"start at {start.at_s:.1f} s"
        found += [
            _not_taken(start, limits, when),
            _slow(start, limits, when),
            _dips(start, limits, when, predicted_v, at),
            _loses_speed(start, when),
        ]
    return tuple(one for one in found if one is not None)


def _not_taken(start: Start, limits: Mapping[str, float], when: str) -> Finding | None:
    """LOG-10: it did not run, not for long, or only after long."""
    if not start.took or start.ran_s < limits["stall_s"]:
        ran = f"ran for {start.ran_s:.1f} s only" if start.took else "did not run"
        return Finding(
            rule="LOG-10",
            severity="warning",
            label=when,
            wrong=f"the engine {ran} after {start.crank_s:.1f} s of cranking",
            mend="Look at trigger, spark, fuel pressure and starting fuel, in that order; let the starter rest first",
        )
    if start.crank_s <= limits["crank_most_s"]:
        return None
    return Finding(
        rule="LOG-10",
        severity="warning",
        label=when,
        wrong="took long",
        found=start.crank_s,
        allowed=limits["crank_most_s"],
        unit="s",
        source=limit_source("crank_most_s"),
        mend="Check fuel pressure held overnight and the starting fuel; let the starter rest between attempts",
    )


def _slow(start: Start, limits: Mapping[str, float], when: str) -> Finding | None:
    """LOG-11: the starter turns slowly, for long enough that its first jerk is over."""
    if start.crank_s <= _JERK_S or start.crank_rpm >= limits["crank_slow_rpm"]:
        return None
    return Finding(
        rule="LOG-11",
        severity="warning",
        label=when,
        wrong="the starter turns slowly",
        found=start.crank_rpm,
        allowed=limits["crank_slow_rpm"],
        unit="1/min",
        source=limit_source("crank_slow_rpm"),
        mend="Measure volts lost in the starter's cable and in the engine's earth strap while cranking",
    )


def _dips(
    start: Start, limits: Mapping[str, float], when: str, predicted_v: float | None, at: tuple[str, ...]
) -> Finding | None:
    """LOG-12: the supply dips further than the network of the job says."""
    if predicted_v is None or start.least_v is None or start.least_v >= predicted_v - limits["dip_v"]:
        return None
    return Finding(
        rule="LOG-12",
        severity="warning",
        at=at,
        label=f"controller's supply, {when}",
        wrong=f"dips further than the sheets say ({predicted_v:.1f} V)",
        found=start.least_v,
        allowed=predicted_v - limits["dip_v"],
        unit="V",
        source=limit_source("dip_v"),
        mend=(
            "Measure the drop from the battery's post to this point while cranking: a joint "
            "is worse than the sheets have it, or the battery is weak"
        ),
    )


def _loses_speed(start: Start, when: str) -> Finding | None:
    """LOG-13: the speed falls to nought again and again, or the controller counts the trigger as lost so often."""
    lost = max(start.drops, start.losses)
    if lost < _DROPS:
        return None
    what = "engine speed" if start.drops >= start.losses else "the trigger"
    return Finding(
        rule="LOG-13",
        severity="warning",
        label=when,
        wrong=f"{what} is lost again and again while cranking",
        found=float(lost),
        allowed=0.0,
        unit="times",
        source="common-practice",
        mend="Check the trigger sensor's gap, its polarity and its screen",
    )
