"""How much resistance does a joint add?

Every wire end, bolted earth, fuse clip and contact is a resistance of its own. A table of typical new joints, with what
a joint that has gone bad may reach, stands in for what nobody measured; a part's own setting goes before it.
"""

from __future__ import annotations

from loomwright.refusals import OutOfReach
from loomwright.tables.load import read_rows

__all__ = ["JOINTS", "joint_limit_ohm", "joint_ohm"]

_TABLE = "joints"
_MILLI = 1000.0

JOINTS = tuple(row["joint"] for row in read_rows(_TABLE))
"""The joints there are figures for."""


def joint_ohm(kind: str) -> float:
    """Resistance of a typical sound joint of that kind. [ohm]

    Args:
        kind: a joint of the table: `wire_end`, `bolted_earth`, `fuse_clip`, `relay_contact` ….
    Raises:
        OutOfReach: no such joint.
    Source:
        per row of `joints.csv`.
    Example:
        >>> joint_ohm("relay_contact")
        0.003
    """
    return _figure(kind, "typical_mohm")


def joint_limit_ohm(kind: str) -> float:
    """Resistance above which a joint of that kind wants work. [ohm]

    Raises:
        OutOfReach: no such joint.
    """
    return _figure(kind, "limit_mohm")


def _figure(kind: str, column: str) -> float:
    for row in read_rows(_TABLE):
        if row["joint"] == kind:
            return float(row[column]) / _MILLI
    raise OutOfReach("joint", kind, " ".join(JOINTS))
