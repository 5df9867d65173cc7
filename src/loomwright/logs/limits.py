"""By which figures is a drive judged?

In: what was typed in a mapping's `[limits]`. Out: every limit by name, typed ones first, typical ones otherwise. They
are trade practice, so each is a setting with its source; see the table `log_limits`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from loomwright.refusals import OutOfReach
from loomwright.tables.load import read_rows

__all__ = ["DAY_LIMITS", "Unproved", "limit_source", "limits_with", "typical_limits", "unproved"]

_TABLE = "log_limits"
DAY_LIMITS = ("limit_rpm", "coolant_most_c", "oil_kpa_per_1000_rpm", "oil_idle_kpa", "air_most_c", "lean_over_target")
"""Limits at which the day at the dyno is stopped."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unproved:
    """A limit of the day that is typical: nobody has given this engine's own. meaning: in words."""

    name: str
    meaning: str
    value: float
    unit: str


@cache
def typical_limits() -> Mapping[str, float]:
    """Every limit by name, none of them typed.

    Example:
        >>> typical_limits()["coolant_most_c"]
        105.0
    """
    return MappingProxyType({row["name"]: float(row["value"]) for row in read_rows(_TABLE)})


def limits_with(typed: Mapping[str, float]) -> Mapping[str, float]:
    """Every limit by name, with those that were typed in place of the typical ones.

    Args:
        typed: by name; a figure outside the span of its row is refused.
    Raises:
        OutOfReach: no such limit, or a figure beyond what is believed.
    Example:
        >>> limits_with({"limit_rpm": 6200})["limit_rpm"]
        6200.0
    """
    rows = {row["name"]: row for row in read_rows(_TABLE)}
    for name, value in typed.items():
        if name not in rows:
            raise OutOfReach("limits", name, " ".join(rows))
        least, most = float(rows[name]["least"]), float(rows[name]["most"])
        if not least <= value <= most:
            raise OutOfReach(name, value, f"{least:g} to {most:g} {rows[name]['unit']}")
    return MappingProxyType({**typical_limits(), **{name: float(value) for name, value in typed.items()}})


def unproved(typed: Mapping[str, float]) -> tuple[Unproved, ...]:
    """The limits of the day at the dyno that nobody has typed for this engine.

    Args:
        typed: by name.
    Example:
        >>> [one.name for one in unproved({"limit_rpm": 6200})][0]
        'coolant_most_c'
    """
    rows = {row["name"]: row for row in read_rows(_TABLE)}
    return tuple(
        Unproved(name=name, meaning=rows[name]["meaning"], value=float(rows[name]["value"]), unit=rows[name]["unit"])
        for name in DAY_LIMITS
        if name not in typed
    )


def limit_source(name: str) -> str:
    """The source key of a limit's typical figure."""
    return next(row["source"] for row in read_rows(_TABLE) if row["name"] == name)
