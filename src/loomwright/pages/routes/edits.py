"""Reading and editing the sheets over HTTP: what a grid, or a program, sends and gets.

An edit names the row by its own number and says what the person saw in the cell. 200: taken, on the disk. 409: somebody
else was quicker, both values in the answer. 422: it could not stand there, every place listed. Nothing is half taken.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends, Path, Query, Response
from fastapi.responses import JSONResponse
from pydantic import BaseModel, ConfigDict, Field

from loomwright.job.taking import MOST_ROWS
from loomwright.pages.desk import Desk, at_desk
from loomwright.pages.records.sheet_columns import GROWS_ONLY, WORKED_OUT
from loomwright.pages.records.sheet_news import sheet_plain, sheet_since
from loomwright.refusals import Problem
from loomwright.store.shelf import Edited
from loomwright.store.text_rows import AddRow, DropRow, Edit, MoveRow, SetCell

__all__ = ["MOST_EDITS", "router"]

router = APIRouter(prefix="/api")
AtDesk = Annotated[Desk, Depends(at_desk)]
JobName = Annotated[str, Path(min_length=1, max_length=80)]
SheetName = Annotated[str, Path(min_length=1, max_length=120)]
Number = Annotated[int, Field(ge=0, le=2**53)]
Revision = Annotated[int | None, Query(ge=1, le=2**53)]

MOST_EDITS = 10 * MOST_ROWS
"""Most edits that are taken in one go: a block of ten columns, as long as a sheet may be. [-]"""

_LONGEST_TEXT = 20_000
_SHOWN = 80
Text = Annotated[str, Field(max_length=_LONGEST_TEXT)]
Name = Annotated[str, Field(min_length=1, max_length=120)]


class _Typed(BaseModel):
    model_config = ConfigDict(extra="forbid")


class Set(_Typed):
    """A cell typed anew. old: what the person saw there."""

    do: Literal["set"]
    sheet: Name
    row: Number
    column: Name
    old: Text = ""
    new: Text = ""


class Add(_Typed):
    """A new row, before another or at the end."""

    do: Literal["add"]
    sheet: Name
    cells: dict[Name, Text] = Field(default_factory=dict, max_length=200)
    before: Number | None = None


class Drop(_Typed):
    """A row taken out."""

    do: Literal["drop"]
    sheet: Name
    row: Number


class Move(_Typed):
    """A row put before another, or at the end."""

    do: Literal["move"]
    sheet: Name
    row: Number
    before: Number | None = None


class Edits(_Typed):
    """Edits that are taken together or not at all. token: sent again with it, they are not done again."""

    edits: list[Annotated[Set | Add | Drop | Move, Field(discriminator="do")]] = Field(max_length=MOST_EDITS)
    why: Annotated[str, Field(max_length=500)] = ""
    token: Annotated[str, Field(max_length=80)] = ""


@router.get("/jobs")
def jobs(desk: AtDesk) -> list[dict[str, Any]]:
    """Every job of the shelf."""
    return [
        {"name": one.name, "title": one.title, "revision": one.revision, "time": one.time} for one in desk.shelf.jobs()
    ]


@router.get("/j/{job}/sheet/{sheet}", response_class=JSONResponse)
def sheet(desk: AtDesk, job: JobName, sheet: SheetName, revision: Revision = None, since: Revision = None) -> Response:
    """One sheet: its columns with help and allowed words, its rows with their own numbers, what was decided for it.

    since: only rows that are different from those of that revision, and the order where it is another.
    """
    snapshot = desk.shelf.now(job, revision)
    if since is None or since > snapshot.revision:
        # a later revision than there is: the shelf was put back to an older copy, and the page begins anew
        return JSONResponse(sheet_plain(snapshot, sheet))
    older = snapshot if since == snapshot.revision else desk.shelf.now(job, since)
    return JSONResponse(sheet_since(older, snapshot, sheet))


@router.post("/j/{job}/edits", responses={409: {"description": "somebody was quicker"}, 422: {"description": "told"}})
async def edit(desk: AtDesk, job: JobName, told: Edits, answer: Response) -> dict[str, Any]:
    """Take edits in, all or none."""
    edits = [_edit(one) for one in told.edits]
    kept = _kept_as_recorded(edits)
    if kept:
        return _answer(Edited(revision=desk.shelf.now(job).revision, problems=kept), answer)
    kind = "record" if edits and all(one.sheet in GROWS_ONLY for one in edits) else "edit"
    done = await desk.shelf.edit_soon(job, edits, who=desk.who, why=told.why, token=told.token, kind=kind)
    return _answer(done, answer)


@router.post("/j/{job}/undo", responses={409: {"description": "somebody typed over it"}})
def undo(desk: AtDesk, job: JobName, answer: Response) -> dict[str, Any]:
    """Take back the last edit."""
    return _answer(desk.shelf.undo(job, who=desk.who), answer)


@router.post("/j/{job}/redo", responses={409: {"description": "somebody typed over it"}})
def redo(desk: AtDesk, job: JobName, answer: Response) -> dict[str, Any]:
    """Do again what was taken back last."""
    return _answer(desk.shelf.redo(job, who=desk.who), answer)


@router.get("/j/{job}/revisions")
def revisions(desk: AtDesk, job: JobName, newest: Annotated[int, Query(ge=1, le=1000)] = 100) -> list[dict[str, Any]]:
    """The newest revisions, newest first."""
    return [
        {"number": one.number, "time": one.time, "who": one.who, "why": one.why, "kind": one.kind}
        for one in desk.shelf.revisions(job, newest=newest)
    ]


@router.get("/j/{job}/differences")
def differences(
    desk: AtDesk,
    job: JobName,
    older: Annotated[int, Query(ge=1, le=2**53)],
    newer: Annotated[int, Query(ge=1, le=2**53)],
) -> list[dict[str, Any]]:
    """What became different between two revisions."""
    names = ("sheet", "row_key", "row", "op", "column", "older", "newer")
    return [{name: getattr(one, name) for name in names} for one in desk.shelf.differences(job, older, newer)]


def _edit(told: Set | Add | Drop | Move) -> Edit:
    if isinstance(told, Set):
        return SetCell(sheet=told.sheet, row_key=told.row, column=told.column, old=told.old, new=told.new)
    if isinstance(told, Add):
        return AddRow(sheet=told.sheet, cells=told.cells, before=told.before)
    if isinstance(told, Drop):
        return DropRow(sheet=told.sheet, row_key=told.row)
    return MoveRow(sheet=told.sheet, row_key=told.row, before=told.before)


def _kept_as_recorded(edits: Sequence[Edit]) -> tuple[Problem, ...]:
    """Edits that would change what stands on record; decisions may be dropped, since adopting one does."""
    return tuple(
        Problem(
            sheet=one.sheet,
            row=None,
            column=one.column if isinstance(one, SetCell) else "",
            found=one.new[:_SHOWN] if isinstance(one, SetCell) else "",
            allowed="new rows: those that are there stay as they were recorded",
            mend="Add a row that puts it right",
        )
        for one in edits
        if one.sheet in GROWS_ONLY
        and not isinstance(one, AddRow)
        and not (isinstance(one, DropRow) and one.sheet in WORKED_OUT)
    )


def _answer(edited: Edited, answer: Response) -> dict[str, Any]:
    if edited.problems:
        answer.status_code = 422
    elif edited.conflicts:
        answer.status_code = 409
    problem = ("sheet", "row", "column", "found", "allowed", "mend")
    conflict = ("sheet", "row_key", "column", "was", "yours", "theirs")
    return {
        "revision": edited.revision,
        "refused": [{name: getattr(one, name) for name in problem} for one in edited.problems],
        "conflicts": [{name: getattr(one, name) for name in conflict} for one in edited.conflicts],
    }
