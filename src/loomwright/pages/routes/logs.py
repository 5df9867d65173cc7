"""Recorded drives of a job: taken in, judged, drawn, their proposal adopted as a revision."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import RedirectResponse
from starlette.datastructures import UploadFile

from loomwright.exchange.plot_file import figures_at, traces_of
from loomwright.job.job import Job
from loomwright.logs.dyno import readiness
from loomwright.logs.fuel_table import FuelTable, table_from_rows, table_from_text, table_rows, table_with
from loomwright.logs.judged import Judged, Mixture
from loomwright.logs.mapping import Mapped, mapped_from, mapped_text, mapped_with
from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerStanding
from loomwright.pages.desk import Desk, desk_of
from loomwright.pages.drive_papers import starts_drawing
from loomwright.pages.entries import TypedForm, read_form
from loomwright.pages.keeping import keep_rows
from loomwright.pages.log_work import judged_apart, log_digest
from loomwright.pages.records.logs_page import View, bands_of, log_page, marks_of
from loomwright.pages.records.taken_drives import logs_page
from loomwright.pages.rendering import page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import BadDocument, NoAnswer, Problem
from loomwright.store.log_files import KeptLog, drop_log, keep_log, kept_log, kept_logs, mapping_file
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import AddRow, Edit, SetCell
from loomwright.trials.logged import reading_cells
from loomwright.writers.log_chart import drive_chart
from loomwright.writers.mixture_chart import cells_chart, contour_chart

__all__ = ["judged_log", "keep_mapping", "mapping_of", "router"]

router = APIRouter(include_in_schema=False)
_COLUMN, _MOST_COLUMNS = "column.", 200


async def _columns_form(request: Request) -> Mapping[str, str]:
    return await read_form(request, 3 * _MOST_COLUMNS + 10)


ColumnsForm = Annotated[Mapping[str, str], Depends(_columns_form)]
Key = Annotated[str, Path(pattern="^[0-9a-f]{12}$")]
Seconds = Annotated[float | None, Query(ge=-1e9, le=1e9, allow_inf_nan=False)]
From = Annotated[float | None, Query(alias="from", ge=-1e9, le=1e9, allow_inf_nan=False)]
Names = Annotated[list[str] | None, Query(max_length=8)]
_SEE_OTHER = 303
_SVG = "image/svg+xml"


@router.get("/j/{job}/logs")
def logs(request: Request, desk: AtDesk, job: JobName) -> Response:
    """The recorded drives of a job, and a place to take one in."""
    snapshot = desk.shelf.now(job)
    table = _table(snapshot)
    record = logs_page(job, kept_logs(desk.shelf, job), "" if table is None else _as_text(table))
    return page(request, "logs.html", record, snapshot=snapshot)


@router.post("/j/{job}/logs")
async def send(request: Request, job: JobName) -> Response:
    """Take a recorded drive in."""
    desk = desk_of(request)
    async with request.form(max_files=1, max_fields=4) as form:
        file = form.get("file")
        if not isinstance(file, UploadFile) or not file.filename:
            raise BadDocument((_problem("no file", "a recorded drive", "Pick one"),))
        kept = await run_in_threadpool(keep_log, desk.shelf, job, file.filename, file.file)
    return RedirectResponse(job_path(job, "logs", kept.key), _SEE_OTHER)


@router.post("/j/{job}/logs/table")
def table(desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Write a fuel table into the job, as one revision."""
    _write_table(desk, job, table_from_text(typed.get("table", "")), "fuel table written")
    return RedirectResponse(job_path(job, "logs"), _SEE_OTHER)


@router.get("/j/{job}/logs/{key}")
def log(
    request: Request,
    desk: AtDesk,
    job: JobName,
    key: Key,
    from_s: From = None,
    to: Seconds = None,
    mark: Seconds = None,
    over: Names = None,
) -> Response:
    """What one drive says, or how far that is."""
    snapshot, kept = desk.shelf.now(job), kept_log(desk.shelf, job, key)
    standing = judged_log(desk, snapshot, kept)
    view = View(from_s=from_s, to_s=to, over=tuple(over or ()), mark_s=mark)
    drive = standing.answer
    whole = (0.0, 0.0) if drive is None else traces_of(kept.drawn, (), pieces=1).whole_s
    told = mapping_of(desk, snapshot)
    record = log_page(
        job,
        kept,
        drive,
        view,
        whole_s=whole,
        standing=(standing.stopped, str(standing.refused or ""), standing.done, standing.of),
        mapped=mapped_from(told),
        ready=None
        if drive is None
        else readiness(drive, snapshot.as_written.gates, snapshot.as_written.proofs, kept.name),
        controller=_controller(snapshot),
        at_mark={} if drive is None or mark is None else figures_at(kept.drawn, mark, drive.step_s),
    )
    return page(request, "log.html", record, snapshot=snapshot)


@router.get("/j/{job}/logs/{key}/drive.svg")
def drive_svg(
    desk: AtDesk,
    job: JobName,
    key: Key,
    from_s: From = None,
    to: Seconds = None,
    mark: Seconds = None,
    over: Names = None,
) -> Response:
    """A window of the drive, drawn."""
    kept, drive = _answered(desk, job, key)
    view = View(from_s=from_s, to_s=to, over=tuple(over or ()), mark_s=mark)
    bands = bands_of(drive, view)
    traces = traces_of(kept.drawn, sorted({name for band in bands for name in band.names}), from_s, to)
    return Response(
        drive_chart(traces, bands, marks_of(drive, view), title=f"Recorded drive {kept.name}"), media_type=_SVG
    )


@router.get("/j/{job}/logs/{key}/starts.svg")
def starts_svg(desk: AtDesk, job: JobName, key: Key) -> Response:
    """The attempts to start over one another."""
    kept, drive = _answered(desk, job, key)
    return Response(starts_drawing(drive, kept.drawn), media_type=_SVG)


@router.get("/j/{job}/logs/{key}/cells.svg")
def cells_svg(desk: AtDesk, job: JobName, key: Key) -> Response:
    """The mixture cell by cell."""
    return Response(cells_chart(_mixture(desk, job, key)), media_type=_SVG)


@router.get("/j/{job}/logs/{key}/contours.svg")
def contours_svg(desk: AtDesk, job: JobName, key: Key) -> Response:
    """The proposed change as contours."""
    return Response(contour_chart(_mixture(desk, job, key)), media_type=_SVG)


@router.post("/j/{job}/logs/{key}/adopt")
def adopt(desk: AtDesk, job: JobName, key: Key) -> Response:
    """Write the proposal over the job's fuel table, as one revision."""
    snapshot = desk.shelf.now(job)
    kept, drive = _answered(desk, job, key)
    table = _table(snapshot)
    if table is None or drive.mixture is None or not drive.has_table:
        raise NoAnswer("a new fuel table", ("The job keeps no fuel table yet: write it on the page of logs.",))
    _write_table(desk, job, table_with(table, drive.mixture.proposal), f"fuel corrected from {kept.name}")
    return RedirectResponse(job_path(job, "revisions"), _SEE_OTHER)


@router.post("/j/{job}/logs/{key}/why")
def why(desk: AtDesk, job: JobName, key: Key) -> Response:
    """Write down where the drive disagrees with the solved car, and ask the fault finder."""
    snapshot = desk.shelf.now(job)
    kept, drive = _answered(desk, job, key)
    car = desk.cars.of(snapshot)
    readings = () if car is None else car.readings_logged(drive)
    if not readings:
        raise NoAnswer("why this drive disagrees", ("Nothing in it can be held against a point of the car.",))
    hunt = f"drive {kept.name}"[:80]
    there = {(one.point, one.when.text, one.measure) for one in snapshot.as_written.readings if one.visit == hunt}
    new = [one for one in readings if (one.point, one.when.text, one.measure) not in there]
    problems = keep_rows(desk, job, "readings", [reading_cells(one) | {"visit": hunt} for one in new])
    if problems:
        raise BadDocument(problems)
    return RedirectResponse(job_path(job, "fault", query={"hunt": hunt}), _SEE_OTHER)


@router.post("/j/{job}/logs/{key}/mapping")
def mapping(desk: AtDesk, job: JobName, key: Key, typed: ColumnsForm) -> Response:
    """Keep which column is what, for this controller, and read the log anew."""
    snapshot = desk.shelf.now(job)
    if "mapping" in typed:
        text = typed["mapping"] + "\n"
    else:
        text = mapped_text(_mapped_as_chosen(desk, snapshot, key, typed), ())
    mapped_from(text)
    keep_mapping(desk, snapshot, text)
    return RedirectResponse(job_path(job, "logs", key), _SEE_OTHER)


def _mapped_as_chosen(desk: Desk, snapshot: Snapshot, key: str, typed: Mapping[str, str]) -> Mapped:
    """The kept mapping with what was chosen column by column; columns of the form are numbered."""
    drive = judged_log(desk, snapshot, kept_log(desk.shelf, snapshot.name, key)).answer
    known = () if drive is None else tuple(one.column for one in drive.channels)
    numbers = [name.removeprefix(_COLUMN) for name in typed if name.startswith(_COLUMN)]
    chosen = {typed[_COLUMN + one]: typed.get(f"is.{one}", "") for one in numbers}
    units = {typed[_COLUMN + one]: typed.get(f"unit.{one}", "") for one in numbers}
    return mapped_with(mapped_from(mapping_of(desk, snapshot)), chosen, units, known)


def keep_mapping(desk: Desk, snapshot: Snapshot, text: str) -> None:
    """Keep a mapping for the job's controller, whole or not at all."""
    path = mapping_file(desk.shelf, _controller(snapshot))
    path.parent.mkdir(parents=True, exist_ok=True)
    rough = path.with_suffix(".part")
    rough.write_text(text, encoding="utf-8")
    rough.replace(path)


@router.post("/j/{job}/logs/{key}/drop")
def drop(desk: AtDesk, job: JobName, key: Key) -> Response:
    """Take a recorded drive away."""
    drop_log(desk.shelf, job, key)
    return RedirectResponse(job_path(job, "logs"), _SEE_OTHER)


@router.post("/j/{job}/logs/{key}/stop")
def stop(desk: AtDesk, job: JobName, key: Key) -> Response:
    """Stop reading it, and come back."""
    desk.logs.stop(_bench_key(desk, desk.shelf.now(job), key))
    return RedirectResponse(job_path(job, "logs", key), _SEE_OTHER)


@router.post("/j/{job}/logs/{key}/again")
def again(desk: AtDesk, job: JobName, key: Key) -> Response:
    """Read it after all, and come back."""
    desk.logs.again(_bench_key(desk, desk.shelf.now(job), key))
    return RedirectResponse(job_path(job, "logs", key), _SEE_OTHER)


def judged_log(desk: Desk, snapshot: Snapshot, kept: KeptLog) -> AnswerStanding[Judged]:
    """How far the reading of a drive is; begins it where nobody has."""
    job = snapshot.as_written
    mapped = mapped_from(mapping_of(desk, snapshot))

    def work(tell: object) -> Judged:
        return judged_apart(job, kept.path, kept.drawn, mapped, tell)  # type: ignore[arg-type]

    return desk.logs.look(_bench_key(desk, snapshot, kept.key), work)


def _bench_key(desk: Desk, snapshot: Snapshot, key: str) -> tuple[str, int, str]:
    return snapshot.name, 0, f"{key} {log_digest(snapshot.as_written, mapping_of(desk, snapshot))}"


def _answered(desk: Desk, job: str, key: str) -> tuple[KeptLog, Judged]:
    kept = kept_log(desk.shelf, job, key)
    answer = judged_log(desk, desk.shelf.now(job), kept).answer
    if answer is None:
        raise NoAnswer("the drawing of this log", ("It is not read yet: open its page first.",))
    return kept, answer


def _mixture(desk: Desk, job: str, key: str) -> Mixture:
    mixture = _answered(desk, job, key)[1].mixture
    if mixture is None:
        raise NoAnswer("the mixture", ("This drive does not record it.",))
    return mixture


def _controller(snapshot: Snapshot) -> str:
    """The controller whose columns these are: its name, or its id."""
    job: Job = snapshot.as_written
    own = {pin.part for pin in job.controller_pins}
    part = next((one for one in job.parts if one.id in own), None)
    return "controller" if part is None else part.name or part.id


def mapping_of(desk: Desk, snapshot: Snapshot) -> str:
    """Which column is what, as it is kept for the job's controller; empty where nothing is."""
    path = mapping_file(desk.shelf, _controller(snapshot))
    return path.read_text(encoding="utf-8") if path.is_file() else ""


def _table(snapshot: Snapshot) -> FuelTable | None:
    return table_from_rows((row.name, row.value) for row in snapshot.as_written.vehicle)


def _as_text(table: FuelTable) -> str:
    rows = [["kPa", *(f"{one:g}" for one in table.grid.rpm)]]
    rows += [
        [f"{load:g}", *(f"{one:.6g}" for one in line)]
        for load, line in zip(table.grid.load, table.figures, strict=True)
    ]
    return "\n".join("\t".join(row) for row in rows)


def _write_table(desk: Desk, job: str, table: FuelTable, why: str) -> None:
    wanted: Mapping[str, str] = table_rows(table)
    rows = {row.cells.get("name", ""): row for row in desk.shelf.now(job).rows.get("vehicle", ())}
    edits: list[Edit] = []
    for name, value in wanted.items():
        row = rows.get(name)
        if row is None:
            edits.append(AddRow(sheet="vehicle", cells={"name": name, "value": value}))
        elif row.cells.get("value", "") != value:
            old = row.cells.get("value", "")
            edits.append(SetCell(sheet="vehicle", row_key=row.key, column="value", old=old, new=value))
    if edits:
        edited = desk.shelf.edit(job, edits, who=desk.who, why=why)
        if not edited.is_taken:
            raise BadDocument(edited.problems)


def _problem(found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet="", row=None, column="", found=found, allowed=allowed, mend=mend)
