"""The survey: old wires read one after another, what each of them is, and their way into the plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Form, Path, Query, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerStanding
from loomwright.pages.desk import Desk
from loomwright.pages.entries import TypedForm, add_row, free_id, set_cells
from loomwright.pages.readings_typed import nothing_read, reading_cells
from loomwright.pages.records.entry_form import Returned
from loomwright.pages.records.old_wire_page import ROW_NAMES, old_wire_page, plan_rows
from loomwright.pages.records.survey_page import NAMES, SurveyAsked, survey_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.pages.routes.meters import meters_offered
from loomwright.pages.survey_work import following_in, surveyed
from loomwright.refusals import BadDocument, NoAnswer, Problem
from loomwright.store.photos import photos_of
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import AddRow, Edit
from loomwright.survey.records import NextReading

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
WireName = Annotated[str, Path(min_length=1, max_length=80)]
Word = Annotated[str, Query(max_length=120)]
Many = Annotated[str, Query(max_length=4000)]
_SHEET = "old_wires"
_SEE_OTHER, _REFUSED = 303, 422


@router.get("/j/{job}/survey")
def survey(
    request: Request, desk: AtDesk, job: JobName, place: Word = "", sure: Word = "", aside: Many = "", take: Word = ""
) -> Response:
    """The next reading, and the board of old wires."""
    return _page(request, desk, job, _asked(place, sure, aside, take))


@router.post("/j/{job}/survey")
def read(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Write one reading down; it is never changed afterwards."""
    asked = _asked(typed.get("place", ""), typed.get("sure", ""), typed.get("aside", ""))
    wire = typed.get("wire", "")
    on_wire = typed.get("back") == "wire"
    problems = _taken(desk, job, typed)
    if not problems:
        if on_wire:
            return RedirectResponse(job_path(job, "survey", wire, at="readings"), _SEE_OTHER)
        return RedirectResponse(job_path(job, "survey", query=asked.query()), _SEE_OTHER)
    if on_wire:
        return _wire_page(request, desk, job, wire, typed=typed, problems=problems)
    return _page(request, desk, job, replace(asked, take=typed.get("take", "")), typed=typed, problems=problems)


@router.post("/j/{job}/survey/stop")
def stop(desk: AtDesk, job: JobName, place: Word = "", sure: Word = "", aside: Many = "") -> Response:
    """Stop weighing what to read next, and come back."""
    asked = _asked(place, sure, aside)
    desk.surveys.stop(_key(desk.shelf.now(job), asked))
    return RedirectResponse(job_path(job, "survey", query=asked.query()), _SEE_OTHER)


@router.post("/j/{job}/survey/again")
def again(desk: AtDesk, job: JobName, place: Word = "", sure: Word = "", aside: Many = "") -> Response:
    """Weigh it after all, and come back."""
    asked = _asked(place, sure, aside)
    desk.surveys.again(_key(desk.shelf.now(job), asked))
    return RedirectResponse(job_path(job, "survey", query=asked.query()), _SEE_OTHER)


@router.post("/j/{job}/survey/new")
def new(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Write an old wire down that has no row yet; without a name it is given one."""
    snapshot = desk.shelf.now(job)
    named = {**typed, "id": typed.get("id") or free_id(snapshot, _SHEET, "O")}
    form = f"{_SHEET}-new"
    there = next((row.cells for row in snapshot.rows.get(_SHEET, ()) if row.cells.get("id") == named["id"]), None)
    if there is not None and any(there.get(name, "") != named.get(name, "") for name in NAMES):
        told = {"id": f"{named['id']} is written down already: another name, or open its page"}
        back: Returned | None = Returned(form=form, typed=typed, told=told, status=_REFUSED)
    else:  # a form that was sent twice is written down once
        back = None if there is not None else add_row(desk, job, _SHEET, named, NAMES, form=form)
    if back is not None:
        return _page(request, desk, job, SurveyAsked(), back=back)
    return RedirectResponse(job_path(job, "survey", named["id"]), _SEE_OTHER)


@router.get("/j/{job}/survey/{wire}")
def old_wire(request: Request, desk: AtDesk, job: JobName, wire: WireName, to: Word = "") -> Response:
    """One old wire: its readings, what it may be, its way into the plan."""
    return _wire_page(request, desk, job, wire, to=to.strip())


@router.post("/j/{job}/survey/{wire}/row")
def change(request: Request, desk: AtDesk, job: JobName, wire: WireName, typed: TypedForm) -> Response:
    """Change what stands in the row of an old wire: its fate, its colour, where it is."""
    row = typed.get("row", "")
    back = set_cells(desk, job, _SHEET, int(row) if row.isdecimal() else 0, typed, ROW_NAMES, form=f"{_SHEET}-{row}")
    if back is not None:
        return _wire_page(request, desk, job, wire, back=back)
    return RedirectResponse(job_path(job, "survey", wire), _SEE_OTHER)


@router.post("/j/{job}/survey/{wire}/plan")
def into_plan(
    request: Request,
    desk: AtDesk,
    job: JobName,
    wire: WireName,
    to: Annotated[str, Form(max_length=120)],
    revision: Annotated[int, Form()],
) -> Response:
    """Put an old wire into the plan: the rows that were shown, as one revision."""
    snapshot = desk.shelf.now(job)
    if snapshot.revision != revision:
        raise NoAnswer(
            f"{wire} in the plan", ("The job has changed since its rows were shown: look at them as they are now.",)
        )
    plan = plan_rows(snapshot, surveyed(snapshot), wire, to)
    if plan.refused:
        return _wire_page(request, desk, job, wire, to=to, status=_REFUSED)
    edited = desk.shelf.edit(job, plan.edits, who=desk.who, why=f"old wire {wire} into the plan")
    if not edited.is_taken:
        raise BadDocument(edited.problems)
    return RedirectResponse(job_path(job, "survey", wire), _SEE_OTHER)


def _taken(desk: Desk, job: str, typed: Mapping[str, str]) -> tuple[Problem, ...]:
    """Why a reading was not taken down; nothing where it was."""
    cells = reading_cells(typed)
    problems = nothing_read(cells)
    if problems:
        return problems
    now = datetime.now(UTC)
    cells |= {"time": now.isoformat(timespec="seconds"), "visit": now.date().isoformat()}
    edits: list[Edit] = [AddRow(sheet="readings", cells=cells)]
    wire = cells.get("old_wire", "")
    if wire and not _has_row(desk.shelf.now(job), wire):
        notes = "read before it had a row: fill in colour and place"
        edits.insert(0, AddRow(sheet=_SHEET, cells={"id": wire, "notes": notes}))
    why = "recorded in readings"
    edited = desk.shelf.edit(job, edits, who=desk.who, why=why, token=typed.get("token", ""), kind="record")
    return edited.problems


def _has_row(snapshot: Snapshot, wire: str) -> bool:
    return any(row.cells.get("id") == wire for row in snapshot.rows.get(_SHEET, ()))


def _page(
    request: Request,
    desk: Desk,
    job: str,
    asked: SurveyAsked,
    *,
    typed: Mapping[str, str] | None = None,
    problems: tuple[Problem, ...] = (),
    back: Returned | None = None,
) -> Response:
    snapshot = desk.shelf.now(job)
    known = surveyed(snapshot, asked.pairs)
    record = survey_page(
        snapshot,
        known,
        _standing(desk, snapshot, asked),
        asked,
        links_of(request, snapshot),
        meters=meters_offered(request, desk),
        typed=typed,
        problems=problems,
        back=back,
    )
    status = _REFUSED if problems else 200 if back is None else back.status
    return page(request, "survey.html", record, snapshot=snapshot, status=status)


def _wire_page(
    request: Request,
    desk: Desk,
    job: str,
    wire: str,
    *,
    to: str = "",
    typed: Mapping[str, str] | None = None,
    problems: tuple[Problem, ...] = (),
    back: Returned | None = None,
    status: int = 200,
) -> Response:
    snapshot = desk.shelf.now(job)
    record = old_wire_page(
        snapshot,
        surveyed(snapshot),
        wire,
        links_of(request, snapshot),
        photos_of(desk.shelf, job, _SHEET, wire),
        to=to,
        meters=meters_offered(request, desk),
        typed=typed,
        problems=problems,
        back=back,
    )
    status = _REFUSED if problems else status if back is None else back.status
    return page(request, "old_wire.html", record, snapshot=snapshot, status=status)


def _asked(place: str, sure: str, aside: str, take: str = "") -> SurveyAsked:
    named = tuple(dict.fromkeys(each for each in aside.split(",") if ":" in each))
    return SurveyAsked(place=place, sure=sure, aside=named, take=take)


def _key(snapshot: Snapshot, asked: SurveyAsked) -> tuple[str, int, str]:
    return snapshot.name, snapshot.revision, ",".join(("next reading", *sorted(asked.aside)))


def _standing(desk: Desk, snapshot: Snapshot, asked: SurveyAsked) -> AnswerStanding[tuple[NextReading, ...]]:
    job, aside = snapshot.as_written, asked.pairs
    if not job.old_wires and not job.readings:
        return AnswerStanding(answer=())
    return desk.surveys.look(_key(snapshot, asked), lambda tell: following_in(job, aside, tell))
