"""A job by its stages, and the search through its things."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from loomwright.pages.records.found_things import Found, found_in
from loomwright.pages.records.stages_page import found_page, stages_page
from loomwright.pages.rendering import links_of, page, paint_of
from loomwright.pages.routes.edits import AtDesk, JobName

__all__ = ["router"]

router = APIRouter()
Sought = Annotated[str, Query(max_length=200)]


@router.get("/j/{job}", include_in_schema=False)
def stages(request: Request, desk: AtDesk, job: JobName) -> HTMLResponse:
    """The nine stages: what is done, what is left, what comes next."""
    snapshot = desk.shelf.now(job)
    record = stages_page(snapshot, desk.bench.look(snapshot), links_of(request, snapshot))
    return page(request, "stages.html", record, snapshot=snapshot)


@router.get("/j/{job}/search", include_in_schema=False)
def search_page(request: Request, desk: AtDesk, job: JobName, q: Sought = "") -> HTMLResponse:
    """What answers to some words, as a page."""
    snapshot = desk.shelf.now(job)
    record = found_page(snapshot, q, links_of(request, snapshot))
    return page(request, "search.html", record, snapshot=snapshot)


@router.get("/api/j/{job}/search")
def search(request: Request, desk: AtDesk, job: JobName, q: Sought = "") -> list[dict[str, Any]]:
    """Rows of the job whose ids, names, colours, places, circuits or terminals answer to all of some words."""
    snapshot = desk.shelf.now(job)
    return [
        {
            "sheet": group.sheet,
            "more": group.more,
            "rows": [_row(row) for row in group.rows],
        }
        for group in found_in(snapshot, q, links_of(request, snapshot), most=8)
    ]


def _row(row: Found) -> dict[str, Any]:
    paint = paint_of(row.colour)
    shades = [] if paint is None else [shade for shade in (paint.base, paint.tracer) if shade]
    return {"name": row.name, "says": row.says, "colour": row.colour, "paint": shades, "href": row.href}
