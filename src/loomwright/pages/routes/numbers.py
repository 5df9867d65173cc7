"""The numbers an engine starts with: what is known of it is typed, numbers and tables come of it, as CSV and drawn."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from fastapi import APIRouter, Request, Response
from fastapi import Path as InPath
from fastapi.responses import RedirectResponse

from loomwright.calibration.engine import engine_of
from loomwright.calibration.start_records import StartTable
from loomwright.calibration.starting import StartNumbers
from loomwright.car import Car
from loomwright.job.edits import add_row, set_cell
from loomwright.job.job import Job
from loomwright.pages.addresses import job_path
from loomwright.pages.desk import Desk
from loomwright.pages.entries import TypedForm
from loomwright.pages.records.numbers_page import FIELDS, numbers_page
from loomwright.pages.rendering import page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach, Problem
from loomwright.startup.job_numbers import said_of
from loomwright.store.towards import edits_towards
from loomwright.writers.start_tables import table_chart, table_csv

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
TableName = Annotated[str, InPath(max_length=40)]
_SEE_OTHER = 303
_REFUSED = 422


@router.get("/j/{job}/numbers")
def numbers(request: Request, desk: AtDesk, job: JobName) -> Response:
    """The numbers of this job."""
    return _page(request, desk, job, {}, ())


@router.post("/j/{job}/numbers")
def known(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Write down what is known of the engine, into the sheet `vehicle`."""
    snapshot = desk.shelf.now(job)
    before = _car(desk, job).job
    given = {name: typed[name] for name in FIELDS if name in typed}
    try:
        engine_of(said_of(before) | {name: text for name, text in given.items() if text})
    except BadDocument as refusal:
        wrong = tuple(one for one in refusal.problems if given.get(one.column))
        if wrong:
            return _page(request, desk, job, given, wrong)
    edits = edits_towards(snapshot, _with(before, given))
    if edits:
        edited = desk.shelf.edit(job, edits, who=desk.who, why="what is known of the engine")
        if not edited.is_taken:
            return _page(request, desk, job, given, edited.problems)
    return RedirectResponse(job_path(job, "numbers"), _SEE_OTHER)


@router.get("/j/{job}/numbers/{table}.csv")
def as_csv(desk: AtDesk, job: JobName, table: TableName) -> Response:
    """One table as figures."""
    found = _table(desk, job, table)
    told = {"content-disposition": f'attachment; filename="{found.name}.csv"'}
    return Response(table_csv(found), media_type="text/csv; charset=utf-8", headers=told)


@router.get("/j/{job}/numbers/{table}.svg")
def as_svg(desk: AtDesk, job: JobName, table: TableName) -> Response:
    """One table, drawn."""
    return Response(table_chart(_table(desk, job, table)), media_type="image/svg+xml")


def _table(desk: Desk, job: str, name: str) -> StartTable:
    tables = {one.name: one for one in _car(desk, job).numbers().tables}
    if name not in tables:
        raise OutOfReach("table", name, " ".join(tables))
    return tables[name]


def _with(job: Job, given: Mapping[str, str]) -> Job:
    """The job with these properties of the vehicle; a blank one is left as it is where it had no row."""
    there = {row.name: row.value for row in job.vehicle}
    for name, text in given.items():
        if name in there and text != there[name]:
            job = set_cell(job, "vehicle", name, "value", text)
        elif name not in there and text:
            job = add_row(job, "vehicle", {"name": name, "value": text})
    return job


def _car(desk: Desk, job: str) -> Car:
    car = desk.cars.of(desk.shelf.now(job))
    if car is None:
        raise NoAnswer("the starting numbers", ("The sheets hold a cell that cannot be read: mend it first.",))
    return car


def _page(request: Request, desk: Desk, job: str, given: Mapping[str, str], problems: tuple[Problem, ...]) -> Response:
    snapshot = desk.shelf.now(job)
    car = _car(desk, job)
    made: StartNumbers | None = None
    lacking: tuple[Problem, ...] = ()
    try:
        made = car.numbers()
    except BadDocument as refusal:
        lacking = refusal.problems
    shown = {row.name: row.value for row in car.job.vehicle} | dict(given)
    record = numbers_page(job, shown, made, lacking=lacking, problems=problems)
    return page(request, "numbers.html", record, snapshot=snapshot, status=_REFUSED if problems else 200)
