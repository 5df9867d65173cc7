"""Photos of any row: looked at, added, and had as files; what is sent is bounded and written anew before it is kept."""

from __future__ import annotations

import hashlib
from dataclasses import asdict
from datetime import UTC, datetime
from threading import Lock
from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse
from starlette.datastructures import FormData, UploadFile

from loomwright.pages.addresses import job_path
from loomwright.pages.desk import Desk, desk_of
from loomwright.pages.records.photos_page import photo_row_name, photos_page, row_keys
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName, SheetName
from loomwright.refusals import BadDocument, OutOfReach, Problem, as_plain
from loomwright.store.earlier import names_before
from loomwright.store.photo_sizes import small_picture
from loomwright.store.photos import MOST_BYTES, add_photo, photo_data, photos_of
from loomwright.store.text_rows import StoredRow

__all__ = ["router"]

router = APIRouter()

_MB = 1024 * 1024
_OF_FORM = 64 * 1024
_LONGEST_NOTE = 1000
_SEE_OTHER, _NOT_CHANGED, _MADE, _TOO_LARGE, _REFUSED = 303, 304, 201, 413, 422
_MOST = 2**53
_one_at_a_time = Lock()
"""A picture is opened whole: two large ones at once would take twice the room."""

Key = Annotated[int, Path(ge=0, le=_MOST)]
Size = Annotated[str, Query(max_length=20)]
_SENT = {
    "required": True,
    "content": {
        "multipart/form-data": {
            "schema": {
                "type": "object",
                "required": ["sheet", "row", "file"],
                "properties": {
                    "sheet": {"type": "string"},
                    "row": {"type": "string", "description": "the row's id or name"},
                    "note": {"type": "string"},
                    "file": {"type": "string", "format": "binary"},
                },
            }
        }
    },
}


@router.get("/j/{job}/photos", include_in_schema=False)
def photos(request: Request, desk: AtDesk, job: JobName, sheet: Size | None = None) -> HTMLResponse:
    """All photos of a job, or those of a sheet."""
    snapshot = desk.shelf.now(job)
    named = sheet or ""
    record = photos_page(
        snapshot,
        photos_of(desk.shelf, job, named),
        links_of(request, snapshot),
        most_mb=MOST_BYTES // _MB,
        sheet=named if named in snapshot.rows else "",
        before=names_before(desk.shelf, job),
    )
    return page(request, "photos.html", record, snapshot=snapshot)


@router.get("/j/{job}/photos/{sheet}/{row}", include_in_schema=False)
def photos_of_row(request: Request, desk: AtDesk, job: JobName, sheet: SheetName, row: Key) -> HTMLResponse:
    """The photos of one row, and a place to add another."""
    return _row_page(request, desk, job, sheet, _row(desk, job, sheet, row))


@router.post("/j/{job}/photos/{sheet}/{row}", include_in_schema=False)
async def add(request: Request, job: JobName, sheet: SheetName, row: Key) -> Response:
    """Keep a photo with a row."""
    desk = desk_of(request)
    there = _row(desk, job, sheet, row)
    too_large = _too_large(request)
    if too_large is not None:
        return _row_page(request, desk, job, sheet, there, problems=(too_large,), status=_TOO_LARGE)
    async with request.form(max_files=1, max_fields=4) as form:
        note = _note(form)
        try:
            await _kept(desk, job, sheet, there, form, note)
        except BadDocument as refusal:
            return _row_page(
                request, desk, job, sheet, there, problems=refusal.problems, note=note, status=_status(refusal)
            )
    return RedirectResponse(job_path(job, "photos", sheet, str(row)), _SEE_OTHER)


@router.get("/j/{job}/photo/{number}", include_in_schema=False)
def picture(request: Request, desk: AtDesk, job: JobName, number: Key, size: Size = "") -> Response:
    """A photo as a file, whole or small."""
    return _file(request, desk, job, number, size)


@router.get("/api/j/{job}/photos")
def list_plain(desk: AtDesk, job: JobName, sheet: Size = "", row: Size = "") -> list[dict[str, Any]]:
    """The photos of a job, of a sheet or of a row, without their bytes."""
    return [asdict(one) for one in photos_of(desk.shelf, job, sheet, row)]


@router.get("/api/j/{job}/photos/{number}", response_class=Response, responses={200: {"content": {"image/jpeg": {}}}})
def picture_plain(request: Request, desk: AtDesk, job: JobName, number: Key, size: Size = "") -> Response:
    """A photo, whole or small (`size=small`), as JPEG."""
    return _file(request, desk, job, number, size)


@router.post(
    "/api/j/{job}/photos",
    status_code=_MADE,
    responses={_TOO_LARGE: {"description": "too large"}, _REFUSED: {"description": "told"}},
    openapi_extra={"requestBody": _SENT},
)
async def add_plain(request: Request, job: JobName) -> Response:
    """Keep a photo with a row named by its id or name; sent twice it is kept once."""
    desk = desk_of(request)
    snapshot = desk.shelf.now(job)
    too_large = _too_large(request)
    if too_large is not None:
        return JSONResponse(as_plain(BadDocument((too_large,))), _TOO_LARGE)
    async with request.form(max_files=1, max_fields=4) as form:
        sheet, name = str(form.get("sheet") or ""), str(form.get("row") or "")
        there = next((row for row in snapshot.rows.get(sheet, ()) if photo_row_name(row) == name), None)
        if there is None:
            problem = _problem(
                f"{sheet or 'no sheet'}, {name or 'no row'}", "a row of this job", "Name the row it shows"
            )
            return JSONResponse(as_plain(BadDocument((problem,))), _REFUSED)
        try:
            number = await _kept(desk, job, sheet, there, form, _note(form))
        except BadDocument as refusal:
            return JSONResponse(as_plain(refusal), _status(refusal))
    return JSONResponse({"id": number}, _MADE)


def _row(desk: Desk, job: str, sheet: str, key: int) -> StoredRow:
    snapshot = desk.shelf.now(job)
    row = snapshot.row(sheet, key)
    if row is None:
        raise OutOfReach("row", f"{sheet} {key}", "a row of this job: see the sheet")
    return row


def _row_page(
    request: Request,
    desk: Desk,
    job: str,
    sheet: str,
    row: StoredRow,
    *,
    problems: tuple[Problem, ...] = (),
    note: str = "",
    status: int = 200,
) -> HTMLResponse:
    snapshot = desk.shelf.now(job)
    before = names_before(desk.shelf, job)
    keys = row_keys(snapshot, before)
    record = photos_page(
        snapshot,
        [one for one in photos_of(desk.shelf, job, sheet) if keys.get((sheet, one.row)) == row.key],
        links_of(request, snapshot),
        most_mb=MOST_BYTES // _MB,
        sheet=sheet,
        row=row,
        note=note,
        problems=problems,
        before=before,
    )
    return page(request, "photos.html", record, snapshot=snapshot, status=status)


async def _kept(desk: Desk, job: str, sheet: str, row: StoredRow, form: FormData, note: str) -> int:
    """Keep the photo of a form; gives its number. [-]

    Raises:
        BadDocument: there is none, or it is none.
    """
    file = form.get("file")
    if not isinstance(file, UploadFile) or not file.filename:
        raise BadDocument((_problem("no photo", "a photo", "Pick one, or take one"),))
    data = await file.read()
    time = datetime.now(UTC).isoformat(timespec="seconds")

    def keep() -> int:
        with _one_at_a_time:
            return add_photo(desk.shelf, job, sheet, photo_row_name(row), data, time=time, who=desk.who, note=note)

    return await run_in_threadpool(keep)


def _note(form: FormData) -> str:
    return str(form.get("note") or "").strip()[:_LONGEST_NOTE]


def _too_large(request: Request) -> Problem | None:
    """Why what is sent is not even read."""
    length = request.headers.get("content-length", "")
    if length.isdecimal() and int(length) <= MOST_BYTES + _OF_FORM:
        return None
    found = f"a photo of {int(length) // _MB} MB" if length.isdecimal() else "a photo that does not say how large it is"
    return _problem(found, f"at most {MOST_BYTES // _MB} MB", "Send a smaller one")


def _status(refusal: BadDocument) -> int:
    """Too large, or no picture."""
    return _TOO_LARGE if any(one.allowed.startswith("at most") for one in refusal.problems) else _REFUSED


def _file(request: Request, desk: Desk, job: str, number: int, size: str) -> Response:
    data = photo_data(desk.shelf, job, number)
    if size == "small":
        data = small_picture(data)
    elif size:
        raise OutOfReach("size", size, "small, or none for the whole photo")
    tag = f'"{hashlib.sha256(data).hexdigest()[:32]}"'
    headers = {"ETag": tag, "Cache-Control": "private, no-cache", "Content-Disposition": "inline"}
    if tag in request.headers.get("if-none-match", ""):
        return Response(status_code=_NOT_CHANGED, headers=headers)
    return Response(data, media_type="image/jpeg", headers=headers)


def _problem(found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet="", row=None, column="", found=found, allowed=allowed, mend=mend)
