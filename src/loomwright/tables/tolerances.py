"""How far may each sort of figure stray from what is solved with?

In: a share of all cars between nought and one. Out: a factor. Typical figures, none read from a standard.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from loomwright.refusals import TableFault
from loomwright.tables.load import read_rows

__all__ = ["SHAPES", "Tolerance", "factors_at", "tolerances"]

_TABLE = "tolerances"
SHAPES = ("triangle", "corroded")
"""How a figure may lie between its ends."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """How far one sort of figure strays.

    least, most: as factors on it. [-]   shape: one of SHAPES.   is_shared: one draw for the whole car.   source: key.
    """

    name: str
    least: float
    most: float
    shape: str
    is_shared: bool
    source: str


@cache
def tolerances() -> Mapping[str, Tolerance]:
    """Every row of the table by name.

    Raises:
        TableFault: a row whose ends do not hold the figure itself, or an unknown shape.
    Example:
        >>> tolerances()["lamp_current"].most
        1.06
    """
    found: dict[str, Tolerance] = {}
    for number, row in enumerate(read_rows(_TABLE), start=2):
        one = Tolerance(
            name=row["name"],
            least=float(row["least_factor"]),
            most=float(row["most_factor"]),
            shape=row["shape"],
            is_shared=row["shared"] == "yes",
            source=row["source"],
        )
        if not 0.0 < one.least < 1.0 < one.most or one.shape not in SHAPES:
            raise TableFault(_TABLE, number, "least_factor", f"{one.least:g} to {one.most:g}, {one.shape}")
        found[one.name] = one
    return MappingProxyType(found)


def factors_at(tolerance: Tolerance, shares: NDArray[np.float64]) -> NDArray[np.float64]:
    """The factors below which those shares of all cars lie.

    The inverse of the triangle with its ends at the least and the most, its top at one; for `corroded` in logarithms.

    Args:
        tolerance: a row of the table.
        shares: each between nought and one. [-]
    Example:
        >>> factors_at(tolerances()["resistor"], np.array([0.0, 0.5, 1.0])).round(3).tolist()
        [0.95, 1.0, 1.05]
    """
    is_log = tolerance.shape == "corroded"
    least, top, most = (
        (np.log(tolerance.least), 0.0, np.log(tolerance.most)) if is_log else (tolerance.least, 1.0, tolerance.most)
    )
    below = (top - least) / (most - least)
    low = least + np.sqrt(shares * (most - least) * (top - least))
    high = most - np.sqrt((1.0 - shares) * (most - least) * (most - top))
    found = np.where(shares < below, low, high)
    return np.asarray(np.exp(found) if is_log else found)
