"""What do the readings say that were kept with the job: of the timing light, and of sensors beside the truth?

In: the sheets `light_readings` and `sensor_points`. Out: the verdict on the timing from the readings since the last
correction; a curve for each sensor from its newest points; what did not agree before the first crank, and of the
earths. A point measured again at the same truth counts as it was read last. Where the readings of a sensor make no
curve, the reason stands in its place; nothing is averaged over it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from loomwright.calibration.sensor_curves import Compared, SensorCurve, earth_lift, points_curve, thermistor_curve
from loomwright.calibration.sensor_words import BEFORE, before_of, compared_of, pairs_of
from loomwright.calibration.sensors import before_crank
from loomwright.job.job import Job
from loomwright.job.rows import LightReading, SensorPoint
from loomwright.refusals import BadDocument, OutOfReach
from loomwright.startup.job_facts import facts_of
from loomwright.startup.job_numbers import said_of
from loomwright.startup.job_sensors import USUAL_PULL_UP_OHM, pull_up_of
from loomwright.startup.timing import Timing, TimingReading, teeth_of, timing_of

__all__ = [
    "CURVE",
    "KeptCurve",
    "KeptSensors",
    "KeptTiming",
    "curve_text",
    "kept_light",
    "kept_sensors",
    "kept_timing",
    "light_cells",
    "sensor_cells",
]

CURVE, BEFORE_CRANK, GROUND = "curve", "before the crank", "ground offset"
"""What a sensor is read for."""
Answer = TypeVar("Answer")
_THREE = 3
_REFERENCE_V = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptTiming:
    """The readings that count and their verdict. found: None where nothing could be fitted.   why: then, in words."""

    readings: tuple[TimingReading, ...]
    found: Timing | None
    why: str
    changed: str
    read: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptCurve:
    """A sensor's points and its curve. curve: None where they make none.   why: then, in words.   read: when last."""

    sensor: str
    points: tuple[SensorPoint, ...]
    curve: SensorCurve | None
    why: str
    read: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptSensors:
    """The sensors on record. looked: whether anything was compared.   says: what did not agree."""

    curves: tuple[KeptCurve, ...]
    looked: bool
    says: tuple[str, ...]


def kept_light(job: Job) -> tuple[LightReading, ...]:
    """The readings of the light since the last correction, as they were written down."""
    last = max((n for n, row in enumerate(job.light_readings) if row.changed), default=0)
    return job.light_readings[last:]


def kept_timing(job: Job) -> KeptTiming | None:
    """What the kept readings of the light say; None where there are none.

    Args:
        job: with its engine in the sheet `vehicle`, or its injectors; four cylinders where nobody says.
    """
    rows = kept_light(job)
    if not rows:
        return None
    readings = tuple(
        TimingReading(
            rpm=row.rpm,
            commanded_deg=row.commanded_deg,
            seen_deg=row.seen_deg,
            cylinder=row.cylinder,
            stroke=row.stroke,
        )
        for row in rows
    )
    wheel = next((row.wheel for row in reversed(rows) if row.wheel), "")
    mark = next((row.mark for row in reversed(rows) if row.mark), "1")
    found, why = _told(
        lambda: timing_of(
            readings,
            cylinders=int(float(str(said_of(job).get("cylinders", 4)).replace(",", "."))),
            teeth=teeth_of(wheel),
            wasted_spark="wasted_spark" in facts_of(job),
            first=mark,
        )
    )
    return KeptTiming(readings=readings, found=found, why=why, changed=rows[0].changed, read=rows[-1].time)


def light_cells(
    readings: Sequence[TimingReading], *, wheel: str = "", mark: str = "", changed: str = ""
) -> list[dict[str, str]]:
    """Rows of the sheet `light_readings`, heading -> text.

    Args:
        readings: as they were read.
        wheel: the crank wheel, where it is known.
        mark: cylinder whose mark was looked at.
        changed: what was corrected before the first of them; readings before it count no more.
    """
    rows = []
    for number, one in enumerate(readings):
        cells = {
            "rpm": f"{one.rpm:g}",
            "commanded_deg": f"{one.commanded_deg:g}",
            "seen_deg": f"{one.seen_deg:g}",
            "cylinder": one.cylinder,
            "stroke": one.stroke,
            "wheel": wheel,
            "mark": mark,
            "changed": changed if number == 0 else "",
        }
        rows.append({name: text for name, text in cells.items() if text})
    return rows


def kept_sensors(job: Job) -> KeptSensors | None:
    """What the kept points of the sensors say; None where there are none."""
    if not job.sensor_points:
        return None
    names = dict.fromkeys(row.sensor for row in job.sensor_points if row.about == CURVE)
    curves = tuple(
        _curve(
            name,
            [row for row in job.sensor_points if row.sensor == name],
            pull_up_of(job, name) or USUAL_PULL_UP_OHM,
        )
        for name in names
    )
    says: list[str] = []
    before = {row.sensor: f"{row.shown:g}" for row in job.sensor_points if row.about == BEFORE_CRANK}
    if before:
        found, why = _told(lambda: before_crank(before_of(before)))
        says += found or ([why] if why else [])
    lifted = {row.sensor: row for row in job.sensor_points if row.about == GROUND and row.real is not None}
    if lifted:
        compared = [
            Compared(name=name, expected=(row.real or 0.0) / _REFERENCE_V, read=row.shown / _REFERENCE_V)
            for name, row in lifted.items()
        ]
        more, why = _told(lambda: earth_lift(compared, reference_v=_REFERENCE_V))
        says += more or ([why] if why else [])
    return KeptSensors(curves=curves, looked=bool(before or lifted), says=tuple(says))


def sensor_cells(typed: Mapping[str, str]) -> list[dict[str, str]]:
    """Rows of the sheet `sensor_points`, heading -> text, of what was typed on the page or the command line.

    Args:
        typed: `sensor`, `thermistor` or `points` with `pull_up` and `unit`, the names read before the crank, `earth`.
    Raises:
        BadDocument: pairs that are none, figures that are none.
        OutOfReach: points without the sensor they are of.
    """
    rows: list[dict[str, str]] = []
    sensor = typed.get("sensor", "").strip()
    if ("thermistor" in typed or "points" in typed) and not sensor:
        raise OutOfReach("sensor", "", "the sensor's name, or its part: points are kept under it")
    for real_c, ohm in pairs_of(typed.get("thermistor", "")):
        cells = {"shown": f"{ohm:g}", "shown_unit": "ohm", "real": f"{real_c:g}", "real_unit": "°C"}
        pull = {"pull_up_ohm": typed["pull_up"]} if typed.get("pull_up") else {}
        rows.append({"sensor": sensor, "about": CURVE, **cells, **pull})
    for volt, real in pairs_of(typed.get("points", "")):
        cells = {"shown": f"{volt:g}", "shown_unit": "V", "real": f"{real:g}", "real_unit": typed.get("unit", "")}
        rows.append({"sensor": sensor, "about": CURVE, **{name: text for name, text in cells.items() if text}})
    before = {name: typed[name] for name in BEFORE if typed.get(name, "").strip()}
    if before:
        before_of(before)
    for name, text in before.items():
        cells = {"shown": text.replace(",", "."), "shown_unit": _unit_of(name)}
        rows.append({"sensor": name, "about": BEFORE_CRANK, **{each: word for each, word in cells.items() if word}})
    for one in compared_of(typed.get("earth", ""), reference_v=_REFERENCE_V):
        cells = {"shown": f"{_REFERENCE_V * one.read:g}", "real": f"{_REFERENCE_V * one.expected:g}"}
        rows.append({"sensor": one.name, "about": GROUND, **cells, "shown_unit": "V", "real_unit": "V"})
    return rows


def curve_text(points: Sequence[SensorPoint]) -> str:
    """The points of a curve as they are typed: `0:5975 50:806.9` of a thermistor, `0.5:0 4.5:10` of another."""
    if points and points[0].shown_unit == "ohm":
        return " ".join(f"{row.real or 0.0:g}:{row.shown:g}" for row in points)
    return " ".join(f"{row.shown:g}:{row.real or 0.0:g}" for row in points)


def _curve(sensor: str, rows: Sequence[SensorPoint], pull_up_ohm: float) -> KeptCurve:
    newest = {row.real: row for row in rows if row.about == CURVE and row.real is not None}
    points = tuple(sorted(newest.values(), key=lambda row: row.real or 0.0))
    if points and all(row.shown_unit == "ohm" for row in points):
        if len(points) > _THREE:  # three points fix the curve: the ends, and the one nearest the middle between them
            middle = ((points[0].real or 0.0) + (points[-1].real or 0.0)) / 2.0
            points = (points[0], min(points[1:-1], key=lambda row: abs((row.real or 0.0) - middle)), points[-1])
        pull = next((row.pull_up_ohm for row in reversed(rows) if row.pull_up_ohm), pull_up_ohm)
        curve, why = _told(lambda: thermistor_curve([(row.real or 0.0, row.shown) for row in points], pull_up_ohm=pull))
    else:
        unit = next((row.real_unit for row in reversed(points) if row.real_unit), "")
        pairs = sorted((row.shown, row.real or 0.0) for row in points)
        curve, why = _told(lambda: points_curve(pairs, count=max(2, min(16, len(pairs))), unit=unit))
    return KeptCurve(sensor=sensor, points=points, curve=curve, why=why, read=rows[-1].time)


def _unit_of(name: str) -> str:
    return {"c": "°C", "kpa": "kPa", "v": "V"}.get(name.rpartition("_")[2], "")


def _told(ask: Callable[[], Answer]) -> tuple[Answer | None, str]:
    """An answer, or none of it and why in words."""
    try:
        return ask(), ""
    except BadDocument as refusal:
        return None, " ".join(one.says for one in refusal.problems)
    except OutOfReach as refusal:
        return None, f"{refusal.name} {refusal.found}: {refusal.allowed}"
