"""Every wire shorted to the body at each end."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from loomwright.pages.records.shorts_page import shorts_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.car_page import car_of
from loomwright.pages.routes.edits import AtDesk, JobName

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Word = Annotated[str, Query(max_length=40)]


@router.get("/j/{job}/shorts")
def shorts(request: Request, desk: AtDesk, job: JobName, verdict: Word = "") -> Response:
    """The shorts, those of one verdict alone."""
    snapshot, car = car_of(desk, job)
    record = shorts_page(car, links_of(request, snapshot), verdict=verdict)
    return page(request, "shorts.html", record, snapshot=snapshot)
