"""What does a mend change in the sheets, cell by cell and row by row?

An edit of a mend sets a cell or adds a row; none takes a row out. Which cells may be set is a short list: where the
ends of a wire are, how thick and how long it is, and what the settings of a part say. So no mend can take out a part
or a load, write over a requirement, switch a rule off or change a drive, whatever its idea was.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from loomwright.job.cells import write_cell
from loomwright.job.columns import field_name
from loomwright.job.edits import add_row, find_row, set_cell
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.schema import SHEETS, column_of, rows_of
from loomwright.refusals import OutOfReach

__all__ = ["AddedRow", "ChangedCell", "Edit", "applied", "cell_text", "edits_plain", "is_allowed"]

_CELLS = {"wires": ("from", "to", "size_mm2", "length_mm"), "parts": ("settings",)}
_ROWS = ("parts", "wires")


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedCell:
    """A cell typed anew. row: the id in its sheet.   old, new: the text of the cell before and after."""

    sheet: str
    row: str
    column: str
    old: str
    new: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AddedRow:
    """A new row. cells: column -> text."""

    sheet: str
    cells: Mapping[str, str]

    @property
    def row(self) -> str:
        """The id of the new row."""
        return self.cells.get("id", "")


Edit = ChangedCell | AddedRow


def is_allowed(edits: Sequence[Edit]) -> bool:
    """Whether a mend may make these edits.

    Example:
        >>> is_allowed([ChangedCell(sheet="drives", row="pump", column="when", old="always", new="engine=running")])
        False
    """
    return all(
        edit.sheet in _ROWS if isinstance(edit, AddedRow) else edit.column in _CELLS.get(edit.sheet, ())
        for edit in edits
    )


def applied(job: Job, edits: Sequence[Edit]) -> Job:
    """The job with the edits made.

    Raises:
        OutOfReach: an edit that no mend may make, or a row that is not there.
        BadDocument: a text that cannot stand in its cell.
    """
    if not is_allowed(edits):
        raise OutOfReach("edits of a mend", edits, "ends, sizes and lengths of wires, settings of parts, added rows")
    for edit in edits:
        if isinstance(edit, AddedRow):
            job = add_row(job, edit.sheet, edit.cells)
        else:
            job = set_cell(job, edit.sheet, edit.row, edit.column, edit.new)
    return job


def cell_text(job: Job, sheet: str, row: str, column: str) -> str:
    """What stands in a cell, as it was typed.

    Raises:
        OutOfReach: no such row.
    """
    found = rows_of(job, sheet)[find_row(job, sheet, row)]
    if column in found.written:
        return str(found.written[column])
    value: Any = getattr(found, field_name(SHEETS[sheet], column))
    return write_cell(column_of(sheet, column), value)


def edits_plain(edits: Sequence[Edit]) -> list[dict[str, Any]]:
    """The edits as plain lists and words: row, column, old and new, or the cells of a new row."""
    return [
        {"do": "add", "sheet": edit.sheet, "row": edit.row, "cells": dict(FixedMap(edit.cells))}
        if isinstance(edit, AddedRow)
        else {
            "do": "set",
            "sheet": edit.sheet,
            "row": edit.row,
            "column": edit.column,
            "old": edit.old,
            "new": edit.new,
        }
        for edit in edits
    ]
