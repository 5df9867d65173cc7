"""What does a contact of a connector carry, and which wires does its crimp take?

In: its width. Out: amps of one contact alone, and conductor areas. Typical figures, from memory.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from loomwright.refusals import TableFault
from loomwright.tables.load import read_rows

__all__ = ["ContactWidth", "contact_widths", "widths_in"]

_TABLE = "contact_widths"
_WIDTH = re.compile(r"(\d+(?:\.\d+)?)\s*mm(?![²2])")


@dataclass(frozen=True, slots=True, kw_only=True)
class ContactWidth:
    """A width of contact. low_a, high_a: what makers print for one alone. [A]   from_mm2, to_mm2: wires. [mm2]"""

    width_mm: float
    low_a: float
    high_a: float
    from_mm2: float
    to_mm2: float
    source: str


@cache
def contact_widths() -> Mapping[float, ContactWidth]:
    """Every width there are figures for, by its millimetres.

    Raises:
        TableFault: a row whose ends are the wrong way round.
    Example:
        >>> contact_widths()[2.8].low_a
        16.0
    """
    found: dict[float, ContactWidth] = {}
    for number, row in enumerate(read_rows(_TABLE), start=2):
        one = ContactWidth(
            width_mm=float(row["width_mm"]),
            low_a=float(row["low_a"]),
            high_a=float(row["high_a"]),
            from_mm2=float(row["from_mm2"]),
            to_mm2=float(row["to_mm2"]),
            source=row["source"],
        )
        if not (0.0 < one.low_a <= one.high_a and 0.0 < one.from_mm2 < one.to_mm2):
            raise TableFault(_TABLE, number, "low_a", f"{one.low_a:g} to {one.high_a:g}")
        found[one.width_mm] = one
    return MappingProxyType(found)


def widths_in(family: str) -> tuple[float, ...]:
    """The widths of contact that a connector's family or a terminal's name tells, the smallest first. [mm]

    Args:
        family: in words.
    Example:
        >>> widths_in("2.8 mm and 1.5 mm, sealed"), widths_in("blade for 2.5 mm²")
        ((1.5, 2.8), ())
    """
    return tuple(sorted({float(word) for word in _WIDTH.findall(family)}))
