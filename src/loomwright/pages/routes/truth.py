"""The truth table of chosen points over chosen variables: the page, and the same as a workbook."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from loomwright.car import Car
from loomwright.handover.truth_sheet import truth_list
from loomwright.pages.desk import Desk
from loomwright.pages.records.state_asked import asked_of
from loomwright.pages.records.truth_page import TruthAsked, truth_of, truth_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.car_page import StateText, car_of
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.pages.routes.seconds_long import workbook_answer
from loomwright.refusals import OutOfReach
from loomwright.store.snapshot import Snapshot

__all__ = ["router"]

router = APIRouter()
Named = Annotated[str, Query(max_length=1000)]


@router.get("/j/{job}/truth", include_in_schema=False)
def truth(
    request: Request,
    desk: AtDesk,
    job: JobName,
    points: Named = "",
    over: Named = "",
    at: StateText = "",
    before: StateText = "",
    unplug: StateText = "",
) -> Response:
    """The table, or what to type where nothing is asked yet."""
    snapshot, car, asked = _asked(desk, job, points, over, at, before, unplug)
    record = truth_page(car, asked, links_of(request, snapshot))
    return page(request, "truth.html", record, snapshot=snapshot)


@router.get("/j/{job}/truth/table.xlsx", include_in_schema=False)
def workbook(
    desk: AtDesk,
    job: JobName,
    points: Named = "",
    over: Named = "",
    at: StateText = "",
    before: StateText = "",
    unplug: StateText = "",
) -> Response:
    """The same as a workbook."""
    snapshot, car, asked = _asked(desk, job, points, over, at, before, unplug)
    table = truth_of(car, asked)
    if table is None:
        raise OutOfReach("points", "none", "points, wires or parts, such as LA1.1, W5, K1")
    return workbook_answer(car, [truth_list(table)], revision=snapshot.revision, called="truth table")


def _asked(
    desk: Desk, job: str, points: str, over: str, at: str, before: str, unplug: str
) -> tuple[Snapshot, Car, TruthAsked]:
    snapshot, car = car_of(desk, job)
    return snapshot, car, TruthAsked(points=points.strip(), over=over.strip(), at=asked_of(car, at, before, unplug))
