"""Gear-change lines of a job's gearbox: the page, and its lines and charts as files."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from loomwright.findings import in_order
from loomwright.gearbox.box import Box
from loomwright.gearbox.box_checking import box_findings
from loomwright.gearbox.box_reading import box_from_rows, shipped_box
from loomwright.gearbox.checking import line_findings
from loomwright.gearbox.hunting import hunting
from loomwright.gearbox.judged import judged, run_called
from loomwright.gearbox.line_sheet import lines_to_csv
from loomwright.gearbox.lines import Lines, first_lines, programme_called
from loomwright.pages.records.gears_page import gears_page
from loomwright.pages.rendering import page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import NoAnswer
from loomwright.store.snapshot import Snapshot
from loomwright.writers.gear_chart import hunting_chart, lines_chart

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Word = Annotated[str, Query(max_length=40)]
_RUNS = ("udds", "hill", "full_throttle", "tip_in")


@router.get("/j/{job}/gears")
def gears(request: Request, desk: AtDesk, job: JobName, programme: Word = "") -> Response:
    """Lines, findings, drives and the set-up of one programme."""
    snapshot = desk.shelf.now(job)
    box, is_shown_only = _box(snapshot)
    lines = _lines(box, programme)
    findings = in_order([*box_findings(box), *line_findings(box, lines)])
    drives = [
        judged(run_called(box, each, run), programme=each.programme, run=run, gears=len(box.ratios))
        for run in _RUNS
        for each in (first_lines(box, one) for one in box.programmes)
    ]
    record = gears_page(job, box, lines, findings, drives, is_shown_only=is_shown_only)
    return page(request, "gears.html", record, snapshot=snapshot)


@router.get("/j/{job}/gears/lines.svg")
def lines_svg(desk: AtDesk, job: JobName, programme: Word = "") -> Response:
    """The lines, drawn."""
    box, _ = _box(desk.shelf.now(job))
    return Response(lines_chart(_lines(box, programme)), media_type="image/svg+xml")


@router.get("/j/{job}/gears/hunting.svg")
def hunting_svg(desk: AtDesk, job: JobName, programme: Word = "") -> Response:
    """Where it hunts, drawn."""
    box, _ = _box(desk.shelf.now(job))
    lines = _lines(box, programme)
    return Response(hunting_chart(hunting(box, lines), programme=lines.programme), media_type="image/svg+xml")


@router.get("/j/{job}/gears/lines.csv")
def lines_csv(desk: AtDesk, job: JobName, programme: Word = "") -> Response:
    """The lines as figures."""
    box, _ = _box(desk.shelf.now(job))
    return Response(lines_to_csv(box, _lines(box, programme)), media_type="text/csv; charset=utf-8")


def _box(snapshot: Snapshot) -> tuple[Box, bool]:
    """The gearbox of the job's sheet `vehicle`, or the made-up one where it has no row `gear.*`."""
    if snapshot.job is None:
        raise NoAnswer("the gear changes", ("The sheets hold a cell that cannot be read: mend it first.",))
    box = box_from_rows((row.name, row.value) for row in snapshot.job.vehicle)
    return (shipped_box(), True) if box is None else (box, False)


def _lines(box: Box, programme: str) -> Lines:
    return first_lines(box, programme_called(box, programme) if programme else box.programmes[0])
