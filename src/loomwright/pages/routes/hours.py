"""The hours of a job: what was spent, by stage and by whom, against what was quoted."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from loomwright.handover.quote_hours import hours_against
from loomwright.handover.quote_learnt import learnt_csv, learnt_of
from loomwright.job.shop_terms import ShopTerms, shop_terms_of
from loomwright.pages.addresses import job_path
from loomwright.pages.desk import Desk
from loomwright.pages.entries import TypedForm, add_row, drop_row, set_cells
from loomwright.pages.quotes import quote_for
from loomwright.pages.records.entry_form import Returned
from loomwright.pages.records.hours_page import NAMES, hours_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import NoAnswer
from loomwright.store.snapshot import Snapshot

__all__ = ["router", "today"]

router = APIRouter(include_in_schema=False)
_SHEET = "hours"
_SEE_OTHER = 303
Stage = Annotated[str, Query(max_length=40)]


@router.get("/j/{job}/hours")
def hours(request: Request, desk: AtDesk, job: JobName, stage: Stage = "") -> HTMLResponse:
    """The hours spent against those quoted; `stage` is the one the next entry is likely for."""
    return _page(request, desk, job, stage=stage)


@router.post("/j/{job}/hours")
def save(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Write down time, change an entry, or take it out."""
    row = typed.get("row", "")
    form = f"{_SHEET}-{row or 'new'}"
    if row.isdecimal() and typed.get("do") == "drop":
        back = drop_row(desk, job, _SHEET, int(row), typed, NAMES, form=form)
        return _page(request, desk, job, back) if back else _there(job)
    told = {
        name: words
        for name, words in (
            ("stage", "None is picked. Pick the stage it was spent in."),
            ("minutes", "Nothing stands there. Write how long: 90, or 1.5 h."),
        )
        if not typed.get(name)
    }
    if told:
        return _page(request, desk, job, Returned(form=form, typed=typed, told=told))
    if not row.isdecimal():
        back = add_row(desk, job, _SHEET, typed, NAMES, form=form)
    else:
        back = set_cells(desk, job, _SHEET, int(row), typed, NAMES, form=form)
    return _page(request, desk, job, back) if back else _there(job)


@router.get("/j/{job}/hours/next.csv")
def next_csv(desk: AtDesk, job: JobName) -> Response:
    """What the job, once it is done, teaches the next quote: rows for its sheet `vehicle`."""
    snapshot = desk.shelf.now(job)
    quote = quote_for(desk, snapshot)
    if quote is None:
        raise NoAnswer("what the next quote can learn", ("The sheets do not fit each other yet.",))
    told = learnt_of(quote, hours_against(snapshot.as_written.hours, quote), _terms(snapshot))
    return Response(learnt_csv(told), media_type="text/csv; charset=utf-8")


def today() -> str:
    """The day, as it is written."""
    return datetime.now(UTC).astimezone().date().isoformat()


def _page(request: Request, desk: Desk, job: str, back: Returned | None = None, *, stage: str = "") -> HTMLResponse:
    snapshot = desk.shelf.now(job)
    record = hours_page(
        snapshot,
        quote_for(desk, snapshot),
        links_of(request, snapshot),
        who=desk.who,
        today=today(),
        stage=stage,
        terms=_terms(snapshot),
        back=back,
    )
    return page(request, "hours.html", record, snapshot=snapshot, status=200 if back is None else back.status)


def _terms(snapshot: Snapshot) -> ShopTerms:
    return shop_terms_of(snapshot.job) if snapshot.job is not None else ShopTerms()


def _there(job: str) -> RedirectResponse:
    return RedirectResponse(job_path(job, "hours", at="entries"), status_code=_SEE_OTHER)
