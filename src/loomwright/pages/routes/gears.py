"""Gear-change lines of a job's gearbox: the page, lines typed or drawn and kept, and lines and charts as files."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import Annotated

from fastapi import APIRouter, Depends, Form, Query, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.exchange.plot_file import columns_of
from loomwright.findings import Finding
from loomwright.gearbox.box import Box
from loomwright.gearbox.checking import line_findings
from loomwright.gearbox.fewest import TradeOff
from loomwright.gearbox.kept_lines import rows_of_lines
from loomwright.gearbox.line_record import Lines, line_places
from loomwright.gearbox.line_sheet import lines_from_csv, lines_to_csv
from loomwright.gearbox.lines import lines_of, programme_called
from loomwright.gearbox.procedure import set_up_steps, step_cells
from loomwright.gearbox.road_log import changes_of_drive
from loomwright.gearbox.road_ratio import RATIO_USES, road_ratios
from loomwright.job.job import Job
from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerStanding, Key
from loomwright.pages.desk import Desk
from loomwright.pages.entries import read_form
from loomwright.pages.gear_work import GearsFound, box_of, fewest_apart, gears_apart
from loomwright.pages.records.fewest_page import fewest_page
from loomwright.pages.records.gears_page import cell_name, gears_page
from loomwright.pages.records.road_part import RoadDrive, RoadPart, road_part
from loomwright.pages.rendering import page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.pages.routes.hours import today
from loomwright.pages.routes.logs import judged_log
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach, Problem
from loomwright.store.log_files import kept_logs
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import AddRow, DropRow, Edit, SetCell
from loomwright.writers.gear_chart import lines_chart

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Word = Annotated[str, Query(max_length=40)]
_SEE_OTHER, _REFUSED = 303, 422
_MOST_FIELDS = 1000
_PERCENT = 100.0
_SHEET = "vehicle"
_NAME_LETTERS = 24


async def _typed_lines(request: Request) -> Mapping[str, str]:
    return await read_form(request, _MOST_FIELDS)


TypedLines = Annotated[Mapping[str, str], Depends(_typed_lines)]


@router.get("/j/{job}/gears")
def gears(request: Request, desk: AtDesk, job: JobName, programme: Word = "", log: Word = "") -> Response:
    """Lines at once, a recorded drive laid over them; findings and drives as soon as they are worked out."""
    snapshot = desk.shelf.now(job)
    box, is_shown_only = box_of(_job(snapshot))
    lines = _lines(box, programme)
    gates, road = _job(snapshot).gates, _road(desk, snapshot, box, lines, log)
    record = gears_page(job, box, lines, _standing(desk, snapshot), is_shown_only=is_shown_only, gates=gates, road=road)
    return page(request, "gears.html", record, snapshot=snapshot)


@router.post("/j/{job}/gears/look")
def look(request: Request, desk: AtDesk, job: JobName, typed: TypedLines) -> Response:
    """What is wrong with lines as they are typed; nothing is written down."""
    return _typed_page(request, desk, job, typed)


@router.post("/j/{job}/gears/keep")
def keep(request: Request, desk: AtDesk, job: JobName, typed: TypedLines) -> Response:
    """Keep lines as they are typed, as a revision."""
    snapshot = desk.shelf.now(job)
    box, _ = _own_box(snapshot)
    try:
        lines = _from_typed(box, typed)
    except BadDocument:
        return _typed_page(request, desk, job, typed)
    _write(desk, snapshot, _edits_for(snapshot, lines), f"gear lines of {lines.programme} changed")
    return RedirectResponse(_back(job, lines.programme), _SEE_OTHER)


@router.post("/j/{job}/gears/first")
def first(desk: AtDesk, job: JobName, programme: Annotated[str, Form(max_length=40)]) -> Response:
    """Go back to a first set: what was drawn is taken out of the sheet, and stays in its revisions."""
    snapshot = desk.shelf.now(job)
    box, _ = _own_box(snapshot)
    name = programme_called(box, programme).name
    kept = _rows_under(snapshot, f"gear.lines.{name}.")
    edits = [DropRow(sheet=_SHEET, row_key=key) for key, _ in kept.values()]
    _write(desk, snapshot, edits, f"gear lines of {name} drawn anew")
    return RedirectResponse(_back(job, name), _SEE_OTHER)


@router.post("/j/{job}/gears/programme")
def another(
    desk: AtDesk,
    job: JobName,
    name: Annotated[str, Form(max_length=_NAME_LETTERS)],
    wish: Annotated[str, Form(max_length=40)],
) -> Response:
    """One more programme, begun from a wish."""
    snapshot = desk.shelf.now(job)
    box, _ = _own_box(snapshot)
    word = " ".join(name.split())
    if not word.replace(" ", "").replace("-", "").isalnum() or word in (one.name for one in box.programmes):
        allowed = "letters, figures and blanks, not one of " + " ".join(one.name for one in box.programmes)
        raise OutOfReach("programme", name, allowed)
    stands = _rows_under(snapshot, "gear.programmes.")
    rows = [(f"gear.programmes.{word}.wish", wish)]
    if not stands:  # the one that stands where none is named is named now, so that it stays
        rows = [(f"gear.programmes.{one.name}.wish", one.wish) for one in box.programmes] + rows
    edits = [AddRow(sheet=_SHEET, cells={"name": row, "value": value}) for row, value in rows]
    _write(desk, snapshot, edits, f"gear programme {word} added")
    return RedirectResponse(_back(job, word), _SEE_OTHER)


@router.post("/j/{job}/gears/steps")
def step(
    desk: AtDesk,
    job: JobName,
    number: Annotated[int, Form(ge=1, le=99)],
    verdict: Annotated[str, Form(max_length=10)],
    read: Annotated[str, Form(max_length=60)] = "",
    reason: Annotated[str, Form(max_length=300)] = "",
) -> Response:
    """What was seen at a step of the set-up, written down as a gate of the stage."""
    box, _ = box_of(_job(desk.shelf.now(job)))
    cells = step_cells(set_up_steps(box), number, verdict, read, reason)
    edits = [AddRow(sheet="gates", cells={**cells, "time": today(), "who": desk.who})]
    edited = desk.shelf.edit(job, edits, who=desk.who, why=f"gearbox set-up, step {number}", kind="record")
    if not edited.is_taken:
        raise BadDocument(edited.problems)
    return RedirectResponse(job_path(job, "gears", at=f"step{number}"), _SEE_OTHER)


@router.get("/j/{job}/gears/fewest")
def fewest(request: Request, desk: AtDesk, job: JobName, programme: Word = "") -> Response:
    """Fewest changes for the fuel, as a curve, or how far that is."""
    snapshot = desk.shelf.now(job)
    box, is_shown_only = box_of(_job(snapshot))
    name = _lines(box, programme).programme
    record = fewest_page(job, name, _fewest_standing(desk, snapshot, name), is_shown_only=is_shown_only)
    return page(request, "fewest.html", record, snapshot=snapshot)


@router.post("/j/{job}/gears/fewest/keep")
def keep_fewest(
    desk: AtDesk,
    job: JobName,
    programme: Annotated[str, Form(max_length=40)],
    place: Annotated[int, Form(ge=0, le=999)],
) -> Response:
    """Keep one set of the curve as the lines of the programme."""
    snapshot = desk.shelf.now(job)
    _own_box(snapshot)
    answer = _fewest_standing(desk, snapshot, programme).answer
    if answer is None or place >= len(answer.curve):
        raise NoAnswer("the set of lines", ("The job has changed since it was worked out: look for it again.",))
    _write(desk, snapshot, _edits_for(snapshot, answer.curve[place].lines), f"gear lines of {programme}: fewer changes")
    return RedirectResponse(_back(job, programme), _SEE_OTHER)


@router.post("/j/{job}/gears/fewest/stop")
def stop_fewest(desk: AtDesk, job: JobName, programme: Word = "") -> Response:
    """Stop looking, and come back."""
    desk.fewests.stop(_key(desk.shelf.now(job), programme))
    return RedirectResponse(f"{job_path(job, 'gears')}/fewest?programme={programme}", _SEE_OTHER)


@router.post("/j/{job}/gears/fewest/again")
def again_fewest(desk: AtDesk, job: JobName, programme: Word = "") -> Response:
    """Look after all, and come back."""
    desk.fewests.again(_key(desk.shelf.now(job), programme))
    return RedirectResponse(f"{job_path(job, 'gears')}/fewest?programme={programme}", _SEE_OTHER)


@router.post("/j/{job}/gears/stop")
def stop(desk: AtDesk, job: JobName, programme: Word = "") -> Response:
    """Stop checking and driving, and come back."""
    desk.gears.stop(_key(desk.shelf.now(job)))
    return RedirectResponse(_back(job, programme), _SEE_OTHER)


@router.post("/j/{job}/gears/again")
def again(desk: AtDesk, job: JobName, programme: Word = "") -> Response:
    """Check and drive after all, and come back."""
    desk.gears.again(_key(desk.shelf.now(job)))
    return RedirectResponse(_back(job, programme), _SEE_OTHER)


@router.get("/j/{job}/gears/lines.svg")
def lines_svg(desk: AtDesk, job: JobName, programme: Word = "") -> Response:
    """The lines, drawn."""
    box, _ = box_of(_job(desk.shelf.now(job)))
    return Response(lines_chart(_lines(box, programme)), media_type="image/svg+xml")


@router.get("/j/{job}/gears/hunting.svg")
def hunting_svg(desk: AtDesk, job: JobName, programme: Word = "") -> Response:
    """Where it hunts, drawn."""
    snapshot = desk.shelf.now(job)
    box, _ = box_of(_job(snapshot))
    name, answer = _lines(box, programme).programme, _standing(desk, snapshot).answer
    if answer is None:
        raise NoAnswer("where it hunts", ("It is being worked out: look again in a moment.",))
    return Response(answer.maps[name], media_type="image/svg+xml")


@router.get("/j/{job}/gears/lines.csv")
def lines_csv(desk: AtDesk, job: JobName, programme: Word = "") -> Response:
    """The lines as figures."""
    box, _ = box_of(_job(desk.shelf.now(job)))
    return Response(lines_to_csv(box, _lines(box, programme)), media_type="text/csv; charset=utf-8")


def _typed_page(request: Request, desk: Desk, job: str, typed: Mapping[str, str]) -> Response:
    snapshot = desk.shelf.now(job)
    box, is_shown_only = _own_box(snapshot)
    problems: tuple[Problem, ...] = ()
    findings: Sequence[Finding] | None = None
    lines = _lines(box, typed.get("programme", ""))
    try:
        lines = _from_typed(box, typed)
        findings = line_findings(box, lines)
    except BadDocument as refused:
        problems = refused.problems
    record = gears_page(
        job,
        box,
        lines,
        _standing(desk, snapshot),
        is_shown_only=is_shown_only,
        gates=_job(snapshot).gates,
        looked_at=findings,
        typed=typed,
        problems=problems,
    )
    return page(request, "gears.html", record, snapshot=snapshot, status=_REFUSED if problems else 200)


def _from_typed(box: Box, typed: Mapping[str, str]) -> Lines:
    """The lines of the fields, taken in as a CSV of them would be."""
    now = _lines(box, typed.get("programme", ""))
    pedals = [f"{_PERCENT * pedal:g}" for pedal in now.pedal_frac]
    blanks = [""] * (len(pedals) - 1)
    told = io.StringIO()
    rows = csv.writer(told, lineterminator="\n")
    rows.writerow(["line", "km/h", *pedals])
    for name, kind, _ in line_places(len(box.ratios)):
        if kind == "kick":
            rows.writerow([name, typed.get("kick_at", ""), *blanks, typed.get(name, "")])
        else:
            rows.writerow([name, "", *(typed.get(cell_name(name, place), "") for place in range(len(pedals)))])
    return lines_from_csv(box, now, told.getvalue(), name="lines")


def _edits_for(snapshot: Snapshot, lines: Lines) -> Sequence[Edit]:
    """Rows of the sheet that say these lines: changed, added, and those no longer said taken out."""
    there = _rows_under(snapshot, f"gear.lines.{lines.programme}.")
    wanted = dict(rows_of_lines(lines))
    edits: list[Edit] = [DropRow(sheet=_SHEET, row_key=key) for name, (key, _) in there.items() if name not in wanted]
    for name, value in wanted.items():
        if name not in there:
            edits.append(AddRow(sheet=_SHEET, cells={"name": name, "value": value}))
        elif there[name][1] != value:
            key, old = there[name]
            edits.append(SetCell(sheet=_SHEET, row_key=key, column="value", old=old, new=value))
    return edits


def _rows_under(snapshot: Snapshot, begin: str) -> Mapping[str, tuple[int, str]]:
    """Property -> its row's key and value, of those that begin so."""
    rows = snapshot.rows.get(_SHEET, ())
    named = {row.cells.get("name", ""): (row.key, row.cells.get("value", "")) for row in rows}
    return {name: found for name, found in named.items() if name.startswith(begin)}


def _write(desk: Desk, snapshot: Snapshot, edits: Sequence[Edit], why: str) -> None:
    if not edits:
        return
    edited = desk.shelf.edit(snapshot.name, edits, who=desk.who, why=why)
    if not edited.is_taken:
        if edited.problems:
            raise BadDocument(edited.problems)
        raise NoAnswer("the lines", ("Somebody else changed them meanwhile: look at them as they are now.",))


def _own_box(snapshot: Snapshot) -> tuple[Box, bool]:
    box, is_shown_only = box_of(_job(snapshot))
    if is_shown_only:
        raise NoAnswer("lines to keep", ("The job names no gearbox: type its rows gear.* into the sheet vehicle.",))
    return box, is_shown_only


def _job(snapshot: Snapshot) -> Job:
    if snapshot.job is None:
        raise NoAnswer("the gear changes", ("The sheets hold a cell that cannot be read: mend it first.",))
    return snapshot.job


def _lines(box: Box, programme: str) -> Lines:
    return lines_of(box, programme_called(box, programme) if programme else box.programmes[0])


def _road(desk: Desk, snapshot: Snapshot, box: Box, lines: Lines, key: str) -> RoadPart:
    """A recorded drive's changes beside the lines; begins its reading where nobody has."""
    kept = kept_logs(desk.shelf, snapshot.name)
    off = _back(snapshot.name, lines.programme)
    drives = [RoadDrive(name=one.name, href=f"{off}&log={one.key}", is_here=one.key == key) for one in kept]
    chosen = next((one for one in kept if one.key == key), None)
    if chosen is None:
        return road_part(drives)
    standing = judged_log(desk, snapshot, chosen)
    if standing.answer is None:
        told = str(standing.refused or "") or ("Its reading was stopped: see its page." if standing.stopped else "")
        return road_part(drives, told=told, reading=not told, off=off)
    try:
        at_s, of = columns_of(chosen.drawn, RATIO_USES)
        return road_part(drives, changes_of_drive(lines, at_s, of), road_ratios(box, lines, at_s, of), off=off)
    except NoAnswer as refusal:
        return road_part(drives, told=str(refusal), off=off)


def _key(snapshot: Snapshot, programme: str = "") -> Key:
    return snapshot.name, snapshot.revision, f"gears {programme}"


def _standing(desk: Desk, snapshot: Snapshot) -> AnswerStanding[GearsFound]:
    typed = _job(snapshot)
    return desk.gears.look(_key(snapshot), lambda tell: gears_apart(typed, tell))


def _fewest_standing(desk: Desk, snapshot: Snapshot, programme: str) -> AnswerStanding[TradeOff]:
    typed = _job(snapshot)
    return desk.fewests.look(_key(snapshot, programme), lambda tell: fewest_apart(typed, programme, tell))


def _back(job: str, programme: str) -> str:
    return f"{job_path(job, 'gears')}?programme={programme}"
