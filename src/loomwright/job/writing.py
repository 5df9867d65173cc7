"""How does a job stand in its sheets? The way back from `reading`, without loss.

Every column of the contract is written, then the columns the job brought along. A cell that was typed in another form
(`16 AWG`) is given back as typed as long as it still means what the row says; after an edit the new value is written.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from operator import attrgetter

from loomwright.job.cells import read_cell, write_cell
from loomwright.job.cells_read import all_looked_at
from loomwright.job.columns import Column, columns_of, field_name
from loomwright.job.job import Job
from loomwright.job.row import Row
from loomwright.job.schema import SHEETS, rows_of
from loomwright.refusals import OutOfReach

__all__ = ["text_from_job", "text_of_row", "texts_of_rows"]


def text_from_job(job: Job) -> Mapping[str, list[dict[str, str]]]:
    """The sheets of a job as text: sheet -> rows, heading -> text; sheets without a row are left out.

    Reading what comes out gives an equal job.
    """
    sheets = {sheet: list(texts_of_rows(sheet, rows_of(job, sheet))) for sheet in SHEETS}
    given_back = {name: [dict(row) for row in rows] for name, rows in job.extra_sheets.items()}
    return {name: rows for name, rows in (sheets | given_back).items() if rows}


def text_of_row(sheet: str, row: Row, but: frozenset[str] = frozenset()) -> dict[str, str]:
    """One row as text, heading -> text, the contract's columns first.

    Args:
        but: headings that are left out and not looked at.
    """
    return next(texts_of_rows(sheet, (row,), but))


def texts_of_rows(sheet: str, rows: Iterable[Row], but: frozenset[str] = frozenset()) -> Iterator[dict[str, str]]:
    """Rows of a sheet as text, each heading -> text, the contract's columns first.

    Args:
        but: headings that are left out and not looked at.
    """
    known, names = _columns_and_names(sheet, but)
    read = attrgetter(*names)
    for row in all_looked_at(rows, names):
        written, extra, *values = read(row)
        cells = {
            column.name: "" if value is None or value == "" else write_cell(column, value)
            for column, value in zip(known, values, strict=True)
        }
        if written:
            for column, value in zip(known, values, strict=True):
                typed = written.get(column.name)
                if typed is not None and _still_means(column, typed, value):
                    cells[column.name] = typed
        yield cells | {name: text for name, text in extra.items() if name not in but} if extra else cells


@cache
def _columns_and_names(sheet: str, but: frozenset[str]) -> tuple[tuple[Column, ...], tuple[str, ...]]:
    """The columns of a sheet, and what a row calls all that is written: the rest first, then those."""
    row_type = SHEETS[sheet]
    known = tuple(column for column in columns_of(row_type) if column.name not in but)
    return known, ("written", "extra", *(field_name(row_type, column.name) for column in known))


def _still_means(column: Column, typed: str, value: object) -> bool:
    """Whether the typed text still reads as the value, decimal commas in settings read as points."""
    try:
        read = read_cell(column, typed)
    except OutOfReach:
        return False
    if column.kind == "settings" and isinstance(value, Mapping):
        pairs = ((text, value.get(name)) for name, text in read.items())
        return list(read) == list(value) and all(kept in (text, text.replace(",", ".")) for text, kept in pairs)
    return bool(read == value)
