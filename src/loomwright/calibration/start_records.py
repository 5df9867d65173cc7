"""What is a starting number, and a starting table: a value with its formula, source, range and what it is worth?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from loomwright.calibration.engine import Engine
from loomwright.tables.start_figures import start_figures

__all__ = ["CAREFUL", "HEADINGS", "StartNumber", "StartTable", "figure_of", "number_of"]

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
        formula="said by the engine's file" if name in engine.changed else formula,
        source=row.source,
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
