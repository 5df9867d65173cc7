"""The sizes of a car's wires: the table, one wire with its rules side by side, stopping and resuming it by hand."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from loomwright.pages.loom_work import sized_beside
from loomwright.pages.records.sizes_page import sizes_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.car_page import car_of
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.pages.routes.seconds_long import offer_stop

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Word = Annotated[str, Query(max_length=120)]
_QUESTION = "sizes"


@router.get("/j/{job}/sizes")
def sizes(request: Request, desk: AtDesk, job: JobName, wire: Word = "", by: Word = "") -> Response:
    """The table, or how far it is. wire: the one whose rules stand side by side.   by: only what that rule decided."""
    snapshot, car = car_of(desk, job)
    key = (snapshot.name, snapshot.revision, _QUESTION)
    standing = desk.sizes.look(key, lambda tell: sized_beside(car, tell))
    record = sizes_page(
        car,
        standing.answer,
        links_of(request, snapshot),
        wire=wire,
        by=by,
        stopped=standing.stopped,
        refused=str(standing.refused or ""),
        done=standing.done,
        of=standing.of,
    )
    return page(request, "sizes.html", record, snapshot=snapshot)


offer_stop(router, "sizes", _QUESTION, lambda desk: desk.sizes)
