"""How many holes does each fuse box have? Rows of the sheet `vehicle`, one a box:

    fuse_holes_box    12        the box at the place `box`, or the one that fuses name in their setting `box`

A box nobody counts the holes of is taken as one that can always take another fuse.
"""

from __future__ import annotations

from collections.abc import Mapping

from loomwright.job.job import Job
from loomwright.refusals import OutOfReach

__all__ = ["HOLES_ALLOWED", "fuse_holes", "is_holes_name", "read_holes"]

HOLES_ALLOWED = "how many fuses the box takes, 1 to 200"
"""What a row `fuse_holes_` and a box may hold."""

_HOLES = "fuse_holes_"
_MOST = 200


def is_holes_name(name: str) -> bool:
    """Whether a property says how many holes a fuse box has.

    Example:
        >>> is_holes_name("fuse_holes_panel"), is_holes_name("fuse_holes_")
        (True, False)
    """
    return name.startswith(_HOLES) and len(name) > len(_HOLES)


def read_holes(name: str, text: str) -> int:
    """The holes of a box, as typed. [-]

    Raises:
        OutOfReach: it is no such count.
    """
    if not text.strip().isdecimal() or not 1 <= int(text) <= _MOST:
        raise OutOfReach(name, text, HOLES_ALLOWED)
    return int(text)


def fuse_holes(job: Job) -> Mapping[str, int]:
    """Box -> its holes, of those that are counted."""
    rows = (row for row in job.vehicle if is_holes_name(row.name) and row.value)
    return {row.name.removeprefix(_HOLES): read_holes(row.name, row.value) for row in rows}
