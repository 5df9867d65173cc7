"""What was changed in a job, revision by revision; comparing two; taking back and doing again; the job as it stood."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Form, Path, Query, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from sqlalchemy import select

from loomwright.pages.addresses import job_path
from loomwright.pages.desk import Desk
from loomwright.pages.records.revisions_page import lines_of, revision_page, revisions_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import OutOfReach
from loomwright.store.history import Revision, turns_of
from loomwright.store.shelf_tables import revisions as revisions_table

__all__ = ["router"]

router = APIRouter(include_in_schema=False)

_SHOWN = 300
_SEE_OTHER = 303
_CONFLICT = 409
_MOST = 2**53
_TURNS = ("undo", "redo")
Number = Annotated[str, Query(max_length=20)]


@router.get("/j/{job}/revisions")
def revisions(
    request: Request,
    desk: AtDesk,
    job: JobName,
    older: Annotated[str, Query(alias="from", max_length=20)] = "",
    newer: Annotated[str, Query(alias="to", max_length=20)] = "",
    before: Number = "",
) -> HTMLResponse:
    """The newest revisions, and what differs between two of them where two are named."""
    return _page(request, desk, job, older, newer, before)


@router.get("/j/{job}/revisions/{number}")
def revision(
    request: Request,
    desk: AtDesk,
    job: JobName,
    number: Annotated[int, Path(ge=1, le=_MOST)],
    sheet: Annotated[str, Query(max_length=120)] = "",
) -> HTMLResponse:
    """The job as it stood at a revision, to read only."""
    then, newest = desk.shelf.now(job, number), desk.shelf.now(job).revision
    lines = lines_of(then, _found(desk, job, number + 1, most=1))
    record = revision_page(then, newest, lines[0] if lines else None, sheet)
    return page(request, "revision.html", record, snapshot=then)


@router.post("/j/{job}/revisions/{turn}")
def turned(
    request: Request,
    desk: AtDesk,
    job: JobName,
    turn: str,
    expects: Annotated[str, Form(max_length=20)] = "",
    back: Annotated[Literal["revisions", "findings"], Form()] = "revisions",
) -> Response:
    """Take back one's last edit, or do it again; only the one that was shown. back: the page to come back to."""
    if turn not in _TURNS:
        raise OutOfReach("what to do with a revision", turn, " ".join(_TURNS))
    with desk.shelf.engine.connect() as connection:
        target = turns_of(connection, desk.shelf.id_of(job)).target(turn, desk.who)
    if expects and str(target) != expects:
        told = f"Revision {expects} is no longer the one to turn round: look at what stands here now."
        return _page(request, desk, job, refused=told, status=_CONFLICT)
    edited = desk.shelf.undo(job, who=desk.who) if turn == "undo" else desk.shelf.redo(job, who=desk.who)
    if edited.conflicts:
        one = edited.conflicts[0]
        told = (
            f"Somebody typed over it: {one.sheet}, {one.column or 'the row'} holds "
            f"{'nothing any more' if one.theirs is None else repr(one.theirs)} now, and {one.was!r} was expected. "
            "Nothing was changed."
        )
        return _page(request, desk, job, refused=told, status=_CONFLICT)
    return RedirectResponse(job_path(job, back), _SEE_OTHER)


def _page(
    request: Request,
    desk: Desk,
    job: str,
    older: str = "",
    newer: str = "",
    before: str = "",
    *,
    refused: str = "",
    status: int = 200,
) -> HTMLResponse:
    now = desk.shelf.now(job)
    compared = _compared(older, newer, now.revision)
    found = _found(desk, job, _number("before", before) if before else now.revision + 1, most=_SHOWN)
    differences = desk.shelf.differences(job, *compared) if compared is not None else ()
    with desk.shelf.engine.connect() as connection:
        turns = turns_of(connection, desk.shelf.id_of(job))
    record = revisions_page(
        now,
        found,
        differences,
        turns,
        links_of(request, now),
        older=compared[0] if compared else None,
        newer=compared[1] if compared else None,
        who=desk.who,
        refused=refused,
    )
    return page(request, "revisions.html", record, snapshot=now, status=status)


def _found(desk: Desk, job: str, before: int, *, most: int) -> tuple[Revision, ...]:
    """Revisions before one, newest first."""
    table = revisions_table
    asked = select(table).where(table.c.job == desk.shelf.id_of(job), table.c.number < before)
    with desk.shelf.engine.connect() as connection:
        lines = connection.execute(asked.order_by(table.c.number.desc()).limit(most)).all()
    return tuple(
        Revision(number=line.number, time=line.time, who=line.who, why=line.why, kind=line.kind, turns=line.turns)
        for line in lines
    )


def _compared(older: str, newer: str, newest: int) -> tuple[int, int] | None:
    if not older and not newer:
        return None
    first = _number("from", older) if older else newest
    second = _number("to", newer) if newer else newest
    return min(first, second), max(first, second)


def _number(name: str, text: str) -> int:
    if not (text.isascii() and text.isdecimal() and 1 <= int(text) < _MOST):
        raise OutOfReach(name, text, "the number of a revision")
    return int(text)
