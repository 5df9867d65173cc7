"""The pages of single things: a wire, a part, a connector."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from loomwright.pages.desk import Desk
from loomwright.pages.records.connector_page import connector_page
from loomwright.pages.records.part_page import part_page
from loomwright.pages.records.state_asked import asked_of
from loomwright.pages.records.wire_page import wire_page
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.car_page import StateText, car_of
from loomwright.pages.routes.circuits import RowName
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.store.photos import photos_of

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
Seconds = Annotated[str, Query(max_length=12)]


@router.get("/j/{job}/wire/{wire}")
def wire_in_state(
    request: Request,
    desk: AtDesk,
    job: JobName,
    wire: RowName,
    state: StateText = "",
    before: StateText = "",
    unplug: StateText = "",
    on: Seconds = "",
    off: Seconds = "",
) -> Response:
    """One wire: cells, ends, what it does in a state, its record. on, off: how its current comes and goes. [s]"""
    made = partial(wire_page, on=on, off=off)
    return _page(request, desk, job, wire, ("wires", "wire.html", made), (state, before, unplug))


@router.get("/j/{job}/part/{part}")
def part_in_state(
    request: Request,
    desk: AtDesk,
    job: JobName,
    part: RowName,
    state: StateText = "",
    before: StateText = "",
    unplug: StateText = "",
) -> Response:
    """One part: cells, terminals, what it does in a state."""
    return _page(request, desk, job, part, ("parts", "part.html", part_page), (state, before, unplug))


@router.get("/j/{job}/connector/{connector}")
def connector_in_state(
    request: Request,
    desk: AtDesk,
    job: JobName,
    connector: RowName,
    state: StateText = "",
    before: StateText = "",
    unplug: StateText = "",
) -> Response:
    """One connector: both faces, every cavity with its wire and what it reads."""
    sort = ("connectors", "connector.html", connector_page)
    return _page(request, desk, job, connector, sort, (state, before, unplug))


def _page(
    request: Request,
    desk: Desk,
    job: str,
    name: str,
    sort: tuple[str, str, Callable[..., object]],
    state: tuple[str, str, str],
) -> Response:
    sheet, template, made = sort
    snapshot, car = car_of(desk, job)
    checked = desk.bench.look(snapshot).checked
    record = made(
        snapshot,
        car,
        name,
        asked_of(car, *state),
        links_of(request, snapshot),
        checked.findings if checked is not None else (),
        photos_of(desk.shelf, job, sheet, name),
    )
    return page(request, template, record, snapshot=snapshot)
