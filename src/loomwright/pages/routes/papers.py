"""The papers of a job: made when they are asked for, beside everything else, kept, and had as files."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Path, Request, Response
from fastapi.responses import FileResponse, HTMLResponse, RedirectResponse

from loomwright.drawings.board.board_sheets import PAPERS
from loomwright.handover.sections import SECTIONS
from loomwright.pages.addresses import job_path
from loomwright.pages.entries import TypedForm
from loomwright.pages.paper_files import JOB_FILES, PAPER_FILES, PapersAsked, job_file
from loomwright.pages.records.pack_page import pack_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.built import told_of
from loomwright.pages.routes.dyno import pack_drive
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import NoAnswer, OutOfReach
from loomwright.store.log_files import kept_logs
from loomwright.store.photo_members import kept_of
from loomwright.store.told_past import history_of_shelf

__all__ = ["router"]

router = APIRouter()

_SEE_OTHER = 303
_TYPES = {
    "pdf": "application/pdf",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "csv": "text/csv; charset=utf-8",
    "zip": "application/zip",
    "dxf": "image/vnd.dxf",
    "json": "application/json",
    "loomjob": "application/zip",
}
FileName = Annotated[str, Path(max_length=40)]


@router.get("/j/{job}/pack", include_in_schema=False)
def pack(request: Request, desk: AtDesk, job: JobName) -> HTMLResponse:
    """What papers there are, of which revision, and how far they are being made."""
    snapshot = desk.shelf.now(job)
    standing = desk.papers.look(desk.shelf.id_of(job), snapshot, told_of(desk, snapshot)[0])
    drive = next((one.name for one in kept_logs(desk.shelf, job)), "")
    known = links_of(request, snapshot).has("revisions")
    record = pack_page(snapshot, standing, has_revisions=known, drive=drive)
    return page(request, "pack.html", record, snapshot=snapshot)


@router.get("/api/j/{job}/pack")
def standing(request: Request, desk: AtDesk, job: JobName) -> dict[str, Any]:
    """How far the papers of a job are: what is made of what, and of which revision those are that lie there."""
    snapshot = desk.shelf.now(job)
    told = desk.papers.look(desk.shelf.id_of(job), snapshot, told_of(desk, snapshot)[0])
    return {
        "revision": told.kept.revision if told.kept is not None else None,
        "stale": told.is_stale,
        "making_revision": told.revision,
        "making": told.making,
        "done": told.done,
        "of": told.of,
        "ahead": told.ahead,
        "refused": told.refused,
    }


@router.post("/j/{job}/pack/make", include_in_schema=False)
def make(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Begin to make the papers of the newest revision: all, or those that are marked, on the paper that is named."""
    snapshot = desk.shelf.now(job)
    if snapshot.job is None:
        raise NoAnswer("the papers", ("Its rows do not fit each other yet: see the findings.",))
    now = datetime.now(UTC)
    size = typed.get("page_size", "") or "a4"
    if size not in PAPERS:
        raise OutOfReach("page size", size, " ".join(PAPERS))
    since = typed.get("since", "").strip()
    if since and not (since.isascii() and since.isdecimal()):
        raise OutOfReach("since", since, "the number of a revision, from 1")
    desk.papers.begin(
        desk.shelf.id_of(job),
        snapshot,
        checked=desk.bench.look(snapshot).checked,
        built=told_of(desk, snapshot)[0],
        date=now.date().isoformat(),
        made=now.isoformat(timespec="seconds"),
        asked=PapersAsked(
            sections=tuple(name for name in SECTIONS if typed.get(f"paper/{name}")),
            page_size=size,
            address=str(request.base_url).rstrip("/") + job_path(job, "wire", ""),
            history=history_of_shelf(desk.shelf, job, int(since) if since else None),
            drive=pack_drive(desk, snapshot),
        ),
    )
    return RedirectResponse(job_path(job, "pack"), _SEE_OTHER)


@router.post("/j/{job}/pack/stop", include_in_schema=False)
def stop(request: Request, desk: AtDesk, job: JobName) -> Response:
    """Stop making them."""
    desk.papers.stop(desk.shelf.id_of(job))
    return RedirectResponse(job_path(job, "pack"), _SEE_OTHER)


@router.get("/j/{job}/pack/file/{name}", include_in_schema=False)
def paper(request: Request, desk: AtDesk, job: JobName, name: FileName) -> Response:
    """One of the papers, with the revision it is of in its name."""
    found = desk.papers.file(desk.shelf.id_of(job), name)
    if found is None:
        raise OutOfReach("paper", name, f"{' '.join(PAPER_FILES)}, once they are made")
    kept, file = found
    stem, _, ending = name.rpartition(".")
    return FileResponse(
        file,
        media_type=_TYPES[ending],
        headers=_named(f"{job} {stem} revision {kept.revision}.{ending}") | {"Cache-Control": "private, no-cache"},
    )


@router.get("/j/{job}/pack/job/{ending}", include_in_schema=False)
def whole_job(desk: AtDesk, job: JobName, ending: FileName) -> Response:
    """The job as it stands, as a file."""
    if ending not in JOB_FILES:
        raise OutOfReach("ending", ending, " ".join(JOB_FILES))
    snapshot = desk.shelf.now(job)
    if snapshot.job is None:
        raise NoAnswer("the job as a file", ("Its rows do not fit each other yet: see the findings.",))
    kept = kept_of(desk.shelf, job) if ending == "loomjob" else {}
    data = job_file(snapshot.job, ending, kept)
    return Response(
        data,
        media_type=_TYPES[ending],
        headers=_named(f"{job} revision {snapshot.revision}.{ending}") | {"Cache-Control": "private, no-store"},
    )


def _named(name: str) -> dict[str, str]:
    plain = "".join(letter if letter.isascii() and letter not in '"\\' else "-" for letter in name)
    return {"Content-Disposition": f"attachment; filename=\"{plain}\"; filename*=UTF-8''{quote(name, safe='')}"}
