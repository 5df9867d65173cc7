"""What stands on paper of the timing light and of the sensors: the readings that were kept, and what they say?

Plain words and printed figures only, for the papers of the first start and what is handed over.
"""

from __future__ import annotations

from dataclasses import dataclass

from loomwright.calibration.start_records import HEADINGS, StartTable
from loomwright.startup.kept_readings import KeptCurve, KeptSensors, KeptTiming

__all__ = ["LIGHT_CHART", "KeptSheet", "LightSheet", "SensorSheet", "kept_sheet", "sensor_chart"]

LIGHT_CHART = "light"
"""Name of the drawing of the light's readings."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LightSheet:
    """The base timing. rows: speed, commanded, seen, what became of it.   says: what to correct; or why nothing."""

    rows: tuple[tuple[str, ...], ...]
    fitted: tuple[str, ...]
    says: tuple[str, ...]
    is_true: bool
    changed: str
    read: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorSheet:
    """One sensor: its points as read, and the table they make.   chart: name of its drawing, blank where none."""

    sensor: str
    points: tuple[tuple[str, ...], ...]
    says: tuple[str, ...]
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    read: str
    chart: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptSheet:
    """Both. light: None where no light was read.   agree: what was found of all sensors together, in words."""

    light: LightSheet | None
    sensors: tuple[SensorSheet, ...]
    agree: tuple[str, ...]


def kept_sheet(timing: KeptTiming | None, sensors: KeptSensors | None) -> KeptSheet:
    """What is printed of what was kept.

    Args:
        timing: of the light; None where it was not read.
        sensors: on record; None where there are none.
    """
    agree: tuple[str, ...] = ()
    if sensors is not None and sensors.looked:
        agree = tuple(f"{says}." for says in sensors.says) or ("All sensors that were compared agree.",)
    return KeptSheet(
        light=None if timing is None else _light(timing),
        sensors=() if sensors is None else tuple(_sensor(one) for one in sensors.curves),
        agree=agree,
    )


def sensor_chart(sensor: str) -> str:
    """Name of the drawing of a sensor's table."""
    return f"sensor {sensor}"


def _light(timing: KeptTiming) -> LightSheet:
    found = timing.found
    apart = {} if found is None else {one.number: one.why for one in found.apart}
    pairs = () if found is None else (("offset", found.offset), ("delay", found.delay))
    return LightSheet(
        rows=tuple(
            (f"{one.rpm:g}", f"{one.commanded_deg:g}", f"{one.seen_deg:g}", apart.get(number, ""))
            for number, one in enumerate(timing.readings, start=1)
        ),
        fitted=tuple(
            f"{name} {one.value:+.1f} {one.unit}, {one.low:+.1f} to {one.high:+.1f} with 95 % confidence"
            for name, one in pairs
            if one is not None
        ),
        says=(timing.why,) if found is None else found.says,
        is_true=found is not None and found.is_true,
        changed=timing.changed,
        read=timing.read,
    )


def _sensor(one: KeptCurve) -> SensorSheet:
    made = one.curve
    table: StartTable | None = None if made is None else made.table
    law = (
        ()
        if made is None or made.curve is None
        else (f"A {made.curve.a:.6e}, B {made.curve.b:.6e}, C {made.curve.c:.6e}",)
    )
    return SensorSheet(
        sensor=one.sensor,
        points=tuple(
            (
                f"{row.shown:g} {row.shown_unit}".strip(),
                "" if row.real is None else f"{row.real:g} {row.real_unit}".strip(),
                row.instrument,
                row.time,
            )
            for row in one.points
        ),
        says=(one.why,) if made is None else (table.says if table else "", *law, *made.says),
        columns=() if table is None else tuple(HEADINGS.get(name, name) for name in table.columns),
        rows=()
        if table is None
        else tuple(tuple("" if cell is None else f"{cell:g}" for cell in row) for row in table.rows),
        read=one.read,
        chart="" if table is None else sensor_chart(one.sensor),
    )
