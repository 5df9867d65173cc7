"""What is the job at one revision, and which rows do not fit it yet?

A snapshot is one state of a stored job that nobody can change: rows of text, and the typed job made of them when it is
first asked for. Reading again after an edit touches only the rows that are new. Rows without a name are not of the job
yet; a job whose rows do not fit each other is none until they do, and says what stands in the way.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from threading import Lock
from typing import Any

from loomwright.job.fixed_map import FixedMap
from loomwright.job.job import Job
from loomwright.job.reading import problems_of
from loomwright.job.row import Row
from loomwright.job.schema import SHEETS, columns
from loomwright.job.taking import FIRST_ROW, take_sheet
from loomwright.job.writing import text_from_job
from loomwright.refusals import Problem
from loomwright.store.text_rows import SheetRows, StoredRow

__all__ = ["Snapshot", "TakenRow", "numbered_rows", "snapshot_after"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenRow:
    """A row of text and what was read from it. typed: None where it is blank or has no name yet."""

    stored: StoredRow
    typed: Row | None
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, kw_only=True, eq=False)
class Snapshot:
    """One revision of a stored job.

    revision: its number. [-]   rows: sheet -> rows in order.   earlier: rows already read, by sheet and key.
    """

    name: str
    revision: int
    rows: SheetRows
    earlier: Mapping[str, Mapping[int, TakenRow]] = field(default_factory=dict, repr=False)
    _lock: Any = field(default_factory=Lock, repr=False)

    @cached_property
    def taken(self) -> Mapping[str, Mapping[int, TakenRow]]:
        """Every row read, sheet -> key -> row; those an earlier snapshot has read already are not read again."""
        with self._lock:
            return {sheet: self._taken(sheet, rows) for sheet, rows in self.rows.items() if sheet in SHEETS}

    @cached_property
    def problems(self) -> tuple[Problem, ...]:
        """What stands in the way of a job; rows are numbered as in a spreadsheet."""
        own = [
            replace(problem, row=FIRST_ROW + place)
            for sheet, rows in self.taken.items()
            for place, row in enumerate(rows.values())
            for problem in row.problems
        ]
        return tuple(own) if own else self._told(problems_of(self._half_made))

    @cached_property
    def job(self) -> Job | None:
        """The job, None as long as its rows do not fit each other."""
        return None if self.problems else self._half_made

    @cached_property
    def _half_made(self) -> Job:
        """The rows as a job, whether or not they fit."""
        fields: dict[str, Any] = {
            sheet: tuple(row.typed for row in rows.values() if row.typed is not None)
            for sheet, rows in self.taken.items()
        }
        extra = {
            sheet: tuple(row.cells for row in rows if row.cells)
            for sheet, rows in self.rows.items()
            if sheet not in SHEETS and rows
        }
        return Job(**fields, extra_sheets=FixedMap(extra))

    @property
    def as_written(self) -> Job:
        """The rows that can be read as a job, whether or not they fit each other: for what is only counted."""
        return self._half_made

    def row(self, sheet: str, key: int) -> StoredRow | None:
        """The row with that number, None where it is not there."""
        return next((row for row in self.rows.get(sheet, ()) if row.key == key), None)

    def key_at(self, sheet: str, number: int) -> int | None:
        """The number of its own of the row that a problem names by its place in the sheet. [-]"""
        rows = self.rows.get(sheet, ())
        return rows[number - FIRST_ROW].key if FIRST_ROW <= number < FIRST_ROW + len(rows) else None

    def _taken(self, sheet: str, rows: tuple[StoredRow, ...]) -> Mapping[int, TakenRow]:
        known = self.earlier.get(sheet, {})
        found = {}
        for row in rows:
            old = known.get(row.key)
            found[row.key] = old if old is not None and old.stored is row else _take(sheet, row)
        return found

    def _told(self, problems: tuple[Problem, ...]) -> tuple[Problem, ...]:
        """Problems of the job with the row numbers of the sheets, rows that are not of the job counted."""
        places = {
            sheet: [place for place, row in enumerate(rows.values()) if row.typed is not None]
            for sheet, rows in self.taken.items()
        }
        told = []
        for problem in problems:
            of_job = None if problem.row is None else problem.row - FIRST_ROW
            sheet = places.get(problem.sheet, [])
            if of_job is not None and 0 <= of_job < len(sheet):
                told.append(replace(problem, row=FIRST_ROW + sheet[of_job]))
            else:
                told.append(problem)
        return tuple(told)


def snapshot_after(earlier: Snapshot, rows: SheetRows, revision: int) -> Snapshot:
    """The next revision of a job, knowing what the earlier one has read."""
    read = earlier.__dict__.get("taken", earlier.earlier)
    return Snapshot(name=earlier.name, revision=revision, rows=rows, earlier=read)


def _take(sheet: str, row: StoredRow) -> TakenRow:
    if not row.cells or _has_no_name(sheet, row):
        return TakenRow(stored=row, typed=None)
    taken = take_sheet(sheet, [_with_required(sheet, row)])
    typed = taken.rows[0] if taken.rows else None
    return TakenRow(stored=row, typed=typed, problems=taken.problems)


def _has_no_name(sheet: str, row: StoredRow) -> bool:
    """Whether a cell that names the row, or that the row is nothing without, is still blank."""
    return any(column.required and not row.cells.get(column.name, "").strip() for column in columns(sheet))


def _with_required(sheet: str, row: StoredRow) -> Mapping[str, str]:
    """The cells with every required heading there."""
    return {column.name: row.cells.get(column.name, "") for column in columns(sheet) if column.required} | dict(
        row.cells
    )


def numbered_rows(job: Job) -> tuple[SheetRows, int]:
    """The rows of a job, each with a number of its own, and the next number. [-]"""
    key = 1
    sheets: dict[str, tuple[StoredRow, ...]] = {}
    for sheet, lines in text_from_job(job).items():
        found = []
        for cells in lines:
            found.append(StoredRow(key=key, cells=FixedMap({name: text for name, text in cells.items() if text})))
            key += 1
        sheets[sheet] = tuple(found)
    return sheets, key
