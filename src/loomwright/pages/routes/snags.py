"""The snags of a job: written down, tied to a thing, mended, opened again."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from loomwright.pages.addresses import job_path
from loomwright.pages.desk import Desk
from loomwright.pages.entries import TypedForm, keep_entry, set_cells
from loomwright.pages.records.entry_form import Returned
from loomwright.pages.records.snag_lines import NAMES, snags_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
_SHEET = "snags"
_SEE_OTHER = 303


@router.get("/j/{job}/snags")
def snags(request: Request, desk: AtDesk, job: JobName) -> HTMLResponse:
    """All snags by stage."""
    return _page(request, desk, job)


@router.post("/j/{job}/snags")
def save(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Write a snag down, change one, or take it out."""
    back, at = keep_entry(
        desk, job, _SHEET, typed, NAMES, begin="S", nothing="Nothing stands there. Write what is wrong."
    )
    return _page(request, desk, job, back) if back else _there(job, at)


@router.post("/j/{job}/snags/status")
def status(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Mended, or open again."""
    row = typed.get("row", "")
    key = int(row) if row.isdecimal() else 0
    back = set_cells(desk, job, _SHEET, key, typed, ("status",), form=f"{_SHEET}-{row}")
    return _page(request, desk, job, back) if back else _there(job, f"s{row}")


def _page(request: Request, desk: Desk, job: str, back: Returned | None = None) -> HTMLResponse:
    snapshot = desk.shelf.now(job)
    record = snags_page(snapshot, links_of(request, snapshot), back)
    return page(request, "snags.html", record, snapshot=snapshot, status=200 if back is None else back.status)


def _there(job: str, at: str) -> RedirectResponse:
    return RedirectResponse(job_path(job, "snags", at=at), status_code=_SEE_OTHER)
