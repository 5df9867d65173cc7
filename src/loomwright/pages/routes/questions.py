"""The owner's questions: the shop's page, the page the owner is shown, and what is asked and answered."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from loomwright.pages.addresses import job_path
from loomwright.pages.desk import Desk
from loomwright.pages.entries import TypedForm, keep_entry, returned_of
from loomwright.pages.quotes import quote_for
from loomwright.pages.records.entry_form import Returned
from loomwright.pages.records.question_lines import NAMES, owner_page, questions_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.store.text_rows import SetCell

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
_SHEET = "questions"
_SEE_OTHER = 303


@router.get("/j/{job}/questions")
def questions(request: Request, desk: AtDesk, job: JobName) -> HTMLResponse:
    """All questions, those that are open first."""
    return _page(request, desk, job)


@router.get("/j/{job}/questions/owner")
def owner(request: Request, desk: AtDesk, job: JobName) -> HTMLResponse:
    """The questions as the owner is shown them."""
    snapshot = desk.shelf.now(job)
    return page(request, "owner_questions.html", owner_page(snapshot, quote_for(desk, snapshot)))


@router.post("/j/{job}/questions")
def save(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Ask a question, change one, or take it out."""
    back, at = keep_entry(
        desk, job, _SHEET, typed, NAMES, begin="Q", nothing="Nothing stands there. Write what the owner is asked."
    )
    return _page(request, desk, job, back) if back else _there(job, at)


@router.post("/j/{job}/questions/answer")
def answer(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Write down what the owner said; with that it is done. `given` hands it to the owner instead."""
    row = typed.get("row", "")
    key = int(row) if row.isdecimal() else 0
    stands = desk.shelf.now(job).row(_SHEET, key)
    status = "" if stands is None else stands.cells.get("status", "")
    if typed.get("do") == "given":
        edits = [SetCell(sheet=_SHEET, row_key=key, column="status", old=status, new="with the owner")]
    elif not typed.get("answer"):
        told = {"answer": "Nothing stands there. Write what the owner said."}
        return _page(request, desk, job, Returned(form=f"answer-{row}", typed=typed, told=told))
    else:
        was, said = typed.get("was.answer", ""), typed["answer"]
        edits = [
            SetCell(sheet=_SHEET, row_key=key, column="answer", old=was, new=said),
            SetCell(sheet=_SHEET, row_key=key, column="status", old=status, new="done"),
        ]
    edited = desk.shelf.edit(job, edits, who=desk.who, why="asked the owner", token=typed.get("token", ""))
    if not edited.is_taken:
        return _page(request, desk, job, returned_of(edited, typed, form=f"answer-{row}"))
    return _there(job, f"q{row}")


def _page(request: Request, desk: Desk, job: str, back: Returned | None = None) -> HTMLResponse:
    snapshot = desk.shelf.now(job)
    record = questions_page(snapshot, links_of(request, snapshot), back)
    return page(request, "questions.html", record, snapshot=snapshot, status=200 if back is None else back.status)


def _there(job: str, at: str) -> RedirectResponse:
    return RedirectResponse(job_path(job, "questions", at=at), status_code=_SEE_OTHER)
