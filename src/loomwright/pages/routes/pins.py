"""The controller's pins: worked out beside the page, a need looked at, fixed to a pin, a way out taken."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.allocation.able import why_not
from loomwright.allocation.allocated import Allocation, other_pins
from loomwright.allocation.ground import Ground, ground_of
from loomwright.allocation.pin_fixing import pin_fixed, pin_let_go
from loomwright.car import Car
from loomwright.job.job import Job
from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerStanding
from loomwright.pages.desk import Desk
from loomwright.pages.records.pins_page import pins_page, rows_without_name
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach
from loomwright.store.snapshot import Snapshot
from loomwright.store.towards import edits_towards

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Name = Annotated[str, Form(max_length=80)]
_SEE_OTHER = 303


@router.get("/j/{job}/pins")
def pins(request: Request, desk: AtDesk, job: JobName, need: Annotated[str, Query(max_length=80)] = "") -> Response:
    """The pins of the newest revision, or how far they are."""
    snapshot = desk.shelf.now(job)
    car = _car(desk, snapshot)
    standing = _standing(desk, snapshot, car)
    if standing.refused is not None:
        raise standing.refused
    record = pins_page(
        car,
        standing.answer,
        links_of(request, snapshot),
        revision=snapshot.revision,
        need=need,
        stopped=standing.stopped,
        done=standing.done,
        of=standing.of,
        unread=rows_without_name(snapshot),
    )
    return page(request, "pins.html", record, snapshot=snapshot)


@router.post("/j/{job}/pins/stop")
def stop(desk: AtDesk, job: JobName) -> Response:
    """Stop, and come back."""
    desk.pins.stop(_key(desk.shelf.now(job)))
    return RedirectResponse(job_path(job, "pins"), _SEE_OTHER)


@router.post("/j/{job}/pins/again")
def again(desk: AtDesk, job: JobName) -> Response:
    """Work it out after all, and come back."""
    desk.pins.again(_key(desk.shelf.now(job)))
    return RedirectResponse(job_path(job, "pins"), _SEE_OTHER)


@router.post("/j/{job}/pins/fix")
def fix(desk: AtDesk, job: JobName, need: Name, pin: Name = "") -> Response:
    """Type a need's pin into its row, its wire led along; a blank one lets it be decided."""
    snapshot = desk.shelf.now(job)
    car = _car(desk, snapshot)
    if not pin:
        _take(desk, snapshot, pin_let_go(car.job, need), f"{need} to any pin")
    else:
        ground = ground_of(car.job, car.kinds)
        _refuse(desk, snapshot, car, ground, need, pin)
        _take(desk, snapshot, pin_fixed(ground, need, pin), f"{need} to {pin}")
    return RedirectResponse(job_path(job, "pins", query={"need": need}), _SEE_OTHER)


@router.post("/j/{job}/pins/way")
def way(
    desk: AtDesk, job: JobName, number: Annotated[int, Form(ge=1, le=99)], revision: Annotated[int, Form()]
) -> Response:
    """Take one of the ways out: a revision whose why is its words."""
    snapshot = desk.shelf.now(job)
    answer = _standing(desk, snapshot, _car(desk, snapshot)).answer
    if snapshot.revision != revision or answer is None:
        raise NoAnswer("this way out", ("The job has changed since it was worked out: look at it as it is now.",))
    if number > len(answer.ways_out):
        raise OutOfReach("way out", number, f"1 to {len(answer.ways_out)}" if answer.ways_out else "none is known")
    chosen = answer.ways_out[number - 1]
    _take(desk, snapshot, chosen.applied(_job(snapshot)), chosen.says)
    return RedirectResponse(job_path(job, "pins"), _SEE_OTHER)


def _refuse(desk: Desk, snapshot: Snapshot, car: Car, ground: Ground, need: str, pin: str) -> None:
    """Stops where a need cannot be on the pin it is to have, with the reason."""
    if pin not in ground.pins:
        raise OutOfReach("pin", pin, " ".join(ground.pins) or "the pins of a controller, a row each")
    if need not in ground.needs:
        raise OutOfReach("need", need, " ".join(ground.needs) or "none")
    why = why_not(ground.needs[need], ground.pins[pin])
    answer = _standing(desk, snapshot, car).answer
    if not why and answer is not None and need in answer.pins and pin != answer.pins[need]:
        told = other_pins(ground, answer.pins, need)
        why = next((one.says for one in told if pin in one.pins and not one.is_possible), "")
    if why:
        raise NoAnswer(f"{need} on {pin}", (f"{why if pin in why else f'{pin} {why}'}.",))


def _take(desk: Desk, snapshot: Snapshot, changed: Job, why: str) -> None:
    edits = edits_towards(snapshot, changed)
    if edits:
        edited = desk.shelf.edit(snapshot.name, edits, who=desk.who, why=why)
        if not edited.is_taken:
            raise BadDocument(edited.problems)


def _job(snapshot: Snapshot) -> Job:
    if snapshot.job is None:
        raise BadDocument(snapshot.problems)
    return snapshot.job


def _car(desk: Desk, snapshot: Snapshot) -> Car:
    _job(snapshot)
    car = desk.cars.of(snapshot)
    assert car is not None  # it has a job
    return car


def _key(snapshot: Snapshot) -> tuple[str, int, str]:
    return snapshot.name, snapshot.revision, "pins"


def _standing(desk: Desk, snapshot: Snapshot, car: Car) -> AnswerStanding[Allocation]:
    return desk.pins.look(_key(snapshot), car.allocated)
