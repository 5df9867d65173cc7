"""What do the rows of one sheet hold, and what in them cannot be read?

Text rows in, typed rows out, with the row numbers a spreadsheet shows (the heading is row 1) and every problem found.
A cell that cannot be read is told and counts as blank, so that the rest of its row is still looked at. Blank rows are
passed over but keep their number. Headings are read in any mixture of capitals, with blanks or `-` for `_`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from loomwright.job.cells import CellFault, read_cell, write_cell
from loomwright.job.columns import Column, columns_of, field_name
from loomwright.job.conditions import Must
from loomwright.job.fixed_map import NOTHING, FixedMap
from loomwright.job.nearest import nearest
from loomwright.job.row import Row
from loomwright.job.schema import SHEETS, headings
from loomwright.refusals import Problem

__all__ = ["FIRST_ROW", "MOST_ROWS", "TakenSheet", "TextRow", "is_blank", "plain_heading", "take_sheet"]

TextRow = Mapping[str, str]

MOST_ROWS = 20_000
"""Rows a sheet may have [-]; a loom of ten thousand wires fits twice."""

FIRST_ROW = 2
"""Number of the first row below the heading, as a spreadsheet counts. [-]"""

_UNREAD_MUST = Must(kind="live", text="")


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenSheet:
    """One sheet as it was read.

    rows: typed rows, blank ones left out.   numbers: their numbers in the spreadsheet. [-]
    problems: what could not be read.
    whole: False where rows, or a column that must be there, could not be had, so that not all ids are known.
    """

    rows: tuple[Row, ...]
    numbers: tuple[int, ...]
    problems: tuple[Problem, ...]
    whole: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class _Source:
    """Where the cells of a column come from: the heading as it stands in the sheet, None where it is not there."""

    column: Column
    field: str
    heading: str | None


def is_blank(row: TextRow) -> bool:
    """Whether nothing is written in a row."""
    return not any(text and not text.isspace() for text in row.values())


def plain_heading(text: str) -> str:
    """A heading in its usual form.

    Example:
        >>> plain_heading(" Size mm2 ")
        'size_mm2'
    """
    return text.strip().lower().replace(" ", "_").replace("-", "_")


def take_sheet(sheet: str, text_rows: Sequence[TextRow]) -> TakenSheet:
    """The typed rows of a sheet of the contract, and every problem in it."""
    numbered = [(number, row) for number, row in enumerate(text_rows, start=FIRST_ROW) if not is_blank(row)]
    if len(numbered) > MOST_ROWS:
        return TakenSheet(rows=(), numbers=(), problems=(_too_many(sheet, len(numbered)),), whole=False)
    seen = dict.fromkeys(heading for _, row in numbered for heading in row)
    sources, problems = _sources(sheet, list(seen))
    known = {source.heading for source in sources}
    extra = [heading for heading in seen if heading not in known]
    rows = [_row(sheet, number, row, sources, extra, problems) for number, row in numbered]
    missing = bool(numbered) and any(source.heading is None and source.column.required for source in sources)
    return TakenSheet(
        rows=tuple(rows),
        numbers=tuple(number for number, _ in numbered),
        problems=tuple(problems),
        whole=not missing,
    )


def _too_many(sheet: str, count: int) -> Problem:
    return Problem(
        sheet=sheet,
        row=None,
        column="",
        found=f"{count} rows",
        allowed=f"at most {MOST_ROWS} rows a sheet",
        mend="Keep what is not of this job in a sheet of another name, or split the job",
    )


def _sources(sheet: str, seen: list[str]) -> tuple[list[_Source], list[Problem]]:
    """Which heading of the sheet serves which column; what is wrong with the headings."""
    by_plain: dict[str, list[str]] = {}
    for heading in seen:
        by_plain.setdefault(plain_heading(heading), []).append(heading)
    unknown = [heading for heading in seen if plain_heading(heading) not in headings(sheet)]
    problems = []
    sources = []
    for column in columns_of(SHEETS[sheet]):
        found = by_plain.get(column.name, [])
        if len(found) > 1:
            problems.append(_heading_twice(sheet, column.name, found))
        if column.required and not found and seen:
            problems.append(_heading_missing(sheet, column.name, seen, unknown))
        there = column.name if column.name in found else next(iter(found), None)
        sources.append(_Source(column=column, field=field_name(SHEETS[sheet], column.name), heading=there))
    return sources, problems


def _heading_twice(sheet: str, name: str, found: list[str]) -> Problem:
    return Problem(
        sheet=sheet, row=1, column=name, found=", ".join(found), allowed="each heading once", mend=f"Keep one {name}"
    )


def _heading_missing(sheet: str, name: str, seen: list[str], unknown: list[str]) -> Problem:
    """A heading that must be there; the unknown one that looks like it is most likely meant."""
    like = nearest(name, unknown)
    mend = f"Write {name} in place of {like}" if like else f"Add the heading {name}, with a cell in every row"
    found = like or " ".join(seen)[:80]
    return Problem(sheet=sheet, row=1, column=name, found=found, allowed=f"the headings {_needed(sheet)}", mend=mend)


def _needed(sheet: str) -> str:
    return " ".join(column.name for column in columns_of(SHEETS[sheet]) if column.required) + " at least"


def _row(
    sheet: str, number: int, row: TextRow, sources: list[_Source], extra: list[str], problems: list[Problem]
) -> Row:
    """One typed row; what cannot be read is told and counts as blank."""
    values: dict[str, Any] = {}
    written: dict[str, str] = {}
    for source in sources:
        text = "" if source.heading is None else row.get(source.heading)
        if not text or text.isspace():
            if source.column.required:
                values[source.field] = _unread(source.column)
                if source.heading is not None:
                    problems.append(_missing(sheet, number, source.column))
            continue
        _cell(sheet, number, source, text, values, written, problems)
    kept = FixedMap({heading: row[heading] for heading in extra if heading in row}) if extra else NOTHING
    return SHEETS[sheet](extra=kept, written=FixedMap(written) if written else NOTHING, **values)


def _cell(
    sheet: str,
    number: int,
    source: _Source,
    text: str,
    values: dict[str, Any],
    written: dict[str, str],
    problems: list[Problem],
) -> None:
    """Reads one cell into the row that is being made."""
    column = source.column
    try:
        value = read_cell(column, text)
    except CellFault as fault:
        problems.append(_unreadable(sheet, number, column, fault))
        if column.required:
            values[source.field] = _unread(column)
        return
    values[source.field] = value
    is_usual = value is text and value != column.blank
    if not is_usual and write_cell(column, value) != text:
        written[column.name] = text


def _unread(column: Column) -> Any:
    """What stands in a required field until the sheet is mended; no job is made with it."""
    return _UNREAD_MUST if column.kind == "must" else column.blank


def _missing(sheet: str, number: int, column: Column) -> Problem:
    mend = "Give the row a name, or clear it" if column.key else "Fill the cell, or clear the row"
    return Problem(sheet=sheet, row=number, column=column.name, found="", allowed=column.help, mend=mend)


def _unreadable(sheet: str, number: int, column: Column, fault: CellFault) -> Problem:
    return Problem(
        sheet=sheet, row=number, column=column.name, found=str(fault.found), allowed=fault.allowed, mend=fault.mend
    )
