"""The pages of circuits, lit by the current of a state, and a circuit as plain data."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path, Request, Response

from loomwright.handover.state_plain import circuit_plain, wires_plain
from loomwright.pages.addresses import job_path
from loomwright.pages.records.circuit_page import circuit_page, known_circuit
from loomwright.pages.records.state_asked import asked_of
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.car_page import REFUSED, StateText, car_of, gone_on
from loomwright.pages.routes.edits import AtDesk, JobName

__all__ = ["RowName", "router"]

router = APIRouter()
RowName = Annotated[str, Path(min_length=1, max_length=120)]


@router.get("/j/{job}/circuit/{circuit}", include_in_schema=False)
def circuit_in_state(
    request: Request,
    desk: AtDesk,
    job: JobName,
    circuit: RowName,
    state: StateText = "",
    before: StateText = "",
    unplug: StateText = "",
) -> Response:
    """One circuit's drawing, lit."""
    snapshot, car = car_of(desk, job)
    onward = gone_on(request, car, job_path(job, "circuit", circuit))
    if onward is not None:
        return onward
    checked = desk.bench.look(snapshot).checked
    record = circuit_page(
        car,
        known_circuit(car, circuit),
        asked_of(car, state, before, unplug),
        links_of(request, snapshot),
        checked.findings if checked is not None else (),
    )
    return page(request, "circuit.html", record, snapshot=snapshot)


@router.get("/api/j/{job}/circuit/{circuit}", responses=REFUSED)
def circuit_data(
    desk: AtDesk, job: JobName, circuit: RowName, state: StateText = "", before: StateText = "", unplug: StateText = ""
) -> dict[str, Any]:
    """One circuit in one state: its wires with volts and amps, its loads, and what stops when each thing is out."""
    _, car = car_of(desk, job)
    name = known_circuit(car, circuit)
    asked = asked_of(car, state, before, unplug)
    look = car.in_states.look(asked.state, before=asked.before or None, changes=asked.changes)
    here = next(one for one in car.in_states.plan(look).circuits if one.id == name)
    wires = [wire for wire in car.filled.wires if wire.circuit == name and wire.fitted != "removed"]
    return {
        "state": dict(look.solved.state),
        **circuit_plain(here),
        "wires": wires_plain(look, wires),
        "stops_without": {thing: list(parts) for thing, parts in car.in_states.stops(look, name).items()},
    }
