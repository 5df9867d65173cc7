"""What does the page of the base timing show: the readings, what they say, which of them were set apart and why?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.job.rows import LightReading
from loomwright.pages.addresses import job_path
from loomwright.refusals import Problem
from loomwright.startup.timing import Interval, Timing

__all__ = ["COLUMNS", "ROWS", "ReadingRow", "TimingPage", "timing_page"]

COLUMNS: Mapping[str, str] = {
    "rpm": "Speed [1/min]",
    "commanded": "Commanded [° before]",
    "seen": "Seen [° before]",
    "cylinder": "Lead of cylinder",
    "stroke": "Stroke, if felt",
}
"""Column of the readings -> its heading."""
ROWS = 8
"""Readings there is room for at first; more where more are there. [-]"""
_MORE = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingRow:
    """One reading as typed. number: from 1. [-]   apart: why it was set apart, blank where it counts."""

    number: int
    cells: tuple[tuple[str, str], ...]
    apart: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TimingPage:
    """The page. fitted: offset and delay with their bounds, in words.   says: what to correct, how much, which way.

    is_true: every reading is within a degree.   chart: address of the drawing, blank where there is none.
    kept: what is on record, blank where nothing is.   changed: before those.   wheel: what a scope shows of it.
    """

    here: str
    engine: tuple[tuple[str, str, str], ...]
    wasted: bool
    headings: tuple[tuple[str, str], ...]
    rows: tuple[ReadingRow, ...]
    problems: tuple[Problem, ...]
    fitted: tuple[tuple[str, str, str], ...]
    used: int
    mistakes: tuple[str, ...]
    says: tuple[str, ...]
    is_true: bool
    is_asked: bool
    chart: str
    kept: str
    changed: str
    wheel: tuple[str, ...]


def timing_page(
    job: str,
    typed: Mapping[str, str],
    engine: Mapping[str, str],
    found: Timing | None,
    numbers: Sequence[int],
    problems: Sequence[Problem],
    *,
    wasted: bool,
    kept: Sequence[LightReading] = (),
    wheel: Sequence[str] = (),
) -> TimingPage:
    """The page.

    Args:
        job: its name.
        typed: name of a field -> text.
        engine: cylinders, teeth, and the cylinder of the mark.
        found: what the readings say; None where there are none.
        numbers: rows of the readings, in the order in which they were asked. [-]
        problems: why what was typed was not taken.
        wasted: coils fire pairs.
        kept: readings on record since the last correction.
        wheel: what a scope shows of the crank wheel, in words.
    """
    labels = {"cylinders": "Cylinders", "teeth": "Crank wheel, 60-2", "first": "Mark is of cylinder"}
    apart = {} if found is None else {numbers[one.number - 1]: one.why for one in found.apart}
    last = max((int(name[3:]) for name in typed if name[:3] == "rpm" and name[3:].isdigit()), default=0)
    return TimingPage(
        here=job_path(job, "timing"),
        engine=tuple((name, label, engine.get(name, "")) for name, label in labels.items()),
        wasted=wasted,
        headings=tuple(COLUMNS.items()),
        rows=tuple(
            ReadingRow(
                number=number,
                cells=tuple((f"{name}{number}", typed.get(f"{name}{number}", "")) for name in COLUMNS),
                apart=apart.get(number, ""),
            )
            for number in range(1, max(ROWS, last + _MORE) + 1)
        ),
        problems=tuple(problems),
        fitted=() if found is None else tuple(_fitted(found)),
        used=0 if found is None else found.used,
        mistakes=() if found is None else found.mistakes,
        says=() if found is None else found.says,
        is_true=found is not None and found.is_true,
        is_asked=found is not None,
        chart="" if found is None else job_path(job, "timing", "readings.svg", query=typed),
        kept=f"{len(kept)} readings, the last {kept[-1].time or 'at an unknown time'}" if kept else "",
        changed=kept[0].changed if kept else "",
        wheel=tuple(wheel),
    )


def _fitted(found: Timing) -> list[tuple[str, str, str]]:
    pairs: tuple[tuple[str, Interval | None], ...] = (("Offset", found.offset), ("Delay", found.delay))
    return [
        (name, f"{one.value:+.1f} {one.unit}", f"{one.low:+.1f} to {one.high:+.1f} with 95 % confidence")
        for name, one in pairs
        if one is not None
    ]
