"""Everything that is blank decided in one go: worked out when asked for, stopped by hand, kept with a touch."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.job.decided import adopted
from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerStanding
from loomwright.pages.deciding import Decided, decided_apart
from loomwright.pages.desk import Desk
from loomwright.pages.records.decide_page import decide_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import BadDocument, NoAnswer
from loomwright.store.snapshot import Snapshot
from loomwright.store.towards import edits_towards

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
_SEE_OTHER = 303


@router.get("/j/{job}/decide")
def decide(request: Request, desk: AtDesk, job: JobName) -> Response:
    """What is decided for the blank cells of the newest revision, or how far that is."""
    snapshot = desk.shelf.now(job)
    standing = _standing(desk, snapshot)
    if standing.refused is not None:
        raise standing.refused
    record = decide_page(
        snapshot,
        standing.answer,
        links_of(request, snapshot),
        stopped=standing.stopped,
        done=standing.done,
        of=standing.of,
    )
    return page(request, "decide.html", record, snapshot=snapshot)


@router.post("/j/{job}/decide/stop")
def stop(desk: AtDesk, job: JobName) -> Response:
    """Stop deciding, and come back."""
    desk.decides.stop(_key(desk.shelf.now(job)))
    return RedirectResponse(job_path(job, "decide"), _SEE_OTHER)


@router.post("/j/{job}/decide/again")
def again(desk: AtDesk, job: JobName) -> Response:
    """Decide after all, and come back."""
    desk.decides.again(_key(desk.shelf.now(job)))
    return RedirectResponse(job_path(job, "decide"), _SEE_OTHER)


@router.post("/j/{job}/decide/keep")
def keep(
    desk: AtDesk, job: JobName, revision: Annotated[int, Form()], write: Annotated[str, Form(max_length=8)] = ""
) -> Response:
    """Keep what was decided as one revision; with `write=cells` it is written into the cells."""
    snapshot = desk.shelf.now(job)
    answer = _standing(desk, snapshot).answer
    if snapshot.revision != revision or answer is None:
        raise NoAnswer("what is decided", ("The job has changed since it was worked out: look at it as it is now.",))
    decided = adopted(answer.job, answer.job.decisions) if write == "cells" else answer.job
    why = "blank cells decided and written" if write == "cells" else "blank cells decided"
    edits = edits_towards(snapshot, decided)
    if edits:
        edited = desk.shelf.edit(job, edits, who=desk.who, why=why)
        if not edited.is_taken:
            raise BadDocument(edited.problems)
    return RedirectResponse(job_path(job, "findings"), _SEE_OTHER)


def _key(snapshot: Snapshot) -> tuple[str, int, str]:
    return snapshot.name, snapshot.revision, "decide"


def _standing(desk: Desk, snapshot: Snapshot) -> AnswerStanding[Decided]:
    job = snapshot.job
    if job is None:
        raise BadDocument(snapshot.problems)
    return desk.decides.look(_key(snapshot), lambda tell: decided_apart(job, tell))
