"""What may a grid know about the columns of a sheet, and which sheets take rows but no changes?

The columns of the contract come first, in its order; those of the job's own follow in the order they are met.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from loomwright.job.columns import Column
from loomwright.job.schema import RECORDS, SHEETS, column_help, columns, sheet_help
from loomwright.job.vocabulary import allowed_words
from loomwright.refusals import OutOfReach
from loomwright.store.snapshot import Snapshot
from loomwright.store.text_rows import StoredRow

__all__ = ["GROWS_ONLY", "WORKED_OUT", "GridColumn", "columns_in", "help_of", "rows_in"]

GROWS_ONLY = (*RECORDS, "readings")
"""Sheets whose rows stay as they were recorded; a row that puts another right is added."""

WORKED_OUT = ("decisions", "reasons")
"""Of these, the sheets that the tool alone writes."""

_FIGURES = ("number", "count")
_PROSE = ("text", "settings", "condition", "must")
_WORDS_OF_PEOPLE = ("name", "notes", "note", "text", "answer", "why", "reason", "who", "value", "does", "measure")
_FIELD = re.compile(r"(?<=[a-z])_(?=\W)")
_OWN = "a column of the job's own; nothing is worked out from it"


@dataclass(frozen=True, slots=True, kw_only=True)
class GridColumn:
    """One column. kind: how a cell is read.   allowed: words that may stand there; `only` these, or any text.

    refers: sheets whose ids may stand there.   set_as: figure, words or code: how its cells are printed.
    """

    name: str
    kind: str
    help: str
    unit: str = ""
    required: bool = False
    allowed: tuple[str, ...] = ()
    only: bool = False
    refers: tuple[str, ...] = ()
    set_as: str = "words"


def columns_in(sheet: str, rows: Sequence[StoredRow]) -> tuple[GridColumn, ...]:
    """The columns of a sheet as it stands, those of the job's own last."""
    own = _of_contract(sheet) if sheet in SHEETS else ()
    met: dict[str, None] = {}
    for row in rows:
        met.update(dict.fromkeys(row.cells))
    known = {column.name for column in own}
    return (*own, *(GridColumn(name=name, kind="text", help=_OWN) for name in met if name not in known))


def rows_in(snapshot: Snapshot, sheet: str) -> tuple[StoredRow, ...]:
    """The rows of a sheet.

    Raises:
        OutOfReach: neither the contract nor the job has such a sheet.
    """
    if sheet not in SHEETS and sheet not in snapshot.rows:
        raise OutOfReach("sheet", sheet, " ".join(dict.fromkeys((*SHEETS, *snapshot.rows))))
    return snapshot.rows.get(sheet, ())


def help_of(sheet: str) -> str:
    """What a row of a sheet is, in a sentence."""
    # the headings stand without the underscore that a field of the row type may need
    return (
        _FIELD.sub("", sheet_help(sheet))
        if sheet in SHEETS
        else "A sheet of the job's own; it is kept and nothing is read from it."
    )


@cache
def _of_contract(sheet: str) -> tuple[GridColumn, ...]:
    return tuple(_column(sheet, column) for column in columns(sheet))


def _column(sheet: str, column: Column) -> GridColumn:
    return GridColumn(
        name=column.name,
        kind=column.kind,
        help=column_help(sheet, column.name),
        unit=column.unit,
        required=column.required,
        allowed=allowed_words(column),
        only=column.kind == "word",
        refers=column.refers,
        set_as=_set_as(column),
    )


def _set_as(column: Column) -> str:
    if column.kind in _FIGURES:
        return "figure"
    return "words" if column.kind in _PROSE and column.name in _WORDS_OF_PEOPLE else "code"
