"""What does a truth table say, asked in words?"""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.network.compiled import Compiled
from loomwright.states.asking.cones import cones_of
from loomwright.states.truth.asked import asked_points, asked_variables, deciding_variables
from loomwright.states.truth.table import TruthTable, truth_table

__all__ = ["truth_of"]

_MOST_UNASKED = 128
State = Mapping[str, str | float]


def truth_of(
    compiled: Compiled, points: str, over: str, *, at: State, before: State | None, system_v: float, most: int
) -> TruthTable:
    """The table of points over variables, both as they are typed.

    Args:
        points: terminals, wires, parts, parted by commas.
        over: variables or some of their values; what decides the points, up to 128 combinations, where empty.
        at: the variables that are not gone over; those it does not name are at rest.
        before: the state each row is come to from.
        system_v: what the car is made for. [V]
        most: combinations that are worked out at most. [-]
    Raises:
        OutOfReach: a point, variable or value the car does not have, or too many combinations.
    """
    asked = asked_points(compiled, points)
    ruling = asked_variables(compiled, over) if over else ()
    return truth_table(
        compiled,
        asked,
        ruling or deciding_variables(compiled, cones_of(compiled), asked, most=_MOST_UNASKED),
        at=at,
        before=before,
        system_v=system_v,
        most=most,
    )
