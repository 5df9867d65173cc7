"""Which other kind of controller pin does the work of one that is short, and what does that take?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, cast

from loomwright.tables.load import read_rows

__all__ = ["STAND_INS", "How", "StandIn"]

How = Literal["pull_up", "active_low", "active_high", "relay", "box"]
"""What must be there: a pull-up at the pin, the side it is set to, a relay between pin and load, a box of its own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StandIn:
    """One kind of pin for another. ability: what is asked for.   by: what the pin can do.   how: what must be there.

    resistors, relays: parts it takes where it is not there yet. [-]   words: what it is.   loses: what is then lost.
    """

    key: str
    ability: str
    by: str
    how: How
    resistors: int
    relays: int
    words: str
    loses: str


STAND_INS: Mapping[str, StandIn] = {
    row["key"]: StandIn(
        key=row["key"],
        ability=row["ability"],
        by=row["stands_in"],
        how=cast(How, row["how"]),
        resistors=int(row["resistors"]),
        relays=int(row["relays"]),
        words=row["words"],
        loses=row["loses"],
    )
    for row in read_rows("stand_ins")
}
"""Key -> the stand-in, in the order of the table."""
