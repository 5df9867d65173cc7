"""When was the engine started, how did it go, and did the supply hold?

In: a drive with engine speed. Out: the attempts, each with crank speed, time to run and the least volts, and findings.
LOG-10 a start took too long, or did not take.  LOG-11 the starter turns slowly.  LOG-12 the supply dips further than
the network of this job says it should.  LOG-13 speed lost while cranking: the trigger.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from loomwright.findings import Finding
from loomwright.logs.drive import Drive
from loomwright.logs.limits import limit_source
from loomwright.logs.spans import spans_of

__all__ = ["Start", "start_findings", "starts_of"]

_BEFORE_S = 1.0
_DROPS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """One attempt to start.

    at_s: when the crankshaft first moved. [s]   crank_s: until the engine ran or it was given up. [s]
    crank_rpm: how fast the starter turned it, at the median. [1/min]   ran_s: how long it ran then; 0 where it did
    not. [s]
    least_v: lowest volts meanwhile; None where they were not recorded. [V]   drops: times the speed fell to nought.
    coolant_c: at its beginning. [°C]   soak_s: since the engine last ran in this recording. [s]   None where unknown.
    """

    at_s: float
    crank_s: float
    crank_rpm: float
    ran_s: float
    least_v: float | None
    drops: int
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
    for span in spans_of(drive, ~turning):  # a speed lost for less than half a second is one attempt still
        if span.lasts_s < 0.5 and span.first > 0 and span.end < turning.size and turning[span.first - 1]:
            merged[span.rows] = drive.stretch[span.end] == drive.stretch[span.first - 1]
    found: list[Start] = []
    for span in spans_of(drive, merged):
        if span.first == 0 or drive.stretch[span.first - 1] != drive.stretch[span.first]:
            continue  # it ran when the recording began
        part = speed[span.rows]
        runs = np.flatnonzero(part >= limits["running_rpm"])
        end = span.first + (int(runs[0]) if runs.size else part.size)
        crank = speed[span.first : max(end, span.first + 1)]
        crank_s = float(drive.time_s[min(end, speed.size - 1)] - span.at_s)
        ran_s = span.lasts_s - crank_s if runs.size else 0.0
        volts = drive.of.get("battery")
        own = int(np.searchsorted(drive.stretch, drive.stretch[span.first]))
        begin = max(own, int(np.searchsorted(drive.time_s[: span.first], span.at_s - _BEFORE_S)))
        least = None if volts is None else float(np.nanmin(volts[begin : end + 1], initial=np.inf))
        coolant = drive.of.get("coolant")
        coolant_c = None if coolant is None else float(coolant[span.first])
        last = found[-1] if found and drive.stretch[-1] == 0 else None
        soak_s = None if last is None else span.at_s - last.at_s - last.crank_s - last.ran_s
        drops = int((np.diff((crank < limits["crank_rpm"]).astype(np.int8)) == 1).sum())
        found.append(
            Start(
                at_s=span.at_s,
                crank_s=crank_s,
                crank_rpm=float(np.median(crank)),
                ran_s=float(ran_s),
                least_v=least if least is not None and np.isfinite(least) else None,
                drops=drops,
                coolant_c=coolant_c if coolant_c is not None and np.isfinite(coolant_c) else None,
                soak_s=soak_s,
            )
        )
    return tuple(found)


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
    found = []
    for start in starts:
        when = f"start at {start.at_s:.1f} s"
        if not start.took or start.ran_s < limits["stall_s"]:
            ran = f"ran for {start.ran_s:.1f} s only" if start.took else "did not run"
            found.append(
                Finding(
                    rule="LOG-10",
                    severity="warning",
                    label=when,
                    wrong=f"the engine {ran} after {start.crank_s:.1f} s of cranking",
                    mend=(
                        "Look at trigger, spark, fuel pressure and starting fuel, in that order; let the "
                        "starter rest first"
                    ),
                )
            )
        elif start.crank_s > limits["crank_most_s"]:
            found.append(
                Finding(
                    rule="LOG-10",
                    severity="warning",
                    label=when,
                    wrong="took long",
                    found=start.crank_s,
                    allowed=limits["crank_most_s"],
                    unit="s",
                    source=limit_source("crank_most_s"),
                    mend=(
                        "Check fuel pressure held overnight and the starting fuel; let the starter rest "
                        "between attempts"
                    ),
                )
            )
        if start.crank_s > 0.5 and start.crank_rpm < limits["crank_slow_rpm"]:
            found.append(
                Finding(
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
            )
        if predicted_v is not None and start.least_v is not None and start.least_v < predicted_v - limits["dip_v"]:
            found.append(
                Finding(
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
            )
        if start.drops >= _DROPS:
            found.append(
                Finding(
                    rule="LOG-13",
                    severity="warning",
                    label=when,
                    wrong="engine speed is lost again and again while cranking",
                    found=float(start.drops),
                    allowed=0.0,
                    unit="times",
                    source="common-practice",
                    mend="Check the trigger sensor's gap, its polarity and its screen",
                )
            )
    return tuple(found)
