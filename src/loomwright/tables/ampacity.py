"""What current may a wire carry for ever?

Three honest tables give the same 16 AWG 7, 25 or 35 A, since each assumes another ambient, another bundle and another
insulation. The one used here is the boat table of the US Coast Guard (copper below 50 V, 30 °C ambient): it is read, it
covers the sizes of a vehicle, and it lies below a single wire in still air everywhere (0.82 to 0.92 of it for the 105
°C column). Method, for a size S, an insulation class and an ambient T_a:

  1. column T_R: the hottest of the table not above the insulation class; never between two columns
  2. A30: the column at S; between two rows a straight line in log S and log A (marked)
  3. below 18 AWG the boat table has no rows: `ampacity_small.csv` (105 °C class), brought to 30 °C by step 4, and to
     another class by the ratio of the 18 AWG row
  4. A = A30 * sqrt((T_R - T_a) / (T_R - 30)), and never more than A30

Step 4 is the law behind the published ambient factors. A wire in a crowd of loaded ones carries `grouping_factor` of
it; that, and real heat balances, are for `heat`.

Source: cfr-33-183-425 Table 5; nec-factors (ambient law, grouping); mil-w-5088b and faa-ac-43-13-1b (thin sizes).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from math import sqrt

from loomwright.quantities.gauge import gauge_size_mm2
from loomwright.refusals import OutOfReach
from loomwright.tables.conductors import gauge_number
from loomwright.tables.curves import between_rows
from loomwright.tables.load import read_rows

__all__ = ["COLUMNS_C", "Ampacity", "ampacity", "bundled_a", "continuous_a", "grouping_factor"]

COLUMNS_C = (60, 75, 80, 90, 105, 125, 200)
"""Insulation temperatures the boat table has columns for [C]."""

_TABLE_AMBIENT_C = 30.0
_SMALL_C = 105
_COLDEST_C = -60.0
_KEPT = 4096
_AIRCRAFT_C = (105, 150, 200)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ampacity:
    """A continuous current and what it rests on.

    amps: what the wire carries at the ambient asked for. [A]   at_30_c_a: the same at 30 °C. [A]
    column_c: the column used. [C]   factor: for ambient. [-]   interpolated: between two rows.
    source: key in `sources.csv`.   place: where in it.   grade: read or recalled.
    """

    amps: float
    at_30_c_a: float
    column_c: int
    factor: float
    interpolated: bool
    source: str
    place: str
    grade: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    size_mm2: float
    amps: float
    source: str
    place: str
    grade: str


def continuous_a(size_mm2: float, insulation_c: float = 105, ambient_c: float = 40) -> float:
    """Current a single wire of a small loom may carry for ever. [A]

    Args:
        size_mm2: nominal area. [mm2]
        insulation_c: class of its insulation. [C]
        ambient_c: around it. [C]
    Returns:
        Nothing at all where the place is as hot as the class.
    Raises:
        OutOfReach: thinner than 24 AWG, thicker than 0000, a class below 60 °C, an ambient colder than -60 °C.
    Limits:
        One wire, or a few that are not all loaded. Grouping and short times are not in here.
    Source:
        cfr-33-183-425 Table 5 with the ambient law of nec-factors; thin sizes see the module.
    Example:
        >>> continuous_a(1.3087, 105, 30), round(continuous_a(1.5, 105, 60), 1)
        (25.0, 21.1)
    """
    return ampacity(size_mm2, insulation_c, ambient_c).amps


def ampacity(size_mm2: float, insulation_c: float = 105, ambient_c: float = 40) -> Ampacity:
    """The same as `continuous_a`, with the row, the column and the factor it rests on.

    Args:
        size_mm2: nominal area. [mm2]
        insulation_c: class of its insulation. [C]
        ambient_c: around it. [C]
    Raises:
        OutOfReach: as `continuous_a`.
    """
    return _ampacity(size_mm2, insulation_c, ambient_c)


@lru_cache(maxsize=_KEPT)
def _ampacity(size_mm2: float, insulation_c: float, ambient_c: float) -> Ampacity:
    """The same, looked up once; ambients are drawn by dice here and there, so not all are kept."""
    column_c = _column_c(insulation_c)
    if not ambient_c >= _COLDEST_C:
        raise OutOfReach("ambient_c", ambient_c, f"{_COLDEST_C:g} or more")
    at_30, row, interpolated = _at_30_c(size_mm2, column_c)
    factor = ambient_factor(column_c, ambient_c)
    return Ampacity(
        amps=at_30 * factor,
        at_30_c_a=at_30,
        column_c=column_c,
        factor=factor,
        interpolated=interpolated,
        source=row.source,
        place=row.place,
        grade=row.grade,
    )


@cache
def _at_30_c(size_mm2: float, column_c: int) -> tuple[float, _Row, bool]:
    """Amps of a size in a column, looked up once; the row they rest on, and whether they lie between two."""
    rows = _rows(column_c)
    amps, (low, high) = between_rows("size_mm2", size_mm2, [(row.size_mm2, row.amps) for row in rows], unit="mm2")
    return amps, max((rows[low], rows[high]), key=lambda one: one.grade == "recalled"), low != high


def ambient_factor(column_c: float, ambient_c: float) -> float:
    """Share of the 30 °C current that is left at another ambient; never more than all of it. [-]

    Args:
        column_c: temperature the insulation stands. [C]
        ambient_c: around the wire. [C]
    Source:
        nec-factors: the published bands are sqrt((T_R - T_a) / (T_R - 30)) at their warm ends.
    Example:
        >>> round(ambient_factor(90, 50), 4)
        0.8165
    """
    if ambient_c >= column_c:
        return 0.0
    return min(1.0, sqrt((column_c - ambient_c) / (column_c - _TABLE_AMBIENT_C)))


def grouping_factor(loaded: int) -> float:
    """Share of its own current that each wire of a crowd may carry, all of them loaded. [-]

    Args:
        loaded: wires loaded at once. [-]
    Raises:
        OutOfReach: no wire.
    Source:
        nec-factors, 310.15(B)(3)(a).
    Example:
        >>> grouping_factor(8), grouping_factor(41)
        (0.7, 0.35)
    """
    for row in read_rows("grouping"):
        if loaded >= int(row["loaded_from"]) and (not row["loaded_to"] or loaded <= int(row["loaded_to"])):
            return float(row["factor"])
    raise OutOfReach("loaded", loaded, "1 or more")


def bundled_a(awg: str, insulation_c: int = 105) -> float:
    """Current of a gauge in a large bundle at 70 °C and altitude, as the aircraft handbook prints it. [A]

    Args:
        awg: the gauge as printed, `16`, `00`.
        insulation_c: 105, 150 or 200. [C]
    Raises:
        OutOfReach: no such row or column; there is nothing between rows, since the bundle changes from 10 to 8.
    Source:
        faa-ac-43-13-1b, Table 11-9.
    """
    if insulation_c not in _AIRCRAFT_C:
        raise OutOfReach("insulation_c", insulation_c, "105 150 200")
    rows = read_rows("ampacity_aircraft")
    for row in rows:
        if row["awg"] == awg:
            return float(row[f"insulation_{insulation_c}_a"])
    raise OutOfReach("awg", awg, " ".join(row["awg"] for row in rows))


def _column_c(insulation_c: float) -> int:
    fits = [column for column in COLUMNS_C if column <= insulation_c]
    if not fits:
        raise OutOfReach("insulation_c", insulation_c, f"{COLUMNS_C[0]} or more")
    return fits[-1]


@cache
def _rows(column_c: int) -> Sequence[_Row]:
    """The rows of one column, thinnest first, thin sizes included, all at 30 °C."""
    boat = [
        _Row(
            size_mm2=gauge_size_mm2(gauge_number(row["awg"])),
            amps=float(row[f"insulation_{column_c}_a"]),
            source=row["source"],
            place=row["place"],
            grade=row["grade"],
        )
        for row in read_rows("ampacity_boat")
    ]
    thinnest = read_rows("ampacity_boat")[0]
    to_class = float(thinnest[f"insulation_{column_c}_a"]) / float(thinnest[f"insulation_{_SMALL_C}_a"])
    small = [
        _Row(
            size_mm2=float(row["size_mm2"]),
            amps=to_class * float(row["insulation_105_a"]) * _to_30_c(float(row["ambient_c"])),
            source=row["source"],
            place=row["place"],
            grade=row["grade"],
        )
        for row in read_rows("ampacity_small")
    ]
    return tuple(sorted((*small, *boat), key=lambda row: row.size_mm2))


def _to_30_c(ambient_c: float) -> float:
    """What a current printed for an ambient is multiplied by to stand for 30 °C, 105 °C class. [-]"""
    return sqrt((_SMALL_C - _TABLE_AMBIENT_C) / (_SMALL_C - ambient_c))
