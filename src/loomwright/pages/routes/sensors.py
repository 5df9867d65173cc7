"""Sensors: a table from points, and whether all agree before the first crank; the address carries what was typed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeVar

from fastapi import APIRouter, Request, Response

from loomwright.calibration.sensor_curves import SensorCurve, earth_lift, points_curve, thermistor_curve
from loomwright.calibration.sensor_words import BEFORE, before_of, compared_of, pairs_of
from loomwright.calibration.sensors import before_crank
from loomwright.pages.records.sensors_page import GROUPS, sensors_page
from loomwright.pages.rendering import page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach, Problem
from loomwright.writers.start_tables import table_chart, table_csv

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Answer = TypeVar("Answer")
_REFUSED = 422
_LONGEST = 300
_NAMES = tuple(name for fields in GROUPS.values() for name, _, _ in fields)


@router.get("/j/{job}/sensors")
def sensors(request: Request, desk: AtDesk, job: JobName) -> Response:
    """The page: fields, and what comes of them."""
    typed = _typed(request)
    problems: list[Problem] = []

    before = {name: typed[name] for name in BEFORE if name in typed}
    made = _told(lambda: _curve(typed), None, problems)
    nothing: tuple[str, ...] = ()
    said = (
        *_told(lambda: before_crank(before_of(before)) if before else nothing, nothing, problems),
        *_told(lambda: _lift(typed), nothing, problems),
    )
    looked = bool(before or typed.get("earth")) and not problems
    record = sensors_page(job, typed, made, looked=looked, said=said, problems=problems)
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


def _typed(request: Request) -> Mapping[str, str]:
    asked = request.query_params
    return {name: asked[name].strip()[:_LONGEST] for name in _NAMES if asked.get(name, "").strip()}


def _asked(request: Request, job: str) -> SensorCurve:
    made = _curve(_typed(request))
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
            pairs_of(typed["thermistor"]),
            pull_up_ohm=_figure(typed, "pull_up", 2490.0),
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
