"""Gear-change lines checked, driven and looked for in a process of its own: what the page of gear changes waits for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loomwright.car import Car
from loomwright.findings import Finding, in_order
from loomwright.gearbox.box import Box
from loomwright.gearbox.box_checking import box_findings
from loomwright.gearbox.box_reading import box_from_rows, shipped_box
from loomwright.gearbox.checking import line_findings
from loomwright.gearbox.fewest import TradeOff, fewest_changes
from loomwright.gearbox.hunting import hunting
from loomwright.gearbox.judged import Judged, judged, run_called
from loomwright.gearbox.lines import lines_of, programme_called
from loomwright.job.job import Job
from loomwright.pages.apart import Tell, worked_apart
from loomwright.writers.gear_chart import hunting_chart

__all__ = ["RUNS_SHOWN", "GearsFound", "box_of", "fewest_apart", "gears_apart"]

RUNS_SHOWN = ("udds", "wltc", "hill", "full_throttle", "tip_in")
"""The drives that the page holds side by side."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GearsFound:
    """What was found. box: of the gearbox itself.   lines: programme -> of its lines.   maps: programme -> drawing."""

    box: tuple[Finding, ...]
    lines: Mapping[str, tuple[Finding, ...]]
    drives: tuple[Judged, ...]
    maps: Mapping[str, str]


def box_of(job: Job) -> tuple[Box, bool]:
    """The gearbox of the sheet `vehicle`, or the made-up one where it has no row `gear.*`, and whether it is that."""
    box = box_from_rows((row.name, row.value) for row in job.vehicle)
    return (shipped_box(), True) if box is None else (box, False)


def gears_apart(job: Job, tell: Tell) -> GearsFound:
    """Every programme checked and driven.

    Args:
        tell: called with steps done and to do; may raise Stopped.
    Raises:
        NoAnswer: the process was ended from outside, or the gearbox cannot be read.
    """
    return worked_apart("the gear changes", _found, (job,), tell)


def fewest_apart(job: Job, programme: str, tell: Tell) -> TradeOff:
    """Fewest changes for the fuel, as a curve.

    Args:
        tell: called with sets driven and to drive; may raise Stopped.
    Raises:
        NoAnswer: the process was ended from outside, or the gearbox cannot be read.
    """
    return worked_apart("the lines with fewest changes", _fewest, (job, programme), tell)


def _found(job: Job, tell: Tell) -> GearsFound:
    box, is_shown_only = box_of(job)
    sets = [lines_of(box, one) for one in box.programmes]
    steps = 1 + len(sets) * (1 + len(RUNS_SHOWN))
    tell(0, steps)
    about_box = [*box_findings(box), *(() if is_shown_only else Car(job).gear_unplugged(box))]
    lines: dict[str, tuple[Finding, ...]] = {}
    maps: dict[str, str] = {}
    drives: list[Judged] = []
    for place, each in enumerate(sets):
        tell(1 + place, steps)
        where = hunting(box, each)
        lines[each.programme] = line_findings(box, each, where)
        maps[each.programme] = hunting_chart(where, programme=each.programme)
    for run in RUNS_SHOWN:
        for each in sets:
            tell(1 + len(sets) + len(drives), steps)
            drive = run_called(box, each, run)
            drives.append(judged(drive, programme=each.programme, run=run, gears=len(box.ratios)))
    return GearsFound(box=in_order(about_box), lines=lines, drives=tuple(drives), maps=maps)


def _fewest(job: Job, programme: str, tell: Tell) -> TradeOff:
    box, _ = box_of(job)
    return fewest_changes(box, programme_called(box, programme), tell=tell)
