"""What a person has decided about one controller's logs, kept as a TOML text and used again.

In: the text. Out: which column is what, in which unit, what the gauge shows at lambda 1, the fuel, limits of this
    engine. gauge = 14.7
    fuel = "E10"
    [columns]  "Eng Speed" = "engine_speed"
    [units]    "Eng Speed" = "rpm"
    [limits]   limit_rpm = 6200
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from loomwright.logs.channels import GAUGE, Channel
from loomwright.logs.limits import limits_with
from loomwright.refusals import BadDocument, OutOfReach, Problem

__all__ = ["Mapped", "limits_typed", "mapped_from", "mapped_text", "mapped_with"]

_NOTHING: Mapping[str, str] = MappingProxyType({})
_NO_FIGURES: Mapping[str, float] = MappingProxyType({})
_WORDS = ("columns", "units")
_FIGURES = ("limits",)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mapped:
    """What was typed.

    gauge: what a gauge shows at lambda 1. [-]   fuel: its name, such as E10.
    """

    columns: Mapping[str, str] = field(default_factory=lambda: _NOTHING)
    units: Mapping[str, str] = field(default_factory=lambda: _NOTHING)
    limits: Mapping[str, float] = field(default_factory=lambda: _NO_FIGURES)
    gauge: float = GAUGE
    fuel: str = ""


def mapped_from(text: str) -> Mapped:
    """A mapping from its text.

    Raises:
        BadDocument: no TOML, or a part that there is not; all that is in the way at once.
    Example:
        >>> mapped_from('[columns]' + chr(10) + '"Revs" = "engine_speed"').columns["Revs"]
        'engine_speed'
    """
    try:
        read = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise BadDocument(
            (_problem("", str(fault), "TOML", "Mend the line, or have the mapping written anew"),)
        ) from fault
    problems = [
        _problem(name, "", f"gauge fuel {' '.join((*_WORDS, *_FIGURES))}", "Take it out")
        for name in read
        if name not in ("gauge", "fuel", *_WORDS, *_FIGURES)
    ]
    kept: dict[str, dict[str, str] | dict[str, float]] = {}
    for name in (*_WORDS, *_FIGURES):
        wanted: type | tuple[type, ...] = str if name in _WORDS else (int, float)
        part = read.get(name, {})
        if not isinstance(part, dict):
            problems.append(_problem(name, str(part), "a part of its own", f"Write [{name}]"))
            continue
        for key, value in part.items():
            if not isinstance(value, wanted) or isinstance(value, bool):
                allowed = "a word in quotes" if name in _WORDS else "a figure"
                problems.append(_problem(f"{name}.{key}", str(value), allowed, "Type it so"))
        kept[name] = part
    gauge = read.get("gauge", GAUGE)
    if not isinstance(gauge, int | float) or not 5.0 <= gauge <= 40.0:
        problems.append(_problem("gauge", str(gauge), "5 to 40", "Type what the gauge shows at lambda 1"))
    fuel = read.get("fuel", "")
    if not isinstance(fuel, str):
        problems.append(_problem("fuel", str(fuel), "a name in quotes, such as E10", "Type it so"))
    if problems:
        raise BadDocument(tuple(problems))
    return Mapped(
        columns={key: str(value) for key, value in kept["columns"].items()},
        units={key: str(value) for key, value in kept["units"].items()},
        limits={key: float(value) for key, value in kept["limits"].items()},
        gauge=float(gauge),
        fuel=str(fuel),
    )


def mapped_text(mapped: Mapped, channels: Sequence[Channel]) -> str:
    """The mapping as a text, with everything that was recognised written out, to be kept and mended by hand."""
    columns = {**mapped.columns, **{channel.column: channel.quantity for channel in channels}}
    units = {channel.column: channel.unit for channel in channels if channel.unit and channel.unit != "-"}
    units = {name: unit for name, unit in units.items() if unit != "share of 1"}
    lines = ["# which column is what; an empty word leaves a column out", f"gauge = {mapped.gauge:g}"]
    lines += [f"fuel = {_quoted(mapped.fuel)}"] if mapped.fuel else []
    lines += ["", "[columns]"]
    lines += [f"{_quoted(name)} = {_quoted(quantity)}" for name, quantity in columns.items()]
    lines += [
        "",
        "[units]",
        *(f"{_quoted(name)} = {_quoted(unit)}" for name, unit in {**units, **mapped.units}.items()),
    ]
    if mapped.limits:
        lines += ["", "[limits]", *(f"{name} = {value:g}" for name, value in mapped.limits.items())]
    return "\n".join(lines) + "\n"


def mapped_with(mapped: Mapped, chosen: Mapping[str, str], units: Mapping[str, str], known: Collection[str]) -> Mapped:
    """A mapping with what was chosen for the columns of one log.

    Args:
        mapped: as it was kept.
        chosen: column -> quantity; an empty word where it is none.
        units: column -> unit; an empty word where it stands in the log.
        known: columns that are taken for something as it stands.
    Raises:
        BadDocument: two columns for one quantity.
    Example:
        >>> mapped_with(Mapped(), {"Revs": "engine_speed", "RPM": "", "x": ""}, {}, {"RPM"}).columns
        {'Revs': 'engine_speed', 'RPM': ''}
    """
    named: dict[str, list[str]] = {}
    for column, quantity in chosen.items():
        if quantity:
            named.setdefault(quantity, []).append(column)
    twice = [
        _problem(
            " and ".join(columns), quantity.replace("_", " "), "one column for each quantity", "Leave one of them out"
        )
        for quantity, columns in named.items()
        if len(columns) > 1
    ]
    if twice:
        raise BadDocument(tuple(twice))
    kept = {name: word for name, word in chosen.items() if word or name in known or name in mapped.columns}
    taken = set(named)
    columns = {name: word for name, word in mapped.columns.items() if name not in chosen and word not in taken} | kept
    new_units = {name: unit for name, unit in mapped.units.items() if name not in units}
    new_units |= {name: unit for name, unit in units.items() if unit}
    return replace(mapped, columns=columns, units=new_units)


def limits_typed(mapped: Mapped, typed: Mapping[str, str]) -> Mapped:
    """A mapping with limits of this engine as they were typed; a blank leaves a limit as it was.

    Raises:
        BadDocument: no figure, or one beyond what is believed; all of them at once.
    Example:
        >>> limits_typed(Mapped(), {"limit_rpm": "6200"}).limits
        {'limit_rpm': 6200.0}
    """
    figures: dict[str, float] = {}
    problems = []
    for name, text in typed.items():
        if not text.strip():
            continue
        try:
            figures |= {name: float(text.strip().replace(",", "."))}
            limits_with({name: figures[name]})
        except ValueError:
            problems.append(_problem(name, text, "a figure", "Type it so"))
        except OutOfReach as fault:
            problems.append(_problem(name, text, str(fault.allowed), "Look the figure up again"))
    if problems:
        raise BadDocument(tuple(problems))
    return replace(mapped, limits={**mapped.limits, **figures})


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _problem(where: str, found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet="mapping", row=None, column=where, found=found, allowed=allowed, mend=mend)
