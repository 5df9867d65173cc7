"""Under the dash: the page for the tablet, what it takes along for a day without signal, and what it brings back.

The page itself holds nothing of a job; what is done on it is kept on the tablet first and sent when there is a way. A
record that is sent twice counts once. The worker of the page answers for us where we cannot be reached; it is told
which files belong to the page, and is another one as soon as any of them is.
"""

from __future__ import annotations

import hashlib
import json
from functools import lru_cache
from typing import Annotated, Any

from fastapi import APIRouter, Path, Request, Response
from fastapi.responses import HTMLResponse, JSONResponse

from loomwright.car import Car
from loomwright.loom.as_built_records import AsBuilt
from loomwright.pages.acts_told import ActsTold, done_plain, taken
from loomwright.pages.addresses import job_path
from loomwright.pages.desk import Desk
from loomwright.pages.doors.origins import LOOPBACK, host_name
from loomwright.pages.prove_work import plan_apart, plan_digest
from loomwright.pages.records.codes_page import codes_page
from loomwright.pages.rendering import page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.pages.under_shell import shell_files, under_page
from loomwright.refusals import NoAnswer
from loomwright.store.earlier import earlier_of
from loomwright.store.snapshot import Snapshot

__all__ = ["router"]

router = APIRouter()

_NOT_CHANGED = 304


def _built(desk: Desk, snapshot: Snapshot, car: Car) -> AsBuilt | None:
    """What changes ask of what is built; nothing where nothing is."""
    if not car.job.progress:
        return None
    past = earlier_of(desk.shelf, snapshot)
    return car.as_built(past.jobs, past.renamed)


@router.get("/j/{job}/next", include_in_schema=False)
def under(request: Request, desk: AtDesk, job: JobName) -> HTMLResponse:
    """The page of the next thing."""
    desk.shelf.now(job)
    return page(request, "under.html", under_page())


@router.get("/next/shell", include_in_schema=False)
def shell(request: Request) -> HTMLResponse:
    """The same page without a job, as the worker keeps it."""
    return page(request, "under.html", under_page())


@router.get("/next/worker.js", include_in_schema=False)
def worker() -> Response:
    """The worker that answers where we cannot be reached."""
    return Response(
        _worker(tuple(shell_files())),
        media_type="text/javascript",
        headers={"Service-Worker-Allowed": "/", "Cache-Control": "no-cache"},
    )


@router.get("/j/{job}/codes", include_in_schema=False)
def codes(request: Request, desk: AtDesk, job: JobName) -> HTMLResponse:
    """Square codes for labels and lids, that begin with the address this is asked at."""
    snapshot = desk.shelf.now(job)
    car = desk.cars.of(snapshot)
    filled = snapshot.as_written if car is None else car.filled
    address = str(request.base_url).rstrip("/")
    record = codes_page(job, filled, address, is_own=host_name(request.headers.get("host", "")) in LOOPBACK)
    return page(request, "codes.html", record, snapshot=snapshot)


@router.get("/j/{job}/next/{name}.webmanifest", include_in_schema=False)
def manifest(desk: AtDesk, job: JobName, name: Annotated[str, Path(max_length=20)]) -> Response:
    """What a tablet must know to keep the page as one of its own."""
    desk.shelf.now(job)
    told = {
        "id": job_path(job, "next"),
        "name": f"{job}, under the dash",
        "short_name": job,
        "start_url": job_path(job, "next"),
        "scope": "/",
        "display": "standalone",
        "background_color": "#14130f",
        "theme_color": "#14130f",
        "icons": [{"src": "/static/under.svg", "sizes": "any", "type": "image/svg+xml", "purpose": "any maskable"}],
    }
    return Response(json.dumps(told), media_type="application/manifest+json", headers={"Cache-Control": "no-cache"})


@router.get("/api/j/{job}/day", response_class=Response, responses={_NOT_CHANGED: {"description": "the same still"}})
def day(request: Request, desk: AtDesk, job: JobName) -> Response:
    """What a tablet takes along: the next things of every work, and a card for every label."""
    snapshot = desk.shelf.now(job)
    car = desk.cars.of(snapshot)
    if car is None:
        raise NoAnswer("the day's work", ("The sheets hold a cell that cannot be read: mend it first.",))
    written = snapshot.as_written
    key = (snapshot.name, 0, plan_digest(written))
    plan = desk.plans.look(key, lambda tell: plan_apart(written, tell))
    made = desk.days.of(snapshot, car, plan.answer, lambda: _built(desk, snapshot, car))
    headers = {"ETag": made.tag, "Cache-Control": "private, no-cache"}
    if made.tag in request.headers.get("if-none-match", ""):
        return Response(status_code=_NOT_CHANGED, headers=headers)
    return Response(made.text, media_type="application/json", headers=headers)


@router.post("/api/j/{job}/acts", response_class=JSONResponse)
def acts(desk: AtDesk, job: JobName, told: ActsTold) -> dict[str, Any]:
    """Take in what was done away from the desk; each by itself, each once, however often it is sent."""
    done = taken(desk.shelf, job, told, who=desk.who)
    return {"revision": desk.shelf.now(job).revision, "acts": [done_plain(one) for one in done]}


@lru_cache(maxsize=4)
def _worker(files: tuple[tuple[str, str, bytes], ...]) -> bytes:
    """The worker's script, told which files are the page."""
    digest = hashlib.sha256(b"".join(data for _, _, data in files)).hexdigest()[:12]
    told = {"version": digest, "files": [address for address, _, _ in files if address]}
    script = next(data for _, name, data in files if name == "worker.js")
    return f"const SHELL = {json.dumps(told)};\n".encode() + script
