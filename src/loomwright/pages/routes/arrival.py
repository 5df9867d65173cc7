"""Arrival: the vehicle, the owner's wishes, the quote and its paper, what was agreed since."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from loomwright.handover.quote_records import PartName
from loomwright.job.vehicle import read_property
from loomwright.pages.addresses import job_path
from loomwright.pages.desk import Desk
from loomwright.pages.entries import TypedForm, add_row, drop_row, free_id, returned_of, set_cells
from loomwright.pages.quotes import quote_for
from loomwright.pages.records.arrival_page import (
    CHANGE_NAMES,
    VEHICLE_FORM,
    VEHICLE_NAMES,
    WISH_NAMES,
    arrival_page,
)
from loomwright.pages.records.entry_form import Returned
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.pages.routes.hours import today
from loomwright.refusals import NoAnswer, OutOfReach
from loomwright.store.text_rows import AddRow, Edit, SetCell
from loomwright.writers.quote_paper import quote_pdf

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
_SEE_OTHER = 303
_PARTS: Mapping[str, tuple[PartName, ...]] = {"": ("one", "two"), "one": ("one",), "two": ("two",)}
Part = Annotated[str, Query(max_length=10)]


@router.get("/j/{job}/arrival")
def arrival(request: Request, desk: AtDesk, job: JobName) -> HTMLResponse:
    """The vehicle, the wishes, the quote."""
    return _page(request, desk, job)


@router.get("/j/{job}/arrival/quote.pdf")
def quote(desk: AtDesk, job: JobName, part: Part = "") -> Response:
    """The quote as a paper for the owner."""
    if part not in _PARTS:
        raise OutOfReach("part of the quote", part, "one, two, or left out for both")
    told = quote_for(desk, desk.shelf.now(job))
    if told is None:
        raise NoAnswer("the quote of this job", ("Its rows do not fit each other yet: see the findings.",))
    made = quote_pdf(told, _PARTS[part], date=today())
    name = "quote.pdf" if not part else f"quote-part-{part}.pdf"
    headers = {"Content-Disposition": f'inline; filename="{name}"'}
    return Response(made, media_type="application/pdf", headers=headers)


@router.post("/j/{job}/arrival/vehicle")
def vehicle(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Write down the vehicle and the shop's terms."""
    touched = [name for name in VEHICLE_NAMES if name in typed and typed[name] != typed.get(f"was.{name}", "")]
    told = {name: words for name in touched if (words := _unreadable(name, typed[name]))}
    if told:
        return _page(request, desk, job, Returned(form=VEHICLE_FORM, typed=typed, told=told))
    rows = {row.cells.get("name", ""): row.key for row in desk.shelf.now(job).rows.get("vehicle", ())}
    edits: list[Edit] = [
        SetCell(sheet="vehicle", row_key=rows[name], column="value", old=typed.get(f"was.{name}", ""), new=typed[name])
        if name in rows
        else AddRow(sheet="vehicle", cells={"name": name, "value": typed[name]})
        for name in touched
    ]
    if edits:
        token = typed.get("token", "")
        edited = desk.shelf.edit(job, edits, who=desk.who, why="wrote down the vehicle", token=token)
        if not edited.is_taken:
            back = returned_of(edited, typed, form=VEHICLE_FORM)
            # of a property the row is known, not a column of its own; it may be a row somebody else has just added
            names = {row.key: row.cells.get("name", "") for row in desk.shelf.now(job).rows.get("vehicle", ())}
            theirs = {names.get(one.row_key, ""): one.theirs for one in edited.conflicts if one.theirs is not None}
            return _page(
                request,
                desk,
                job,
                Returned(form=VEHICLE_FORM, typed=typed, theirs=theirs, says=back.says, status=back.status),
            )
    return _there(job, "vehicle")


@router.post("/j/{job}/arrival/wish")
def wish(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Write a wish down, change one, or take it out."""
    row = typed.get("row", "")
    if not typed.get("text"):
        told = {"text": "Nothing stands there. Write what the owner wishes."}
        return _page(request, desk, job, Returned(form=f"wishes-{row or 'new'}", typed=typed, told=told))
    if not row.isdecimal():
        named = {**typed, "id": free_id(desk.shelf.now(job), "wishes", typed["text"])}
        back = _unknown(desk, job, typed, "wishes-new") or add_row(
            desk, job, "wishes", named, WISH_NAMES, form="wishes-new"
        )
        return _page(request, desk, job, back) if back else _there(job, "wishes")
    form = f"wishes-{row}"
    names = [name for name in WISH_NAMES if name != "id"]
    if typed.get("do") == "drop":
        back = drop_row(desk, job, "wishes", int(row), typed, names, form=form)
    else:
        back = _unknown(desk, job, typed, form) or set_cells(desk, job, "wishes", int(row), typed, names, form=form)
    return _page(request, desk, job, back) if back else _there(job, f"w{row}")


@router.post("/j/{job}/arrival/included")
def included(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """In the job, not in it, or for the owner to decide."""
    row = typed.get("row", "")
    key = int(row) if row.isdecimal() else 0
    back = set_cells(desk, job, "wishes", key, typed, ("included",), form=f"wishes-{row}")
    return _page(request, desk, job, back) if back else _there(job, f"w{row}")


@router.post("/j/{job}/arrival/change")
def change(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Put a later change on record, with the revision it was agreed at."""
    if not typed.get("why"):
        told = {"why": "Nothing stands there. Write what changed, and why."}
        return _page(request, desk, job, Returned(form="changes-new", typed=typed, told=told))
    named = {**typed, "revision": str(desk.shelf.now(job).revision)}
    back = add_row(desk, job, "changes", named, CHANGE_NAMES, form="changes-new", record=True)
    return _page(request, desk, job, back) if back else _there(job, "changes")


@router.post("/j/{job}/arrival/price")
def price(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Write the price of one of a thing to buy into the stock sheet; a wire's stands with its reel."""
    if not typed.get("item") or not typed.get("price"):
        told = {"price": "Nothing stands there. Write what one of it costs."}
        return _page(request, desk, job, Returned(form="price", typed=typed, told=told))
    back = add_row(desk, job, "stock", typed, ("item", "price"), form="price")
    return _page(request, desk, job, back) if back else _there(job, "quote")


def _page(request: Request, desk: Desk, job: str, back: Returned | None = None) -> HTMLResponse:
    snapshot = desk.shelf.now(job)
    record = arrival_page(
        snapshot,
        quote_for(desk, snapshot),
        links_of(request, snapshot),
        today=today(),
        back=back,
    )
    return page(request, "arrival.html", record, snapshot=snapshot, status=200 if back is None else back.status)


def _there(job: str, at: str) -> RedirectResponse:
    return RedirectResponse(job_path(job, "arrival", at=at), status_code=_SEE_OTHER)


def _unreadable(name: str, text: str) -> str:
    """Why a property cannot be that; empty where it can."""
    if not text:
        return ""
    try:
        read_property(name, text)
    except OutOfReach as refusal:
        return f"It may be: {refusal.allowed}. Write it so, or clear the field."
    return ""


def _unknown(desk: Desk, job: str, typed: Mapping[str, str], form: str) -> Returned | None:
    """Circuits and parts of a wish that the job does not have: such a wish would keep the sheets from being a job."""
    rows = desk.shelf.now(job).rows
    told = {}
    for sheet in ("circuits", "parts"):
        there = {row.cells.get("id", "") for row in rows.get(sheet, ())}
        missing = [name for name in typed.get(sheet, "").split() if name not in there]
        if missing:
            known = " ".join(sorted(there)[:12]) + (" …" if len(there) > 12 else "")
            told[sheet] = f"The sheet {sheet} has no {', '.join(missing)}. It has: {known or 'none yet'}."
    return Returned(form=form, typed=typed, told=told) if told else None
