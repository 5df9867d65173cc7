"""How long does one of something usually take in the shop, at the least and at the most?

All of it is typical, common practice without a source; a shop that has timed itself sets its own figures in the job.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from loomwright.tables.load import read_rows

__all__ = ["OPERATIONS", "Minutes", "Operation"]

_TABLE = "work_minutes"


@dataclass(frozen=True, slots=True, kw_only=True)
class Minutes:
    """How long something takes. least_minutes, usual_minutes, most_minutes: of one. [min]"""

    least_minutes: float
    usual_minutes: float
    most_minutes: float

    def times(self, count: float) -> Minutes:
        """How long several take, one after another.

        Args:
            count: how many. [-]
        Example:
            >>> Minutes(least_minutes=1.0, usual_minutes=2.0, most_minutes=4.0).times(3.0).most_minutes
            12.0
        """
        return Minutes(
            least_minutes=self.least_minutes * count,
            usual_minutes=self.usual_minutes * count,
            most_minutes=self.most_minutes * count,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """One operation. words: what is done. stage: where its hours fall.   per: what is counted.   source: of minutes."""

    key: str
    words: str
    stage: str
    per: str
    minutes: Minutes
    source: str


OPERATIONS: Mapping[str, Operation] = MappingProxyType(
    {
        row["operation"]: Operation(
            key=row["operation"],
            words=row["words"],
            stage=row["stage"],
            per=row["per"],
            minutes=Minutes(
                least_minutes=float(row["least_minutes"]),
                usual_minutes=float(row["usual_minutes"]),
                most_minutes=float(row["most_minutes"]),
            ),
            source=row["source"],
        )
        for row in read_rows(_TABLE)
    }
)
"""Operation -> what it is and how long it takes, in the order of the work."""
