"""What does the job look like after a change? Every edit takes a job and gives a new one.

Cells come in as typed text and are read as in a sheet, so an edit is refused for the same reasons and in the same
words. What an edit does to the rest of the job (an id that is now named by nobody's row) is asked afterwards with
`reading.problems_of`; that is cheap, and lets several edits go together before anything is judged.

A row is named by its name (`W12`; for a sheet with several key columns their texts with blanks between) or by its
number, the first row below the heading being 2.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields, replace
from functools import lru_cache
from typing import Any, cast

from loomwright.job.cells import CellFault, figure_with_point, read_cell, write_cell
from loomwright.job.columns import Column, field_name
from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.row import Row
from loomwright.job.rows import Part
from loomwright.job.schema import SHEETS, column_of, headings, row_key, rows_of
from loomwright.job.taking import FIRST_ROW, take_sheet
from loomwright.refusals import BadDocument, OutOfReach, Problem

__all__ = [
    "RowName",
    "add_row",
    "add_rows",
    "drop_row",
    "find_row",
    "put_row",
    "set_cell",
    "set_setting",
]

RowName = str | int
"""A row by its name, or by its number in the spreadsheet."""


def find_row(job: Job, sheet: str, row: RowName) -> int:
    """The index of a row in its sheet, from 0. [-]

    Raises:
        OutOfReach: no such sheet or row.
    """
    rows = rows_of(job, sheet)
    if isinstance(row, int):
        if FIRST_ROW <= row < FIRST_ROW + len(rows):
            return row - FIRST_ROW
        raise OutOfReach(
            f"row of sheet {sheet}", row, f"{FIRST_ROW} to {FIRST_ROW + len(rows) - 1}" if rows else "no rows"
        )
    for index, each in enumerate(rows):
        key = row_key(sheet, each)
        if key and " ".join(word for word in key if word) == row:
            return index
    raise OutOfReach(f"row of sheet {sheet}", row, "the name of a row that is there")


def set_cell(job: Job, sheet: str, row: RowName, column: str, text: str) -> Job:
    """The job with one cell typed anew; blank clears it. A column the contract does not know is kept as text.

    Raises:
        OutOfReach: no such sheet or row.
        BadDocument: the text cannot stand in that column.
    Example:
        >>> job = add_row(Job(), "wires", {"id": "W1"})
        >>> set_cell(job, "wires", "W1", "size_mm2", "16 AWG").wires[0].written["size_mm2"]
        '16 AWG'
    """
    index = find_row(job, sheet, row)
    old = rows_of(job, sheet)[index]
    if column not in headings(sheet):
        return put_row(job, sheet, index + FIRST_ROW, replace(old, extra=FixedMap({**old.extra, column: text})))
    facts = column_of(sheet, column)
    value, kept = _typed(sheet, index + FIRST_ROW, facts, text)
    written = {name: typed for name, typed in old.written.items() if name != column}
    if kept:
        written[column] = kept
    changed: dict[str, Any] = {field_name(SHEETS[sheet], column): value, "written": FixedMap(written)}
    return put_row(job, sheet, index + FIRST_ROW, replace(old, **changed))


def add_row(job: Job, sheet: str, cells: Mapping[str, str], *, before: RowName | None = None) -> Job:
    """The job with one more row, at the end of its sheet or before another row.

    Raises:
        OutOfReach: no such sheet, or no row to stand before.
        BadDocument: a cell that cannot be read, or a required one that is blank; all of them are listed.
    """
    rows = rows_of(job, sheet)
    place = len(rows) if before is None else find_row(job, sheet, before)
    taken = take_sheet(sheet, [cells])
    problems = [replace(problem, row=FIRST_ROW + place) for problem in taken.problems]
    missing = [column.name for column in _required(sheet) if not taken.rows and not problems]
    problems += [
        Problem(sheet=sheet, row=FIRST_ROW + place, column=name, found="", allowed="not blank", mend="Fill the cell")
        for name in missing
    ]
    if problems or not taken.rows:
        raise BadDocument(tuple(problems))
    return _with_rows(job, sheet, (*rows[:place], _pointed(sheet, FIRST_ROW + place, taken.rows[0]), *rows[place:]))


def add_rows(job: Job, made: Iterable[tuple[str, Mapping[str, str]]]) -> Job:
    """The job with more rows, each at the end of its sheet. A row of the same cells is read once and for all.

    Args:
        made: sheet and cells of each.
    Raises:
        OutOfReach: no such sheet.
        BadDocument: a cell that cannot be read, or a required one that is blank, of the first row that has one.
    """
    more: dict[str, list[Row]] = {}
    for sheet, cells in made:
        row = _row_read(sheet, tuple(cells.items())) if sheet in SHEETS else None
        if row is None:
            so_far = tuple(more.get(sheet, ()))
            add_row(_with_rows(job, sheet, rows_of(job, sheet) + so_far) if so_far else job, sheet, cells)
        else:
            more.setdefault(sheet, []).append(row)
    changed: dict[str, Any] = {sheet: (*rows_of(job, sheet), *rows) for sheet, rows in more.items()}
    return replace(job, **changed)


@lru_cache(maxsize=4096)
def _row_read(sheet: str, cells: tuple[tuple[str, str], ...]) -> Row | None:
    """A row as it is read anywhere; None where it cannot be."""
    taken = take_sheet(sheet, [dict(cells)])
    return None if taken.problems or not taken.rows else _pointed(sheet, FIRST_ROW, taken.rows[0])


def drop_row(job: Job, sheet: str, row: RowName) -> Job:
    """The job without one row.

    Raises:
        OutOfReach: no such sheet or row.
    """
    index = find_row(job, sheet, row)
    rows = rows_of(job, sheet)
    return _with_rows(job, sheet, rows[:index] + rows[index + 1 :])


def put_row(job: Job, sheet: str, row: RowName, new: Row) -> Job:
    """The job with one row replaced by another of the same sheet.

    Raises:
        OutOfReach: no such sheet or row, or the new row belongs to another sheet.
    """
    index = find_row(job, sheet, row)
    if not isinstance(new, SHEETS[sheet]):
        raise OutOfReach(f"row of sheet {sheet}", type(new).__name__, SHEETS[sheet].__name__)
    rows = rows_of(job, sheet)
    return _with_rows(job, sheet, (*rows[:index], new, *rows[index + 1 :]))


def set_setting(job: Job, part: str, name: str, value: str) -> Job:
    """The job with one setting of a part changed; blank takes it out, so that the kind's own stands."""
    index = find_row(job, "parts", part)
    old = job.parts[index]
    settings = {**old.settings, name: figure_with_point(name, value.strip())}
    kept = {each: text for each, text in settings.items() if text}
    written = {column: text for column, text in old.written.items() if column != "settings"}
    return put_row(job, "parts", FIRST_ROW + index, replace(old, settings=FixedMap(kept), written=FixedMap(written)))


def _with_rows(job: Job, sheet: str, rows: tuple[Row, ...]) -> Job:
    changed: dict[str, Any] = {sheet: rows}
    return replace(job, **changed)


def _required(sheet: str) -> tuple[Column, ...]:
    return tuple(column for column in (column_of(sheet, name) for name in headings(sheet)) if column.required)


def _typed(sheet: str, number: int, column: Column, text: str) -> tuple[Any, str]:
    """The value of a cell typed anew, and the text to keep beside it where that differs."""
    if not text or text.isspace():
        if column.required:
            blank = Problem(
                sheet=sheet,
                row=number,
                column=column.name,
                found="",
                allowed=column.help,
                mend="Fill the cell, or drop the row",
            )
            raise BadDocument((blank,))
        return column.blank, ""
    try:
        value = read_cell(column, text)
        if column.kind == "settings":
            value = FixedMap({name: figure_with_point(name, each) for name, each in value.items()})
    except CellFault as fault:
        refused = Problem(
            sheet=sheet, row=number, column=column.name, found=str(fault.found), allowed=fault.allowed, mend=fault.mend
        )
        raise BadDocument((refused,)) from None
    return value, "" if write_cell(column, value) == text else text


def _pointed(sheet: str, number: int, row: Row) -> Row:
    """A row just read with the decimal commas of its settings as points."""
    if "settings" not in {each.name for each in fields(row)}:
        return row
    text = row.written.get("settings", write_cell(column_of(sheet, "settings"), cast(Part, row).settings))
    value, kept = _typed(sheet, number, column_of(sheet, "settings"), text)
    written = {**row.written, **({"settings": kept} if kept else {})}
    changed: dict[str, Any] = {"settings": value, "written": FixedMap(written)}
    return replace(row, **changed)
