"""What a wire carries for ever, in a crowd, in a hot place, in a short: by the names the cases use."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import sqrt

from loomwright.quantities.gauge import gauge_size_mm2
from loomwright.states.ratings.wire_limits import adiabatic_k
from loomwright.tables.ampacity import ambient_factor, bundled_a, continuous_a, grouping_factor
from loomwright.tables.conductors import gauge_number
from loomwright.tables.load import read_rows

__all__ = ["CARRYING"]


def _carries_a(insulation_c: str, ambient_c: str, awg: str = "", size_mm2: str = "") -> float:
    """A wire's current for ever, its size as a gauge number or in square millimetres."""
    return continuous_a(_size_mm2(awg, size_mm2), float(insulation_c), float(ambient_c))


def _bundled_a(awg: str, insulation_c: str) -> float:
    return bundled_a(awg, int(insulation_c))


def _rows_with_equal_columns(one: str, other: str) -> float:
    rows = read_rows("ampacity_boat")
    return sum(row[f"insulation_{one}_a"] == row[f"insulation_{other}_a"] for row in rows)


def _ambient_factor(insulation_c: str, ambient_c: str) -> float:
    return ambient_factor(float(insulation_c), float(ambient_c))


def _grouping_factor(loaded: str) -> float:
    return grouping_factor(int(loaded))


def _adiabatic_k(start_c: str, end_c: str) -> float:
    return adiabatic_k(float(start_c), float(end_c))


def _let_through_a2s(size_mm2: str, start_c: str, end_c: str) -> float:
    return (adiabatic_k(float(start_c), float(end_c)) * float(size_mm2)) ** 2


def _reaches_s(amps: str, start_c: str, end_c: str, awg: str = "", size_mm2: str = "") -> float:
    """How long a current takes to warm a wire from one temperature to another, no heat leaving it."""
    k = adiabatic_k(float(start_c), float(end_c))
    return (k * _size_mm2(awg, size_mm2) / float(amps)) ** 2


def _reaches_a(time_s: str, start_c: str, end_c: str, awg: str = "", size_mm2: str = "") -> float:
    """The current that warms a wire from one temperature to another in a time, no heat leaving it."""
    k = adiabatic_k(float(start_c), float(end_c))
    return k * _size_mm2(awg, size_mm2) / sqrt(float(time_s))


def _size_mm2(awg: str, size_mm2: str) -> float:
    return gauge_size_mm2(gauge_number(awg)) if awg else float(size_mm2)


CARRYING: Mapping[str, Callable[..., float | str]] = {
    "carries_a": _carries_a,
    "bundled_a": _bundled_a,
    "rows_with_equal_columns": _rows_with_equal_columns,
    "ambient_factor": _ambient_factor,
    "grouping_factor": _grouping_factor,
    "adiabatic_k": _adiabatic_k,
    "let_through_a2s": _let_through_a2s,
    "reaches_s": _reaches_s,
    "reaches_a": _reaches_a,
}
