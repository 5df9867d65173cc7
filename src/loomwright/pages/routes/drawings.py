"""The drawings to look at: every circuit as it is printed, and the layout board; nearer, looked through, printed."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from loomwright.drawings.board.board_sheets import PAPERS
from loomwright.pages.records.board_page import board_page
from loomwright.pages.records.drawing_view import known_near
from loomwright.pages.records.drawings_page import drawing_page, drawings_page
from loomwright.pages.rendering import page
from loomwright.pages.routes.car_page import car_of
from loomwright.pages.routes.circuits import RowName
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import OutOfReach

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Looked = Annotated[str, Query(max_length=120)]
Short = Annotated[str, Query(max_length=20)]


@router.get("/j/{job}/drawings")
def drawings(request: Request, desk: AtDesk, job: JobName, find: Looked = "") -> Response:
    """Every drawing there is, and where a word stands in them."""
    snapshot, car = car_of(desk, job)
    return page(request, "drawings.html", drawings_page(car, job, find), snapshot=snapshot)


@router.get("/j/{job}/drawing/{circuit}")
def drawing(
    request: Request,
    desk: AtDesk,
    job: JobName,
    circuit: RowName,
    sheet: Short = "",
    near: Short = "",
    find: Looked = "",
) -> Response:
    """One sheet of a circuit's drawing, as it is printed."""
    snapshot, car = car_of(desk, job)
    if sheet and not (sheet.isascii() and sheet.isdecimal()):
        raise OutOfReach("sheet", sheet, "a number from 1")
    record = drawing_page(car, job, circuit, sheet=int(sheet or "1"), near=known_near(near), find=find)
    return page(request, "drawing.html", record, snapshot=snapshot)


@router.get("/j/{job}/board")
def board(
    request: Request,
    desk: AtDesk,
    job: JobName,
    sheet: Short = "",
    paper: Short = "",
    near: Short = "",
    find: Looked = "",
) -> Response:
    """The layout board: the whole, or one of its sheets."""
    snapshot, car = car_of(desk, job)
    if paper and paper not in PAPERS:
        raise OutOfReach("paper", paper, " ".join(PAPERS))
    near = known_near(near or ("true" if sheet else "whole"))
    record = board_page(car, job, paper=paper or "a4", sheet=sheet, near=near, find=find)
    return page(request, "board.html", record, snapshot=snapshot)
