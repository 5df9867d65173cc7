"""A device that was let go: what it had still to send is put aside, and the owner of the shop takes it in or not."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Request, Response
from fastapi.responses import RedirectResponse

from loomwright.pages.acts_told import ActsTold
from loomwright.pages.doors.doorway import doorway_of, let_go_of
from loomwright.pages.left_behind import left_by, take_in
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import NoAnswer, OutOfReach
from loomwright.store.set_aside import SetAside, drop_aside, put_aside

__all__ = ["router"]

router = APIRouter(include_in_schema=False)
_SEE_OTHER = 303
DeviceId = Annotated[str, Path(max_length=20, pattern="^[0-9a-f]+$")]


@router.post("/api/let-go/{job}")
def hand_in(request: Request, desk: AtDesk, job: JobName, told: ActsTold) -> dict[str, int]:
    """Put records of a device that was let go aside; none of them is in a job by that."""
    device, lan = let_go_of(request), doorway_of(request).lan
    if device is None or lan is None:  # the door has asked already
        raise NoAnswer("handing in", ("This is for a device that was let go.",))
    desk.shelf.now(job)
    many = len(told.acts)
    one = SetAside(device=device.id, job=job, many=many, came_s=lan.devices.now_s(), told=told.model_dump_json())
    put_aside(desk.shelf.folder, one)
    lan.devices.note("put aside", device.name, f"{many} {'record' if many == 1 else 'records'} of {job}")
    return {"aside": many}


@router.post("/devices/{number}/aside/take")
def take(request: Request, desk: AtDesk, number: DeviceId) -> Response:
    """Take in what a device left behind; what somebody has written otherwise since, or cannot stand, stays aside."""
    name = _name(request, number)
    left = take_in(desk.shelf, number, who=name)
    _note(request, "taken in", name, f"{left} stay aside" if left else "")
    return RedirectResponse("/devices#aside", _SEE_OTHER)


@router.post("/devices/{number}/aside/drop")
def drop(request: Request, desk: AtDesk, number: DeviceId) -> Response:
    """Throw away what a device left behind."""
    many = sum(one.many for one in left_by(desk.shelf, number))
    drop_aside(desk.shelf.folder, number)
    _note(request, "thrown away", _name(request, number), f"{many} {'record' if many == 1 else 'records'}")
    return RedirectResponse("/devices#aside", _SEE_OTHER)


def _name(request: Request, number: str) -> str:
    lan = doorway_of(request).lan
    device = None if lan is None else lan.devices.of(number)
    if device is None:
        raise OutOfReach("device", number, "one that was let in")
    return device.name


def _note(request: Request, what: str, who: str, about: str) -> None:
    lan = doorway_of(request).lan
    if lan is not None:
        lan.devices.note(what, who, about)
