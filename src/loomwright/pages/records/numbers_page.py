"""What does the page of starting numbers show: what is known of the engine, each number with its way, every table?"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from loomwright.calibration.engine import ENGINE, LISTS, WORDS
from loomwright.calibration.start_records import HEADINGS, StartNumber, StartTable, shown_rows
from loomwright.calibration.starting import StartNumbers
from loomwright.pages.addresses import job_path
from loomwright.quantities.printing import for_print
from loomwright.refusals import Problem
from loomwright.tables.load import read_rows

__all__ = ["FIELDS", "EngineField", "NumberLine", "NumbersPage", "TableShown", "numbers_page"]

FIELDS: Mapping[str, str] = {
    "displacement_cc": "Displacement, all cylinders [cc]",
    "cylinders": "Cylinders",
    "compression": "Compression ratio",
    "peak_torque_rpm": "Speed of most torque [1/min]",
    "limit_rpm": "Highest speed [1/min]",
    "idle_rpm": "Idle speed, warm [1/min]",
    "most_kpa": "Most in the manifold, absolute [kPa]",
    "power_kw": "Power wanted [kW]",
    "fuel": "Fuel: petrol, E10, E85, …",
    "injector_cc_per_min": "Injector flow [cc/min]",
    "injector_kpa": "… measured at [kPa]",
    "shots": "Shots of each injector in two turns",
    "fuel_kpa": "Fuel pressure at the rail [kPa]",
    "regulator": "Pressure regulator",
    "delays": "Injector delay, volts:ms apart by blanks",
    "coils": "Coils",
    "coil_mh": "Coil [mH]",
    "coil_ohm": "Coil [Ω]",
    "coil_a": "Coil current wanted [A]",
    "thermostat_c": "Thermostat begins to open [°C]",
    "thermostat_full_c": "… is fully open [°C]",
    "rpm": "Breakpoints: speed [1/min]",
    "kpa": "Breakpoints: manifold [kPa]",
    "volts": "Breakpoints: supply [V]",
    "coolant": "Breakpoints: coolant [°C]",
}
"""Name in the sheet `vehicle` -> its label."""
_NARROW = 2
_KEY = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)+")


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineField:
    """One field. choices: words it may be; none where it is a figure or a list.   usual: taken where it is blank."""

    name: str
    label: str
    value: str
    usual: str
    choices: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberLine:
    """One number, printed. span: its range in words, blank where there is none."""

    says: str
    value: str
    unit: str
    span: str
    formula: str
    source: str
    standing: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TableShown:
    """One table. columns: headings in words.   rows: printed.   chart, csv: addresses.

    is_narrow: there is room for it beside its drawing.
    """

    name: str
    title: str
    says: str
    unit: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    formula: str
    source: str
    standing: str
    chart: str
    csv: str
    is_narrow: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class NumbersPage:
    """The page. lacking: what must be known before there is any number.   problems: why what was typed was not taken.

    sources: key -> title of those named on the page.
    """

    save: str
    sheet: str
    fields: tuple[EngineField, ...]
    lacking: tuple[Problem, ...]
    problems: tuple[Problem, ...]
    numbers: tuple[NumberLine, ...]
    tables: tuple[TableShown, ...]
    asks: tuple[str, ...]
    warns: tuple[str, ...]
    sources: tuple[tuple[str, str], ...]


def numbers_page(
    job: str,
    said: Mapping[str, object],
    made: StartNumbers | None,
    *,
    lacking: Sequence[Problem] = (),
    problems: Sequence[Problem] = (),
) -> NumbersPage:
    """The page.

    Args:
        job: its name.
        said: what is known of the engine, name -> value.
        made: the numbers; None where too little is known.
        lacking: what is missing then.
        problems: why what was typed was not taken.
    """
    numbers = () if made is None else made.numbers
    tables = () if made is None else made.tables
    return NumbersPage(
        save=job_path(job, "numbers"),
        sheet=job_path(job, "sheet", "vehicle"),
        fields=tuple(_field(name, label, said, _breakpoints(tables)) for name, label in FIELDS.items()),
        lacking=tuple(_labelled(one) for one in lacking),
        problems=tuple(_labelled(one) for one in problems),
        numbers=tuple(_number(one) for one in numbers),
        tables=tuple(_table(job, one) for one in tables),
        asks=() if made is None else made.asks,
        warns=() if made is None else made.warns,
        sources=_sources([*(one.source for one in numbers), *(one.source for one in tables)]),
    )


def _labelled(one: Problem) -> Problem:
    """A problem by the words of its field, as they stand on the page."""
    return replace(one, sheet="", column=FIELDS[one.column].lstrip("… ")) if one.column in FIELDS else one


def _breakpoints(tables: Sequence[StartTable]) -> Mapping[str, Sequence[str]]:
    """Breakpoints that were taken for speed and manifold: as far as this engine goes."""
    grid = next((one for one in tables if one.name == "efficiency"), None)
    return {} if grid is None else {"rpm": [f"{row[0]:g}" for row in grid.rows], "kpa": grid.columns[1:]}


def _field(name: str, label: str, said: Mapping[str, object], breakpoints: Mapping[str, Sequence[str]]) -> EngineField:
    value = said.get(name, "")
    usual = ""
    if name in LISTS:
        usual = " ".join(breakpoints.get(name, [f"{one:g}" for one in LISTS[name]]))
    elif name in ENGINE and ENGINE[name][2] is not None:
        usual = f"{ENGINE[name][2]:g}"
    elif name in WORDS:
        usual = WORDS[name][0]
    return EngineField(name=name, label=label, value=str(value), usual=usual, choices=WORDS.get(name, ()))


def _number(one: StartNumber) -> NumberLine:
    span = "" if one.least is None or one.most is None else f"{for_print(one.least)} to {for_print(one.most)}"
    return NumberLine(
        says=one.says,
        value=for_print(one.value),
        unit=one.unit,
        span=span,
        formula=one.formula,
        source=one.source,
        standing=one.standing,
    )


def _table(job: str, one: StartTable) -> TableShown:
    return TableShown(
        name=one.name,
        title=one.name.replace("_", " ").capitalize(),
        says=one.says,
        unit="" if one.unit == "-" else one.unit,
        columns=tuple(HEADINGS.get(heading, heading) for heading in one.columns),
        rows=shown_rows(one),
        formula=one.formula,
        source=one.source,
        standing=one.standing,
        chart=job_path(job, "numbers", f"{one.name}.svg"),
        csv=job_path(job, "numbers", f"{one.name}.csv"),
        is_narrow=len(one.columns) <= _NARROW,
    )


def _sources(texts: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """The sources whose keys stand in some texts."""
    titles = {row["key"]: row["title"] for row in read_rows("sources")}
    keys = dict.fromkeys(key for text in texts for key in _KEY.findall(text) if key in titles)
    return tuple((key, titles[key]) for key in keys)
