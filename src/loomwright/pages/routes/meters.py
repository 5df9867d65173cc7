"""The meters of the shop: named by its owner, read by whoever works at the bench.

A reading is asked for by the name of a meter, so nobody at the bench sends the server anywhere else. It goes on beside
the pages; the page asks how far it is, and stops it.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Request, Response
from fastapi.responses import JSONResponse, RedirectResponse
from pydantic import BaseModel, ConfigDict, Field

from loomwright.instruments.meter import CAUTIONS, PYTHON_VISA
from loomwright.instruments.shop_meters import MAKERS_VISA, ShopMeter, drop_meter, keep_meter, shop_meters
from loomwright.pages.desk import Desk
from loomwright.pages.doors.doorway import visitor_of
from loomwright.pages.entries import TypedForm
from loomwright.pages.meter_work import Taking
from loomwright.pages.routes.devices import devices_answer
from loomwright.pages.routes.edits import AtDesk
from loomwright.refusals import BadDocument, OutOfReach

__all__ = ["meters_offered", "router"]

router = APIRouter()
_SEE_OTHER = 303
Key = Annotated[str, Path(min_length=1, max_length=40)]


def meters_offered(request: Request, desk: Desk) -> tuple[str, ...]:
    """The names of the shop's meters, for a page that offers to read one to somebody who may write the reading down."""
    visitor = visitor_of(request)
    return _named(desk) if visitor is not None and visitor.may_change else ()


def _named(desk: Desk) -> tuple[str, ...]:
    try:
        return tuple(one.name for one in shop_meters(desk.shelf.folder))
    except BadDocument:  # their sheet cannot be read: told on the page of devices; a reading can be typed meanwhile
        return ()


@router.post("/devices/meters", include_in_schema=False)
def keep(request: Request, desk: AtDesk, typed: TypedForm) -> Response:
    """Name a meter of the shop."""
    reached = MAKERS_VISA if typed.get("visa") == MAKERS_VISA else PYTHON_VISA
    meter = ShopMeter(name=typed.get("meter", ""), address=typed.get("address", ""), visa=reached)
    try:
        keep_meter(desk.shelf.folder, meter)
    except BadDocument as refusal:
        return devices_answer(request, typed=typed, problems=refusal.problems)
    return RedirectResponse("/devices#meters", _SEE_OTHER)


@router.post("/devices/meters/drop", include_in_schema=False)
def drop(request: Request, desk: AtDesk, typed: TypedForm) -> Response:
    """Take a meter out; what was read with it stays."""
    try:
        drop_meter(desk.shelf.folder, typed.get("meter", ""))
    except BadDocument as refusal:
        return devices_answer(request, problems=refusal.problems)
    return RedirectResponse("/devices#meters", _SEE_OTHER)


@router.get("/api/meters", response_class=JSONResponse)
def offered(request: Request, desk: AtDesk) -> dict[str, Any]:
    """The meters that whoever asks may read, by name, and what can hurt while one is read."""
    return {"meters": list(meters_offered(request, desk)), "cautions": dict(CAUTIONS)}


class Asked(BaseModel):
    """A reading that is wanted. meter: by its name in the shop."""

    model_config = ConfigDict(extra="forbid")

    meter: Annotated[str, Field(max_length=80)]
    measure: Literal["volts", "ohms", "amps"]


@router.post("/api/meters/take", response_class=JSONResponse)
def take(desk: AtDesk, asked: Asked) -> dict[str, Any]:
    """Begin to read a meter, by its name; what is read is asked after by the word that is given."""
    meter = next((one for one in shop_meters(desk.shelf.folder) if one.name == asked.meter), None)
    if meter is None:
        raise OutOfReach(
            "meter", asked.meter, ", ".join(_named(desk)) or "a meter that the owner of the shop has named"
        )
    return {"key": desk.meters.begin(meter, asked.measure, desk.who)}


@router.get("/api/meters/take/{key}", response_class=JSONResponse)
def taking(desk: AtDesk, key: Key) -> dict[str, Any]:
    """How far a reading is, for whoever began it."""
    return _plain(_begun(desk, key))


@router.post("/api/meters/take/{key}/stop", response_class=JSONResponse)
def stop(desk: AtDesk, key: Key) -> dict[str, Any]:
    """Stop reading, and let go of the meter."""
    desk.meters.stop(key, desk.who)
    return _plain(_begun(desk, key))


def _begun(desk: Desk, key: str) -> Taking:
    found = desk.meters.look(key, desk.who)
    if found is None:
        raise OutOfReach("reading", key, "one that you have begun since the server was started")
    return found


def _plain(one: Taking) -> dict[str, Any]:
    return {
        "meter": one.meter,
        "shown": one.shown,
        "asked": one.asked,
        "value": one.value,
        "instrument": one.instrument,
        "reasons": list(one.reasons),
        "stopped": one.is_stopped,
        "over": one.is_over,
    }
