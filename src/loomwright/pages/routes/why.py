"""Why a cell is what it is: every limit, back to the table and its source."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.allocation.pin_decisions import stale_pins
from loomwright.car import Car
from loomwright.job.decided import cut_wires, decision_at, is_blank_cell
from loomwright.pages.answer_bench import AnswerStanding
from loomwright.pages.records.row_cells import why_href
from loomwright.pages.records.why_page import kept_why, why_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.car_page import car_of
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.sizing.stale import stale_sizes
from loomwright.sizing.why import Why, cell_named

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Cell = Annotated[str, Path(min_length=3, max_length=200)]
_SEE_OTHER = 303
_LENGTH = "length_mm"


@router.get("/why/{job}/{cell}")
def why_cell(request: Request, desk: AtDesk, job: JobName, cell: Cell) -> Response:
    """The way back of a size, a rating, a length or a pin; worked out meanwhile where nobody kept it."""
    snapshot, car = car_of(desk, job)
    links = links_of(request, snapshot)
    sheet, row, column = cell_named(car.job, cell)
    standing = AnswerStanding(answer=_at_hand(car, cell, sheet, row, column))
    if standing.answer is None:
        standing = desk.whys.look((job, snapshot.revision, cell), lambda tell: car.why(cell, tell))
    if standing.refused is not None:
        raise standing.refused
    record = why_page(
        (cell, sheet, row, column),
        standing.answer,
        links,
        car.variables,
        path=why_href(links, cell),
        stopped=standing.stopped,
        done=standing.done,
        of=standing.of,
    )
    return page(request, "why.html", record, snapshot=snapshot)


@router.post("/why/{job}/{cell}/stop")
def stop(request: Request, desk: AtDesk, job: JobName, cell: Cell) -> Response:
    """Stop working it out, and come back."""
    snapshot = desk.shelf.now(job)
    desk.whys.stop((job, snapshot.revision, cell))
    return RedirectResponse(why_href(links_of(request, snapshot), cell), status_code=_SEE_OTHER)


@router.post("/why/{job}/{cell}/again")
def again(request: Request, desk: AtDesk, job: JobName, cell: Cell) -> Response:
    """Work it out after all, and come back."""
    snapshot = desk.shelf.now(job)
    desk.whys.again((job, snapshot.revision, cell))
    return RedirectResponse(why_href(links_of(request, snapshot), cell), status_code=_SEE_OTHER)


def _at_hand(car: Car, cell: str, sheet: str, row: str, column: str) -> Why | None:
    """The answer where it takes no time: a length, or what was kept and still stands."""
    if column == _LENGTH:
        return car.why(cell)
    choice = decision_at(car.job, sheet, row, column)
    if choice is None or row in cut_wires(car.job) or not is_blank_cell(car.job, choice):
        return None
    stale = stale_pins(car.job) if sheet == "needs" else stale_sizes(car.job)
    if (row if sheet == "needs" else f"{row}.{column.rpartition('.')[2]}") in stale:
        return None
    return kept_why(car.job, cell, sheet, row, column)
