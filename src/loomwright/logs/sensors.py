"""Which sensors drop out, jump, or say what cannot be?

In: a drive. Out: findings.
LOG-50 figures no sound sensor gives: open or shorted.  LOG-51 jumps there and back faster than the thing itself can
move.
LOG-52 engine stopped: manifold pressure is not the air's.
LOG-53 a channel never moves; the coolant stands still before it is warm.
LOG-54 coolant and air changed over: on the road the air reads as a coolant does, and the coolant as the air. What would
be told of either is told as this alone.
LOG-55 engine stopped: oil pressure is not nought.  LOG-56 engine stopped: the coolant is far colder than the air. One
that is warmer may be warm from the last run: that tells nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from loomwright.findings import Finding
from loomwright.logs.drive import Drive
from loomwright.logs.limits import limit_source
from loomwright.logs.spans import Span, spans_of
from loomwright.logs.steady import is_running, stayed_within
from loomwright.logs.trigger import ran
from loomwright.tables.load import read_rows

__all__ = ["sensor_findings", "without_changed_over"]

_MOVES_ALWAYS = ("manifold_pressure", "throttle", "battery", "oil_pressure", "mixture")
_LONG_S = 60.0
_AIR_KPA = (70.0, 106.0)
_STILL_S = 2.0
_SETTLED_S = 3.0
_LEAST_JUMP = 0.05
_NOT_A_DROP_OUT = 0.2  # so large a share is no loose pin: another column, another unit
_REST_KPA = (
    50.0  # a tenth of a volt of an earth's offset is 25 of it on a sender of ten bar; common practice, no source
)
_BLED_S = 20.0  # thick oil and a filter's valve hold it for a while after a stop; our choice
_COLDER_K = 15.0  # an air sensor in the sun, a block from the night; common practice, no source
_OVER_K, _MOSTLY, _ROAD_S = (
    20.0,
    0.5,
    120.0,
)  # air so far over the coolant, most of the time once it is warm; our choice
_FROM_CHANGED_OVER = (("LOG-43", ""), ("LOG-53", "coolant"), ("LOG-31", ""), ("LOG-33", ""), ("LOG-34", ""))
"""Rule, beginning of its label: what is told of coolant or air that are changed over."""


def sensor_findings(drive: Drive, limits: Mapping[str, float]) -> tuple[Finding, ...]:
    """LOG-50 to LOG-56."""
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
                    mend=_mend_of_wild(wild.count / max(1, wild.of)),
                )
            )
        if rows[name]["step_per_s"]:
            found += _jumps(drive, name, figures, float(rows[name]["step_per_s"]), limits)
    found += _dead(drive, limits)
    found += _stuck_coolant(drive, limits)
    found += _changed_over(drive, limits)
    return (*found, *_before_start(drive))


def without_changed_over(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings of a drive, less what only follows from coolant and air that are changed over."""
    found = tuple(findings)
    if not any(one.rule == "LOG-54" for one in found):
        return found
    return tuple(
        one
        for one in found
        if not any(one.rule == rule and one.label.startswith(label) for rule, label in _FROM_CHANGED_OVER)
    )


def _mend_of_wild(share: float) -> str:
    if share > _NOT_A_DROP_OUT:
        return (
            "See in the mapping that this column is that quantity, and its unit and scaling: so many samples are no "
            "loose pin. Then measure the sensor, its supply and its earth"
        )
    return "Wiggle its plug and its loom with the log running; measure the sensor and its earth"


def _changed_over(drive: Drive, limits: Mapping[str, float]) -> Iterator[Finding]:
    """LOG-54: the air drawn in is as hot as a warm engine and far hotter than the coolant, for most of the drive."""
    if not drive.has("coolant", "air", "engine_speed"):
        return
    coolant, air = drive.of["coolant"], drive.of["air"]
    hot = ran(drive, limits) & (air >= limits["warm_c"])
    over = hot & (air > coolant + _OVER_K)
    if float(over.sum()) * drive.step_s < _ROAD_S or over.sum() <= _MOSTLY * hot.sum():
        return
    yield Finding(
        rule="LOG-54",
        severity="fault",
        label="coolant and air",
        wrong="the air drawn in reads as a warm engine does, the coolant as air: the two look changed over",
        found=float(np.median((air - coolant)[over])),
        allowed=_OVER_K,
        unit="K",
        source="our-choice",
        mend=(
            "See in the mapping which column is which; if that is right, unplug the air sensor and see which figure "
            "goes: then change the two plugs, or the two pins. Fuel and fan go by the wrong one until then"
        ),
    )


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
    """LOG-52, LOG-55, LOG-56: what must be so with the engine stopped, each told once."""
    if not drive.has("engine_speed"):
        return
    stopped = drive.of["engine_speed"] < 1.0
    told: set[str] = set()
    for span in spans_of(drive, stopped, _STILL_S + _SETTLED_S):
        late = slice(span.first + int(_SETTLED_S / drive.step_s), span.end - int(1.0 / drive.step_s))
        rest = {name: _middle(drive, name, late) for name in ("manifold_pressure", "coolant", "air")}
        ran_before = span.first > 0 and drive.stretch[span.first - 1] == drive.stretch[span.first]
        bled = slice(span.first + int(_BLED_S / drive.step_s), late.stop) if ran_before else late
        for name, finding in (
            (
                "manifold_pressure",
                _not_the_air(rest["manifold_pressure"], _middle(drive, "barometer", span.rows), span),
            ),
            ("oil_pressure", _not_nought(_middle(drive, "oil_pressure", bled), span)),
            ("coolant", _colder(rest["coolant"], rest["air"], span)),
        ):
            if finding is not None and name not in told:
                told.add(name)
                yield finding


def _middle(drive: Drive, name: str, rows: slice) -> float | None:
    """The median of a quantity in some rows; None where it was not recorded there. [-]"""
    figures = drive.of[name][rows] if drive.has(name) else np.empty(0, np.float32)
    figures = figures[np.isfinite(figures)]
    return float(np.median(figures)) if figures.size else None


def _not_the_air(own: float | None, baro: float | None, span: Span) -> Finding | None:
    low, high = _AIR_KPA if baro is None else (baro - 3.0, baro + 3.0)
    if own is None or low <= own <= high:
        return None
    return Finding(
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


def _not_nought(oil: float | None, span: Span) -> Finding | None:
    if oil is None or oil <= _REST_KPA:
        return None
    return Finding(
        rule="LOG-55",
        severity="warning",
        label=f"oil pressure, engine stopped, at {span.at_s:.1f} s",
        wrong="is there though nothing turns",
        found=oil,
        allowed=_REST_KPA,
        unit="kPa",
        source="common-practice",
        mend=(
            "Believe no oil pressure until it is found. See in the mapping that it is no other column: fuel pressure "
            "stands with the engine stopped. Then the sender's scaling, its supply and its earth"
        ),
    )


def _colder(coolant: float | None, air: float | None, span: Span) -> Finding | None:
    if coolant is None or air is None or coolant >= air - _COLDER_K:
        return None
    return Finding(
        rule="LOG-56",
        severity="warning",
        label=f"coolant, engine stopped, at {span.at_s:.1f} s",
        wrong=f"reads far colder than the air, {air:.0f} °C",
        found=coolant,
        allowed=air - _COLDER_K,
        unit="°C",
        source="common-practice",
        mend=(
            "One of the two is off: after a night both are the air's own temperature. Hold a thermometer beside each, "
            "then its curve, its pull-up and its earth"
        ),
    )
