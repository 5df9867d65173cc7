"""How long does one operation on a wire that is built already take?

Typical minutes, each by common practice: they are for an offer, not for a clock.
"""

from __future__ import annotations

from loomwright.refusals import OutOfReach
from loomwright.tables.load import read_rows

__all__ = ["REWORK", "rework_typical_minutes"]

_TABLE = "rework_minutes"

REWORK = tuple(row["operation"] for row in read_rows(_TABLE))
"""The operations there are figures for."""


def rework_typical_minutes(operation: str) -> float:
    """What an operation typically takes. [min]

    Args:
        operation: a row of the table: `extract`, `label` ….
    Raises:
        OutOfReach: no such operation.
    Source:
        per row of `rework_minutes.csv`: common practice, no source.
    Example:
        >>> rework_typical_minutes("extract")
        4.0
    """
    for row in read_rows(_TABLE):
        if row["operation"] == operation:
            return float(row["minutes"])
    raise OutOfReach("operation", operation, " ".join(REWORK))
