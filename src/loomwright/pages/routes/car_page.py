"""Setting the car: the page of the whole car in one state, and the same as plain data."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.car import Car
from loomwright.handover.state_plain import plan_plain, solved_plain
from loomwright.pages.addresses import job_path
from loomwright.pages.desk import Desk
from loomwright.pages.records.car_page import car_page
from loomwright.pages.records.state_asked import SET, asked_of, put_together
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import NoAnswer
from loomwright.store.snapshot import Snapshot

__all__ = ["REFUSED", "StateText", "car_of", "gone_on", "router"]

router = APIRouter()
WayWord = Annotated[str, Query(max_length=20)]
StateText = Annotated[str, Query(max_length=2000, examples=["key=run,engine=idle"])]
REFUSED: dict[int | str, dict[str, Any]] = {
    404: {"description": "no such job, or a state the car does not have"},
    409: {"description": "the sheets do not make a car yet"},
}
"""What an answer about a state may be instead."""

_QUESTIONS = ("state", "before", "unplug", "play")
_SEE_OTHER = 303


@router.get("/j/{job}/car", include_in_schema=False)
def the_car(
    request: Request,
    desk: AtDesk,
    job: JobName,
    state: StateText = "",
    before: StateText = "",
    unplug: StateText = "",
    play: WayWord = "",
    to: StateText = "",
) -> Response:
    """The car set by hand, and what it does; a way that is played step by step."""
    snapshot, car = car_of(desk, job)
    onward = gone_on(request, car, job_path(job, "car"))
    if onward is not None:
        return onward
    goes_to = asked_of(car, to).state if to else None
    asked = asked_of(car, state, before, unplug)
    record = car_page(car, asked, links_of(request, snapshot), play=play, to=goes_to)
    return page(request, "car.html", record, snapshot=snapshot)


@router.get("/api/j/{job}/solve", responses=REFUSED)
def solve(
    desk: AtDesk, job: JobName, state: StateText = "", before: StateText = "", unplug: StateText = ""
) -> dict[str, Any]:
    """Volts, amps and relays of the whole car in one state, and what each circuit does."""
    _, car = car_of(desk, job)
    asked = asked_of(car, state, before, unplug)
    look = car.in_states.look(asked.state, before=asked.before or None, changes=asked.changes)
    return {**solved_plain(look.solved), "plan": plan_plain(car.in_states.plan(look))}


def car_of(desk: Desk, job: str) -> tuple[Snapshot, Car]:
    """The newest revision of a job and its car.

    Raises:
        NoAnswer: its rows do not make a car yet; all of what stands in the way.
    """
    snapshot = desk.shelf.now(job)
    car = desk.cars.of(snapshot)
    if car is None:
        raise NoAnswer("The sheets do not make a car yet.", tuple(problem.says for problem in snapshot.problems))
    return snapshot, car


def gone_on(request: Request, car: Car, path: str) -> Response | None:
    """Where the strip's form sent its controls: the address that can be sent on; None where it sent none."""
    fields = request.query_params.multi_items()
    if not any(name.startswith(SET) for name, _ in fields):
        return None
    asked = put_together(fields, {variable.name: variable.rest for variable in car.variables})
    known = {name: text for name, text in asked.items() if name in _QUESTIONS}
    query = job_path("-", query=known).partition("?")[2]
    return RedirectResponse(f"{path}?{query}" if query else path, status_code=_SEE_OTHER)
