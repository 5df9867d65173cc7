"""The fault finder: readings written down as they are taken, faults ranked by them, the next reading asked for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from functools import partial
from math import inf, isinf
from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.car import Car
from loomwright.job.edits import add_row
from loomwright.job.job import Job
from loomwright.job.rows import Reading
from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerStanding
from loomwright.pages.desk import Desk
from loomwright.pages.entries import TypedForm
from loomwright.pages.fault_work import car_digest, faults_apart
from loomwright.pages.records.fault_page import fault_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.pages.routes.meters import meters_offered
from loomwright.proving.fault_table import FaultTable
from loomwright.proving.fitting import UNIT_OF
from loomwright.proving.locate import Located
from loomwright.proving.next_point import shown_as
from loomwright.proving.put_off import off_says
from loomwright.proving.typed import figure_read
from loomwright.proving.volts_asked import asks_of_volts, state_of_text
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach, Problem
from loomwright.store.snapshot import Snapshot

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Hunt = Annotated[str, Query(max_length=80)]
_SEE_OTHER = 303
_REFUSED = 422
_FIELDS = ("point", "to", "off", "when", "measure", "value", "unit", "note", "instrument")
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
    cells.setdefault("unit", UNIT_OF.get(cells["measure"], ""))
    snapshot = desk.shelf.now(job)
    cells["value"] = _bare(cells.get("value", ""), cells["measure"])
    problems = _wrong_with(desk, snapshot, cells)
    asks = "" if problems or typed.get("insist") == "yes" else _asks(_car(desk, snapshot), cells)
    if asks:
        return _page(request, desk, job, hunt, typed, (), asks)
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
    request: Request,
    desk: Desk,
    name: str,
    hunt: str,
    typed: Mapping[str, str],
    problems: tuple[Problem, ...],
    asks: str = "",
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
        states=_states(standing.answer),
        variables=tuple((one.name, " ".join(one.values)) for one in car.compiled.network.variables),
        off_words=partial(_off_words, car),
        sound=partial(_sound, car),
        asks=asks,
        meters=meters_offered(request, desk),
        typed=typed,
        problems=problems,
        stopped=standing.stopped,
        done=standing.done,
        of=standing.of,
    )
    return page(request, "fault.html", record, snapshot=snapshot, status=_REFUSED if problems or asks else 200)


def _states(table: FaultTable | None) -> tuple[str, ...]:
    """The states in which one measures, as they are typed; none while they are worked out."""
    away = [] if table is None else [table.away(k) for k in range(len(table.states))]
    return tuple(", ".join(f"{name}={value}" for name, value in one.items()) for one in away if one)


def _off_words(car: Car, names: Sequence[str]) -> str:
    """What is off, in words; by its names where the car has it no more."""
    try:
        return off_says(car.scene, names)
    except OutOfReach:
        return " ".join(names)


def _sound(car: Car, one: Reading) -> str:
    """What a sound car shows at a reading; empty where something was off for it, or its place is not there any more."""
    if one.off or one.measure not in UNIT_OF:
        return ""
    state = state_of_text(one.when.text)
    try:
        if one.measure == "ohms":
            network = car.compiled.network
            ohm = car.ohms(one.point, one.to or network.nodes[network.reference], state).value
            return shown_as(inf if ohm is None else ohm, "ohm")
        solved = car.solve(state)
    except OutOfReach:
        return ""
    if one.measure == "clamp":
        amps = solved.amps.get(one.point)
        return "" if amps is None else shown_as(abs(amps), "A")
    volts, to = solved.volts.get(one.point), solved.volts.get(one.to) if one.to else 0.0
    return "" if volts is None or to is None else shown_as(volts - to, "V")


def _asks(car: Car, cells: Mapping[str, str]) -> str:
    """Why a figure can hardly be meant; empty where it can."""
    if cells.get("measure") != "volts" or not cells.get("value"):
        return ""
    try:
        value_v = float(cells["value"])
    except ValueError:
        return ""
    return asks_of_volts(value_v, state_of_text(cells.get("when", "")), car.scene.vehicle.system_v)


def _bare(typed: str, measure: str) -> str:
    """A figure typed with its unit, in volts, ohms or amps; what is no figure stays as it was typed."""
    if measure not in UNIT_OF:
        return typed
    try:
        value = figure_read(typed, UNIT_OF[measure])
    except OutOfReach:
        return typed
    return "open" if isinf(value) else f"{value:.6g}"


def _wrong_with(desk: Desk, snapshot: Snapshot, cells: Mapping[str, str]) -> tuple[Problem, ...]:
    """Why a reading cannot be meant; none where it can."""
    car = _car(desk, snapshot)
    try:
        car.asks_after(add_row(Job(), "readings", cells).readings)
    except BadDocument as refusal:
        # the row that was tried has a number of its own, which is nobody's
        told = (replace(one, row=None) for one in refusal.problems)
        return tuple(_unit_told(one, cells) if one.column == "value" else one for one in told)
    return ()


def _unit_told(problem: Problem, cells: Mapping[str, str]) -> Problem:
    """What is said of a figure with a unit that is not the one that is measured; anything else as it is."""
    unit = UNIT_OF.get(cells["measure"], "")
    if not unit or not cells.get("value", "")[:1].isdigit():
        return problem
    mend = "Set the meter to it and read again, or say what was measured"
    return replace(problem, allowed=f"a figure in {unit}, bare or with its unit", mend=mend)


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
