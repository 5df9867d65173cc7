"""Jobs side by side, or one job beside what it was: picked in a form, worked out beside the page, stopped by hand."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.job.job import Job
from loomwright.loom.weighing import Weighed
from loomwright.pages.answer_bench import AnswerStanding
from loomwright.pages.desk import Desk
from loomwright.pages.loom_work import weighed_beside
from loomwright.pages.records.beside_page import beside_page, beside_path
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.car_page import car_of
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import NoAnswer, OutOfReach

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Names = Annotated[list[Annotated[str, Query(max_length=120)]], Query(max_length=20)]
_NONE: list[str] = []
_SEE_OTHER = 303
_MOST = 6
_REVISIONS = 12


@router.get("/j/{job}/beside")
def beside(request: Request, desk: AtDesk, job: JobName, other: Names = _NONE) -> Response:
    """The form, and the jobs side by side or how far they are. other: a job, or the number of a revision."""
    snapshot, car = car_of(desk, job)
    others = tuple(dict.fromkeys(name for name in other if name))
    jobs = [(line.name, line.title) for line in desk.shelf.jobs() if line.name != job]
    past = [one for one in desk.shelf.revisions(job, newest=_REVISIONS) if one.number != snapshot.revision]
    standing: AnswerStanding[tuple[Weighed, ...]] = AnswerStanding()
    if others:
        beside_it = _asked(desk, job, others)
        question = " ".join(f"{name} at {revision}" for name, revision, _ in beside_it)
        rows = ((job, car.job), *((name, each) for name, _, each in beside_it))
        key = (snapshot.name, snapshot.revision, f"side by side: {question}")
        standing = desk.placings.look(key, lambda tell: weighed_beside(rows, tell))
    record = beside_page(
        standing.answer,
        links_of(request, snapshot),
        jobs=jobs,
        revisions=[(str(one.number), one.why) for one in past],
        others=others,
        stopped=standing.stopped,
        refused=str(standing.refused or ""),
        done=standing.done,
        of=standing.of,
    )
    return page(request, "beside.html", record, snapshot=snapshot)


@router.post("/j/{job}/beside/stop")
def stop(desk: AtDesk, job: JobName, other: Names = _NONE) -> Response:
    """Stop working it out, and come back."""
    desk.placings.stop(_key(desk, job, other))
    return RedirectResponse(beside_path(job, "", other), _SEE_OTHER)


@router.post("/j/{job}/beside/again")
def again(desk: AtDesk, job: JobName, other: Names = _NONE) -> Response:
    """Work it out after all, and come back."""
    desk.placings.again(_key(desk, job, other))
    return RedirectResponse(beside_path(job, "", other), _SEE_OTHER)


def _key(desk: Desk, job: str, other: list[str]) -> tuple[str, int, str]:
    question = " ".join(f"{name} at {revision}" for name, revision, _ in _asked(desk, job, tuple(other)))
    return (job, desk.shelf.now(job).revision, f"side by side: {question}")


def _asked(desk: Desk, job: str, others: tuple[str, ...]) -> list[tuple[str, int, Job]]:
    """What is held beside the job: its name in the table, its revision, its sheets.

    Raises:
        OutOfReach: neither a job of the shelf nor a revision of this one, or too many of them.
        NoAnswer: the rows of one do not make a car.
    """
    if len(others) > _MOST:
        raise OutOfReach("jobs beside this one", len(others), f"{_MOST} at a time")
    names = [line.name for line in desk.shelf.jobs()]
    found = []
    for name in others:
        if name in names and name != job:
            snapshot, called = desk.shelf.now(name), name
        elif name.isdecimal() and 0 < int(name) < desk.shelf.now(job).revision:
            snapshot, called = desk.shelf.now(job, int(name)), f"revision {name}"
        else:
            raise OutOfReach("other", name, "another job of the shelf, or the number of an earlier revision")
        if snapshot.job is None:
            raise NoAnswer(f"The sheets of {called} do not make a car.", tuple(one.says for one in snapshot.problems))
        found.append((called, snapshot.revision, snapshot.job))
    return found
