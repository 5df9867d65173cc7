"""The page of a sheet, and what its grid asks while somebody types: likely words, and why a cell was decided so."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from loomwright.job.taking import MOST_ROWS
from loomwright.pages.records.cell_words import words_for
from loomwright.pages.records.grid_page import grid_page
from loomwright.pages.records.sheet_news import reasons_in
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName, SheetName

__all__ = ["router"]

router = APIRouter()
Key = Annotated[int | None, Query(ge=0, le=2**53)]
Revision = Annotated[int | None, Query(ge=1, le=2**53)]
Heading = Annotated[str, Query(min_length=1, max_length=120)]


@router.get("/j/{job}/sheet/{sheet}", include_in_schema=False)
def grid(
    request: Request,
    desk: AtDesk,
    job: JobName,
    sheet: SheetName,
    row: Key = None,
    start: Annotated[int, Query(ge=1, le=MOST_ROWS)] = 1,
    revision: Revision = None,
) -> HTMLResponse:
    """One sheet, as it stands or as it stood at a revision."""
    newest = desk.shelf.now(job)
    snapshot = newest if revision is None else desk.shelf.now(job, revision)
    is_newest = snapshot.revision == newest.revision
    record = grid_page(snapshot, sheet, links_of(request, snapshot), row=row, start=start, is_newest=is_newest)
    return page(request, "grid.html", record, snapshot=snapshot)


@router.get("/api/j/{job}/sheet/{sheet}/words")
def words(desk: AtDesk, job: JobName, sheet: SheetName, column: Heading, row: Key = None) -> list[str]:
    """Words that are likely in a column, the likeliest first."""
    return list(words_for(desk.shelf.now(job), sheet, column, row))


@router.get("/api/j/{job}/sheet/{sheet}/reasons")
def reasons(
    desk: AtDesk, job: JobName, sheet: SheetName, row: Annotated[str, Query(max_length=120)], column: Heading
) -> list[dict[str, Any]]:
    """Why a cell was decided so, one limit a line; row is the name of its row."""
    return [dict(one) for one in reasons_in(desk.shelf.now(job), sheet, row, column)]
