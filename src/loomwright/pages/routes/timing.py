"""The base timing: readings of a timing light typed beside the engine, the line through them drawn, what to correct."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.calibration.wheel import wheel_signal
from loomwright.job.job import Job
from loomwright.pages.addresses import job_path
from loomwright.pages.desk import Desk
from loomwright.pages.entries import TypedForm
from loomwright.pages.keeping import keep_rows
from loomwright.pages.records.timing_page import COLUMNS, timing_page
from loomwright.pages.rendering import page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach, Problem
from loomwright.startup.job_facts import facts_of
from loomwright.startup.job_numbers import said_of
from loomwright.startup.kept_readings import kept_light, kept_timing, light_cells
from loomwright.startup.timing import Timing, TimingReading, teeth_of, timing_of
from loomwright.writers.timing_chart import timing_chart

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
_REFUSED = 422
_MOST_ROWS = 60
_LONGEST = 20
_LONGEST_WORD = 200
_CRANKING_RPM, _FAST_RPM = 200.0, 6000.0
_NEEDED = ("rpm", "commanded", "seen")
_ENGINE = ("cylinders", "teeth", "first")
_SEE_OTHER = 303


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """What was typed. numbers: rows of the readings. [-]"""

    typed: Mapping[str, str]
    engine: Mapping[str, str]
    wasted: bool
    readings: tuple[TimingReading, ...]
    numbers: tuple[int, ...]
    problems: tuple[Problem, ...]

    def verdict(self) -> Timing:
        """What they say."""
        return timing_of(
            self.readings,
            cylinders=int(self.engine["cylinders"]),
            teeth=teeth_of(self.engine["teeth"]),
            wasted_spark=self.wasted,
            first=self.engine["first"],
        )


@router.get("/j/{job}/timing")
def timing(request: Request, desk: AtDesk, job: JobName) -> Response:
    """The page."""
    snapshot = desk.shelf.now(job)
    asked = _asked(request.query_params, snapshot.as_written)
    return _page(request, desk, job, asked)


@router.post("/j/{job}/timing")
def keep(request: Request, desk: AtDesk, job: JobName, typed: TypedForm) -> Response:
    """Keep the readings with the job: those that are not kept already."""
    before = desk.shelf.now(job).as_written
    asked = _asked(typed, before)
    changed = typed.get("changed", "").strip()[:_LONGEST_WORD]
    kept = kept_timing(before)
    there = () if kept is None or changed else kept.readings
    new = [one for one in asked.readings if one not in there]
    if asked.problems or not asked.readings:
        told = asked.problems or (_problem("readings", "", "speed, commanded and seen"),)
        return _page(request, desk, job, replace(asked, problems=told))
    rows = light_cells(new, wheel=asked.engine["teeth"], mark=asked.engine["first"], changed=changed)
    problems = keep_rows(desk, job, "light_readings", rows)
    if problems:
        return _page(request, desk, job, replace(asked, problems=problems))
    return RedirectResponse(job_path(job, "timing"), _SEE_OTHER)


def _page(request: Request, desk: Desk, job: str, asked: _Asked) -> Response:
    snapshot = desk.shelf.now(job)
    problems, found = list(asked.problems), None
    if asked.readings and not problems:
        try:
            found = asked.verdict()
        except OutOfReach as refusal:
            problems.append(_problem(refusal.name, str(refusal.found), refusal.allowed))
    record = timing_page(
        job,
        asked.typed,
        asked.engine,
        found,
        asked.numbers,
        problems,
        wasted=asked.wasted,
        kept=kept_light(snapshot.as_written),
        wheel=_wheel_says(asked.engine["teeth"]),
    )
    return page(request, "timing.html", record, snapshot=snapshot, status=_REFUSED if problems else 200)


@router.get("/j/{job}/timing/readings.svg")
def drawn(request: Request, desk: AtDesk, job: JobName) -> Response:
    """The readings and their line."""
    asked = _asked(request.query_params, desk.shelf.now(job).as_written)
    if asked.problems:
        raise BadDocument(asked.problems)
    if not asked.readings:
        raise NoAnswer("the drawing", ("No readings were given.",))
    return Response(timing_chart(asked.readings, asked.verdict(), asked.numbers), media_type="image/svg+xml")


def _wheel_says(wheel: str) -> tuple[str, ...]:
    """What a scope shows of the wheel while cranking and fast; nothing of a wheel without a gap."""
    try:
        return tuple(wheel_signal(wheel, rpm).says for rpm in (_CRANKING_RPM, _FAST_RPM))
    except OutOfReach:
        return ()


def _asked(given: Mapping[str, str], job: Job) -> _Asked:
    query = {name: text.strip()[:_LONGEST] for name, text in given.items() if text.strip()}
    if not any(name.startswith(_NEEDED) for name in query):
        query = _kept_cells(job) | query
    said = said_of(job)
    engine = {"cylinders": str(said.get("cylinders", "4")), "teeth": "", "first": "1"}
    engine |= {name: query[name] for name in _ENGINE if name in query}
    typed = {name: query[name] for name in _ENGINE if name in query}
    wasted = query["wasted"] == "yes" if "wasted" in query else "wasted_spark" in facts_of(job)
    if "wasted" in query:
        typed["wasted"] = query["wasted"]
    problems = []
    if not engine["cylinders"].isdecimal() or not 1 <= int(engine["cylinders"]) <= 16:
        problems.append(_problem("cylinders", engine["cylinders"], "1 to 16"))
    readings, numbers = [], []
    for number in range(1, _MOST_ROWS + 1):
        cells = {name: query.get(f"{name}{number}", "") for name in COLUMNS}
        typed |= {f"{name}{number}": text for name, text in cells.items() if text}
        if not any(cells[name] for name in _NEEDED):
            continue
        figures = {name: _figure(cells[name]) for name in _NEEDED}
        wrong = [name for name, figure in figures.items() if figure is None or (name == "rpm" and figure <= 0.0)]
        problems += [_problem(f"reading {number}, {COLUMNS[name]}", cells[name], "a figure") for name in wrong]
        if not wrong:
            readings.append(
                TimingReading(
                    rpm=figures["rpm"] or 0.0,
                    commanded_deg=figures["commanded"] or 0.0,
                    seen_deg=figures["seen"] or 0.0,
                    cylinder=cells["cylinder"],
                    stroke=cells["stroke"],
                )
            )
            numbers.append(number)
    return _Asked(
        typed=typed,
        engine=engine,
        wasted=wasted,
        readings=tuple(readings),
        numbers=tuple(numbers),
        problems=tuple(problems),
    )


def _kept_cells(job: Job) -> dict[str, str]:
    """The kept readings as they would be typed."""
    cells: dict[str, str] = {}
    for number, row in enumerate(kept_light(job)[:_MOST_ROWS], start=1):
        told = {
            "rpm": f"{row.rpm:g}",
            "commanded": f"{row.commanded_deg:g}",
            "seen": f"{row.seen_deg:g}",
            "cylinder": row.cylinder,
            "stroke": row.stroke,
        }
        cells |= {f"{name}{number}": text for name, text in told.items() if text}
        cells |= {name: text for name, text in (("teeth", row.wheel), ("first", row.mark)) if text}
    return cells


def _figure(text: str) -> float | None:
    try:
        figure = float(text.replace(",", "."))
    except ValueError:
        return None
    return figure if abs(figure) < 1e5 else None


def _problem(name: str, found: str, allowed: str) -> Problem:
    return Problem(sheet="", row=None, column=name, found=found, allowed=allowed, mend="Read it again")
