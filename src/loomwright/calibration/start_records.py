"""What is a starting number, a starting table: a value with its formula, source, range, and what it is worth?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from loomwright.calibration.engine import Engine
from loomwright.tables.start_figures import start_figures

__all__ = ["CAREFUL", "HEADINGS", "StartNumber", "StartTable", "Supply", "figure_of", "number_of", "shown_rows"]

CAREFUL = "a careful start, to be measured"
"""What most of them are worth."""
HEADINGS: Mapping[str, str] = MappingProxyType(
    {
        "rpm": "engine speed, 1/min",
        "supply_v": "supply, V",
        "coil_v": "at the coil, V",
        "delay_ms": "delay, ms",
        "dwell_ms": "dwell, ms",
        "most_rpm": "time for it up to, 1/min",
        "past_ms": "dwell past the ballast, ms",
        "coolant_c": "coolant, °C",
        "warm_up": "fuel factor warming up",
        "crank_lambda": "lambda cranking",
        "after_start_frac": "added after the start, share",
        "idle_rpm": "idle speed, 1/min",
        "open_frac": "opening, share",
        "baro_kpa": "air pressure, kPa",
        "ethanol_percent": "ethanol by volume, %",
        "air_fuel": "air-fuel ratio",
        "kg_per_l": "density, kg/L",
        "volume_factor": "volume against petrol",
        "sensor_v": "at the input, V",
        "sensor_c": "temperature, °C",
        "sensor_ohm": "sensor, Ω",
        "reading": "reading",
    }
)
"""Heading of a table -> its words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StartNumber:
    """One number. value, least, most: in `unit`; least and most None where there is no range.

    formula: how it came about.   source: keys of `sources.csv`, or in words.   standing: what it is worth.
    """

    name: str
    says: str
    value: float
    least: float | None
    most: float | None
    unit: str
    formula: str
    source: str
    standing: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StartTable:
    """A table. columns: its headings.   rows: of figures, None where there is none.   unit: of the cells. [-]"""

    name: str
    says: str
    columns: tuple[str, ...]
    rows: tuple[tuple[float | None, ...], ...]
    unit: str
    formula: str
    source: str
    standing: str

    @property
    def is_grid(self) -> bool:
        """Whether its columns are breakpoints too: one figure over two things."""
        return all(heading.lstrip("-").replace(".", "").isdigit() for heading in self.columns[1:])


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """What the solved network gives. state: in words.

    controller_v: at its supply.   coil_v: at what feeds the coil, before its ballast where it has one.
    bypass_v: at the coil itself where a by-pass takes the ballast out, None where none does. [V]
    """

    state: str
    controller_v: float
    coil_v: float
    bypass_v: float | None = None


def shown_rows(table: StartTable) -> tuple[tuple[str, ...], ...]:
    """The cells of a table as they are read: as many decimals down a column, or all over a grid; blank where none.

    Example:
        >>> made = StartTable(name="", says="", columns=("volts", "ms"), rows=((8.0, 1.6), (9.0, 1.36)), unit="ms",
        ...     formula="", source="", standing="")
        >>> shown_rows(made)
        (('8', '1.60'), ('9', '1.36'))
    """
    across = range(len(table.columns))
    digits = [max((_decimals(row[n]) for row in table.rows), default=0) for n in across]
    if table.is_grid and len(digits) > 1:
        digits = [digits[0]] + [max(digits[1:])] * (len(digits) - 1)
    return tuple(
        tuple("" if cell is None else f"{cell:.{count}f}" for cell, count in zip(row, digits, strict=True))
        for row in table.rows
    )


def _decimals(cell: float | None) -> int:
    return 0 if cell is None else len(f"{cell:.4f}".rstrip("0").partition(".")[2])


def figure_of(name: str, engine: Engine, formula: str = "the table of starting figures") -> StartNumber:
    """A figure of the table as a number: the engine's own where its file sets it."""
    row = start_figures()[name]
    return StartNumber(
        name=name,
        says=row.meaning,
        value=engine.at(name),
        least=row.least,
        most=row.most,
        unit=row.unit,
        formula="said of this engine" if name in engine.given else formula,
        source="the job, or the engine's file" if name in engine.given else row.source,
        standing=CAREFUL,
    )


def number_of(
    name: str,
    says: str,
    value: float,
    unit: str,
    formula: str,
    source: str,
    spread: float = 0.0,
    standing: str = CAREFUL,
) -> StartNumber:
    """A number that was worked out.

    Args:
        value: in `unit`.
        spread: half its range as a share of it. [-]
    """
    bounds = (value * (1.0 - spread), value * (1.0 + spread)) if spread else (None, None)
    return StartNumber(
        name=name,
        says=says,
        value=value,
        least=bounds[0],
        most=bounds[1],
        unit=unit,
        formula=formula,
        source=source,
        standing=standing,
    )
