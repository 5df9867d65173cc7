"""Sensors: a table from points, and whether all agree before the first crank; the address carries what was typed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeVar

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.calibration.sensor_curves import SensorCurve, earth_lift, points_curve, thermistor_curve
from loomwright.calibration.sensor_words import BEFORE, before_of, compared_of, pairs_of
from loomwright.calibration.sensors import before_crank
from loomwright.job.job import Job
from loomwright.pages.addresses import job_path
from loomwright.pages.desk import Desk
from loomwright.pages.entries import TypedForm
from loomwright.pages.keeping import keep_rows
from loomwright.pages.records.sensors_page import GROUPS, sensors_page
from loomwright.pages.rendering import page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach, Problem
from loomwright.startup.job_sensors import USUAL_PULL_UP_OHM, job_sensors, pull_up_of
from loomwright.startup.kept_readings import KeptSensors, curve_text, kept_sensors, sensor_cells
from loomwright.writers.start_tables import table_chart, table_csv

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Answer = TypeVar("Answer")
_REFUSED = 422
_SEE_OTHER = 303
_LONGEST = 300
_NAMES = tuple(name for fields in GROUPS.values() for name, _, _ in fields)


@router.get("/j/{job}/sensors")
def sensors(request: Request, desk: AtDesk, job: JobName) -> Response:
    """The page: fields, and what comes of them."""
    return _page(request, desk, job, _typed(request.query_params), ())


@router.post("/j/{job}/sensors")
def keep(request: Request, desk: AtDesk, job: JobName, given: TypedForm) -> Response:
    """Keep what was read with the job."""
    typed = _with_pull_up(desk.shelf.now(job).as_written, _typed(given))
    refused: list[Problem] = []
    none: list[dict[str, str]] = []
    rows = _told(lambda: sensor_cells(typed), none, refused)
    if not rows and not refused:
        refused.append(
            Problem(
                sheet="",
                row=None,
                column="readings",
                found="",
                allowed="points, readings before the crank, or volts expected and read",
                mend="Type what was read",
            )
        )
    told = tuple(refused) or keep_rows(desk, job, "sensor_points", rows)
    if told:
        return _page(request, desk, job, typed, told)
    at = {"of": typed["sensor"]} if "sensor" in typed else {}
    return RedirectResponse(job_path(job, "sensors", query=at), _SEE_OTHER)


def _page(request: Request, desk: Desk, job: str, asked: Mapping[str, str], refused: tuple[Problem, ...]) -> Response:
    problems: list[Problem] = list(refused)
    written = desk.shelf.now(job).as_written
    on_record = kept_sensors(written)
    of = request.query_params.get("of", "")[:_LONGEST]
    typed = _with_pull_up(written, asked or _kept_words(on_record, of) or ({"sensor": of} if of else {}))
    before = {name: typed[name] for name in BEFORE if name in typed}
    made = _told(lambda: _curve(typed), None, problems)
    nothing: tuple[str, ...] = ()
    said = (
        *_told(lambda: before_crank(before_of(before)) if before else nothing, nothing, problems),
        *_told(lambda: _lift(typed), nothing, problems),
    )
    looked = bool(before or typed.get("earth")) and not problems
    record = sensors_page(
        job, typed, made, looked=looked, said=said, problems=problems, kept=on_record, there=job_sensors(written)
    )
    return page(request, "sensors.html", record, snapshot=desk.shelf.now(job), status=_REFUSED if problems else 200)


@router.get("/j/{job}/sensors/table.csv")
def as_csv(request: Request, desk: AtDesk, job: JobName) -> Response:
    """The table as figures."""
    told = {"content-disposition": 'attachment; filename="sensor.csv"'}
    return Response(table_csv(_asked(request, desk.shelf.now(job).name).table), media_type="text/csv", headers=told)


@router.get("/j/{job}/sensors/table.svg")
def as_svg(request: Request, desk: AtDesk, job: JobName) -> Response:
    """The table, drawn."""
    made = _asked(request, desk.shelf.now(job).name)
    return Response(table_chart(made.table), media_type="image/svg+xml")


def _told(ask: Callable[[], Answer], none: Answer, problems: list[Problem]) -> Answer:
    """An answer, or none of it and why added to what is told."""
    try:
        return ask()
    except BadDocument as refusal:
        problems.extend(refusal.problems)
    except OutOfReach as refusal:
        mend, found = "Look at it again", str(refusal.found)
        problems.append(
            Problem(sheet="", row=None, column=refusal.name, found=found, allowed=refusal.allowed, mend=mend)
        )
    return none


def _kept_words(kept: KeptSensors | None, of: str) -> Mapping[str, str]:
    """A kept sensor's points as they would be typed: the one asked for, none where nothing is asked for."""
    one = next((each for each in (kept.curves if kept is not None else ()) if each.sensor == of), None)
    if one is None or not one.points:
        return {}
    is_thermistor = one.points[0].shown_unit == "ohm"
    words = {"sensor": one.sensor, "thermistor" if is_thermistor else "points": curve_text(one.points)}
    pull = next((row.pull_up_ohm for row in one.points if row.pull_up_ohm), None)
    unit = one.points[0].real_unit
    return words | ({"pull_up": f"{pull:g}"} if pull else {}) | ({} if is_thermistor or not unit else {"unit": unit})


def _with_pull_up(job: Job, typed: Mapping[str, str]) -> Mapping[str, str]:
    """What was typed, with the pull-up of the pin that the named sensor is wired to where none was."""
    own = pull_up_of(job, typed.get("sensor", "")) if "pull_up" not in typed else None
    return {**typed, "pull_up": f"{own:g}"} if own is not None else typed


def _typed(asked: Mapping[str, str]) -> Mapping[str, str]:
    return {name: asked[name].strip()[:_LONGEST] for name in _NAMES if asked.get(name, "").strip()}


def _asked(request: Request, job: str) -> SensorCurve:
    made = _curve(_typed(request.query_params))
    if made is None:
        raise NoAnswer(f"a sensor's table of {job}", ("No points were given: type two or three.",))
    return made


def _lift(typed: Mapping[str, str]) -> tuple[str, ...]:
    reference = _figure(typed, "reference", 5.0)
    return earth_lift(compared_of(typed.get("earth", ""), reference_v=reference), reference_v=reference)


def _curve(typed: Mapping[str, str]) -> SensorCurve | None:
    count = int(_figure(typed, "breakpoints", 16.0))
    if "thermistor" in typed:
        return thermistor_curve(
            pairs_of(typed["thermistor"], what="thermistor"),
            pull_up_ohm=_figure(typed, "pull_up", USUAL_PULL_UP_OHM),
            reference_v=_figure(typed, "reference", 5.0),
            least_c=_figure(typed, "coldest", -40.0),
            most_c=_figure(typed, "hottest", 120.0),
            count=count,
        )
    if "points" in typed:
        return points_curve(pairs_of(typed["points"]), count=count, unit=typed.get("unit", ""))
    return None


def _figure(typed: Mapping[str, str], name: str, usual: float) -> float:
    text = typed.get(name, "")
    try:
        return float(text.replace(",", ".")) if text else usual
    except ValueError:
        raise OutOfReach(name, text, "a figure") from None
