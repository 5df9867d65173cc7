"""What rows of text does one sheet of a workbook hold, and what in it cannot be read?

The first row in which something is written is the heading. Rows keep their place, so that a problem names the row the
spreadsheet shows. What a cell is beside its value (a date, a cell fault, a formula that was never worked out, part of
a merged area) comes from the look at the sheet; each such cell is told with its heading, or with its name (`C14`)
where the contract has no such heading, and counts as blank.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from loomwright.job.columns import Column
from loomwright.job.schema import SHEETS, columns
from loomwright.job.taking import plain_heading
from loomwright.refusals import Problem
from loomwright.sheets.separated import SheetText
from loomwright.sheets.workbook_cells import text_of_date, text_of_span, text_of_value
from loomwright.sheets.workbook_look import Cell, SheetLook, cell_name

__all__ = ["GUIDE_MARK", "Value", "Values", "table_of"]

GUIDE_MARK = "loomwright guide: this sheet explains the others and is not read"
"""What stands in the first cell of our own sheet that explains the others; a sheet that begins so is passed over."""

Value = float | bool | str | datetime.date | datetime.time | datetime.timedelta
Values = Iterable[list[Value]]

_NOTHING: dict[str, str] = {}
"""What every blank row is, so that a million of them take no room; never written to."""
_FREE = ("text", "condition")
"""Kinds of columns in which a date may stand, as text."""
_FIGURES = ("number", "count", "value")
_LONGEST_TOLD = 160
_MOST_ALIKE = 200


@dataclass(slots=True)
class _Table:
    """One sheet as it is being read.

    heading_row: number of its heading, 0 before it is found. [-]   names: the headings, those at the end not blank.
    columns: place of a heading, from 0 -> the column of the contract it stands for.
    open_key: a cell that names its row could not be had.   told: place of a heading and mend -> cells told. [-]
    unheaded: place of cells without a heading -> the first.
    """

    sheet: str
    look: SheetLook
    from_1904: bool
    heading_row: int = 0
    names: list[str] = field(default_factory=list)
    all_named: bool = True
    columns: dict[int, Column] = field(default_factory=dict)
    rows: SheetText = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    open_key: bool = False
    told: Counter[tuple[int, str]] = field(default_factory=Counter)
    unheaded: dict[int, Cell] = field(default_factory=dict)


def table_of(
    sheet: str, values: Values, look: SheetLook, *, from_1904: bool
) -> tuple[SheetText | None, list[Problem], bool]:
    """The rows of a sheet below its heading, and what is wrong with it.

    Args:
        sheet: its name: the contract's, or its own.
        values: its rows from the first on, each from the first column on.
        look: what its XML says of its cells.
        from_1904: days are counted from 1904.
    Returns:
        The rows, blank ones empty, the one at index 0 being row 2 of the spreadsheet; None for our own guide. Then the
        problems, and whether the table is whole: its headings are sound and no name of a row is missing.
    """
    table = _Table(sheet=sheet, look=look, from_1904=from_1904)
    special = _by_row((*look.dates, *look.faults, *(cell for cell in look.formulas if cell not in look.texts)))
    for number, row in enumerate(values, start=1):
        if number == 1 and row and row[0] == GUIDE_MARK:
            return None, [], True
        texts = [value if isinstance(value, str) else text_of_value(value) for value in row]
        if not table.heading_row and any(text.strip() for text in texts):
            _heading(table, number, texts)
        for column in special.pop(number, ()):
            _special(table, (number, column), row, texts)
        if table.heading_row < number and table.heading_row:
            _body(table, number, texts)
    for number, places in special.items():  # behind the last cell with a value
        for column in places:
            _special(table, (number, column), [], [""] * column)
    _tell_unheaded(table)
    _tell_merged(table)
    broken = any(problem.row == table.heading_row for problem in table.problems)
    return [] if broken else table.rows, table.problems, not (broken or table.open_key)


def _heading(table: _Table, number: int, texts: Sequence[str]) -> None:
    """Takes the headings from the first row in which something is written."""
    names = [text.strip() for text in texts]
    while not names[-1]:
        names.pop()
    table.heading_row, table.names, table.all_named = number, names, all(names)
    table.rows.extend(_NOTHING for _ in range(number - 1))
    known = {column.name: column for column in columns(table.sheet)} if table.sheet in SHEETS else {}
    seen: set[str] = set()
    for place, name in enumerate(names):
        if plain_heading(name) in known:
            table.columns[place] = known[plain_heading(name)]
        if name == GUIDE_MARK:
            found = f"{cell_name((number, place + 1))}: {name}"
            mend = "Change the heading; of the guide itself this stands in A1"
            allowed = "any other heading: this one marks our guide"
            table.problems.append(_problem(table, number, name, found, allowed, mend))
        if name and name in seen:
            mend = f"Keep one column {name}, or give one of them another heading"
            found = f"{cell_name((number, place + 1))}: {name}"
            table.problems.append(_problem(table, number, name, found, "each heading once", mend))
        seen.add(name)


def _body(table: _Table, number: int, texts: list[str]) -> None:
    """Takes one row below the heading."""
    if not any(texts):
        table.rows.append(_NOTHING)
        return
    names = table.names
    if len(texts) < len(names):
        texts.extend("" for _ in range(len(names) - len(texts)))
    if table.all_named:
        table.rows.append(dict(zip(names, texts, strict=False)))
    else:
        table.rows.append({name: text for name, text in zip(names, texts, strict=False) if name})
        _note_unheaded(table, number, texts, [place for place, name in enumerate(names) if not name])
    if len(texts) > len(names):
        _note_unheaded(table, number, texts, range(len(names), len(texts)))


def _note_unheaded(table: _Table, number: int, texts: Sequence[str], places: Iterable[int]) -> None:
    for place in places:
        if place not in table.unheaded and texts[place].strip():
            table.unheaded[place] = (number, place + 1)


def _special(table: _Table, cell: Cell, row: Sequence[Value], texts: list[str]) -> None:
    """A cell that is more than its value: a date becomes text where one may stand, all else is told and left blank."""
    place = cell[1] - 1
    value = row[place] if place < len(row) else ""
    text: str | None = ""
    if cell in table.look.faults:
        mend = "Put the formula in cell {} right, or type the value over it"
        _tell(table, cell, table.look.faults[cell], "a value, not a cell fault", mend)
    elif cell in table.look.dates:
        text = _date(table, cell, value) if value != "" else ""
    elif value != "":
        return  # a formula, and the value it showed last
    else:
        mend = "Open the workbook in the spreadsheet and save it, or type the value over the formula"
        _tell(table, cell, "a formula whose value was never worked out", "a value, or a formula that shows one", mend)
    if place < len(texts):
        texts[place] = text or ""


def _date(table: _Table, cell: Cell, value: Value) -> str | None:
    """The text of a date, or None where it is told: no date may stand there, or it is none."""
    column = table.columns.get(cell[1] - 1)
    sort = table.look.dates[cell]
    if isinstance(value, str):
        text: str | None = value
    elif isinstance(value, float):
        text = text_of_span(value) if sort == "span" else text_of_date(value, from_1904=table.from_1904)
    else:
        text = text_of_value(value)
    what = "a length of time" if sort == "span" else "a date"
    if text is None:
        mend = "Type the date in cell {} anew, as text"
        _tell(table, cell, f"{what} that no calendar has", "a date such as 2024-05-31", mend)
    elif column is not None and column.kind in _FIGURES and cell[0] > table.heading_row:
        mend = "Set the format of cell {} to a plain number and type the figure"
        _tell(table, cell, f"{what}, {text}", "a figure", mend)
        return None
    elif column is not None and column.kind not in _FREE and cell[0] > table.heading_row:
        mend = "Set the format of cell {} to text and type anew what is meant"
        _tell(table, cell, f"{what}, {text}, which the spreadsheet made of what was typed", column.help, mend)
        return None
    return text


def _tell(table: _Table, cell: Cell, found: str, allowed: str, mend: str) -> None:
    """A problem of one cell: under the contract's heading, or with the cell's name where there is no such heading.

    mend: what to do, `{}` where the cell's name stands. Of very many alike in one column, the first are told.
    """
    place = cell[1] - 1
    column = table.columns.get(place) if cell[0] > table.heading_row else None
    if column is not None:
        table.open_key = table.open_key or column.key
    table.told[place, mend] += 1
    if table.told[place, mend] > _MOST_ALIKE:
        return
    if table.told[place, mend] == _MOST_ALIKE:
        found = f"{found}, and so may be further cells of this column"
    if column is not None:
        table.problems.append(_problem(table, cell[0], column.name, found, allowed, mend.format(cell_name(cell))))
        return
    name = table.names[place] if place < len(table.names) and cell[0] > table.heading_row else ""
    found = f"{cell_name(cell)}: {found}"
    table.problems.append(_problem(table, cell[0], name, found, allowed, mend.format(cell_name(cell))))


def _tell_unheaded(table: _Table) -> None:
    for place, cell in sorted(table.unheaded.items()):
        heading = cell_name((table.heading_row, place + 1))
        column = heading.rstrip("0123456789")
        found = f"cells without a heading in column {column}, the first {cell_name(cell)}"
        mend = f"Write a heading into {heading}, or clear the cells below it"
        table.problems.append(_problem(table, table.heading_row, "", found, "a heading", mend))


def _tell_merged(table: _Table) -> None:
    """Merged areas that hide cells of rows; blank ones and those above the rows do no harm."""
    if table.sheet not in SHEETS or not table.heading_row:
        return
    for first, last in table.look.merged:
        top, left = max(first[0], table.heading_row + 1), first[1]
        places = [place for place in range(left - 1, min(last[1], len(table.names))) if table.names[place]]
        hidden = len(places) * (last[0] - top + 1) - (first[0] == top)
        if last[0] < top or hidden < 1 or (first[0] == top and not _text_at(table, first)):
            continue
        area = f"{cell_name(first)}:{cell_name(last)}"
        mend = f"Unmerge {area} and write the text into every cell that it is meant for"
        column = table.columns.get(places[0])
        name = column.name if column is not None else table.names[places[0]]
        table.problems.append(_problem(table, top, name, f"{area} merged into one cell", "a cell for each row", mend))


def _text_at(table: _Table, cell: Cell) -> str:
    index, place = cell[0] - 2, cell[1] - 1
    if index >= len(table.rows) or place >= len(table.names):
        return ""
    return table.rows[index].get(table.names[place], "")


def _by_row(cells: Iterable[Cell]) -> dict[int, list[int]]:
    found: dict[int, list[int]] = {}
    for row, column in sorted(dict.fromkeys(cells)):
        found.setdefault(row, []).append(column)
    return found


def _problem(table: _Table, row: int, column: str, found: str, allowed: str, mend: str) -> Problem:
    told = found if len(found) <= _LONGEST_TOLD else found[:_LONGEST_TOLD] + " ..."
    return Problem(sheet=table.sheet, row=row, column=column, found=told, allowed=allowed, mend=mend)
