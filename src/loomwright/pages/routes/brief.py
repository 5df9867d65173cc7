"""The brief: a page of questions, what the answers come to, and the job they make."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import RedirectResponse
from starlette.datastructures import FormData

from loomwright.brief.brief import briefed, load_brief
from loomwright.pages.addresses import job_path
from loomwright.pages.records.brief_page import brief_page
from loomwright.pages.rendering import page
from loomwright.pages.routes.edits import AtDesk
from loomwright.refusals import BadDocument

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
_SEE_OTHER = 303
_REFUSED = 422
_LONGEST = 200
_MOST_FIELDS = 100


async def _form(request: Request) -> FormData:
    """The fields of the form, one a question."""
    return await request.form(max_files=0, max_fields=_MOST_FIELDS)


@router.get("/brief")
def brief(request: Request) -> Response:
    """The questions with the answers in the address, and what they come to."""
    typed = request.query_params.get("name", "")[:_LONGEST]
    return page(request, "brief.html", brief_page(_given(request.query_params), typed=typed))


@router.post("/brief")
def make(request: Request, desk: AtDesk, form: Annotated[FormData, Depends(_form)]) -> Response:
    """Make the job and put it on the shelf; or the page again with all that stands in the way."""
    given, name = _given(form), str(form.get("name", "")).strip()[:_LONGEST]
    try:
        made = briefed(given)
        desk.shelf.add(name, made.job, who=desk.who, why="made from a brief")
    except BadDocument as refusal:
        record = brief_page(given, typed=name, problems=refusal.problems)
        return page(request, "brief.html", record, status=_REFUSED)
    return RedirectResponse(job_path(name), _SEE_OTHER)


def _given(typed: Mapping[str, object]) -> dict[str, str]:
    found = {each.ask.name: str(typed.get(each.ask.name, "")).strip()[:_LONGEST] for each in load_brief().asks}
    return {name: text for name, text in found.items() if text}
