"""The page of all jobs: what is on the shelf, and how a job gets there: from a file, from an example, or empty."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, Form, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, RedirectResponse
from starlette.datastructures import UploadFile

from loomwright.examples.shelf import example_folder, example_names
from loomwright.pages.addresses import job_path, own_path
from loomwright.pages.desk import Desk, desk_of
from loomwright.pages.records.shelf_lines import name_from, shelf_page
from loomwright.pages.rendering import page
from loomwright.pages.routes.edits import AtDesk
from loomwright.refusals import BadDocument, Problem
from loomwright.sheets.csv_folder import open_folder
from loomwright.sheets.empty_job import empty_job
from loomwright.sheets.opening import Opened, open_with_kept
from loomwright.store.past import Past, past_of
from loomwright.store.photo_members import bring_photos, photo_faults

__all__ = ["router"]

router = APIRouter(include_in_schema=False)

MOST_BYTES = 64 * 1024 * 1024
"""Most a file that is taken in may hold. [bytes]"""

_MB = 1024 * 1024
_OF_FORM = 16 * 1024
_YEAR_S = 31_536_000
_SEE_OTHER = 303
_REFUSED = 422
_TOO_LARGE = 413
Typed = Annotated[str, Form(max_length=200)]


@router.get("/")
def shelf(request: Request, desk: AtDesk) -> HTMLResponse:
    """All jobs."""
    return _page(request, desk)


@router.post("/jobs/file")
async def from_file(request: Request) -> Response:
    """Take a job in from a workbook, an archive or a JSON document."""
    desk = desk_of(request)
    length = request.headers.get("content-length", "")
    if not length.isdecimal() or int(length) > MOST_BYTES + _OF_FORM:
        problem = _problem(
            f"a file of {int(length) // _MB} MB" if length.isdecimal() else "a file that does not say how large it is",
            f"at most {MOST_BYTES // _MB} MB",
            "Send the job alone, its photos apart",
        )
        return _page(request, desk, (problem,), way="file", status=_TOO_LARGE)
    async with request.form(max_files=1, max_fields=2) as form:
        file, typed = form.get("file"), str(form.get("name") or "").strip()
        if not isinstance(file, UploadFile) or not file.filename:
            problem = _problem("no file", ".xlsx, .loomjob or .json", "Pick one")
            return _page(request, desk, (problem,), typed=typed, way="file", status=_REFUSED)
        sent, name = file, typed or name_from(file.filename)
        return await run_in_threadpool(_taken_in, request, desk, name, lambda: _read(sent), typed, "file")


@router.post("/jobs/example")
def from_example(request: Request, desk: AtDesk, example: Typed, name: Typed = "") -> Response:
    """Put an example on the shelf."""
    if example not in example_names():
        problem = _problem(f"the example {example}", " ".join(example_names()), "Pick one of these")
        return _page(request, desk, (problem,), way="example", status=_REFUSED)
    wanted = name.strip() or _free_name(example, {one.name for one in desk.shelf.jobs()})
    return _taken_in(request, desk, wanted, lambda: Opened(job=open_folder(example_folder(example))), name, "example")


@router.post("/jobs/empty")
def from_nothing(request: Request, desk: AtDesk, name: Typed = "") -> Response:
    """Begin an empty job."""
    return _taken_in(request, desk, name.strip(), lambda: Opened(job=empty_job()), name, "empty")


@router.post("/look")
def look(back: Typed = "/", look: Typed = "", size: Typed = "") -> Response:
    """Choose light or dark, plain or large, and go back."""
    answer = RedirectResponse(own_path(back), status_code=_SEE_OTHER)
    for name, value, known in (("look", look, ("light", "dark")), ("size", size, ("large",))):
        if value in known:
            answer.set_cookie(name, value, max_age=_YEAR_S, httponly=True, samesite="lax")
        elif value:
            answer.delete_cookie(name)
    return answer


def _page(
    request: Request,
    desk: Desk,
    problems: tuple[Problem, ...] = (),
    *,
    typed: str = "",
    way: str = "",
    status: int = 200,
) -> HTMLResponse:
    record = shelf_page(
        desk.shelf.jobs(), example_names(), most_mb=MOST_BYTES // _MB, problems=problems, typed=typed, way=way
    )
    return page(request, "jobs.html", record, status=status)


def _taken_in(request: Request, desk: Desk, name: str, read: Callable[[], Opened], typed: str, way: str) -> Response:
    """The job on the shelf with its photos, and its page; or the page of all jobs with all that stands in the way."""
    try:
        opened = read()
        faults = photo_faults(opened.kept)
        if faults:
            raise BadDocument(faults)
        past, why = past_of(opened.kept, opened.job)
        desk.shelf.add(name, opened.job, who=desk.who, why=_why(past, why), past=past)
        bring_photos(desk.shelf, name, opened.kept)
    except BadDocument as refusal:
        return _page(request, desk, refusal.problems, typed=typed, way=way, status=_REFUSED)
    # what became of its revisions stands first on their page
    there = job_path(name, "revisions") if past is not None or why else job_path(name)
    return RedirectResponse(there, status_code=_SEE_OTHER)


def _why(past: Past | None, why: str) -> str:
    """What became of the revisions an archive brought, in the words of the revision that takes it in."""
    if past is not None:
        count = len(past.revisions)
        return f"taken in with {'its one revision' if count == 1 else f'all its {count} revisions'}"
    return f"taken in as it stands; its revisions stay behind: {why}" if why else "taken in"


def _read(file: UploadFile) -> Opened:
    """The job in a file that was sent; it lies on the disk under its own name only while it is read."""
    with tempfile.TemporaryDirectory(prefix="loomwright-") as folder:
        sent = Path(file.filename or "")
        path = Path(folder) / f"{name_from(file.filename or '')}{sent.suffix.lower()[:10]}"
        with path.open("wb") as kept:
            shutil.copyfileobj(file.file, kept)
        return open_with_kept(path)


def _free_name(wanted: str, taken: set[str]) -> str:
    numbered = (f"{wanted}-{number}" for number in range(2, len(taken) + 3))
    return wanted if wanted not in taken else next(name for name in numbered if name not in taken)


def _problem(found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet="", row=None, column="", found=found, allowed=allowed, mend=mend)
