"""How does a form of one row become an edit, and what of it comes back?

In: what a form sent. Out: an edit that was taken, or a `Returned` with every reason. Cells nobody touched are not sent
on, so that two people in different cells of one row do not meet. Nothing goes past the shelf.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Annotated

from fastapi import Depends, Request

from loomwright.job.taking import FIRST_ROW
from loomwright.pages.desk import Desk
from loomwright.pages.records.entry_form import Returned
from loomwright.refusals import BadDocument, Problem
from loomwright.store.shelf import Edited
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import AddRow, DropRow, Edit, SetCell

__all__ = [
    "TypedForm",
    "add_row",
    "drop_row",
    "free_id",
    "keep_entry",
    "read_form",
    "returned_of",
    "set_cells",
    "typed_form",
]

_MOST_BYTES = 256 * 1024
_MOST_FIELDS = 120
_CONFLICT = 409
_REFUSED = 422
_QUICKER = "Somebody else was quicker. Nothing of yours was taken yet: see theirs beside the field."
_GONE = "Somebody else took this row out meanwhile. What you typed stands here; add it anew if it is still wanted."
_NOT_LETTERS = re.compile(r"[^a-z0-9]+")
_LONGEST_ID = 24


async def typed_form(request: Request) -> Mapping[str, str]:
    """What a form sent, its texts with blanks cut off at their ends.

    Raises:
        BadDocument: more than a form of ours can hold.
    """
    return await read_form(request, _MOST_FIELDS)


async def read_form(request: Request, most_fields: int) -> Mapping[str, str]:
    """What a form of so many fields sent; as `typed_form`.

    Args:
        most_fields: it may have. [-]
    """
    length = request.headers.get("content-length", "")
    if not length.isdecimal() or int(length) > _MOST_BYTES:
        raise _too_much()
    async with request.form(max_files=0, max_fields=most_fields) as form:
        return {name: text.replace("\r\n", "\n").strip() for name, text in form.items() if isinstance(text, str)}


TypedForm = Annotated[Mapping[str, str], Depends(typed_form)]


def add_row(
    desk: Desk, job: str, sheet: str, typed: Mapping[str, str], names: Iterable[str], *, form: str, record: bool = False
) -> Returned | None:
    """Add a row of what was typed; None where it was taken.

    Args:
        names: the columns a form of it asks for.
        form: the id of the form.
        record: the sheet only grows.
    """
    cells = {name: typed.get(name, "") for name in names if typed.get(name, "")}
    token = typed.get("token", "")
    kind = "record" if record else "edit"
    edits = [AddRow(sheet=sheet, cells=cells)]
    edited = desk.shelf.edit(job, edits, who=desk.who, why=f"added to {sheet}", token=token, kind=kind)
    return None if edited.is_taken else returned_of(edited, typed, form=form)


def set_cells(
    desk: Desk, job: str, sheet: str, key: int, typed: Mapping[str, str], names: Iterable[str], *, form: str
) -> Returned | None:
    """Change the cells of a row that somebody touched; None where it was taken.

    Args:
        key: the row's own number. [-]
        names: the columns a form of it asks for.
        form: the id of the form.
    """
    edits: list[Edit] = [
        SetCell(sheet=sheet, row_key=key, column=name, old=typed.get(f"was.{name}", ""), new=typed[name])
        for name in names
        if name in typed and typed[name] != typed.get(f"was.{name}", "")
    ]
    if not edits:
        return None
    edited = desk.shelf.edit(job, edits, who=desk.who, why=f"changed in {sheet}", token=typed.get("token", ""))
    return None if edited.is_taken else returned_of(edited, typed, form=form)


def drop_row(
    desk: Desk, job: str, sheet: str, key: int, typed: Mapping[str, str], names: Iterable[str], *, form: str
) -> Returned | None:
    """Take a row out, unless somebody changed it since it was looked at; None where it was taken.

    Args:
        key: the row's own number. [-]
        names: the columns a form of it asks for.
        form: the id of the form.
    """
    row = desk.shelf.now(job).row(sheet, key)
    if row is None:
        return None
    theirs = {
        name: row.cells.get(name, "") for name in names if row.cells.get(name, "") != typed.get(f"was.{name}", "")
    }
    if theirs:
        return Returned(form=form, typed=typed, theirs=theirs, says=_QUICKER, status=_CONFLICT)
    edits = [DropRow(sheet=sheet, row_key=key)]
    edited = desk.shelf.edit(job, edits, who=desk.who, why=f"taken out of {sheet}", token=typed.get("token", ""))
    return None if edited.is_taken else returned_of(edited, typed, form=form)


def keep_entry(
    desk: Desk, job: str, sheet: str, typed: Mapping[str, str], names: Sequence[str], *, begin: str, nothing: str
) -> tuple[Returned | None, str]:
    """Write a row down, change one, or take it out; what the form is given back, or where on its page the row is.

    Args:
        names: of the columns that may be typed.
        begin: letter of a new row's id; of the place of one that is there, in small.
        nothing: said where its text is empty.
    """
    row = typed.get("row", "")
    if not typed.get("text"):
        return Returned(form=f"{sheet}-{row or 'new'}", typed=typed, told={"text": nothing}), ""
    if not row.isdecimal():
        named = {**typed, "id": free_id(desk.shelf.now(job), sheet, begin)}
        return add_row(desk, job, sheet, named, names, form=f"{sheet}-new"), named["id"]
    change = drop_row if typed.get("do") == "drop" else set_cells
    mine = [name for name in names if name != "id"]
    return change(desk, job, sheet, int(row), typed, mine, form=f"{sheet}-{row}"), f"{begin.lower()}{row}"


def returned_of(edited: Edited, typed: Mapping[str, str], *, form: str) -> Returned:
    """Why an edit was not taken, field by field.

    Args:
        form: the id of the form.
    """
    if edited.conflicts:
        gone = any(one.theirs is None for one in edited.conflicts)
        theirs = {one.column: one.theirs for one in edited.conflicts if one.theirs is not None}
        return Returned(form=form, typed=typed, theirs=theirs, says=_GONE if gone else _QUICKER, status=_CONFLICT)
    return Returned(form=form, typed=typed, told={one.column: _words(one) for one in edited.problems}, status=_REFUSED)


def free_id(snapshot: Snapshot, sheet: str, begin: str) -> str:
    """A name that no row of a sheet has yet: `S` and a number, or words made into a name.

    Args:
        begin: a letter, to be followed by the next number, or words.
    """
    taken = {row.cells.get("id", "").lower() for row in snapshot.rows.get(sheet, ())}
    if len(begin) == 1:
        numbered = (f"{begin}{number}" for number in range(1, len(taken) + FIRST_ROW))
        return next(name for name in numbered if name.lower() not in taken)
    plain = _NOT_LETTERS.sub("_", begin.lower()).strip("_")[:_LONGEST_ID].strip("_") or sheet
    more = (f"{plain}_{number}" for number in range(2, len(taken) + FIRST_ROW))
    return plain if plain not in taken else next(name for name in more if name not in taken)


def _words(problem: Problem) -> str:
    """What may stand there and the mend, as it is told beside a field."""
    mend = f" {problem.mend.rstrip('.')}." if problem.mend else ""
    return f"It may be: {problem.allowed}.{mend}"


def _too_much() -> BadDocument:
    problem = Problem(
        sheet="",
        row=None,
        column="",
        found="a form that is too long",
        allowed=f"at most {_MOST_BYTES // 1024} KB",
        mend="Shorten the text",
    )
    return BadDocument((problem,))
