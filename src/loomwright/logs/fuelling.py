"""Do injectors and fuel pump have enough in hand on the road, and does boost stay where it is meant to?

In: a drive. Out: findings.
LOG-45 injectors open for more of their time than they should: pulse, speed, shots.  LOG-46 fuel pressure sags where
much fuel is drawn.  LOG-47 more pressure in the manifold than is meant.
A rail gauge shows the pressure against the air's; a regulator that follows the manifold moves it as the manifold moves,
one that does not holds it. Which of the two this is is told by the drive itself: the one that leaves less of a spread
where little fuel is drawn.

Source: duty = pulse rpm shots / 120000; the rest is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from loomwright.findings import Finding
from loomwright.logs.drive import Drive
from loomwright.logs.limits import limit_source
from loomwright.logs.spans import spans_of, times
from loomwright.logs.trigger import ran

__all__ = ["duty_frac", "fuelling_findings"]

_CYCLE_MS_RPM = 120_000.0
_PERCENT = 100.0
_STATIC_FRAC = 0.95
_NEARLY = "are open nearly all the time"
_LONGER = "are asked to be open for longer than there is time"
_LITTLE_FRAC = 0.35
_LEAST_S = 5.0


def fuelling_findings(drive: Drive, limits: Mapping[str, float]) -> tuple[Finding, ...]:
    """LOG-45 to LOG-47."""
    if not drive.has("engine_speed"):
        return ()
    return (*_duty(drive, limits), *_sag(drive, limits), *_boost(drive, limits))


def duty_frac(drive: Drive, limits: Mapping[str, float]) -> NDArray[np.float32]:
    """Share of its time an injector is open; over 1 where a pulse is longer than there is time for."""
    duty: NDArray[np.float32] = (
        drive.of["pulse"] * drive.of["engine_speed"] * np.float32(limits["shots"] / _CYCLE_MS_RPM)
    )
    return duty


def _duty(drive: Drive, limits: Mapping[str, float]) -> Iterator[Finding]:
    if not drive.has("pulse"):
        return
    duty = duty_frac(drive, limits)
    spans = list(spans_of(drive, ran(drive, limits) & (duty > limits["duty_share"]), limits["lean_hold_s"]))
    if not spans:
        return
    worst = max(spans, key=lambda span: float(np.nanmax(duty[span.rows])))
    k = worst.first + int(np.nanargmax(duty[worst.rows]))
    most = float(duty[k])
    yield Finding(
        rule="LOG-45",
        severity="fault" if most >= _STATIC_FRAC else "warning",
        label=f"at {drive.time_s[k]:.1f} s",
        wrong=f"the injectors {_LONGER if most > 1.0 else _NEARLY}, {times(len(spans))}, worst at "
        f"{drive.of['engine_speed'][k]:.0f} 1/min",
        found=_PERCENT * most,
        allowed=_PERCENT * limits["duty_share"],
        unit="% of the time",
        source=limit_source("duty_share"),
        mend=(
            "No more load there: beyond it they stay open and the engine runs lean. Larger injectors, or more pressure "
            "across them. Where each opens more than once in two turns, say so: shots in the sheet vehicle"
        ),
    )


def _sag(drive: Drive, limits: Mapping[str, float]) -> Iterator[Finding]:
    if not drive.has("fuel_pressure", "manifold_pressure"):
        return
    rail, manifold = drive.of["fuel_pressure"], drive.of["manifold_pressure"]
    running = ran(drive, limits) & np.isfinite(rail) & np.isfinite(manifold)
    if not running.any():
        return
    drawn = drive.of["engine_speed"] * manifold
    little = running & (drawn <= _LITTLE_FRAC * float(np.percentile(drawn[running], 99.0)))
    if float(little.sum()) * drive.step_s < _LEAST_S:
        return
    across = min((rail, rail - manifold), key=lambda figures: float(np.std(figures[little])))
    held = float(np.median(across[little]))
    size = max(held, float(np.median(rail[little])))  # a share of the rail's own figure, whichever is compared
    low = running & ~little & (across < held - limits["fuel_sag_share"] * size)
    spans = list(spans_of(drive, low, limits["lean_hold_s"]))
    if not spans:
        return
    worst = min(spans, key=lambda span: float(np.median(across[span.rows])))
    k = worst.first + int(np.argmin(across[worst.rows]))
    gone = held - float(np.median(across[worst.rows]))
    yield Finding(
        rule="LOG-46",
        severity="fault",
        label=f"at {worst.at_s:.1f} s",
        wrong=f"fuel pressure sags where much fuel is drawn, {times(len(spans))}, worst at "
        f"{drive.of['engine_speed'][k]:.0f} 1/min and {manifold[k]:.0f} kPa",
        found=gone,
        allowed=limits["fuel_sag_share"] * size,
        unit="kPa",
        source=limit_source("fuel_sag_share"),
        mend="No more load: measure the pump's volts at the pump under load, then filter, strainer, hose and regulator",
    )


def _boost(drive: Drive, limits: Mapping[str, float]) -> Iterator[Finding]:
    if not drive.has("manifold_pressure"):
        return
    manifold, most = drive.of["manifold_pressure"], limits["manifold_most_kpa"]
    spans = list(spans_of(drive, ran(drive, limits) & (manifold > most), limits["lean_hold_s"]))
    if spans:
        yield Finding(
            rule="LOG-47",
            severity="fault",
            label=f"first at {spans[0].at_s:.1f} s",
            wrong=f"more pressure in the manifold than is meant, {times(len(spans))}",
            found=max(float(np.nanmax(manifold[span.rows])) for span in spans),
            allowed=most,
            unit="kPa",
            source=limit_source("manifold_most_kpa"),
            mend=(
                "With boost: type the engine's own most in the mapping or the sheet vehicle, and try its cut at a low "
                "figure; without: look at the sensor's scaling"
            ),
        )
