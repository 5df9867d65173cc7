"""What is built, wire by wire, and what changes ask of it; taking a step down, and taking it back."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from functools import lru_cache
from typing import Annotated, Any
from urllib.parse import parse_qsl

from fastapi import APIRouter, Form, Query, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from loomwright.car import Car
from loomwright.job.figures import text_of_figure
from loomwright.loom.as_built_plain import as_built_plain
from loomwright.loom.as_built_records import AsBuilt
from loomwright.loom.built_steps import STEPS
from loomwright.pages.addresses import job_path
from loomwright.pages.desk import Desk
from loomwright.pages.records.built_page import BuiltPick, built_page
from loomwright.pages.records.built_view import BuiltView, built_view
from loomwright.pages.rendering import links_of, page
from loomwright.pages.routes.edits import AtDesk, JobName
from loomwright.refusals import NoAnswer, OutOfReach, Problem
from loomwright.store.earlier import Earlier, earlier_of
from loomwright.store.shelf import Edited, Shelf
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import AddRow, DropRow

__all__ = ["router", "told_of"]

router = APIRouter()

_SEE_OTHER = 303
_REFUSED = 422
_LEFT = ("left", "done", "all")
_BY = ("circuit", "place")
_MOST_REVISION = 2**53
_KEPT = 8
_ENDS = ("from", "to", "both")
Asked = Annotated[str, Query(max_length=120)]
Of = Annotated[str, Query(max_length=20)]
Typed = Annotated[str, Form(max_length=200)]


@router.get("/j/{job}/built", include_in_schema=False)
def built(
    request: Request,
    desk: AtDesk,
    job: JobName,
    left: Asked = "left",
    by: Asked = "circuit",
    circuit: Asked = "",
    place: Asked = "",
    of: Of = "",
) -> HTMLResponse:
    """Every wire with its next step, under what changes ask of those that are built."""
    return _page(request, desk, desk.shelf.now(job), _pick(left, by, circuit, place, of))


@router.get("/api/j/{job}/built")
def built_plain(desk: AtDesk, job: JobName) -> dict[str, Any]:
    """What changes ask of the wires that are built, and of the proofs that rest on them."""
    snapshot = desk.shelf.now(job)
    told, past = told_of(desk, snapshot)
    if told is None:
        raise NoAnswer("what is built", ("Its rows do not fit each other yet: see the findings.",))
    return {"revision": snapshot.revision, **as_built_plain(told, past.changed)}


@router.post("/j/{job}/built/step", include_in_schema=False)
def step(
    request: Request,
    desk: AtDesk,
    job: JobName,
    wire: Typed,
    revision: Typed,
    end: Typed = "",
    step: Typed = "",
    token: Typed = "",
    length_mm: Typed = "",
    here: Typed = "",
    anchor: Typed = "",
) -> Response:
    """Take a step down: once, however often it is sent."""
    now = desk.shelf.now(job)
    number = _revision(revision, now.revision)
    renamed = told_of(desk, now)[1].renamed
    view = built_view(now, now if number == now.revision else desk.shelf.now(job, number), renamed)
    cells = {
        **_cells(view, wire, end, step, length_mm),
        "revision": str(number),
        "time": datetime.now(UTC).isoformat(timespec="seconds"),
        "who": desk.who,
    }
    edit = AddRow(sheet="progress", cells=cells)
    why = f"{wire}: {step or 'length now'}" + (
        f" at its {'start' if end == 'from' else 'end'}" if end in ("from", "to") else ""
    )
    edited = desk.shelf.edit(job, [edit], who=desk.who, why=why, token=token, kind="record")
    return _answer(request, desk, job, edited, here, anchor)


@router.post("/j/{job}/built/back", include_in_schema=False)
def back(
    request: Request, desk: AtDesk, job: JobName, key: Typed, token: Typed = "", here: Typed = "", anchor: Typed = ""
) -> Response:
    """Take the last step of a wire back, as a revision of its own."""
    now = desk.shelf.now(job)
    view = built_view(now, now, told_of(desk, now)[1].renamed)
    last = next((pair for pair in view.lasts.items() if str(pair[1][0]) == key), None)
    if last is None and now.row("progress", int(key) if key.isdecimal() else -1) is not None:
        raise OutOfReach("step to take back", key, "the last step of a wire: later ones are taken back first")
    edits = [DropRow(sheet="progress", row_key=int(key))] if last is not None else []
    why = f"took back {last[0]}: {last[1][1].step}" if last is not None else ""
    edited = desk.shelf.edit(job, edits, who=desk.who, why=why, token=token, kind="record")
    return _answer(request, desk, job, edited, here, anchor)


def _answer(request: Request, desk: Desk, job: str, edited: Edited, here: str, anchor: str) -> Response:
    asked = dict(parse_qsl(here.partition("?")[2]))
    if edited.problems:
        pick = _pick(*(asked.get(name, "") for name in ("left", "by", "circuit", "place", "of")))
        return _page(request, desk, desk.shelf.now(job), pick, edited.problems)
    there = here if here.partition("?")[0] == job_path(job, "built") else job_path(job, "built")
    return RedirectResponse(
        there + (f"#{anchor}" if anchor.replace("-", "").replace("_", "").isalnum() else ""), _SEE_OTHER
    )


def _page(
    request: Request, desk: Desk, snapshot: Snapshot, pick: BuiltPick, problems: tuple[Problem, ...] = ()
) -> HTMLResponse:
    told, past = told_of(desk, snapshot)
    of = snapshot if pick.of is None or pick.of == snapshot.revision else desk.shelf.now(snapshot.name, pick.of)
    view = built_view(snapshot, of, past.renamed)
    record = built_page(snapshot, told, past, view, links_of(request, snapshot), pick, problems)
    return page(request, "built.html", record, snapshot=snapshot, status=_REFUSED if problems else 200)


def told_of(desk: Desk, snapshot: Snapshot) -> tuple[AsBuilt | None, Earlier]:
    """What changes ask of what is built, with the job's past; nothing while the rows do not fit each other."""
    return _told(desk.shelf, snapshot)


@lru_cache(maxsize=_KEPT)
def _told(shelf: Shelf, snapshot: Snapshot) -> tuple[AsBuilt | None, Earlier]:
    past = earlier_of(shelf, snapshot)
    job = snapshot.job
    return (None if job is None else Car(job).as_built(past.jobs, past.renamed)), past


def _cells(view: BuiltView, name: str, end: str, step: str, length_mm: str) -> Mapping[str, str]:
    """What is written down of a step.

    Raises:
        OutOfReach: no such wire to build, end or step.
    """
    wire = next((one for one in view.wires_to_build if one.id == name), None)
    if wire is None:
        raise OutOfReach("wire to build", name, " ".join(one.id for one in view.wires_to_build[:12]) or "none yet")
    if step not in STEPS and not (step == "" and length_mm.strip()):
        raise OutOfReach("step", step, " ".join(STEPS))
    if end not in _ENDS and step:
        raise OutOfReach("end", end, " ".join(_ENDS))
    cells = {"wire": name, "end": end, "step": step, "length_mm": length_mm.strip()}
    if step == "cut":
        size = "" if wire.size_mm2 is None else text_of_figure(wire.size_mm2)
        cells |= {"size_mm2": size, "colour": wire.colour}
    return cells


def _pick(left: str, by: str, circuit: str, place: str, of: str) -> BuiltPick:
    return BuiltPick(
        left=left if left in _LEFT else "left",
        by=by if by in _BY else "circuit",
        circuit=circuit,
        place=place,
        of=int(of) if of.isascii() and of.isdecimal() and 0 < int(of) < _MOST_REVISION else None,
    )


def _revision(text: str, newest: int) -> int:
    if not (text.isascii() and text.isdecimal() and 1 <= int(text) <= newest):
        raise OutOfReach("revision", text, f"1 to {newest}")
    return int(text)
