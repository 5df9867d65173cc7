"""Parts tried at other places: picked in a form, worked out beside the page, stopped by hand."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.loom.weighing import Weighed
from loomwright.pages.answer_bench import AnswerStanding
from loomwright.pages.loom_work import placed_beside
from loomwright.pages.records.placing_page import moved_by, placing_page, placing_path
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.car_page import car_of
from loomwright.pages.routes.edits import AtDesk, JobName

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Names = Annotated[list[Annotated[str, Query(max_length=120)]], Query(max_length=40)]
_NONE: list[str] = []
_SEE_OTHER = 303


@router.get("/j/{job}/placing")
def placing(request: Request, desk: AtDesk, job: JobName, part: Names = _NONE, at: Names = _NONE) -> Response:
    """The form, and the places side by side or how far they are. part: what is moved.   at: where it might sit."""
    snapshot, car = car_of(desk, job)
    parts, places = tuple(name for name in part if name), tuple(dict.fromkeys(name for name in at if name))
    moved = moved_by(car, parts, places)
    standing: AnswerStanding[tuple[Weighed, ...]] = AnswerStanding()
    if moved and places:
        key = (snapshot.name, snapshot.revision, _question(parts, places))
        standing = desk.placings.look(key, lambda tell: placed_beside(car, moved, places, tell))
    record = placing_page(
        car,
        standing.answer,
        links_of(request, snapshot),
        parts=parts,
        at=places,
        moved=moved,
        stopped=standing.stopped,
        refused=str(standing.refused or ""),
        done=standing.done,
        of=standing.of,
    )
    return page(request, "placing.html", record, snapshot=snapshot)


@router.post("/j/{job}/placing/stop")
def stop(desk: AtDesk, job: JobName, part: Names = _NONE, at: Names = _NONE) -> Response:
    """Stop trying, and come back."""
    desk.placings.stop((job, desk.shelf.now(job).revision, _question(part, at)))
    return RedirectResponse(placing_path(job, "", part, at), _SEE_OTHER)


@router.post("/j/{job}/placing/again")
def again(desk: AtDesk, job: JobName, part: Names = _NONE, at: Names = _NONE) -> Response:
    """Try after all, and come back."""
    desk.placings.again((job, desk.shelf.now(job).revision, _question(part, at)))
    return RedirectResponse(placing_path(job, "", part, at), _SEE_OTHER)


def _question(parts: list[str] | tuple[str, ...], at: list[str] | tuple[str, ...]) -> str:
    return f"other places: {' '.join(parts)} at {' '.join(at)}"
