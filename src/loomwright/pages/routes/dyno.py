"""Ready for the dyno? The criteria with their records, as a page and a paper; the certificate only when all are met."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from loomwright.job.vehicle import vehicle_of
from loomwright.logs.dyno import Readiness, readiness
from loomwright.logs.judged import Judged
from loomwright.logs.limits import Unproved, unproved
from loomwright.logs.mapping import mapped_from
from loomwright.pages.desk import Desk
from loomwright.pages.drive_papers import PackDrive, drive_drawings
from loomwright.pages.records.dyno_page import dyno_page
from loomwright.pages.rendering import page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.pages.routes.logs import judged_log, mapping_of
from loomwright.refusals import NoAnswer
from loomwright.store.log_files import KeptLog, kept_logs
from loomwright.store.snapshot import Snapshot
from loomwright.writers.dyno_paper import dyno_pdf

__all__ = ["pack_drive", "router"]

router = APIRouter(include_in_schema=False)
_DRIVES = 3
"""Recorded drives that count, the newest."""


@router.get("/j/{job}/dyno")
def dyno(request: Request, desk: AtDesk, job: JobName) -> Response:
    """Each criterion with its record, or what is left."""
    snapshot = desk.shelf.now(job)
    drives, reading = _drives(desk, snapshot)
    names = [kept.name for kept, _ in drives]
    record = dyno_page(job, _ready(snapshot, drives), _limits(desk, snapshot), drives=names, reading=reading)
    return page(request, "dyno.html", record, snapshot=snapshot)


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
    return unproved(mapped_from(mapping_of(desk, snapshot)).limits)


def _paper(desk: Desk, snapshot: Snapshot, drives: list[tuple[KeptLog, Judged]], _reading: int) -> Response:
    drawings = [one for kept, drive in drives[:1] for one in drive_drawings(kept.name, drive, kept.drawn)]
    title = vehicle_of(snapshot.as_written).title or snapshot.name
    data = dyno_pdf(title, _ready(snapshot, drives), _limits(desk, snapshot), drawings)
    headers = {"Content-Disposition": 'inline; filename="ready for the dyno.pdf"', "Cache-Control": "private, no-cache"}
    return Response(data, media_type="application/pdf", headers=headers)
