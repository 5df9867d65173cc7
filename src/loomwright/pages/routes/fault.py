"""The fault finder: readings written down as they are taken, faults ranked by them, the next reading asked for."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.car import Car
from loomwright.job.edits import add_row
from loomwright.job.job import Job
from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerStanding
from loomwright.pages.desk import Desk
from loomwright.pages.entries import TypedForm
from loomwright.pages.fault_work import car_digest, faults_apart
from loomwright.pages.records.fault_page import fault_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.proving.fault_table import FaultTable
from loomwright.proving.locate import Located
from loomwright.quantities import parse_quantity
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach, Problem
from loomwright.store.snapshot import Snapshot

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Hunt = Annotated[str, Query(max_length=80)]
_SEE_OTHER = 303
_REFUSED = 422
_FIELDS = ("point", "to", "off", "when", "measure", "value", "unit", "note")
_UNITS = {"volts": "V", "clamp": "A"}
_ENDINGS = {"volts": "v", "clamp": "a"}
_USUAL = "the fault"


@router.get("/j/{job}/fault")
def fault(request: Request, desk: AtDesk, job: JobName, hunt: Hunt = "") -> Response:
    """What was read in a hunt, and what explains it."""
    return _page(request, desk, job, hunt or _newest(desk.shelf.now(job)), {}, ())


@router.post("/j/{job}/fault")
def read(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Write one reading down; it is never changed afterwards."""
    hunt = (typed.get("hunt") or _USUAL).strip()[:80]
    cells = {name: text.strip() for name in _FIELDS if (text := typed.get(name, "")).strip()}
    cells.setdefault("measure", "volts")
    cells.setdefault("unit", _UNITS.get(cells["measure"], ""))
    snapshot = desk.shelf.now(job)
    cells["value"] = _bare(cells.get("value", ""), cells["measure"])
    problems = _wrong_with(desk, snapshot, cells)
    if not problems:
        taken = {**cells, "visit": hunt, "time": datetime.now(UTC).isoformat(timespec="seconds")}
        edited = desk.shelf.record(job, "readings", taken, who=desk.who)
        problems = edited.problems
    if problems:
        return _page(request, desk, job, hunt, typed, problems)
    return RedirectResponse(job_path(job, "fault", query={"hunt": hunt}), _SEE_OTHER)


@router.post("/j/{job}/fault/stop")
def stop(desk: AtDesk, job: JobName, hunt: Hunt = "") -> Response:
    """Stop working it out, and come back."""
    desk.faults.stop(_key(desk.shelf.now(job)))
    return RedirectResponse(job_path(job, "fault", query={"hunt": hunt}), _SEE_OTHER)


@router.post("/j/{job}/fault/again")
def again(desk: AtDesk, job: JobName, hunt: Hunt = "") -> Response:
    """Work it out after all, and come back."""
    desk.faults.again(_key(desk.shelf.now(job)))
    return RedirectResponse(job_path(job, "fault", query={"hunt": hunt}), _SEE_OTHER)


def _page(
    request: Request, desk: Desk, name: str, hunt: str, typed: Mapping[str, str], problems: tuple[Problem, ...]
) -> Response:
    snapshot = desk.shelf.now(name)
    car = _car(desk, snapshot)
    job = car.job
    readings = tuple(one for one in job.readings if one.point and one.visit == hunt)
    standing = _standing(desk, snapshot)
    if standing.refused is not None:
        raise standing.refused
    located: Located | None = None
    if standing.answer is not None:
        located = car.located(readings, table=standing.answer)
    record = fault_page(
        job,
        located,
        links_of(request, snapshot),
        hunt=hunt,
        readings=readings,
        points=tuple(
            sorted(point for point in car.compiled.node_of if "._" not in point and not point.startswith("~"))
        ),
        typed=typed,
        problems=problems,
        stopped=standing.stopped,
        done=standing.done,
        of=standing.of,
    )
    return page(request, "fault.html", record, snapshot=snapshot, status=_REFUSED if problems else 200)


def _bare(typed: str, measure: str) -> str:
    """A figure typed with its unit, in volts or amps; what is no figure stays as it was typed."""
    if measure not in _ENDINGS:
        return typed
    try:
        return f"{parse_quantity(typed, _ENDINGS[measure], name='value'):.6g}"
    except OutOfReach:
        return typed


def _wrong_with(desk: Desk, snapshot: Snapshot, cells: Mapping[str, str]) -> tuple[Problem, ...]:
    """Why a reading cannot be meant; none where it can."""
    car = _car(desk, snapshot)
    try:
        car.asks_after(add_row(Job(), "readings", cells).readings)
    except BadDocument as refusal:
        return refusal.problems
    return ()


def _newest(snapshot: Snapshot) -> str:
    """The hunt that was read in last."""
    job = snapshot.as_written
    return next((one.visit for one in reversed(job.readings) if one.point and one.visit), _USUAL)


def _car(desk: Desk, snapshot: Snapshot) -> Car:
    car = desk.cars.of(snapshot)
    if car is None:
        raise NoAnswer("the fault finder", ("The sheets hold a cell that cannot be read: mend it first.",))
    return car


def _key(snapshot: Snapshot) -> tuple[str, int, str]:
    return snapshot.name, 0, car_digest(snapshot.as_written)


def _standing(desk: Desk, snapshot: Snapshot) -> AnswerStanding[FaultTable]:
    job = snapshot.as_written
    return desk.faults.look(_key(snapshot), lambda tell: faults_apart(job, tell))
