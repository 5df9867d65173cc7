"""How much resistance does a metre of wire have, and how thick is it?

Resistance belongs to the construction, not to the size's name, so it is looked up:

  metric   IEC 60228 class 5, plain copper, the maximum at 20 °C as reproduced; taken for road-vehicle wire too, because
           it is read and lies above the remembered maximum of ISO 6722 (by 5 % at 2.5 mm2): a drop is rounded up
  awg      tin-plated stranded copper by gauge number, the maximum at 20 °C
  road     the remembered maximum of ISO 6722, for comparison

Between rows a straight line in the logarithms of size and resistance; outside the rows there is no figure. Hot:

    R(T) = R20 * (234.5 + T) / 254.5

Source: iec-60228, faa-ac-43-13-1b (Table 11-9 and the hot-run formula), from-memory (ISO 6722); see `conductors.md`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from loomwright.quantities.gauge import gauge_size_mm2
from loomwright.refusals import OutOfReach
from loomwright.tables.constants import constant
from loomwright.tables.curves import between_rows
from loomwright.tables.load import read_rows

__all__ = [
    "GAUGES",
    "Conductor",
    "conductor",
    "conductor_mm",
    "gauge_number",
    "hot_factor",
    "ohm_per_m",
    "ohm_per_m_20c",
    "outside_mm",
    "sizes_mm2",
]

GAUGES = ("metric", "awg", "road")
"""The tables a wire's resistance can be looked up in."""

_KILO = 1000.0
_KFT_M = 304.8
_COLDEST_C = -60.0
_HOTTEST_C = 1083.0
_AT_C = 20.0

_TABLES: Mapping[str, tuple[str, str, str, float]] = {
    "metric": ("conductors_metric", "size_mm2", "class5_plain_ohm_per_km", _KILO),
    "awg": ("conductors_awg", "awg", "r20_ohm_per_kft", _KFT_M),
    "road": ("conductors_road", "size_mm2", "r20_ohm_per_km", _KILO),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Conductor:
    """A size of wire as its table has it.

    size_mm2: nominal area. [mm2]   r20_ohm_per_m: the table's maximum at 20 °C. [ohm/m]
    interpolated: it stands between two rows.   source: key in `sources.csv`.   grade: read or recalled.
    """

    size_mm2: float
    gauge: str
    r20_ohm_per_m: float
    interpolated: bool
    source: str
    grade: str


def conductor(size_mm2: float, gauge: str = "metric") -> Conductor:
    """What the table says of a size, and how well it is known.

    Args:
        size_mm2: nominal area; for `awg` the area of the solid wire of the number. [mm2]
        gauge: `metric`, `awg` or `road`.
    Raises:
        OutOfReach: no such table, or a size outside it.
    """
    if gauge not in GAUGES:
        raise OutOfReach("gauge", gauge, " ".join(GAUGES))
    return _conductor(size_mm2, gauge)


@cache
def _conductor(size_mm2: float, gauge: str) -> Conductor:
    """The same, looked up once."""
    value, (low, high) = between_rows("size_mm2", size_mm2, _resistances(gauge), unit="mm2")
    # the less certain of the two rows decides how the figure is marked
    row = max((_rows(gauge)[low], _rows(gauge)[high]), key=lambda one: one["grade"] == "recalled")
    return Conductor(
        size_mm2=size_mm2,
        gauge=gauge,
        r20_ohm_per_m=value,
        interpolated=low != high,
        source=row["source"],
        grade=row["grade"],
    )


def ohm_per_m_20c(size_mm2: float, gauge: str = "metric") -> float:
    """Resistance of a metre of wire at 20 °C, the table's maximum. [ohm/m]

    Args:
        size_mm2: nominal area. [mm2]
        gauge: `metric`, `awg` or `road`.
    Raises:
        OutOfReach: no such table, or a size outside it.
    Source:
        iec-60228, class 5 plain; faa-ac-43-13-1b, Table 11-9; from-memory (ISO 6722).
    Example:
        >>> round(ohm_per_m_20c(2.5), 6)
        0.00798
    """
    return conductor(size_mm2, gauge).r20_ohm_per_m


def ohm_per_m(size_mm2: float, temperature_c: float, gauge: str = "metric") -> float:
    """Resistance of a metre of wire at its working temperature. [ohm/m]

    Args:
        size_mm2: nominal area. [mm2]
        temperature_c: of the copper. [C]
        gauge: `metric`, `awg` or `road`.
    Raises:
        OutOfReach: a size outside the table, or a temperature at which copper is no wire.
    Source:
        as `ohm_per_m_20c`, and `hot_factor`.
    Example:
        >>> round(ohm_per_m(2.5, 80.0), 6)
        0.009861
    """
    return ohm_per_m_20c(size_mm2, gauge) * hot_factor(temperature_c)


def hot_factor(temperature_c: float) -> float:
    """Resistance of copper at a temperature over that at 20 °C. [-]

    Args:
        temperature_c: of the copper. [C]
    Raises:
        OutOfReach: below -60 °C or above 1083 °C, where copper melts.
    Source:
        faa-ac-43-13-1b, chapter 11, hot-run formula: (234.5 + T) / 254.5. The form of IEC 60228 with 230 gives 0.34 %
        more at 80 °C; it is not used.
    Example:
        >>> round(hot_factor(105.0), 4)
        1.334
    """
    if not _COLDEST_C <= temperature_c <= _HOTTEST_C:
        raise OutOfReach("temperature_c", temperature_c, f"{_COLDEST_C:g} to {_HOTTEST_C:g}")
    zero = constant("copper_zero_k")
    return (zero + temperature_c) / (zero + _AT_C)


def sizes_mm2(gauge: str = "metric") -> tuple[float, ...]:
    """The sizes a table has rows for, thinnest first. [mm2]"""
    return tuple(size for size, _ in _resistances(gauge))


def outside_mm(size_mm2: float, wall: str = "thin") -> float:
    """Largest outside diameter of road-vehicle wire of a size. [mm]

    Args:
        size_mm2: nominal area. [mm2]
        wall: `thin` or `thick`. Above 25 mm2 only thick walls have a row, and are taken.
    Raises:
        OutOfReach: outside 0.35 to 70 mm2, or another wall.
    Source:
        from-memory: ISO 6722-1.
    Example:
        >>> outside_mm(2.5), outside_mm(2.5, "thick")
        (3.0, 3.6)
    """
    if wall not in ("thin", "thick"):
        raise OutOfReach("wall", wall, "thin thick")
    return _outside_mm(size_mm2, wall)


@cache
def _outside_mm(size_mm2: float, wall: str) -> float:
    """The same, looked up once. [mm]"""
    return between_rows("size_mm2", size_mm2, _diameters(f"{wall}_wall_mm"), unit="mm2")[0]


def conductor_mm(size_mm2: float) -> float:
    """Diameter over the strands of road-vehicle wire of a size. [mm]

    Args:
        size_mm2: nominal area. [mm2]
    Raises:
        OutOfReach: outside 0.35 to 70 mm2.
    Source:
        from-memory: ISO 6722-1.
    """
    return between_rows("size_mm2", size_mm2, _diameters("conductor_mm"), unit="mm2")[0]


def gauge_number(awg: str) -> int:
    """The number of a gauge as the tables print it: 0, 00, 000 and 0000 count as 0, -1, -2 and -3. [-]"""
    return 1 - len(awg) if set(awg) == {"0"} else int(awg)


def _rows(gauge: str) -> tuple[Mapping[str, str], ...]:
    rows = read_rows(_TABLES[gauge][0])
    return tuple(reversed(rows)) if _size(gauge, rows[0]) > _size(gauge, rows[-1]) else rows


def _size(gauge: str, row: Mapping[str, str]) -> float:
    key = row[_TABLES[gauge][1]]
    return gauge_size_mm2(gauge_number(key)) if gauge == "awg" else float(key)


@cache
def _resistances(gauge: str) -> tuple[tuple[float, float], ...]:
    _, _, column, per = _TABLES[gauge]
    return tuple((_size(gauge, row), float(row[column]) / per) for row in _rows(gauge))


@cache
def _diameters(column: str) -> tuple[tuple[float, float], ...]:
    rows = read_rows("conductors_road")
    return tuple((float(row["size_mm2"]), float(row[column] or row["thick_wall_mm"])) for row in rows)
