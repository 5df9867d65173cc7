"""Under the dash: the page for the tablet, what it takes along for a day without signal, and what it brings back.

The page itself holds nothing of a job; what is done on it is kept on the tablet first and sent when there is a way. A
record that is sent twice counts once. The worker of the page answers for us where we cannot be reached; it is told
which files belong to the page, and is another one as soon as any of them is.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Request, Response
from fastapi.responses import HTMLResponse, JSONResponse
from pydantic import BaseModel, ConfigDict, Field

from loomwright.pages.addresses import job_path
from loomwright.pages.desk import Desk
from loomwright.pages.doors.origins import LOOPBACK, host_name
from loomwright.pages.prove_work import plan_apart, plan_digest
from loomwright.pages.records.codes_page import codes_page
from loomwright.pages.rendering import page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.pages.under_shell import shell_files, under_page
from loomwright.refusals import NoAnswer, Problem, Refusal
from loomwright.store.acts import Act, ActDone, take_acts
from loomwright.worklist.said import Said, row_said
from loomwright.worklist.thing import Asks

__all__ = ["MOST_ACTS", "router"]

router = APIRouter()

MOST_ACTS = 200
"""Most records that are taken in one go. [-]"""

_NOT_CHANGED, _NOT_YET = 304, 409
_CLOCKS_AGREE_S = 120.0
"""Within this a tablet's clock counts as right: our choice [s]."""

Text = Annotated[str, Field(max_length=400)]
Cells = Annotated[dict[Annotated[str, Field(max_length=40)], Text], Field(max_length=40)]
Ident = Annotated[str, Field(pattern=r"^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$")]
Number = Annotated[int, Field(ge=0, le=2**53)]


class _Told(BaseModel):
    model_config = ConfigDict(extra="forbid")


class AskedWas(_Told):
    """How it could be answered, as it stood on the screen."""

    kind: Literal["done", "figure", "words"] = "done"
    unit: Annotated[str, Field(max_length=20)] = ""
    low: float | None = None
    high: float | None = None
    most: float | None = None
    words: Annotated[list[Text], Field(max_length=20)] = []
    word: Text = ""
    says: Text = ""
    waivable: bool = False
    measure: Annotated[str, Field(max_length=20)] = ""


class WasSaid(_Told):
    """What was answered."""

    value: Annotated[str, Field(max_length=40)] = ""
    note: Text = ""
    is_let_go: bool = False
    instrument: Annotated[str, Field(max_length=80)] = ""
    warmth: Literal["", "cold", "hot"] = ""


class ActTold(_Told):
    """One thing done. made: when, by the tablet's clock. base: the revision on its screen. back: what it takes back."""

    id: Ident
    made: datetime
    base: Number
    sheet: Annotated[str, Field(max_length=40)] = ""
    cells: Cells = {}
    asks: AskedWas = AskedWas()
    said: WasSaid = WasSaid()
    back: Annotated[str, Field(max_length=36)] = ""
    choose: Literal["", "mine", "theirs"] = ""


class ActsTold(_Told):
    """Things done, in their order. device: the tablet's own word.   sent: now, by its clock."""

    device: Annotated[str, Field(min_length=1, max_length=80)]
    sent: datetime
    acts: Annotated[list[ActTold], Field(max_length=MOST_ACTS)]


@router.get("/j/{job}/next", include_in_schema=False)
def under(request: Request, desk: AtDesk, job: JobName) -> HTMLResponse:
    """The page of the next thing."""
    desk.shelf.now(job)
    return page(request, "under.html", under_page())


@router.get("/next/shell", include_in_schema=False)
def shell(request: Request) -> HTMLResponse:
    """The same page without a job, as the worker keeps it."""
    return page(request, "under.html", under_page())


@router.get("/next/worker.js", include_in_schema=False)
def worker() -> Response:
    """The worker that answers where we cannot be reached."""
    return Response(
        _worker(tuple(shell_files())),
        media_type="text/javascript",
        headers={"Service-Worker-Allowed": "/", "Cache-Control": "no-cache"},
    )


@router.get("/j/{job}/codes", include_in_schema=False)
def codes(request: Request, desk: AtDesk, job: JobName) -> HTMLResponse:
    """Square codes for labels and lids, that begin with the address this is asked at."""
    snapshot = desk.shelf.now(job)
    car = desk.cars.of(snapshot)
    filled = snapshot.as_written if car is None else car.filled
    address = str(request.base_url).rstrip("/")
    record = codes_page(job, filled, address, is_own=host_name(request.headers.get("host", "")) in LOOPBACK)
    return page(request, "codes.html", record, snapshot=snapshot)


@router.get("/j/{job}/next/{name}.webmanifest", include_in_schema=False)
def manifest(desk: AtDesk, job: JobName, name: Annotated[str, Path(max_length=20)]) -> Response:
    """What a tablet must know to keep the page as one of its own."""
    desk.shelf.now(job)
    told = {
        "id": job_path(job, "next"),
        "name": f"{job}, under the dash",
        "short_name": job,
        "start_url": job_path(job, "next"),
        "scope": "/",
        "display": "standalone",
        "background_color": "#14130f",
        "theme_color": "#14130f",
        "icons": [{"src": "/static/under.svg", "sizes": "any", "type": "image/svg+xml", "purpose": "any maskable"}],
    }
    return Response(json.dumps(told), media_type="application/manifest+json", headers={"Cache-Control": "no-cache"})


@router.get("/api/j/{job}/day", response_class=Response, responses={_NOT_CHANGED: {"description": "the same still"}})
def day(request: Request, desk: AtDesk, job: JobName) -> Response:
    """What a tablet takes along: the next things of every work, and a card for every label."""
    snapshot = desk.shelf.now(job)
    car = desk.cars.of(snapshot)
    if car is None:
        raise NoAnswer("the day's work", ("The sheets hold a cell that cannot be read: mend it first.",))
    written = snapshot.as_written
    key = (snapshot.name, 0, plan_digest(written))
    plan = desk.plans.look(key, lambda tell: plan_apart(written, tell))
    made = desk.days.of(snapshot, car, plan.answer)
    headers = {"ETag": made.tag, "Cache-Control": "private, no-cache"}
    if made.tag in request.headers.get("if-none-match", ""):
        return Response(status_code=_NOT_CHANGED, headers=headers)
    return Response(made.text, media_type="application/json", headers=headers)


@router.post("/api/j/{job}/acts", response_class=JSONResponse)
def acts(desk: AtDesk, job: JobName, told: ActsTold) -> dict[str, Any]:
    """Take in what was done away from the desk; each by itself, each once, however often it is sent."""
    now = datetime.now(UTC)
    ahead = _aware(told.sent) - now
    wrong_by = ahead if abs(ahead.total_seconds()) > _CLOCKS_AGREE_S else timedelta()
    given = [_act(desk, one, wrong_by) for one in told.acts]
    done = take_acts(desk.shelf, job, given, device=told.device, who=desk.who, time=now.isoformat(timespec="seconds"))
    return {"revision": desk.shelf.now(job).revision, "acts": [_done_plain(one) for one in done]}


def _act(desk: Desk, told: ActTold, wrong_by: timedelta) -> Act:
    """An act as the shelf takes it; its row has the time it was done, by our clock."""
    made = _aware(told.made)
    if told.back:
        return Act(id=told.id, made=made.isoformat(), base=told.base, back=told.back)
    asks = told.asks
    problems: tuple[Problem, ...] = ()
    cells: Mapping[str, str] = {**told.cells, "answered": told.said.value, "note": told.said.note}
    try:
        cells = row_said(
            told.sheet,
            told.cells,
            Asks(**{**asks.model_dump(), "words": tuple(asks.words)}),
            Said(**told.said.model_dump()),
            time=_put_right(made, wrong_by).isoformat(timespec="seconds"),
            who=desk.who,
            revision=told.base,
        )
    except Refusal as refusal:
        found = Problem(
            sheet=told.sheet, row=None, column="", found=told.said.value, allowed=str(refusal), mend="Read it again"
        )
        problems = (found,)
    return Act(
        id=told.id,
        made=made.isoformat(),
        base=told.base,
        sheet=told.sheet,
        cells=cells,
        choose=told.choose,
        problems=problems,
    )


def _aware(time: datetime) -> datetime:
    return time if time.tzinfo is not None else time.replace(tzinfo=UTC)


def _put_right(made: datetime, wrong_by: timedelta) -> datetime:
    try:
        return (made - wrong_by).astimezone(UTC)
    except OverflowError:
        return datetime.now(UTC)


def _done_plain(one: ActDone) -> dict[str, Any]:
    names = ("sheet", "row", "column", "found", "allowed", "mend")
    return {
        "id": one.id,
        "outcome": one.outcome,
        "revision": one.revision,
        "theirs": dict(one.theirs),
        "refused": [{name: getattr(problem, name) for name in names} for problem in one.problems],
    }


@lru_cache(maxsize=4)
def _worker(files: tuple[tuple[str, str, bytes], ...]) -> bytes:
    """The worker's script, told which files are the page."""
    digest = hashlib.sha256(b"".join(data for _, _, data in files)).hexdigest()[:12]
    told = {"version": digest, "files": [address for address, _, _ in files if address]}
    script = next(data for _, name, data in files if name == "worker.js")
    return f"const SHELL = {json.dumps(told)};\n".encode() + script
