"""The worst cases of a car: the page, stopping and resuming it by hand, and the same as a workbook."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.car import Car
from loomwright.handover.worst_sheet import worst_lists
from loomwright.job.vehicle import vehicle_of
from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerStanding
from loomwright.pages.desk import Desk
from loomwright.pages.records.worst_page import SORTS, worst_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.car_page import car_of
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import NoAnswer, OutOfReach
from loomwright.sizing.drawn_on import drawn_on
from loomwright.sizing.worst_asked import WHATS
from loomwright.sizing.worst_cases import WorstCases, worst_cases
from loomwright.store.snapshot import Snapshot
from loomwright.writers.pack_workbook import pack_workbook

__all__ = ["router"]

router = APIRouter()
Word = Annotated[str, Query(max_length=40)]
_WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
_SEE_OTHER = 303
_QUESTION = "worst cases"


@router.get("/j/{job}/worst", include_in_schema=False)
def worst(request: Request, desk: AtDesk, job: JobName, sort: Word = "share", what: Word = "") -> Response:
    """The table, or how far it is."""
    if sort not in SORTS:
        raise OutOfReach("sort", sort, " ".join(SORTS))
    if what and what not in WHATS:
        raise OutOfReach("what", what, " ".join(WHATS))
    snapshot, car = car_of(desk, job)
    standing = _standing(desk, snapshot, car)
    if standing.refused is not None:
        raise standing.refused
    record = worst_page(
        standing.answer,
        drawn_on(car.scene) if standing.answer is not None else (),
        links_of(request, snapshot),
        sort=sort,
        what=what,
        stopped=standing.stopped,
        done=standing.done,
        of=standing.of,
    )
    return page(request, "worst.html", record, snapshot=snapshot)


@router.post("/j/{job}/worst/stop", include_in_schema=False)
def stop(desk: AtDesk, job: JobName) -> Response:
    """Stop working it out."""
    desk.worsts.stop((job, desk.shelf.now(job).revision, _QUESTION))
    return RedirectResponse(job_path(job, "worst"), _SEE_OTHER)


@router.post("/j/{job}/worst/again", include_in_schema=False)
def again(desk: AtDesk, job: JobName) -> Response:
    """Work it out after all."""
    desk.worsts.again((job, desk.shelf.now(job).revision, _QUESTION))
    return RedirectResponse(job_path(job, "worst"), _SEE_OTHER)


@router.get("/j/{job}/worst/table.xlsx", include_in_schema=False)
def workbook(desk: AtDesk, job: JobName) -> Response:
    """The same as a workbook."""
    snapshot, car = car_of(desk, job)
    answer = _standing(desk, snapshot, car).answer
    if answer is None:
        raise NoAnswer("the worst cases as a workbook", ("They are not worked out yet: open their page first.",))
    title = vehicle_of(car.filled).title
    data = pack_workbook(worst_lists(answer, drawn_on(car.scene)), title=title, revision=str(snapshot.revision))
    name = f"worst cases revision {snapshot.revision}.xlsx"
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "private, no-store"}
    return Response(data, media_type=_WORKBOOK, headers=headers)


def _standing(desk: Desk, snapshot: Snapshot, car: Car) -> AnswerStanding[WorstCases]:
    key = (snapshot.name, snapshot.revision, _QUESTION)
    return desk.worsts.look(key, lambda tell: worst_cases(car.scene, tell))
