"""The handover of a job: the archive, the offline copy a camera opens off the lid, a later visit held against it."""

from __future__ import annotations

import csv
import hashlib
import io
import mimetypes
from collections.abc import Mapping
from typing import Annotated

from fastapi import APIRouter, Depends, Path, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import RedirectResponse
from starlette.datastructures import UploadFile

from loomwright.handover.handed_over import VISIT, Changed, baseline_of
from loomwright.handover.later_visit import (
    ReadAgain,
    blank_visit,
    read_again,
    readings_of,
    symptom_of,
    visit_cells,
)
from loomwright.job.conditions import parse_condition
from loomwright.job.writing import text_of_row
from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerStanding, Key, Tell
from loomwright.pages.desk import Desk, desk_of
from loomwright.pages.entries import TypedForm, read_form
from loomwright.pages.handover_files import COPY_PAGE, HandoverAsked, handover_archive
from loomwright.pages.handover_work import handover_apart
from loomwright.pages.prove_work import plan_apart, plan_digest
from loomwright.pages.records.handover_page import handover_page
from loomwright.pages.rendering import page
from loomwright.pages.routes.dyno import pack_drive
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.pages.routes.hours import today
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach
from loomwright.store.controller_files import (
    MOST_BYTES,
    controller_files,
    drop_controller_file,
    keep_controller_file,
)
from loomwright.store.log_files import kept_logs
from loomwright.store.photo_members import kept_of
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import AddRow

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
FilePath = Annotated[str, Path(max_length=200)]
_LETTERS = 12
_MOST_TESTS = 4000
_SEE_OTHER = 303
_ALL = 1_000_000
_NOW = "now/"
_OWN_MACHINE = ("127.0.0.1", "localhost", "::1")
_TYPES = {".dxf": "image/vnd.dxf", ".loomjob": "application/zip", ".csv": "text/csv; charset=utf-8"}
_TEXT = {".html": "text/html; charset=utf-8", ".css": "text/css; charset=utf-8", ".json": "application/json"}


async def _typed_visit(request: Request) -> Mapping[str, str]:
    return await read_form(request, _MOST_TESTS)


TypedVisit = Annotated[Mapping[str, str], Depends(_typed_visit)]


@router.get("/j/{job}/handover")
def handover(request: Request, desk: AtDesk, job: JobName) -> Response:
    """What there is to hand over, and how far the archive is."""
    return _page(request, desk, desk.shelf.now(job))


@router.post("/j/{job}/handover/visit")
def visit(request: Request, desk: AtDesk, job: JobName, typed: TypedVisit) -> Response:
    """Readings of a later visit held against the baseline; nothing is written down."""
    snapshot = desk.shelf.now(job)
    return _page(request, desk, snapshot, read_again(snapshot.as_written.proofs, _now(typed)))


@router.post("/j/{job}/handover/visit/keep")
def keep_visit(desk: AtDesk, job: JobName, typed: TypedVisit) -> Response:
    """The readings put on record; the baseline stays as it was."""
    again = read_again(desk.shelf.now(job).as_written.proofs, _now(typed))
    if not again:
        raise OutOfReach("readings", "none", "at least one reading of this visit, in the column now")
    edits = [AddRow(sheet="proofs", cells=visit_cells(one, time=today(), who=desk.who)) for one in again]
    edited = desk.shelf.edit(job, edits, who=desk.who, why=f"later visit, {len(again)} read again", kind="record")
    if not edited.is_taken:
        raise BadDocument(edited.problems)
    return RedirectResponse(job_path(job, "handover", at="visit"), _SEE_OTHER)


@router.get("/j/{job}/handover/visit.csv")
def blank(desk: AtDesk, job: JobName) -> Response:
    """The baseline as a sheet to fill in where there is no signal."""
    snapshot = desk.shelf.now(job)
    written, made = snapshot.as_written, io.StringIO()
    plan = desk.plans.look((snapshot.name, 0, plan_digest(written)), lambda tell: plan_apart(written, tell)).answer
    puts = {} if plan is None else {test.id: test.put for test in plan.tests}
    csv.writer(made, lineterminator="\n").writerows(blank_visit(written.proofs, puts))
    return Response(made.getvalue(), media_type="text/csv; charset=utf-8")


@router.post("/j/{job}/handover/causes")
def causes(desk: AtDesk, job: JobName, typed: TypedVisit) -> Response:
    """What does nothing, and what is not as then, written down for the fault finder: it ranks the causes."""
    written = desk.shelf.now(job).as_written
    again = read_again(written.proofs, _now(typed))
    readings = list(readings_of(again)) if any(one.verdict in ("moved", "outside") for one in again) else []
    if dead := typed.get("dead", ""):
        when = parse_condition(typed.get("when", "") or "always")
        readings.append(symptom_of(written, dead, when, asked_as="what does nothing"))
    if not readings:
        raise OutOfReach("what is wrong", "", "a part that does nothing, or a reading in volts that is not as then")
    hunt = f"later visit {today()}"
    for one in readings:
        cells = {name: text for name, text in text_of_row("readings", one).items() if text}
        edited = desk.shelf.record(job, "readings", {**cells, "visit": hunt, "time": today()}, who=desk.who)
        if not edited.is_taken:
            raise BadDocument(edited.problems)
    return RedirectResponse(job_path(job, "fault", query={"hunt": hunt}), _SEE_OTHER)


@router.get("/j/{job}/handover/archive.zip")
def archive(request: Request, desk: AtDesk, job: JobName) -> Response:
    """Everything as one archive."""
    snapshot = desk.shelf.now(job)
    data = handover_archive(_made(request, desk, snapshot))
    headers = {
        "Content-Disposition": f'attachment; filename="handover revision {snapshot.revision}.zip"',
        "Cache-Control": "private, no-store",
    }
    return Response(data, media_type="application/zip", headers=headers)


@router.get("/j/{job}/handover/copy/{name:path}")
def copy(request: Request, desk: AtDesk, job: JobName, name: FilePath) -> Response:
    """The offline copy and its files, as they lie in the archive."""
    snapshot = desk.shelf.now(job)
    if name == COPY_PAGE and _standing(request, desk, snapshot).answer is None:
        return RedirectResponse(job_path(job, "handover"), _SEE_OTHER)
    files = _made(request, desk, snapshot)
    if name not in files:
        raise OutOfReach("file", name, "one of the files of the handover")
    return Response(files[name], media_type=_type(name), headers={"Cache-Control": "private, no-cache"})


@router.post("/j/{job}/handover/files")
async def send(request: Request, job: JobName) -> Response:
    """Take a file in that came off a controller."""
    desk = desk_of(request)
    async with request.form(max_files=1, max_fields=2) as form:
        file = form.get("file")
        name, data = "", b""
        if isinstance(file, UploadFile):
            name, data = file.filename or "", await file.read(MOST_BYTES + 1)
        await run_in_threadpool(keep_controller_file, desk.shelf, job, name, data)
    return RedirectResponse(job_path(job, "handover"), _SEE_OTHER)


@router.post("/j/{job}/handover/files/drop")
def drop(desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Take a controller's file away."""
    drop_controller_file(desk.shelf, job, typed.get("name", ""))
    return RedirectResponse(job_path(job, "handover"), _SEE_OTHER)


@router.post("/j/{job}/handover/stop")
def stop(request: Request, desk: AtDesk, job: JobName) -> Response:
    """Stop making it."""
    desk.handovers.stop(_key(request, desk, desk.shelf.now(job)))
    return RedirectResponse(job_path(job, "handover"), _SEE_OTHER)


@router.post("/j/{job}/handover/again")
def again(request: Request, desk: AtDesk, job: JobName) -> Response:
    """Make it after all."""
    desk.handovers.again(_key(request, desk, desk.shelf.now(job)))
    return RedirectResponse(job_path(job, "handover"), _SEE_OTHER)


def _now(typed: Mapping[str, str]) -> list[tuple[str, str]]:
    """Test and what was read now, of those that were read."""
    return [(name.removeprefix(_NOW), text) for name, text in typed.items() if name.startswith(_NOW) and text.strip()]


def _key(request: Request, desk: Desk, snapshot: Snapshot) -> Key:
    """Another one where the controller's files, or the address that the lid's code opens, are others."""
    told = hashlib.sha256(_address(request, snapshot.name).encode())
    for name, data in controller_files(desk.shelf, snapshot.name).items():
        told.update(f"{name}\n{len(data)}\n".encode() + data)
    for one in kept_logs(desk.shelf, snapshot.name)[:1]:
        told.update(one.key.encode())
    return snapshot.name, snapshot.revision, f"handover {told.hexdigest()[:_LETTERS]}"


def _page(request: Request, desk: Desk, snapshot: Snapshot, read: tuple[ReadAgain, ...] = ()) -> Response:
    record = handover_page(
        snapshot.name,
        snapshot.revision,
        _standing(request, desk, snapshot),
        files=controller_files(desk.shelf, snapshot.name),
        baseline=baseline_of(snapshot.as_written.proofs),
        again=read,
        visits=tuple(one for one in snapshot.as_written.proofs if one.notes == VISIT),
        today=today(),
        address=_address(request, snapshot.name),
        parts=tuple(one.id for one in snapshot.as_written.parts if one.fitted != "removed"),
    )
    return page(request, "handover.html", record, snapshot=snapshot)


def _address(request: Request, job: str) -> str:
    """Of the offline copy, as a telephone reaches it; empty where this desk is reached from its own machine alone."""
    if request.url.hostname in _OWN_MACHINE:
        return ""
    return str(request.base_url).rstrip("/") + job_path(job, "handover", "copy", COPY_PAGE)


def _made(request: Request, desk: Desk, snapshot: Snapshot) -> Mapping[str, bytes]:
    standing = _standing(request, desk, snapshot)
    if standing.answer is None:
        raise NoAnswer("the handover", ("It is not made yet: see the page of the handover.",))
    return standing.answer


def _standing(request: Request, desk: Desk, snapshot: Snapshot) -> AnswerStanding[Mapping[str, bytes]]:
    if snapshot.job is None:
        return AnswerStanding(refused=NoAnswer("the handover", ("Its rows do not fit each other yet.",)))
    typed, name = snapshot.job, snapshot.name
    address = _address(request, name)

    def work(tell: Tell) -> Mapping[str, bytes]:
        revisions = desk.shelf.revisions(name, newest=_ALL)
        asked = HandoverAsked(
            job=typed,
            kept=kept_of(desk.shelf, name),
            changes=tuple(Changed(number=one.number, time=one.time, who=one.who, why=one.why) for one in revisions),
            files=controller_files(desk.shelf, name),
            address=address,
            drive=pack_drive(desk, snapshot),
        )
        return handover_apart(asked, desk.bench.look(snapshot).checked, tell)

    return desk.handovers.look(_key(request, desk, snapshot), work)


def _type(name: str) -> str:
    ending = f".{name.rpartition('.')[2]}"
    return _TEXT.get(ending) or _TYPES.get(ending) or mimetypes.guess_type(name)[0] or "application/octet-stream"
