"""Cavities and fuse ways: worked out beside the page, a circuit looked at, fixed to a way, let go, all kept at once."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.allocation.cavities import with_ways_typed
from loomwright.allocation.way_fixing import (
    branch_fixed,
    branch_let_go,
    cavity_fixed,
    cavity_let_go,
    with_fuses_typed,
)
from loomwright.car import Car
from loomwright.job.job import Job
from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerStanding, Tell
from loomwright.pages.desk import Desk
from loomwright.pages.records.ways_page import Arranged, ways_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.car_page import car_of
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.pages.routes.seconds_long import offer_stop
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach
from loomwright.store.snapshot import Snapshot
from loomwright.store.towards import edits_towards

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Name = Annotated[str, Form(max_length=120)]
Word = Annotated[str, Query(max_length=80)]
_SEE_OTHER = 303
_QUESTION = "ways"


@router.get("/j/{job}/ways")
def ways(request: Request, desk: AtDesk, job: JobName, pick: Word = "") -> Response:
    """The ways of the newest revision, or how far they are. pick: the way, or the wire of a fuse, that is looked at."""
    snapshot, car = car_of(desk, job)
    standing = _standing(desk, snapshot, car)
    record = ways_page(
        car,
        standing.answer,
        links_of(request, snapshot),
        revision=snapshot.revision,
        pick=pick,
        stopped=standing.stopped,
        refused=str(standing.refused or ""),
        done=standing.done,
        of=standing.of,
    )
    return page(request, "ways.html", record, snapshot=snapshot)


@router.post("/j/{job}/ways/fix")
def fix(desk: AtDesk, job: JobName, pick: Name, revision: Annotated[int, Form()], way: Name = "") -> Response:
    """Lead a circuit to a way and keep it there; a blank way lets it be given another again."""
    snapshot, car, answer = _answered(desk, job, revision)
    is_branch = any(one.wire == pick for one in answer.fuses.seats)
    if not is_branch and all(one.was != pick for one in answer.cavities.seats):
        raise OutOfReach("circuit", pick, "one that passes a connector between looms, or a wire that hangs on a fuse")
    if not way:
        changed = branch_let_go(car.job, pick) if is_branch else cavity_let_go(car.job, pick)
        return _take(desk, snapshot, changed, f"{pick} may be given another way", pick)
    _refuse(car, answer, pick, way, is_branch=is_branch)
    if is_branch:
        return _take(desk, snapshot, branch_fixed(car.job, answer.fuses, pick, way), f"{pick} on {way}", pick)
    return _take(desk, snapshot, cavity_fixed(car.job, pick, way), f"{pick} to {way}", way)


@router.post("/j/{job}/ways/keep")
def keep(desk: AtDesk, job: JobName, revision: Annotated[int, Form()]) -> Response:
    """Lead every wire to its way and its fuse, as one revision."""
    snapshot, _, answer = _answered(desk, job, revision)
    if answer.cavities.left_out or answer.fuses.left_out:
        raise NoAnswer("the ways", ("Not everything has a way: see what does not fit first.",))
    changed = with_fuses_typed(with_ways_typed(answer.cavities), answer.fuses)
    return _take(desk, snapshot, changed, "ways and fuses given", "")


offer_stop(router, "ways", _QUESTION, lambda desk: desk.ways)


def _refuse(car: Car, answer: Arranged, pick: str, way: str, *, is_branch: bool) -> None:
    """Stops where a circuit cannot sit where it is to be led, with the reason."""
    if is_branch:
        here = next(one.fuse for one in answer.fuses.seats if one.wire == pick)
        others = car.other_fuses(answer.fuses, pick)
    else:
        here = next(one.way for one in answer.cavities.seats if one.was == pick)
        others = car.other_cavities(answer.cavities, pick)
    if way == here:
        return
    other = next((one for one in others if one.name == way), None)
    if other is None:
        raise OutOfReach("way", way, " ".join(one.name for one in others if one.is_possible) or "none but its own")
    if not other.is_possible:
        raise NoAnswer(f"{pick} in {way}", (f"{other.says}.",))


def _take(desk: Desk, snapshot: Snapshot, changed: Job, why: str, pick: str) -> Response:
    edits = edits_towards(snapshot, changed)
    if edits:
        edited = desk.shelf.edit(snapshot.name, edits, who=desk.who, why=why)
        if not edited.is_taken:
            raise BadDocument(edited.problems)
    query = {"pick": pick} if pick else {}
    return RedirectResponse(job_path(snapshot.name, "ways", query=query), _SEE_OTHER)


def _answered(desk: Desk, job: str, revision: int) -> tuple[Snapshot, Car, Arranged]:
    snapshot, car = car_of(desk, job)
    answer = _standing(desk, snapshot, car).answer
    if snapshot.revision != revision or answer is None:
        raise NoAnswer("the ways", ("The job has changed since they were worked out: look at it as it is now.",))
    return snapshot, car, answer


def _standing(desk: Desk, snapshot: Snapshot, car: Car) -> AnswerStanding[Arranged]:
    return desk.ways.look((snapshot.name, snapshot.revision, _QUESTION), lambda tell: _arranged(car, tell))


def _arranged(car: Car, tell: Tell) -> Arranged:
    return Arranged(cavities=car.cavities(tell=tell), fuses=car.fuse_ways(tell))
