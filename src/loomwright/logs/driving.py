"""Do charging, oil, mixture under load, speed and knock stay within bounds on the road?

In: a drive. Out: findings.
LOG-32 charging volts.  LOG-35 oil pressure against engine speed, warm.  LOG-36 oil pressure late after the start.
LOG-38 a supply dip while running.  LOG-40 lean under load.  LOG-41 over the speed limit.  LOG-42 knock.
LOG-43 air too hot under load.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from loomwright.findings import Finding
from loomwright.logs.drive import Drive
from loomwright.logs.limits import limit_source
from loomwright.logs.probe import asleep, stands_still
from loomwright.logs.spans import Span, spans_of, times
from loomwright.logs.starts import Start
from loomwright.logs.steady import is_running
from loomwright.logs.trigger import ran

__all__ = ["driving_findings"]

_HOLD_S = 2.0
_AFTER_START_S = 20.0
_SHORT_S = 0.3
_OIL_S = 1.0


def driving_findings(
    drive: Drive,
    limits: Mapping[str, float],
    starts: Sequence[Start],
    delay_s: float,
    idle_v: float | None = None,
    at: tuple[str, ...] = (),
) -> tuple[Finding, ...]:
    """What the road tells.

    Args:
        drive: as recorded.
        limits: by name.
        starts: the attempts to start.
        delay_s: of the measured mixture. [s]
        idle_v: volts at the controller at idle, as the job's network has it; None where it was not asked. [V]
        at: the controller's supply point.
    """
    return (
        *_charging(drive, limits, idle_v, at),
        *_oil(drive, limits, starts),
        *_lean(drive, limits, delay_s),
        *_speed_and_knock(drive, limits),
        *_air(drive, limits),
    )


def _charging(
    drive: Drive, limits: Mapping[str, float], idle_v: float | None, at: tuple[str, ...]
) -> Iterator[Finding]:
    if not drive.has("battery", "engine_speed"):
        return
    settled = _settled(drive, limits)
    charges = settled & (drive.of["engine_speed"] >= limits["charge_rpm"])
    lost = _lost_charge(drive, limits, settled, charges)
    yield from _charged(drive, limits, charges, lost, at)
    if idle_v is not None:
        # volts that are told as a lost charge are no dip as well
        told = np.zeros(settled.size, bool)
        for span in lost:
            told[span.rows] = True
        yield from _dipped(drive, limits, settled & ~told, idle_v, at)


def _lost_charge(
    drive: Drive, limits: Mapping[str, float], settled: NDArray[np.bool_], charges: NDArray[np.bool_]
) -> list[Span]:
    """Where charging falls away for a time; nowhere where its volts are low most of the time."""
    volts = drive.of["battery"]
    known = charges & np.isfinite(volts)
    if known.sum() * drive.step_s <= _HOLD_S or float(np.percentile(volts[known], 25.0)) < limits["charge_least_v"]:
        return []
    least = limits["charge_drop_s"] / drive.step_s
    low = spans_of(drive, settled & (volts < limits["charge_least_v"]))
    return [span for span in low if np.count_nonzero(charges[span.rows]) >= least]


def _settled(drive: Drive, limits: Mapping[str, float]) -> NDArray[np.bool_]:
    """The rows in which the engine has run for so long that what the start took is given back."""
    settled = np.zeros(drive.of["engine_speed"].size, bool)
    for span in spans_of(drive, ran(drive, limits), _AFTER_START_S):
        settled[span.first + int(_AFTER_START_S / drive.step_s) : span.end] = True
    return settled


def _charged(
    drive: Drive,
    limits: Mapping[str, float],
    charges: NDArray[np.bool_],
    lost: Sequence[Span],
    at: tuple[str, ...],
) -> Iterator[Finding]:
    """LOG-32: charging volts on the road, too low, falling away for a time, or too high."""
    volts = drive.of["battery"]
    told = charges & np.isfinite(volts)
    if told.sum() * drive.step_s > _HOLD_S:
        low, high = (float(figure) for figure in np.percentile(volts[told], [25.0, 99.0]))
        if low < limits["charge_least_v"]:
            yield Finding(
                rule="LOG-32",
                severity="fault",
                at=at,
                label="controller's supply",
                wrong="charging volts are low on the road",
                found=low,
                allowed=limits["charge_least_v"],
                unit="V",
                source=limit_source("charge_least_v"),
                mend=(
                    "Measure at the battery and at the alternator: belt, charge lamp, cable and earth; "
                    "never lift a battery lead with the engine running"
                ),
            )
        elif lost:
            yield _charge_drops(drive, limits, lost, at)
        if high > limits["charge_most_v"]:
            yield Finding(
                rule="LOG-32",
                severity="fault",
                at=at,
                label="controller's supply",
                wrong="charging volts are high",
                found=high,
                allowed=limits["charge_most_v"],
                unit="V",
                source=limit_source("charge_most_v"),
                mend="Check the regulator, its sense wire and its earth",
            )


def _dipped(
    drive: Drive, limits: Mapping[str, float], settled: NDArray[np.bool_], idle_v: float, at: tuple[str, ...]
) -> Iterator[Finding]:
    """LOG-38: volts below what the network of the job says at idle."""
    volts = drive.of["battery"]
    dips = list(spans_of(drive, settled & (volts < idle_v - limits["dip_v"]), _SHORT_S))
    if not dips:
        return
    worst = min(dips, key=lambda span: float(np.nanmin(volts[span.rows])))
    yield Finding(
        rule="LOG-38",
        severity="warning",
        at=at,
        label=f"controller's supply at {worst.at_s:.1f} s",
        wrong=f"dips {times(len(dips))} below what the sheets say at idle ({idle_v:.1f} V)",
        found=float(np.nanmin(volts[worst.rows])),
        allowed=idle_v - limits["dip_v"],
        unit="V",
        source=limit_source("dip_v"),
        mend="See what was switched on then; measure the drop from the battery's post to this point",
    )


def _oil(drive: Drive, limits: Mapping[str, float], starts: Sequence[Start]) -> Iterator[Finding]:
    if not drive.has("oil_pressure", "engine_speed"):
        return
    oil, speed = drive.of["oil_pressure"], drive.of["engine_speed"]
    warm = is_running(drive, limits)
    if drive.has("coolant"):
        warm &= drive.of["coolant"] >= limits["warm_c"]
    needed = np.minimum(speed, limits["oil_most_rpm"]) / 1000.0 * limits["oil_kpa_per_1000_rpm"]
    needed = np.where(speed < limits["idle_most_rpm"], np.minimum(needed, limits["oil_idle_kpa"]), needed)
    low = warm & (oil < needed)
    spans = list(spans_of(drive, low, _OIL_S))
    if spans:
        share = np.where(low, oil / np.maximum(needed, 1.0), np.inf)
        worst = min(spans, key=lambda span: float(share[span.rows].min()))
        k = worst.first + int(np.argmin(share[worst.rows]))
        yield Finding(
            rule="LOG-35",
            severity="fault",
            label=f"at {drive.time_s[k]:.1f} s",
            wrong=f"oil pressure is low at {speed[k]:.0f} 1/min",
            found=float(oil[k]),
            allowed=float(needed[k]),
            unit="kPa",
            source=limit_source("oil_kpa_per_1000_rpm"),
            mend=(
                "Stop the engine; check level and a second gauge before it is run again. The maker's own "
                "figure prevails"
            ),
        )
    for start in starts:
        if start.ran_s < limits["oil_first_s"]:
            continue
        ran_s = start.at_s + start.crank_s
        first, end = np.searchsorted(drive.time_s, [ran_s, ran_s + limits["oil_first_s"]]).tolist()
        part = oil[first:end]
        if part.size and np.isfinite(part).any() and float(np.nanmax(part)) < limits["oil_idle_kpa"]:
            yield Finding(
                rule="LOG-36",
                severity="fault",
                label=f"start at {start.at_s:.1f} s",
                wrong=f"no oil pressure within {limits['oil_first_s']:g} s",
                found=float(np.nanmax(part)),
                allowed=limits["oil_idle_kpa"],
                unit="kPa",
                source=limit_source("oil_first_s"),
                mend="Stop the engine; prime the oil with the injectors off before the next start",
            )


def _lean(drive: Drive, limits: Mapping[str, float], delay_s: float) -> Iterator[Finding]:
    if not drive.has("mixture", "manifold_pressure", "engine_speed"):
        return
    lag = max(0, round(delay_s / drive.step_s))
    mixture = drive.of["mixture"]
    loaded = is_running(drive, limits) & (drive.of["manifold_pressure"] >= limits["lean_load_kpa"])
    awake = np.ones(loaded.size, bool)
    for span in spans_of(drive, asleep(drive, limits, stands_still(drive, limits))):
        # a probe that stands still whatever the load is cold; one that does so under load alone may be at its lean end
        awake[span.rows] = bool(loaded[span.rows].all())
    then = np.zeros(loaded.size, bool)
    then[lag:] = loaded[: loaded.size - lag]
    then &= loaded & awake  # loaded when it was burnt, and still
    if drive.has("mixture_target"):
        allowed = np.full(mixture.size, np.inf, np.float32)
        allowed[lag:] = drive.of["mixture_target"][: mixture.size - lag] + limits["lean_over_target"]
    else:
        allowed = np.full(mixture.size, limits["lean_most"], np.float32)
    lean = then & (mixture > allowed)
    spans = list(spans_of(drive, lean, limits["lean_hold_s"]))
    if not spans:
        return
    over = np.where(lean, mixture - allowed, -np.inf)
    worst = max(spans, key=lambda span: float(over[span.rows].max()))
    k = worst.first + int(np.argmax(over[worst.rows]))
    yield Finding(
        rule="LOG-40",
        severity="fault",
        label=f"at {drive.time_s[k]:.1f} s",
        wrong=(
            f"lean under load, {times(len(spans))}, worst at {drive.of['engine_speed'][k]:.0f} 1/min and "
            f"{drive.of['manifold_pressure'][k]:.0f} kPa"
        ),
        found=float(mixture[k]),
        allowed=float(allowed[k]),
        unit="lambda",
        source=limit_source("lean_over_target"),
        mend="No more load until it is found: fuel pressure under load, injector duty, then the table",
    )


def _speed_and_knock(drive: Drive, limits: Mapping[str, float]) -> Iterator[Finding]:
    if drive.has("engine_speed"):
        speed = drive.of["engine_speed"]
        over = list(spans_of(drive, speed > limits["limit_rpm"]))
        if over:
            most = max(float(np.nanmax(speed[span.rows])) for span in over)
            yield Finding(
                rule="LOG-41",
                severity="fault",
                label=f"at {over[0].at_s:.1f} s",
                wrong=f"over the highest speed {times(len(over))}",
                found=most,
                allowed=limits["limit_rpm"],
                unit="1/min",
                source=limit_source("limit_rpm"),
                mend=(
                    "Set the controller's limit and try it at a low figure first; type the engine's own "
                    "limit in the mapping"
                ),
            )
    if drive.has("knock"):
        knock = np.nan_to_num(drive.of["knock"]).astype(np.float64)
        rises = np.diff(knock, prepend=knock[:1])
        counted = (
            float(rises[rises > 0.0].sum()) if bool((rises >= 0.0).all()) else float(np.count_nonzero(rises > 0.0))
        )
        if counted > limits["knock_most"]:
            at_s = float(drive.time_s[np.argmax(rises > 0.0)])
            where = _mostly(drive, rises > 0.0)
            yield Finding(
                rule="LOG-42",
                severity="fault",
                label=f"first at {at_s:.1f} s",
                wrong=f"knock was counted{where}",
                found=counted,
                allowed=limits["knock_most"],
                unit="times",
                source=limit_source("knock_most"),
                mend="Take spark back there and listen; no more load until it is quiet",
            )


def _mostly(drive: Drive, rows: NDArray[np.bool_]) -> str:
    """Round which speed and pressure some rows lie, in words; nothing where neither is known."""
    said = []
    for name, unit in (("engine_speed", "1/min"), ("manifold_pressure", "kPa")):
        figures = drive.of[name][rows] if drive.has(name) else np.empty(0, np.float32)
        if np.isfinite(figures).any():
            said.append(f"{float(np.nanmedian(figures)):.0f} {unit}")
    return f", mostly round {' and '.join(said)}" if said else ""


def _charge_drops(drive: Drive, limits: Mapping[str, float], dropped: Sequence[Span], at: tuple[str, ...]) -> Finding:
    """The alternator lets go for a while and comes back."""
    volts = drive.of["battery"]
    longest = max(dropped, key=lambda span: span.lasts_s)
    return Finding(
        rule="LOG-32",
        severity="fault",
        at=at,
        label=f"controller's supply at {longest.at_s:.1f} s",
        wrong=f"charging volts fall away {times(len(dropped))}, for {longest.lasts_s:.0f} s at the longest",
        found=float(np.nanmedian(volts[longest.rows])),
        allowed=limits["charge_least_v"],
        unit="V",
        source=limit_source("charge_least_v"),
        mend=(
            "See what was switched on then; wiggle the alternator's plug and its field lead at idle, look at belt and "
            "brushes; never lift a battery lead with the engine running"
        ),
    )


def _air(drive: Drive, limits: Mapping[str, float]) -> Iterator[Finding]:
    if not drive.has("air", "manifold_pressure"):
        return
    hot = (drive.of["manifold_pressure"] >= limits["lean_load_kpa"]) & (drive.of["air"] > limits["air_most_c"])
    spans = list(spans_of(drive, hot, _HOLD_S))
    if spans:
        yield Finding(
            rule="LOG-43",
            severity="warning",
            label=f"at {spans[0].at_s:.1f} s",
            wrong="the air drawn in is hot under load",
            found=max(float(np.nanmax(drive.of["air"][span.rows])) for span in spans),
            allowed=limits["air_most_c"],
            unit="°C",
            source=limit_source("air_most_c"),
            mend="Lead cooler air to the inlet; let spark come back with air temperature",
        )
