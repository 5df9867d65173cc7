"""The page of a job's findings, and stopping and resuming the check by hand."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from loomwright.pages.addresses import job_path
from loomwright.pages.records.finding_lines import Pick, findings_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName

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
    )
    return page(request, "findings.html", record, snapshot=snapshot)


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
