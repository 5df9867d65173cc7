"""What stands in one sheet of a job, as flat rows of typed values?

Figures are figures, yes and no are yes and no; lists, settings, joins and conditions are text as the sheet has it. A
reading that is a word (`full`, `dim`) stands beside its column, in a column of its own that ends with `_word`. Columns
and sheets of the job's own are text.

Filled, the cells that were decided, or taken from what was built, hold their values, and the column `filled` names
them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from loomwright.handover.plain_rows import Columns, Plain, Rows, listed
from loomwright.job.cells import write_cell
from loomwright.job.columns import Column, field_name
from loomwright.job.job import Job
from loomwright.job.row import Row
from loomwright.job.schema import SHEETS, columns, rows_of
from loomwright.refusals import OutOfReach

__all__ = ["FILLED", "WORD", "filled_rows", "sheet_rows"]

FILLED = "filled"
"""Heading of the column that names the cells of a row that the sheet leaves blank."""

WORD = "_word"
"""What the heading ends with under which the word of a reading stands."""

_TYPES: Mapping[str, type] = {"number": float, "count": int, "yes_no": bool, "value": float}


def sheet_rows(job: Job, sheet: str) -> Rows:
    """One sheet as it is typed.

    Args:
        sheet: one of the contract, or one of the job's own.
    Raises:
        OutOfReach: the job has no such sheet.
    """
    if sheet in SHEETS:
        headings = _headings(job, sheet)
        return Rows(headings, [tuple(_cells(sheet, row, headings)) for row in rows_of(job, sheet)])
    if sheet in job.extra_sheets:
        own = job.extra_sheets[sheet]
        names = list(dict.fromkeys(name for row in own for name in row))
        return Rows(dict.fromkeys(names, str), [[row.get(name, "") for name in names] for row in own])
    raise OutOfReach("sheet", sheet, " ".join([*SHEETS, *job.extra_sheets]))


def filled_rows(job: Job, filled: Job, sheet: str) -> Rows:
    """One sheet with what was decided in its blank cells, and which cells those are.

    Args:
        job: as the sheets have it.
        filled: the same job with its decisions filled in (`job.decided.with_decided`).
        sheet: one of the contract.
    Raises:
        OutOfReach: the contract has no such sheet.
    """
    if sheet not in SHEETS:
        raise OutOfReach("sheet", sheet, " ".join(SHEETS))
    headings = {name: kind for name, kind in _headings(job, sheet).items() if name != FILLED}
    pairs = zip(rows_of(job, sheet), rows_of(filled, sheet), strict=True)
    cells = [(*_cells(sheet, full, headings), listed(_marks(sheet, typed, full))) for typed, full in pairs]
    return Rows({**headings, FILLED: str}, cells)


def _headings(job: Job, sheet: str) -> Columns:
    found: dict[str, type] = {}
    for column in columns(sheet):
        found[column.name] = _TYPES.get(column.kind, str)
        if column.kind == "value":
            found[column.name + WORD] = str
    own = dict.fromkeys(name for row in rows_of(job, sheet) for name in row.extra)
    return {**found, **dict.fromkeys(own, str)}


def _cells(sheet: str, row: Row, headings: Columns) -> Iterator[Plain]:
    known = {column.name: column for column in columns(sheet)}
    for name in headings:
        column = known.get(name)
        if column is not None:
            yield _plain(column, _value(sheet, row, column))
        elif name in row.extra or name.removesuffix(WORD) not in known:
            yield row.extra.get(name, "")
        else:
            word = _value(sheet, row, known[name.removesuffix(WORD)])
            yield word if isinstance(word, str) else ""


def _plain(column: Column, value: object) -> Plain:
    if column.kind in _TYPES:
        return value if isinstance(value, bool | int | float) else None
    return value if isinstance(value, str) else write_cell(column, value)


def _marks(sheet: str, typed: Row, full: Row) -> Iterator[str]:
    """The headings under which the two rows differ, a setting by its own name."""
    for column in columns(sheet):
        before, after = _value(sheet, typed, column), _value(sheet, full, column)
        if isinstance(before, Mapping) and isinstance(after, Mapping):
            yield from (f"{column.name}.{name}" for name in after if after[name] != before.get(name))
        elif before != after:
            yield column.name


def _value(sheet: str, row: Row, column: Column) -> object:
    return getattr(row, field_name(SHEETS[sheet], column.name))
