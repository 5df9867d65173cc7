"""Which column of a log is which quantity, in which unit, and how sure is that?

In: each column's heading, its unit and a sample of its figures. Out: at most one column a quantity, with the factor and
offset that turn it into the quantity's own unit.
Method: sureness = name * unit * span. The name counts 1 where the whole heading is a known name, less where one stands
inside it; a unit of another quantity all but rules it out; figures outside the quantity's usual span count against it.
Where no unit is written and the figures only make sense in another one, that one is taken, less sure, and told.
Pairs are taken surest first. What a person typed comes before all of it. Source: tables `log_quantities`, `log_units`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray

from loomwright.refusals import OutOfReach
from loomwright.tables.load import read_rows

__all__ = ["GAUGE", "QUANTITIES", "Channel", "Column", "recognised", "unit_shown"]

GAUGE = 14.7
"""Air-fuel ratio that gauges show at lambda 1, where nothing else is typed; common practice, no source."""

_UNIT_IN_HEADING = re.compile(r"\s*[\[\(\{]\s*([^\]\)\}]*?)\s*[\]\)\}]\s*$")
_CAMEL = re.compile(r"(?<=[a-zäöü])(?=[A-Z])")
_SIGNS = re.compile(r"[\s_\-./:#]+")
_NO_UNIT, _OTHER_UNIT, _GUESSED_UNIT, _OFF_SPAN = 0.8, 0.05, 0.6, 0.15
_SURE_ENOUGH = 0.35
_RATIO_LEAST, _RATIO_MOST = 7.0, 30.0
_MOSTLY, _HALF = 0.9, 0.5
_CAPITALS = {
    "°f": "°F",
    "k": "K",
    "hz": "Hz",
    "ma": "mA",
    "mv": "mV",
    "hpa": "hPa",
    "mpa": "MPa",
    "pa": "Pa",
    "inhg": "inHg",
}
_TIME_UNITS = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "µs": 1e-6}
_STEP_S = (0.00025, 4.0)
"""From 4000 rows a second to one in four seconds: what a drive is recorded at. Our choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column as the log has it: its heading, the unit written beside it (may be empty), a sample of its figures."""

    name: str
    unit: str = ""
    sample: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Channel:
    """A column that was recognised.

    figure * factor + offset is in the quantity's own unit; sure_frac: how sure. [0..1]
    factor: of its unit. [-]   offset: of its unit. [-]   says: what was taken for granted, in words; may be empty.
    """

    quantity: str
    column: str
    unit: str
    factor: float
    offset: float
    sure_frac: float
    says: str = ""


@cache
def _rows() -> Mapping[str, Mapping[str, str]]:
    return {row["name"]: row for row in read_rows("log_quantities")}


@cache
def _units() -> Mapping[str, Mapping[str, str]]:
    return {row["also_called"]: row for row in read_rows("log_units")}


QUANTITIES: tuple[str, ...] = tuple(row["name"] for row in read_rows("log_quantities"))
"""What a column may be."""


def recognised(
    columns: Sequence[Column],
    typed: Mapping[str, str] | None = None,
    typed_units: Mapping[str, str] | None = None,
    gauge: float = GAUGE,
) -> tuple[Channel, ...]:
    """At most one column for each quantity, surest first; none whose samples are all blank, unless somebody named it.

    Args:
        columns: of the log.
        typed: column -> quantity, as a person has it; an empty word leaves the column out.
        typed_units: column -> unit, as a person has it.
        gauge: what a gauge that shows an air-fuel ratio shows at lambda 1. [-]
    Raises:
        OutOfReach: a typed column, quantity or unit that there is not.
    """
    typed, typed_units = typed or {}, typed_units or {}
    _asks_after(columns, typed, typed_units)
    found: dict[str, Channel] = {}
    pairs: list[tuple[float, int, int, Channel]] = []
    for place, column in enumerate(columns):
        if column.name in typed:
            if typed[column.name]:
                found[typed[column.name]] = _made(column, typed[column.name], 1.0, typed_units, gauge)
            continue
        if column.sample.size and not np.isfinite(column.sample).any():
            continue
        for order, quantity in enumerate(QUANTITIES):
            made = _made(column, quantity, _name_score(column.name, quantity), typed_units, gauge)
            if made.sure_frac >= _SURE_ENOUGH:
                pairs.append((-made.sure_frac, order, place, made))
    used = {channel.column for channel in found.values()}
    for _, _, _, made in sorted(pairs, key=lambda pair: pair[:3]):
        if made.quantity not in found and made.column not in used:
            found[made.quantity] = made
            used.add(made.column)
    return tuple(found[name] for name in QUANTITIES if name in found)


def unit_shown(word: str) -> str:
    """A unit as it is printed.

    Example:
        >>> unit_shown("kpa"), unit_shown("psi"), unit_shown("-")
        ('kPa', 'psi', '')
    """
    row = _units().get(word.lower())
    if word == "-" or row is None:
        return "" if word == "-" else word
    return row["unit"] if row["unit"].lower() == word.lower() else _CAPITALS.get(word.lower(), word)


def _asks_after(columns: Sequence[Column], typed: Mapping[str, str], units: Mapping[str, str]) -> None:
    there = {column.name for column in columns}
    for name, quantity in typed.items():
        if name not in there:
            raise OutOfReach("columns", name, ", ".join(sorted(there)))
        if quantity and quantity not in QUANTITIES:
            raise OutOfReach(name, quantity, " ".join(QUANTITIES))
    for name, unit in units.items():
        if unit.lower() not in _units():
            raise OutOfReach(name, unit, " ".join(_units()))


@cache
def _names() -> Mapping[str, tuple[tuple[str, str], ...]]:
    """Quantity -> its names, each as it is and without blanks."""
    return {
        quantity: tuple((name, name.replace(" ", "")) for name in row["words"].split("|"))
        for quantity, row in _rows().items()
    }


@lru_cache(maxsize=1024)
def _words_of(heading: str) -> str:
    plain = _UNIT_IN_HEADING.sub("", heading)
    return _SIGNS.sub(" ", _CAMEL.sub(" ", plain)).strip().lower()


def _name_score(heading: str, quantity: str) -> float:
    """1 where the heading is a known name, from 0.5 where one stands in it, 0 where none does."""
    words = _words_of(heading)
    plain, within = words.replace(" ", ""), f" {words} "
    best = 0.0
    for name, close in _names()[quantity]:
        if plain == close:
            return 1.0
        if len(name) > 1 and f" {name} " in within:
            best = max(best, 0.45 + 0.5 * len(name) / len(words))
    return best


def _unit_of(column: Column, typed_units: Mapping[str, str]) -> str:
    if column.name in typed_units:
        return typed_units[column.name].lower()
    if column.unit:
        return column.unit.strip().lower()
    inside = _UNIT_IN_HEADING.search(column.name)
    if inside:
        return inside.group(1).strip().lower()
    last = _words_of(column.name).rpartition(" ")[2]
    is_unit = (
        last in _units() and len(last) > 1 and last not in ("lambda", "afr", "volts", "rpm", "kmh", "mph", "sec", "ms")
    )
    return last if is_unit or last == "ms" else ""


def _made(column: Column, quantity: str, name: float, typed_units: Mapping[str, str], gauge: float) -> Channel:
    unit = _unit_of(column, typed_units)
    own = _rows()[quantity]["unit"]
    if name <= 0.0:
        return Channel(quantity=quantity, column=column.name, unit=unit, factor=1.0, offset=0.0, sure_frac=0.0)
    if quantity == "time":
        factor, score, says = _time_factor(column, unit, is_typed=column.name in typed_units)
        return Channel(
            quantity=quantity,
            column=column.name,
            unit=unit,
            factor=factor,
            offset=0.0,
            sure_frac=name * score,
            says=says,
        )
    row = _units().get(unit)
    if quantity in ("mixture", "mixture_target"):
        return _mixture(column, quantity, name, row, gauge)
    if own == "-":
        score = 1.0 if row is None or row["unit"] == "%" else _OTHER_UNIT
        return _channel(column, quantity, unit, 1.0, 0.0, name * score * _span_score(column.sample, quantity))
    if row is not None and row["unit"] != own:
        return _channel(column, quantity, unit, 1.0, 0.0, name * _OTHER_UNIT)
    if row is not None:
        factor, offset = float(row["factor"]), float(row["offset"])
        span = _span_score(column.sample * factor + offset, quantity)
        return _channel(column, quantity, unit, factor, offset, name * span)
    return _without_unit(column, quantity, name, unit, own)


def _without_unit(column: Column, quantity: str, name: float, unit: str, own: str) -> Channel:
    strange = f"unit {unit!r} not known, taken as {own}" if unit else ""
    span = _span_score(column.sample, quantity)
    if span >= 1.0 and not _is_share(column, own):
        return _channel(column, quantity, own, 1.0, 0.0, name * _NO_UNIT, strange)
    others = [row for row in _units().values() if row["unit"] == own and row["factor"] != "1"]
    tries = [(row["also_called"], float(row["factor"]), float(row["offset"])) for row in others]
    if own == "%":
        tries = [("share of 1", 100.0, 0.0)]
    for word, factor, offset in tries:
        if _span_score(column.sample * factor + offset, quantity) >= 1.0:
            says = f"no unit written: the figures only make sense as {word}"
            return _channel(column, quantity, word, factor, offset, name * _NO_UNIT * _GUESSED_UNIT / 0.8, says)
    return _channel(column, quantity, own, 1.0, 0.0, name * _NO_UNIT * span, strange)


def _is_share(column: Column, own: str) -> bool:
    finite = column.sample[np.isfinite(column.sample)]
    return own == "%" and finite.size > 1 and float(np.ptp(finite)) > 0.0 and float(np.abs(finite).max()) <= 1.0


def _mixture(column: Column, quantity: str, name: float, row: Mapping[str, str] | None, gauge: float) -> Channel:
    """Lambda, or an air-fuel ratio that the gauge's figure turns into it."""
    unit = row["unit"] if row is not None else ""
    if row is not None and unit not in ("-", "afr"):
        return _channel(column, quantity, unit, 1.0, 0.0, name * _OTHER_UNIT)
    finite = column.sample[np.isfinite(column.sample)]
    middle = float(np.median(finite)) if finite.size else 1.0
    if unit == "afr" or (unit != "-" and _RATIO_LEAST <= middle <= _RATIO_MOST):
        says = f"air-fuel ratio, lambda 1 where it shows {gauge:g}"
        span = _span_score(column.sample / gauge, quantity)
        return _channel(column, quantity, "afr", 1.0 / gauge, 0.0, name * span * (1.0 if unit else _NO_UNIT), says)
    score = 1.0 if unit else _NO_UNIT
    return _channel(column, quantity, "lambda", 1.0, 0.0, name * score * _span_score(column.sample, quantity))


def _time_factor(column: Column, unit: str, *, is_typed: bool) -> tuple[float, float, str]:
    """What turns a column of times into seconds, how sure that is, and what was taken for granted.

    A unit that somebody typed counts. One that only stands in the heading does not where no drive is recorded at such
    steps and another unit makes them steps of a drive.
    """
    steps = np.diff(column.sample)
    steps = steps[np.isfinite(steps) & (steps > 0.0)]
    step = float(np.median(steps)) if steps.size else 0.0
    if unit in _TIME_UNITS or _units().get(unit, {}).get("unit") == "s":
        factor = _TIME_UNITS.get(unit, 1.0)
        if is_typed or step == 0.0 or _is_a_step(step * factor):
            return factor, 1.0, ""
        for word in ("s", "ms"):
            if _is_a_step(step * _TIME_UNITS[word]):
                says = f"headed {unit}, but steps of {step:.3g} only make sense in {word}: taken so"
                return _TIME_UNITS[word], _NO_UNIT, says
        return factor, 1.0, ""
    if step == 0.0:
        return 1.0, _OFF_SPAN, ""
    if 3.0 <= step <= 3000.0 and float(np.nanmax(np.abs(column.sample))) > 100.0 * step / 3.0:
        return 1e-3, _NO_UNIT, "no unit written: taken as milliseconds, by its steps"
    return 1.0, _NO_UNIT, ""


def _is_a_step(step_s: float) -> bool:
    return _STEP_S[0] <= step_s <= _STEP_S[1]


def _span_score(figures: NDArray[np.float64], quantity: str) -> float:
    """1 where nearly all figures lie in the usual span, less where they do not."""
    row = _rows()[quantity]
    finite = figures[np.isfinite(figures)]
    if finite.size == 0 or not row["least"]:
        return 1.0
    most = float(row["most"]) if row["most"] else np.inf
    share = float(np.mean((finite >= float(row["least"])) & (finite <= most)))
    if quantity == "engine_speed" and float(finite.max(initial=0.0)) < 1.0:
        share = min(share, _HALF) if finite.size > 1 else share
    return 1.0 if share >= _MOSTLY else _HALF if share >= _HALF else _OFF_SPAN


def _channel(
    column: Column, quantity: str, unit: str, factor: float, offset: float, sure_frac: float, says: str = ""
) -> Channel:
    return Channel(
        quantity=quantity, column=column.name, unit=unit, factor=factor, offset=offset, sure_frac=sure_frac, says=says
    )
