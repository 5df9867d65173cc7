"""Which figures is an engine started on, and how far may each lie from the usual one?

One row a figure of `start_figures.csv`; `fuels.csv` says what a fuel is made of, `warm_up.csv` what a cold engine is
given more. All are starting points on the careful side, none is a measurement of the engine in hand.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from loomwright.refusals import OutOfReach, TableFault
from loomwright.tables.load import read_rows

__all__ = ["FuelMade", "StartFigure", "WarmUpRow", "figure", "fuels_made", "start_figures", "warm_up_rows"]

_TABLE = "start_figures"


@dataclass(frozen=True, slots=True, kw_only=True)
class StartFigure:
    """One figure. value, least, most: in `unit`; least and most None where there is no range.   grade: as in tables."""

    name: str
    value: float
    least: float | None
    most: float | None
    unit: str
    meaning: str
    source: str
    grade: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelMade:
    """What a fuel is made of.

    carbon, hydrogen, oxygen: atoms in a molecule. [-]   density_kg_per_l: None for a gas.
    """

    name: str
    carbon: float
    hydrogen: float
    oxygen: float
    density_kg_per_l: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmUpRow:
    """One coolant temperature.

    factor, least, most: on the running fuel. [-]   crank_air_fuel: while cranking. [-]
    """

    coolant_c: float
    factor: float
    least: float
    most: float
    crank_air_fuel: float


@cache
def start_figures() -> Mapping[str, StartFigure]:
    """All of them, name -> figure.

    Raises:
        TableFault: a name twice, or a cell that is no number.
    """
    found: dict[str, StartFigure] = {}
    for row in read_rows(_TABLE):
        name = row["name"]
        if name in found:
            raise TableFault(_TABLE, name, "name", "twice")
        found[name] = StartFigure(
            name=name,
            value=_number(_TABLE, name, row, "value"),
            least=_number(_TABLE, name, row, "least") if row["least"] else None,
            most=_number(_TABLE, name, row, "most") if row["most"] else None,
            **{key: row[key] for key in ("unit", "meaning", "source", "grade", "note")},
        )
    return MappingProxyType(found)


def figure(name: str) -> float:
    """The value of a figure, in the unit its name ends with.

    Raises:
        OutOfReach: no such name.
    Example:
        >>> figure("lambda_full")
        0.86
    """
    found = start_figures().get(name)
    if found is None:
        raise OutOfReach("starting figure", name, " ".join(start_figures()))
    return found.value


@cache
def fuels_made() -> Mapping[str, FuelMade]:
    """The fuels, name -> what each is made of.

    Example:
        >>> fuels_made()["ethanol"].oxygen
        1.0
    """
    return MappingProxyType(
        {
            row["name"]: FuelMade(
                name=row["name"],
                carbon=_number("fuels", row["name"], row, "carbon"),
                hydrogen=_number("fuels", row["name"], row, "hydrogen"),
                oxygen=_number("fuels", row["name"], row, "oxygen"),
                density_kg_per_l=float(row["density_kg_per_l"]) if row["density_kg_per_l"] else None,
            )
            for row in read_rows("fuels")
        }
    )


@cache
def warm_up_rows() -> tuple[WarmUpRow, ...]:
    """The warm-up, coldest first."""
    names = ("coolant_c", "factor", "least", "most", "crank_air_fuel")
    return tuple(
        WarmUpRow(**{name: _number("warm_up", row["coolant_c"], row, name) for name in names})
        for row in read_rows("warm_up")
    )


def _number(table: str, name: str, row: Mapping[str, str], column: str) -> float:
    try:
        return float(row[column])
    except ValueError:
        raise TableFault(table, name, column, row[column]) from None
