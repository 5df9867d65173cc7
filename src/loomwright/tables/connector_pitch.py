"""How far apart are the cavities of a connector family?

In: the family in words, as the sheet has it. Out: the pitch along a row and from row to row, with its source; nothing
where no open standard fixes it. Figures from memory until they are read up.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from loomwright.refusals import TableFault
from loomwright.tables.load import read_rows

__all__ = ["Pitch", "connector_pitches", "pitch_of"]

_TABLE = "connector_pitch"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pitch:
    """A family's pitch. across_mm: along a row. [mm]   down_mm: from row to row. [mm]   place: where that stands."""

    family: str
    words: tuple[str, ...]
    across_mm: float
    down_mm: float
    source: str
    place: str


@cache
def connector_pitches() -> Mapping[str, Pitch]:
    """Every family with a pitch that a standard fixes.

    Raises:
        TableFault: a row whose pitch is nothing.
    """
    found: dict[str, Pitch] = {}
    for number, row in enumerate(read_rows(_TABLE), start=2):
        one = Pitch(
            family=row["family"],
            words=tuple(row["words"].split()),
            across_mm=float(row["across_mm"]),
            down_mm=float(row["down_mm"]),
            source=row["source"],
            place=row["place"],
        )
        if min(one.across_mm, one.down_mm) <= 0.0:
            raise TableFault(_TABLE, number, "across_mm", f"{one.across_mm:g} x {one.down_mm:g}")
        found[one.family] = one
    return MappingProxyType(found)


def pitch_of(family: str) -> Pitch | None:
    """The pitch of a family; None where none is known.

    Args:
        family: in words.
    Example:
        >>> pitch_of("D-sub, crimped").across_mm, pitch_of("sealed, 1.5 mm contacts")
        (2.77, None)
    """
    said = family.lower().replace(",", " ").split()
    return next((one for one in connector_pitches().values() if any(word in said for word in one.words)), None)
