"""What is the next wire called? Numbered on from the highest there is, so that it fits on a sleeve like the others."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import count

from loomwright.job.job import Job

__all__ = ["next_wire_ids"]

_WIRE = re.compile(r"^([A-Za-z]*)(\d+)$")
_FIRST_WIRE = 101


def next_wire_ids(job: Job) -> Iterator[str]:
    """Wire ids not used yet, numbered on from the highest: `W301`, `W302` …; from `W101` where none is numbered."""
    found = [match for wire in job.wires if (match := _WIRE.match(wire.id))]
    highest = max(found, key=lambda match: int(match[2]), default=None)
    letters, first = ("W", _FIRST_WIRE) if highest is None else (highest[1], int(highest[2]) + 1)
    taken = {part.id for part in job.parts}
    return (name for number in count(first) if (name := f"{letters}{number}") not in taken)
