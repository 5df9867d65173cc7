"""The car plan: the runs from above and from the side in one state, and one of them cut across."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.pages.addresses import job_path, state_text
from loomwright.pages.records.plan_page import plan_page, state_begun
from loomwright.pages.records.state_asked import SET, asked_of, put_together
from loomwright.pages.records.suspect_marks import suspects_of_address
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.car_page import StateText, car_of
from loomwright.pages.routes.circuits import Suspected
from loomwright.pages.routes.edits import AtDesk, JobName

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
RunWord = Annotated[str, Query(max_length=120)]
_SEE_OTHER = 303
_QUESTIONS = ("state", "before", "unplug", "run")


@router.get("/j/{job}/car-plan")
def plan(
    request: Request,
    desk: AtDesk,
    job: JobName,
    state: StateText = "",
    before: StateText = "",
    unplug: StateText = "",
    run: RunWord = "",
    suspects: Suspected = "",
) -> Response:
    """The plan in a state; driving, where the address says none."""
    snapshot, car = car_of(desk, job)
    fields = request.query_params.multi_items()
    if any(name.startswith(SET) for name, _ in fields):
        asked = put_together(fields, {variable.name: variable.rest for variable in car.variables})
        # an address without a state asks for the car as it drives
        asked.setdefault("state", state_text({one.name: one.rest for one in car.variables[:1]}))
        query = {name: text for name, text in asked.items() if name in _QUESTIONS}
        return RedirectResponse(job_path(job, "car-plan", query=query), _SEE_OTHER)
    said = state if state or before or unplug else state_text(state_begun(car.variables))
    record = plan_page(
        car,
        asked_of(car, said, before, unplug),
        links_of(request, snapshot),
        run=run,
        suspects=suspects_of_address(suspects),
    )
    return page(request, "plan.html", record, snapshot=snapshot)
