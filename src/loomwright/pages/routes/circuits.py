"""The pages of circuits, lit by the current of a state, and a circuit as plain data."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.handover.state_plain import circuit_plain, wires_plain
from loomwright.pages.addresses import job_path
from loomwright.pages.records.circuit_page import circuit_page, known_circuit
from loomwright.pages.records.state_asked import asked_of
from loomwright.pages.records.suspect_marks import suspects_of_address
from loomwright.pages.records.way_page import state_of_way, way_marked, way_page, way_plain
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.car_page import REFUSED, StateText, car_of, gone_on
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import OutOfReach

__all__ = ["RowName", "Suspected", "router"]

router = APIRouter()
RowName = Annotated[str, Path(min_length=1, max_length=120)]
WayMark = Annotated[str, Query(max_length=40)]
Suspected = Annotated[str, Query(max_length=800)]
_SEE_OTHER = 303


@router.get("/j/{job}/circuit/{circuit}", include_in_schema=False)
def circuit_in_state(
    request: Request,
    desk: AtDesk,
    job: JobName,
    circuit: RowName,
    state: StateText = "",
    before: StateText = "",
    unplug: StateText = "",
    way: WayMark = "",
    suspects: Suspected = "",
) -> Response:
    """One circuit's drawing, lit: the way of a finding's current on it, or what the fault finder suspects."""
    snapshot, car = car_of(desk, job)
    path = job_path(job, "circuit", circuit)
    onward = gone_on(request, car, path)
    if onward is not None:
        return onward
    checked = desk.bench.look(snapshot).checked
    findings = checked.findings if checked is not None else ()
    shown = way_marked(car, findings, way) if way else None
    if way and shown is None:
        return RedirectResponse(path, status_code=_SEE_OTHER)
    record = circuit_page(
        car,
        known_circuit(car, circuit),
        asked_of(car, state, before, unplug) if shown is None else state_of_way(shown),
        links_of(request, snapshot),
        findings,
        shown,
        suspects_of_address(suspects),
    )
    return page(request, "circuit.html", record, snapshot=snapshot)


@router.get("/j/{job}/way/{mark}", include_in_schema=False)
def way_by_itself(request: Request, desk: AtDesk, job: JobName, mark: RowName) -> Response:
    """The way of a finding's current with nothing but its own wires and parts; the findings where it is not known."""
    snapshot, car = car_of(desk, job)
    checked = desk.bench.look(snapshot).checked
    way = way_marked(car, checked.findings, mark) if checked is not None else None
    if way is None:
        return RedirectResponse(job_path(job, "findings"), status_code=_SEE_OTHER)
    return page(request, "circuit.html", way_page(car, way, links_of(request, snapshot)), snapshot=snapshot)


@router.get("/api/j/{job}/way/{mark}", responses=REFUSED)
def way_data(desk: AtDesk, job: JobName, mark: RowName) -> dict[str, Any]:
    """The way of a finding's current, wire by wire."""
    snapshot, car = car_of(desk, job)
    checked = desk.bench.look(snapshot).checked
    way = way_marked(car, checked.findings, mark) if checked is not None else None
    if way is None:
        raise OutOfReach("mark", mark, "the mark of a finding with a path, once the check is done")
    return way_plain(way)


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
