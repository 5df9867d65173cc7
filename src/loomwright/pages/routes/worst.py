"""The worst cases of a car: the page, stopping and resuming it by hand, and the same as a workbook."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from loomwright.car import Car
from loomwright.handover.worst_sheet import worst_lists
from loomwright.pages.addresses import JobLinks
from loomwright.pages.answer_bench import AnswerStanding
from loomwright.pages.desk import Desk
from loomwright.pages.records.strays_part import StraysPart, strays_part
from loomwright.pages.records.worst_page import SORTS, worst_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.car_page import car_of
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.pages.routes.seconds_long import offer_stop, workbook_answer
from loomwright.pages.strays_work import strays_with
from loomwright.refusals import NoAnswer, OutOfReach
from loomwright.sizing.drawn_on import drawn_on
from loomwright.sizing.tolerance import CARS
from loomwright.sizing.worst_asked import WHATS
from loomwright.sizing.worst_cases import WorstCases, worst_cases
from loomwright.store.snapshot import Snapshot

__all__ = ["router"]

router = APIRouter()
Word = Annotated[str, Query(max_length=40)]
_QUESTION, _STRAYS = "worst cases", "strays"
_SEED = 1


@router.get("/j/{job}/worst", include_in_schema=False)
def worst(
    request: Request,
    desk: AtDesk,
    job: JobName,
    sort: Word = "share",
    what: Word = "",
    off: Annotated[bool, Query()] = False,
) -> Response:
    """The tables, or how far they are. off: with every figure a little off, too."""
    if sort not in SORTS:
        raise OutOfReach("sort", sort, " ".join(SORTS))
    if what and what not in WHATS:
        raise OutOfReach("what", what, " ".join(WHATS))
    snapshot, car = car_of(desk, job)
    standing = _standing(desk, snapshot, car)
    record = worst_page(
        standing.answer,
        drawn_on(car.scene) if standing.answer is not None else (),
        links_of(request, snapshot),
        _strays(desk, snapshot, car, links_of(request, snapshot), asked=off and standing.answer is not None),
        sort=sort,
        what=what,
        stopped=standing.stopped,
        refused=str(standing.refused or ""),
        done=standing.done,
        of=standing.of,
    )
    return page(request, "worst.html", record, snapshot=snapshot)


offer_stop(router, "worst", _QUESTION, lambda desk: desk.worsts)
offer_stop(router, "worst", _STRAYS, lambda desk: desk.strays, part="strays", query={"off": "yes"})


@router.get("/j/{job}/worst/table.xlsx", include_in_schema=False)
def workbook(desk: AtDesk, job: JobName) -> Response:
    """The same as a workbook."""
    snapshot, car = car_of(desk, job)
    answer = _standing(desk, snapshot, car).answer
    if answer is None:
        raise NoAnswer("the worst cases as a workbook", ("They are not worked out yet: open their page first.",))
    lists = worst_lists(answer, drawn_on(car.scene))
    return workbook_answer(car, lists, revision=snapshot.revision, called="worst cases")


def _standing(desk: Desk, snapshot: Snapshot, car: Car) -> AnswerStanding[WorstCases]:
    key = (snapshot.name, snapshot.revision, _QUESTION)
    return desk.worsts.look(key, lambda tell: worst_cases(car.scene, tell))


def _strays(desk: Desk, snapshot: Snapshot, car: Car, links: JobLinks, *, asked: bool) -> StraysPart:
    """What the page says of figures that are a little off; begun where somebody has asked."""
    if not asked:
        return strays_part(None, links, asked=False)
    key = (snapshot.name, snapshot.revision, _STRAYS)
    standing = desk.strays.look(key, lambda tell: strays_with(car, samples=CARS, seed=_SEED, tell=tell))
    if standing.refused is not None:
        raise standing.refused
    return strays_part(standing.answer, links, asked=True, stopped=standing.stopped, done=standing.done, of=standing.of)
