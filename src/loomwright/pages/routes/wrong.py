"""One thing wrong, each in turn: the page, stopping and resuming it by hand, and the same as plain data."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response

from loomwright.car import Car
from loomwright.pages.answer_bench import AnswerStanding
from loomwright.pages.desk import Desk
from loomwright.pages.records.wrong_page import wrong_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.car_page import REFUSED, car_of
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.pages.routes.seconds_long import offer_stop
from loomwright.pages.wrong_work import wrong_of
from loomwright.refusals import OutOfReach
from loomwright.store.snapshot import Snapshot
from loomwright.trials.failures import PARTS
from loomwright.trials.wrong import Wrong
from loomwright.trials.wrong_plain import wrong_plain

__all__ = ["router"]

router = APIRouter()
Word = Annotated[str, Query(max_length=80)]
_QUESTION = "one thing wrong"


@router.get("/j/{job}/wrong", include_in_schema=False)
def wrong(request: Request, desk: AtDesk, job: JobName, part: Word = "missing", circuit: Word = "") -> Response:
    """The tables, or how far it is."""
    if part not in PARTS:
        raise OutOfReach("part", part, " ".join(PARTS))
    snapshot, car = car_of(desk, job)
    standing = _standing(desk, snapshot, car)
    record = wrong_page(
        standing.answer,
        links_of(request, snapshot),
        part=part,
        circuit=circuit,
        stopped=standing.stopped,
        refused=str(standing.refused or ""),
        done=standing.done,
        of=standing.of,
    )
    return page(request, "wrong.html", record, snapshot=snapshot)


offer_stop(router, "wrong", _QUESTION, lambda desk: desk.wrongs)


@router.get("/api/j/{job}/wrong", responses=REFUSED)
def plain(desk: AtDesk, job: JobName) -> dict[str, Any]:
    """Every failure with what it does; while it is worked out, how far it is."""
    snapshot, car = car_of(desk, job)
    standing = _standing(desk, snapshot, car)
    if standing.refused is not None:
        raise standing.refused
    told: dict[str, Any] = {
        "revision": snapshot.revision,
        "done": standing.done,
        "of": standing.of,
        "stopped": standing.stopped,
        "answer": None,
    }
    return told if standing.answer is None else {**told, "answer": wrong_plain(standing.answer)}


def _standing(desk: Desk, snapshot: Snapshot, car: Car) -> AnswerStanding[Wrong]:
    key = (snapshot.name, snapshot.revision, _QUESTION)
    return desk.wrongs.look(key, lambda tell: wrong_of(car, tell))
