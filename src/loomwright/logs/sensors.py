"""Which sensors drop out, jump, or say what cannot be?

In: a drive. Out: findings.
LOG-50 figures no sound sensor gives: open or shorted.  LOG-51 jumps there and back faster than the thing itself can
move.
LOG-52 engine stopped: coolant and air far apart, or manifold pressure is not the air's.
LOG-53 a channel never moves; the coolant stands still before it is warm.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from loomwright.findings import Finding
from loomwright.logs.drive import Drive
from loomwright.logs.limits import limit_source
from loomwright.logs.spans import spans_of
from loomwright.logs.steady import is_running, stayed_within
from loomwright.logs.trigger import ran
from loomwright.tables.load import read_rows

__all__ = ["sensor_findings"]

_MOVES_ALWAYS = ("manifold_pressure", "throttle", "battery", "oil_pressure", "mixture")
_LONG_S = 60.0
_AIR_KPA = (70.0, 106.0)
_STILL_S = 2.0
_SETTLED_S = 3.0
_LEAST_JUMP = 0.05


def sensor_findings(drive: Drive, limits: Mapping[str, float]) -> tuple[Finding, ...]:
    """LOG-50 to LOG-53."""
    rows = {row["name"]: row for row in read_rows("log_quantities")}
    found: list[Finding] = []
    for name, figures in drive.of.items():
        meaning = rows[name]["meaning"]
        wild = drive.wild.get(name)
        if wild is not None and name != "mixture" and wild.count > limits["drop_out_share"] * wild.of:
            found.append(
                Finding(
                    rule="LOG-50",
                    severity="fault",
                    label=name.replace("_", " "),
                    wrong=f"{meaning}: figures no sound sensor gives, first at {wild.first_s:.1f} s",
                    found=100.0 * wild.count / max(1, wild.of),
                    allowed=100.0 * limits["drop_out_share"],
                    unit="% of samples",
                    source=limit_source("drop_out_share"),
                    mend="Wiggle its plug and its loom with the log running; measure the sensor and its earth",
                )
            )
        if rows[name]["step_per_s"]:
            found += _jumps(drive, name, figures, float(rows[name]["step_per_s"]), limits)
    found += _dead(drive, limits)
    found += _stuck_coolant(drive, limits)
    return (*found, *_before_start(drive))


def _jumps(
    drive: Drive, name: str, figures: NDArray[np.float32], most_per_s: float, limits: Mapping[str, float]
) -> Iterator[Finding]:
    """Samples that jump away and come back in the next two, further than the thing can move in that time."""
    row = next(row for row in read_rows("log_quantities") if row["name"] == name)
    span = float(row["most"]) - float(row["least"]) if row["most"] else 0.0
    far = max(most_per_s * drive.step_s, _LEAST_JUMP * span)
    before, here, after = figures[:-2], figures[1:-1], figures[2:]
    away = (np.abs(here - before) > far) & (np.abs(here - after) > far) & (np.abs(after - before) < far / 2.0)
    away &= drive.stretch[2:] == drive.stretch[:-2]
    count = int(away.sum())
    if count > limits["spikes_most"]:
        yield Finding(
            rule="LOG-51",
            severity="warning",
            label=name.replace("_", " "),
            wrong=f"jumps there and back, first at {drive.time_s[1 + int(np.argmax(away))]:.1f} s",
            found=float(count),
            allowed=limits["spikes_most"],
            unit="times",
            source=limit_source("spikes_most"),
            mend="Look for a loose pin, a rubbed wire, or a signal wire beside coil or injector wires",
        )


def _dead(drive: Drive, limits: Mapping[str, float]) -> Iterator[Finding]:
    running = is_running(drive, limits)
    if float(running.sum()) * drive.step_s < _LONG_S:
        return
    speed = drive.of.get("engine_speed")
    if speed is None or float(np.nanstd(speed[running])) < 100.0:
        return  # it only idled: much may stand still
    for name in _MOVES_ALWAYS:
        figures = drive.of.get(name)
        if figures is None:
            continue
        part = figures[running]
        part = part[np.isfinite(part)]
        if part.size and float(np.ptp(part)) == 0.0:
            yield Finding(
                rule="LOG-53",
                severity="warning",
                label=name.replace("_", " "),
                wrong="never moves on a whole drive",
                found=float(part[0]),
                unit="",
                mend="Check that the channel is the right one, and its sensor's three wires",
            )


def _stuck_coolant(drive: Drive, limits: Mapping[str, float]) -> Iterator[Finding]:
    """A coolant that is not warm yet and does not move to the last digit, though the engine runs on."""
    if not drive.has("coolant", "engine_speed"):
        return
    coolant = drive.of["coolant"]
    rows = max(3, round(limits["coolant_stuck_s"] / drive.step_s))
    still = stayed_within(coolant, rows, 1e-3) & (coolant < limits["warm_c"])
    for span in spans_of(drive, ran(drive, limits), limits["coolant_stuck_s"]):
        part = still[span.first + rows : span.end]
        if part.any():
            k = span.first + rows + int(np.argmax(part))
            yield Finding(
                rule="LOG-53",
                severity="warning",
                label=f"coolant from {drive.time_s[k - rows]:.1f} s",
                wrong="stands still though the engine runs and is not warm",
                found=float(coolant[k]),
                unit="°C",
                source=limit_source("coolant_stuck_s"),
                mend=(
                    "Compare the sensor with a thermometer before more load: fuel stays rich and the fan may never "
                    "come; then try the thermostat"
                ),
            )
            return


def _before_start(drive: Drive) -> Iterator[Finding]:
    if not drive.has("engine_speed", "manifold_pressure"):
        return
    stopped = drive.of["engine_speed"] < 1.0
    for span in spans_of(drive, stopped, _STILL_S + _SETTLED_S):
        late = drive.of["manifold_pressure"][
            span.first + int(_SETTLED_S / drive.step_s) : span.end - int(1.0 / drive.step_s)
        ]
        late = late[np.isfinite(late)]
        if not late.size:
            continue
        own = float(np.median(late))
        low, high = _AIR_KPA
        if drive.has("barometer"):
            air = float(np.nanmedian(drive.of["barometer"][span.rows]))
            low, high = air - 3.0, air + 3.0
        if not low <= own <= high:
            yield Finding(
                rule="LOG-52",
                severity="warning",
                label=f"manifold pressure, engine stopped, at {span.at_s:.1f} s",
                wrong="is not the air's pressure",
                found=own,
                allowed=high if own > high else low,
                unit="kPa",
                source="common-practice",
                mend="Check the sensor's scaling, its reference volts and its earth",
            )
            return
