"""Mends that were tried for a finding: worked out when asked for, stopped and resumed by hand, made with one touch."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Path, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.findings import Finding
from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerStanding
from loomwright.pages.desk import Desk
from loomwright.pages.mending import mark_of, mends_apart
from loomwright.pages.records.mends_page import mends_page, shelf_edits
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import BadDocument, NoAnswer, OutOfReach, Problem
from loomwright.store.snapshot import Snapshot
from loomwright.trials.mend import Mends, every_finding

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Mark = Annotated[str, Path(min_length=1, max_length=40)]
_SEE_OTHER = 303


@router.get("/j/{job}/mends/{mark}")
def mends(request: Request, desk: AtDesk, job: JobName, mark: Mark) -> Response:
    """The mends of a finding of the newest revision, or how far they are."""
    snapshot = desk.shelf.now(job)
    finding, standing = _standing(desk, snapshot, mark)
    if finding is None:
        return RedirectResponse(job_path(job, "findings"), _SEE_OTHER)
    record = mends_page(
        finding,
        standing.answer,
        snapshot,
        links_of(request, snapshot),
        mark,
        stopped=standing.stopped,
        refused=str(standing.refused or ""),
        done=standing.done,
        of=standing.of,
    )
    return page(request, "mends.html", record, snapshot=snapshot)


@router.post("/j/{job}/mends/{mark}/stop")
def stop(desk: AtDesk, job: JobName, mark: Mark) -> Response:
    """Stop trying, and come back."""
    desk.mends.stop((job, desk.shelf.now(job).revision, mark))
    return RedirectResponse(job_path(job, "mends", mark), _SEE_OTHER)


@router.post("/j/{job}/mends/{mark}/again")
def again(desk: AtDesk, job: JobName, mark: Mark) -> Response:
    """Try after all, and come back."""
    desk.mends.again((job, desk.shelf.now(job).revision, mark))
    return RedirectResponse(job_path(job, "mends", mark), _SEE_OTHER)


@router.post("/j/{job}/mends/{mark}/make")
def make(
    desk: AtDesk, job: JobName, mark: Mark, number: Annotated[int, Form(ge=0, le=99)], revision: Annotated[int, Form()]
) -> Response:
    """Make one of the mends: a revision whose why is its words; nothing where the job has changed meanwhile."""
    snapshot = desk.shelf.now(job)
    if snapshot.revision != revision:
        raise NoAnswer("this mend", ("The job has changed since it was tried: look at the findings as they are now.",))
    _, standing = _standing(desk, snapshot, mark)
    offered = standing.answer.offered if standing.answer is not None else ()
    if number >= len(offered):
        raise OutOfReach("mend", number, f"0 to {len(offered) - 1}" if offered else "none is worked out yet")
    edited = desk.shelf.edit(job, shelf_edits(offered[number], snapshot), who=desk.who, why=offered[number].says)
    if not edited.is_taken:
        raise BadDocument(edited.problems or (_CONFLICT,))
    return RedirectResponse(job_path(job, "findings"), _SEE_OTHER)


_CONFLICT = Problem(
    sheet="",
    row=None,
    column="",
    found="a cell of this mend was changed by somebody else",
    allowed="",
    mend="Look at the findings as they are now, and try again",
)


def _standing(desk: Desk, snapshot: Snapshot, mark: str) -> tuple[Finding | None, AnswerStanding[Mends]]:
    """The finding of that mark and how far its mends are; no finding where it is gone or not known yet."""
    checked = desk.bench.look(snapshot).checked
    job = snapshot.job
    if checked is None or job is None:
        return None, AnswerStanding()
    finding = next((one for one in every_finding(checked.findings) if mark_of(one) == mark), None)
    if finding is None:
        return None, AnswerStanding()
    key = (snapshot.name, snapshot.revision, mark)
    return finding, desk.mends.look(key, lambda tell: mends_apart(job, checked.findings, finding, tell))
