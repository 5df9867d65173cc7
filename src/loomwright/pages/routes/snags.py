"""The snags of a job: written down, tied to a thing, mended, opened again."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from loomwright.pages.addresses import job_path
from loomwright.pages.desk import Desk
from loomwright.pages.entries import TypedForm, add_row, drop_row, free_id, set_cells
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
    row = typed.get("row", "")
    if not typed.get("text"):
        told = {"text": "Nothing stands there. Write what is wrong."}
        return _page(request, desk, job, Returned(form=f"{_SHEET}-{row or 'new'}", typed=typed, told=told))
    if not row.isdecimal():
        named = {**typed, "id": free_id(desk.shelf.now(job), _SHEET, "S")}
        back = add_row(desk, job, _SHEET, named, NAMES, form=f"{_SHEET}-new")
        return _page(request, desk, job, back) if back else _there(job, named["id"])
    form = f"{_SHEET}-{row}"
    change = drop_row if typed.get("do") == "drop" else set_cells
    back = change(desk, job, _SHEET, int(row), typed, [name for name in NAMES if name != "id"], form=form)
    return _page(request, desk, job, back) if back else _there(job, f"s{row}")


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
