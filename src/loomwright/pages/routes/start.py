"""The first start in the browser: stage by stage, every figure and every try on record."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.pages.addresses import job_path
from loomwright.pages.desk import Desk
from loomwright.pages.entries import TypedForm
from loomwright.pages.records.start_page import start_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach, Problem
from loomwright.startup.first_start import FirstStart, gate_cells
from loomwright.store.snapshot import Snapshot

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
_SEE_OTHER = 303
_REFUSED = 422
_TRIED = ("soak_hours", "coolant_c", "air_c", "crank_s", "result", "changed")


@router.get("/j/{job}/start")
def start(request: Request, desk: AtDesk, job: JobName) -> Response:
    """The list of this job."""
    return _page(request, desk, job, ())


@router.post("/j/{job}/start")
def settle(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Write down that an item was passed, not passed, or waived."""
    name, verdict = typed.get("item", ""), typed.get("verdict", "")
    value = "no" if verdict == "failed" else typed.get("value", "").strip()
    try:
        cells = gate_cells(
            _list(desk, desk.shelf.now(job)), name, value, typed.get("reason", ""), waive=verdict == "waived"
        )
    except BadDocument as refusal:
        return _page(request, desk, job, refusal.problems)
    except OutOfReach as refusal:
        gone = Problem(
            sheet="gates", row=None, column="gate", found=name, allowed=refusal.allowed, mend="Open the list anew"
        )
        return _page(request, desk, job, (gone,))
    return _kept(request, desk, job, "gates", cells, name)


@router.post("/j/{job}/start/tried")
def tried(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Write one start attempt down."""
    cells = {name: text for name in _TRIED if (text := typed.get(name, "").strip())}
    if not cells:
        told = Problem(
            sheet="attempts", row=None, column="result", found="", allowed="what it did", mend="Say what it did"
        )
        return _page(request, desk, job, (told,))
    return _kept(request, desk, job, "attempts", cells, "tries")


def _kept(request: Request, desk: Desk, job: str, sheet: str, cells: Mapping[str, str], at: str) -> Response:
    stamped = {**cells, "time": datetime.now(UTC).isoformat(timespec="seconds"), "who": desk.who}
    edited = desk.shelf.record(job, sheet, stamped, who=desk.who)
    if edited.problems:
        return _page(request, desk, job, edited.problems)
    return RedirectResponse(job_path(job, "start", at=at), _SEE_OTHER)


def _list(desk: Desk, snapshot: Snapshot) -> FirstStart:
    car = desk.cars.of(snapshot)
    if car is None:
        raise NoAnswer("the first start", ("The sheets hold a cell that cannot be read: mend it first.",))
    return car.first_start()


def _page(request: Request, desk: Desk, name: str, problems: tuple[Problem, ...]) -> Response:
    snapshot = desk.shelf.now(name)
    made = _list(desk, snapshot)
    record = start_page(snapshot.as_written, made, links_of(request, snapshot), problems)
    return page(request, "start.html", record, snapshot=snapshot, status=_REFUSED if problems else 200)
