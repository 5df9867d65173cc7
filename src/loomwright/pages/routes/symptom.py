"""A part does nothing: the page that says where to put a hand first, asked and narrowed by its address alone."""

from __future__ import annotations

import hashlib
from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.handover.symptom import SymptomAsked, condition_of
from loomwright.pages.addresses import job_path
from loomwright.pages.answer_bench import AnswerStanding, Key
from loomwright.pages.fault_work import car_digest
from loomwright.pages.records.symptom_page import symptom_page
from loomwright.pages.rendering import page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.pages.symptom_work import symptom_apart
from loomwright.refusals import NoAnswer, OutOfReach
from loomwright.store.snapshot import Snapshot

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Names = Annotated[str, Query(max_length=400)]
State = Annotated[str, Query(max_length=400)]
_SEE_OTHER, _REFUSED = 303, 422
_LETTERS = 16


@router.get("/j/{job}/symptom")
def symptom(
    request: Request, desk: AtDesk, job: JobName, dead: Names = "", works: Names = "", state: State = ""
) -> Response:
    """Where to put a hand first, or how far that is; empty until something is named."""
    snapshot = desk.shelf.now(job)
    car = desk.cars.of(snapshot)
    if car is None:
        raise NoAnswer("what does nothing", ("The sheets hold a cell that cannot be read: mend it first.",))
    fitted = [one for one in car.job.parts if one.fitted != "removed"]
    # what does a work comes first: an owner misses a lamp, not a battery
    parts = tuple(one.id for one in sorted(fitted, key=lambda one: car.kinds[one.kind].duty != "load"))
    gone, lives = dead.split(), works.split()
    standing: AnswerStanding[object] | None = None
    found, told = None, ""
    if gone:
        try:
            asked = SymptomAsked(dead=gone, works=lives, when=condition_of(state))
            table = desk.symptoms.look(
                _key(snapshot, gone, state), lambda tell: symptom_apart(snapshot.as_written, asked, tell)
            )
            standing = AnswerStanding(done=table.done, of=table.of, stopped=table.stopped, refused=table.refused)
            if table.answer is not None:
                found = car.symptom(asked, table=table.answer)
        except OutOfReach as refusal:
            told = str(refusal)
    record = symptom_page(
        job, dead=gone, works=lives, state=state, parts=parts, standing=standing, found=found, told=told
    )
    return page(request, "symptom.html", record, snapshot=snapshot, status=_REFUSED if told else 200)


@router.post("/j/{job}/symptom/stop")
def stop(desk: AtDesk, job: JobName, dead: Names = "", works: Names = "", state: State = "") -> Response:
    """Stop working it out, and come back."""
    desk.symptoms.stop(_key(desk.shelf.now(job), dead.split(), state))
    return _back(job, dead, works, state)


@router.post("/j/{job}/symptom/again")
def again(desk: AtDesk, job: JobName, dead: Names = "", works: Names = "", state: State = "") -> Response:
    """Work it out after all, and come back."""
    desk.symptoms.again(_key(desk.shelf.now(job), dead.split(), state))
    return _back(job, dead, works, state)


def _back(job: str, dead: str, works: str, state: str) -> Response:
    there = job_path(job, "symptom", query={"dead": dead, "works": works, "state": state})
    return RedirectResponse(there, _SEE_OTHER)


def _key(snapshot: Snapshot, dead: list[str], state: str) -> Key:
    told = hashlib.sha256("\n".join([car_digest(snapshot.as_written), *dead, state]).encode()).hexdigest()
    return snapshot.name, 0, f"symptom {told[:_LETTERS]}"
