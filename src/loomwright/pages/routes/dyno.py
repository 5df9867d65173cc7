"""Ready for the dyno? The criteria with their records, as a page and a paper; the certificate only when all are met."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.job.vehicle import vehicle_of
from loomwright.logs.dyno import Readiness, gate_row, readiness
from loomwright.logs.in_short import drive_in_short
from loomwright.logs.judged import Judged
from loomwright.logs.limits import DAY_LIMITS, Unproved, unproved
from loomwright.logs.mapping import limits_typed, mapped_from, mapped_text
from loomwright.logs.own_limits import mapped_for
from loomwright.pages.addresses import job_path
from loomwright.pages.desk import Desk
from loomwright.pages.drive_papers import PackDrive, drive_drawings
from loomwright.pages.entries import TypedForm
from loomwright.pages.keeping import keep_rows
from loomwright.pages.records.dyno_page import dyno_page
from loomwright.pages.rendering import page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.pages.routes.logs import judged_log, keep_mapping, mapping_of
from loomwright.refusals import BadDocument, NoAnswer, Problem
from loomwright.store.log_files import KeptLog, kept_logs
from loomwright.store.snapshot import Snapshot
from loomwright.writers.dyno_paper import dyno_pdf

__all__ = ["pack_drive", "router"]

router = APIRouter(include_in_schema=False)
_SEE_OTHER, _REFUSED = 303, 422
_DRIVES = 3
"""Recorded drives that count, the newest."""


@router.get("/j/{job}/dyno")
def dyno(request: Request, desk: AtDesk, job: JobName) -> Response:
    """Each criterion with its record, or what is left."""
    return _page(request, desk, job, (), {})


@router.post("/j/{job}/dyno")
def settle(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Write down what speaks for a criterion, or against it."""
    snapshot = desk.shelf.now(job)
    name, verdict = typed.get("criterion", ""), typed.get("verdict", "")
    try:
        cells = gate_row(_ready(snapshot, []), name, verdict, typed.get("value", ""), typed.get("reason", ""))
    except BadDocument as refusal:
        return _page(request, desk, job, refusal.problems, typed)
    problems = keep_rows(desk, job, "gates", [cells])
    if problems:
        return _page(request, desk, job, problems, typed)
    return RedirectResponse(job_path(job, "dyno", at=name), _SEE_OTHER)


@router.post("/j/{job}/dyno/limits")
def agree(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Keep limits of this engine with its controller's columns."""
    snapshot = desk.shelf.now(job)
    named = {name: typed.get(name, "") for name in DAY_LIMITS}
    try:
        mapped = limits_typed(mapped_from(mapping_of(desk, snapshot)), named)
    except BadDocument as refusal:
        return _page(request, desk, job, refusal.problems, typed)
    keep_mapping(desk, snapshot, mapped_text(mapped, ()))
    return RedirectResponse(job_path(job, "dyno", at="limits"), _SEE_OTHER)


@router.get("/j/{job}/dyno/paper")
def paper(desk: AtDesk, job: JobName) -> Response:
    """The same as a paper, with the newest drive drawn."""
    snapshot = desk.shelf.now(job)
    return _paper(desk, snapshot, *_drives(desk, snapshot))


@router.get("/j/{job}/dyno/certificate")
def certificate(desk: AtDesk, job: JobName) -> Response:
    """The paper with the certificate before it; none while anything is open."""
    snapshot = desk.shelf.now(job)
    drives, reading = _drives(desk, snapshot)
    ready = _ready(snapshot, drives)
    if reading or not ready.is_ready:
        left = f"{len(ready.left)} criteria are open." if ready.left else "A drive is being read still."
        raise NoAnswer("the certificate", (left, "See the page ready for the dyno."))
    return _paper(desk, snapshot, drives, reading)


def _page(request: Request, desk: Desk, job: str, problems: Sequence[Problem], typed: Mapping[str, str]) -> Response:
    snapshot = desk.shelf.now(job)
    drives, reading = _drives(desk, snapshot)
    record = dyno_page(
        job,
        _ready(snapshot, drives),
        _limits(desk, snapshot),
        drives=[kept.name for kept, _ in drives],
        reading=reading,
        problems=problems,
        typed=typed,
    )
    return page(request, "dyno.html", record, snapshot=snapshot, status=_REFUSED if problems else 200)


def pack_drive(desk: Desk, snapshot: Snapshot) -> PackDrive | None:
    """The newest recorded drive of a job, to go with its papers; read there where it is not read yet."""
    kept = kept_logs(desk.shelf, snapshot.name)[:_DRIVES]
    if not kept:
        return None
    known = {one.key: drive for one, drive in _drives(desk, snapshot)[0]}
    newest, *before = kept
    return PackDrive(
        name=newest.name,
        path=newest.path,
        drawn=newest.drawn,
        mapped=mapped_from(mapping_of(desk, snapshot)),
        judged=known.get(newest.key),
        earlier=tuple((one.name, known[one.key]) for one in before if one.key in known),
    )


def _drives(desk: Desk, snapshot: Snapshot) -> tuple[list[tuple[KeptLog, Judged]], int]:
    """The newest drives that are read, and how many are being read."""
    standings = [(kept, judged_log(desk, snapshot, kept)) for kept in kept_logs(desk.shelf, snapshot.name)[:_DRIVES]]
    read = [(kept, one.answer) for kept, one in standings if one.answer is not None]
    reading = sum(one.answer is None and not one.stopped and one.refused is None for _, one in standings)
    return read, reading


def _ready(snapshot: Snapshot, drives: list[tuple[KeptLog, Judged]]) -> Readiness:
    job = snapshot.as_written
    named = [(kept.name, drive) for kept, drive in drives]
    first = named[0] if named else ("log", None)
    return readiness(first[1], job.gates, job.proofs, first[0], named[1:])


def _limits(desk: Desk, snapshot: Snapshot) -> tuple[Unproved, ...]:
    return unproved(mapped_for(mapped_from(mapping_of(desk, snapshot)), snapshot.as_written).limits)


def _paper(desk: Desk, snapshot: Snapshot, drives: list[tuple[KeptLog, Judged]], _reading: int) -> Response:
    drawings = [one for kept, drive in drives[:1] for one in drive_drawings(kept.name, drive, kept.drawn)]
    title = vehicle_of(snapshot.as_written).title or snapshot.name
    ready = _ready(snapshot, drives)
    short = drive_in_short(drives[0][1], ready) if drives else ()
    data = dyno_pdf(title, ready, _limits(desk, snapshot), drawings, short=short)
    headers = {"Content-Disposition": 'inline; filename="ready for the dyno.pdf"', "Cache-Control": "private, no-cache"}
    return Response(data, media_type="application/pdf", headers=headers)
