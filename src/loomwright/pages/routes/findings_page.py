"""The page of a job's findings, and stopping and resuming the check by hand."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from loomwright.pages.addresses import job_path
from loomwright.pages.desk import Desk
from loomwright.pages.records.finding_lines import Pick, findings_page
from loomwright.pages.records.last_change import LastChange
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.store.history import turns_of

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Asked = Annotated[str, Query(max_length=120)]
_SEE_OTHER = 303


@router.get("/j/{job}/findings")
def findings(
    request: Request,
    desk: AtDesk,
    job: JobName,
    stage: Asked = "",
    circuit: Asked = "",
    place: Asked = "",
    severity: Asked = "",
) -> HTMLResponse:
    """What the rules find in the newest revision, those that are asked for."""
    snapshot = desk.shelf.now(job)
    record = findings_page(
        snapshot,
        desk.bench.look(snapshot),
        links_of(request, snapshot),
        Pick(stage=stage, circuit=circuit, place=place, severity=severity),
        _last_change(desk, job),
    )
    return page(request, "findings.html", record, snapshot=snapshot)


def _last_change(desk: Desk, job: str) -> LastChange | None:
    """The newest revision, where it says why and is the one that whoever looks would take back."""
    newest = desk.shelf.revisions(job, newest=1)
    if not newest or not newest[0].why or newest[0].kind not in ("edit", "redo"):
        return None
    with desk.shelf.engine.connect() as connection:
        target = turns_of(connection, desk.shelf.id_of(job)).target("undo", desk.who)
    if target != newest[0].number:
        return None
    return LastChange(number=target, why=newest[0].why, take_back=job_path(job, "revisions", "undo"))


@router.post("/j/{job}/findings/stop")
def stop(desk: AtDesk, job: JobName) -> Response:
    """Stop the check that runs, and come back."""
    desk.bench.stop(desk.shelf.now(job))
    return RedirectResponse(job_path(job, "findings"), status_code=_SEE_OTHER)


@router.post("/j/{job}/findings/again")
def again(desk: AtDesk, job: JobName) -> Response:
    """Check after all, and come back."""
    desk.bench.again(desk.shelf.now(job))
    return RedirectResponse(job_path(job, "findings"), status_code=_SEE_OTHER)
