"""What has been done to each wire, end by end, as its progress tells?

In: the sheet `progress`, a row a step. Out: one `WireSteps` a wire: what was cut and the last of each step at each end.
A wire that is cut again begins anew: what was done before that was done to another piece. A step at an end that was
done twice counts as it was done last, with the revision it was done from then.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from loomwright.findings import id_order
from loomwright.job.fixed_map import FixedMap
from loomwright.job.rows import Progress
from loomwright.job.wire_ends import ENDS

__all__ = ["AT_ENDS", "STEPS", "WireSteps", "next_step", "steps_of"]

AT_ENDS = ("crimped", "seated", "sleeved", "labelled")
"""Steps that are done at an end, in the order in which they are offered; a sleeve is offered, not asked for."""

STEPS = ("cut", *AT_ENDS, "proved")
"""Every step there is."""

_IN_ORDER = ("crimped", "seated", "labelled")


@dataclass(frozen=True, slots=True, kw_only=True)
class WireSteps:
    """What was done to one wire.

    cut: its cutting; None where only later steps are written down.   proved: the last time it was.
    ends: end -> step -> the last time it was done there.   first: the first step on the piece there is now.
    length_mm, size_mm2, colour: the last that was written down of the piece; None and empty where nothing was.
    """

    wire: str
    first: Progress
    cut: Progress | None
    proved: Progress | None
    ends: Mapping[str, Mapping[str, Progress]]
    length_mm: float | None
    size_mm2: float | None
    colour: str

    def at(self, end: str, step: str) -> Progress | None:
        """The last time a step was done at an end, None where it was not."""
        return self.ends[end].get(step)

    @property
    def is_laid(self) -> bool:
        """Whether an end of it sits in its place."""
        return any("seated" in self.ends[end] for end in ENDS)


def steps_of(progress: Iterable[Progress]) -> Mapping[str, WireSteps]:
    """What was done to each wire that has progress, wire -> its steps, in order of id."""
    rows: dict[str, list[Progress]] = {}
    for row in progress:
        if row.step == "cut":
            rows[row.wire] = []
        rows.setdefault(row.wire, []).append(row)
    return FixedMap({wire: _steps(wire, rows[wire]) for wire in sorted(rows, key=id_order)})


def next_step(steps: WireSteps | None, end: str) -> str:
    """What is done next at an end; empty where nothing is left but to prove it.

    Example:
        >>> next_step(None, "from")
        'cut'
    """
    if steps is None or not (steps.cut or steps.ends["from"] or steps.ends["to"]):
        return "cut"
    return next((step for step in _IN_ORDER if step not in steps.ends[end]), "")


def _steps(wire: str, rows: list[Progress]) -> WireSteps:
    ends: dict[str, dict[str, Progress]] = {end: {} for end in ENDS}
    for row in rows:
        for end in ENDS if row.end == "both" else (row.end,):
            if row.step in AT_ENDS and end in ends:
                ends[end][row.step] = row
    last = {row.step: row for row in rows}
    lengths = [row.length_mm for row in rows if row.length_mm is not None]
    sizes = [row.size_mm2 for row in rows if row.size_mm2 is not None]
    colours = [row.colour for row in rows if row.colour]
    return WireSteps(
        wire=wire,
        first=rows[0],
        cut=last.get("cut"),
        proved=last.get("proved"),
        ends=FixedMap({end: FixedMap(each) for end, each in ends.items()}),
        length_mm=lengths[-1] if lengths else None,
        size_mm2=sizes[-1] if sizes else None,
        colour=colours[-1] if colours else "",
    )
