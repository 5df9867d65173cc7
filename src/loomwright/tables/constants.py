"""Which single figures does the method rest on?

Named constants of the trade and of the method, one row each in `constants.csv` with unit, meaning and source. They are
typical: a result that a constant decided can name it by its key.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from loomwright.refusals import OutOfReach, TableFault
from loomwright.tables.load import read_rows

__all__ = ["Constant", "constant", "constants"]

_TABLE = "constants"


@dataclass(frozen=True, slots=True, kw_only=True)
class Constant:
    """One named figure.

    value: in `unit`, which is an ending, a sign, or `-` for a ratio.   meaning: what it is, in words.
    source: key in `sources.csv`.   place: where in it.   grade: read, measured or recalled.   note: what else to know.
    """

    name: str
    value: float
    unit: str
    meaning: str
    source: str
    place: str
    grade: str
    note: str


@cache
def constants() -> Mapping[str, Constant]:
    """All named constants, name -> constant, in the table's order.

    Raises:
        TableFault: a name twice, or a value that is no number.
    """
    found: dict[str, Constant] = {}
    for row in read_rows(_TABLE):
        name = row["name"]
        if name in found:
            raise TableFault(_TABLE, name, "name", "twice")
        try:
            value = float(row["value"])
        except ValueError:
            raise TableFault(_TABLE, name, "value", row["value"]) from None
        texts = {column: row[column] for column in ("unit", "meaning", "source", "place", "grade", "note")}
        found[name] = Constant(name=name, value=value, **texts)
    return MappingProxyType(found)


def constant(name: str) -> float:
    """The value of a named constant, in the unit its name ends with.

    Raises:
        OutOfReach: no such name.
    Example:
        >>> constant("battery_flat_emf_v")
        11.8
    """
    found = constants().get(name)
    if found is None:
        raise OutOfReach("constant", name, " ".join(constants()))
    return found.value
