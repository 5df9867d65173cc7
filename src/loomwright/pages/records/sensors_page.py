"""What does the page of sensors show: what was typed, the table of it, what does not agree before the crank?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from loomwright.calibration.sensor_curves import SensorCurve
from loomwright.calibration.start_records import HEADINGS, shown_rows
from loomwright.pages.addresses import job_path
from loomwright.quantities.printing import for_print
from loomwright.refusals import Problem
from loomwright.startup.job_sensors import JobSensor
from loomwright.startup.kept_readings import KeptCurve, KeptSensors

__all__ = ["GROUPS", "SensorField", "SensorGroup", "SensorsPage", "sensors_page"]

GROUPS: Mapping[str, tuple[tuple[str, str, str], ...]] = {
    "Which sensor": (("sensor", "Its name, or its part", "coolant sensor"),),
    "A thermistor": (
        ("thermistor", "Two or three of °C:Ω", "0:5975 50:806.9 100:175.7"),
        ("pull_up", "Pull-up in the controller [Ω]", "2490"),
        ("coldest", "Table from [°C]", "-40"),
        ("hottest", "to [°C]", "120"),
    ),
    "Another sensor": (
        ("points", "Two or more of V:reading", "0.5:0 4.5:10"),
        ("unit", "Unit of the reading", "bar"),
    ),
    "Both": (
        ("reference", "Reference, as measured [V]", "5"),
        ("breakpoints", "Breakpoints the controller takes", "16"),
    ),
    "Key on, before the first crank": (
        ("hours", "It has stood [h]", ""),
        ("air_c", "Thermometer beside it [°C]", ""),
        ("coolant_sensor_c", "Coolant sensor says [°C]", ""),
        ("air_sensor_c", "Air sensor says [°C]", ""),
        ("baro_kpa", "Barometer, at this height [kPa]", ""),
        ("manifold_kpa", "Manifold sensor says [kPa]", ""),
        ("throttle_v", "Throttle shut [V]", ""),
        ("battery_v", "Meter on the battery [V]", ""),
        ("controller_v", "Controller says [V]", ""),
    ),
    "Ground offset": (("earth", "Volts expected / read", "coolant=2.51/2.56; air=2.40/2.46"),),
}
"""Group -> its fields: name, label, what one looks like."""
_LABELS = {name: label for fields in GROUPS.values() for name, label, _ in fields}


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorField:
    """One field. like: what one looks like."""

    name: str
    label: str
    value: str
    like: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorGroup:
    """Fields that belong together."""

    title: str
    fields: tuple[SensorField, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorsPage:
    """The page. laws: the curve and its pull-up, in words.   chart, csv: addresses, blank where there is no table.

    said: what does not agree before the crank.   looked: it was asked for.
    kept: sensors on record: name, its points, what is wrong with them, address.   agree: what all on record say.
    there: sensors of the job: part, what is known of it, address that fills it in.
    """

    here: str
    groups: tuple[SensorGroup, ...]
    problems: tuple[Problem, ...]
    title: str
    laws: tuple[str, ...]
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    chart: str
    csv: str
    mind: tuple[str, ...]
    standing: str
    looked: bool
    said: tuple[str, ...]
    kept: tuple[tuple[str, str, str, str], ...]
    there: tuple[tuple[str, str, str], ...]
    agree: tuple[str, ...]


def sensors_page(
    job: str,
    typed: Mapping[str, str],
    made: SensorCurve | None,
    *,
    looked: bool,
    said: Sequence[str],
    problems: Sequence[Problem],
    kept: KeptSensors | None = None,
    there: Sequence[JobSensor] = (),
) -> SensorsPage:
    """The page.

    Args:
        job: its name.
        typed: name -> text.
        made: the table, None where none was asked for.
        looked: sensors were compared.
        said: what does not agree.
        problems: why what was typed was not taken.
        kept: sensors on record.
        there: sensors of the job.
    """
    return SensorsPage(
        here=job_path(job, "sensors"),
        groups=tuple(
            SensorGroup(
                title=title,
                fields=tuple(
                    SensorField(name=name, label=label, value=typed.get(name, ""), like=like)
                    for name, label, like in fields
                ),
            )
            for title, fields in GROUPS.items()
        ),
        problems=tuple(_labelled(one) for one in problems),
        title="" if made is None else made.table.says,
        laws=() if made is None else tuple(_laws(made)),
        columns=() if made is None else tuple(HEADINGS.get(one, one) for one in made.table.columns),
        rows=() if made is None else shown_rows(made.table),
        chart="" if made is None else job_path(job, "sensors", "table.svg", query=typed),
        csv="" if made is None else job_path(job, "sensors", "table.csv", query=typed),
        mind=() if made is None else made.says,
        standing="" if made is None else made.table.standing,
        looked=looked,
        said=tuple(said),
        kept=() if kept is None else tuple(_kept(job, one) for one in kept.curves),
        there=tuple(_there(job, one) for one in there),
        agree=() if kept is None or not kept.looked else kept.says or ("All that were compared agree",),
    )


def _labelled(one: Problem) -> Problem:
    """A problem by the words of its field, as they stand on the page."""
    name = one.column.replace("-", "_")
    return replace(one, column=_LABELS[name]) if name in _LABELS else one


def _kept(job: str, one: KeptCurve) -> tuple[str, str, str, str]:
    points = "; ".join(
        f"{row.shown:g} {row.shown_unit} at {row.real or 0.0:g} {row.real_unit}".strip() for row in one.points
    )
    return one.sensor, points, one.why, job_path(job, "sensors", query={"of": one.sensor})


def _there(job: str, one: JobSensor) -> tuple[str, str, str]:
    pull = f", pull-up {one.pull_up_ohm:g} Ω" if one.is_thermistor and one.pull_up_ohm is not None else ""
    read = "by its ohms" if one.is_thermistor else "by its volts"
    says = f"{one.name or one.part}, read {read} at {one.at}{pull}"
    return one.part, says, job_path(job, "sensors", query={"of": one.part})


def _laws(made: SensorCurve) -> list[str]:
    worst = (
        f"At these breakpoints the worst is {for_print(made.worst)} {made.unit} from the curve; evenly spread it would "
        f"be {for_print(made.even)}."
    )
    laws = [worst, made.table.formula]
    if made.curve is not None:
        laws.append(f"A {made.curve.a:.9e}, B {made.curve.b:.9e}, C {made.curve.c:.9e}")
    if made.pull_up is not None:
        suits = made.pull_up
        laws.append(
            f"Pull-up for this span: {for_print(suits.widest_ohm)} Ω spans most volts; {for_print(suits.finest_ohm)} Ω "
            f"tells best where it is worst, {for_print(suits.finest_mv_per_k)} mV a degree, and warms the sensor by "
            f"{for_print(suits.heat_mw)} mW at most."
        )
    return laws
