"""How does a job stand in a workbook, so that reading it gives the same job and a person can fill in the rest?

The guide first, then every sheet of the contract in its order, then the job's own. Headings stand in row 1 and stay in
sight; each column has its note and, where there are words or ids to choose from, its list. A figure is a figure where
that reads back as the same text, everything else is text as it was typed: nothing is ever a formula or a link. What a
workbook cannot hold is refused before anything is written.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from loomwright.job.columns import Column
from loomwright.job.job import Job
from loomwright.job.points import kinds_of
from loomwright.job.schema import RECORDS, SHEETS, columns
from loomwright.job.vehicle import PROPERTIES
from loomwright.job.writing import text_from_job
from loomwright.refusals import BadDocument, Problem
from loomwright.sheets.one_file import write_whole
from loomwright.sheets.sheet_text import unfit
from loomwright.sheets.workbook_cells import figure_of
from loomwright.sheets.workbook_drop_downs import Lists, offer_of, property_offer
from loomwright.sheets.workbook_fitting import unfit_for_workbook
from loomwright.sheets.workbook_guide import WIDTHS, Guide, guide_of
from loomwright.sheets.workbook_look import cell_name
from loomwright.sheets.workbook_package import MOST_BYTES
from loomwright.sheets.workbook_paint import Paint, new_workbook
from loomwright.sheets.workbook_rows import Cell, RowSheet, whole_book
from loomwright.tables.kinds import load_kinds

__all__ = ["ROWS_OFFERED", "workbook_bytes", "write_workbook"]

ROWS_OFFERED = 2000
"""Rows of a sheet that have lists and notes at least. [-]"""

_ROOM = 500
_FIGURES = ("number", "count", "value")
_NARROW, _WIDE, _ARROW = 8, 48, 4
_GUIDE = "guide"
_SHOWN_FIRST = "vehicle"
_SIGNS = frozenset("'=+-@\t\r")
"""Signs that a spreadsheet takes for the beginning of a formula, or eats, where a text that begins so is typed anew."""
_A4 = 9

Rows = Sequence[Mapping[str, str]]


def write_workbook(job: Job, path: str | Path) -> None:
    """Writes a job as a workbook; a file that is there is replaced, whole or not at all.

    Raises:
        BadDocument: the job holds what no workbook can, or the disk does not take it; nothing is changed.
    """
    write_whole(Path(path), workbook_bytes(job))


def workbook_bytes(job: Job, *, open_guide: bool = False) -> bytes:
    """A job as a workbook: the same bytes for the same job.

    Args:
        job: the job.
        open_guide: the spreadsheet shows the guide when it opens the file, else the job.
    Raises:
        BadDocument: a name or a text that no workbook can hold, or more than can be read back; all of it is listed.
    """
    text = text_from_job(job)
    sheets: dict[str, Rows] = {name: text.get(name, ()) for name in (*SHEETS, *job.extra_sheets)}
    faults = [*unfit(sheets), *unfit_for_workbook(sheets)]
    if faults:
        raise BadDocument(tuple(dict.fromkeys(faults)))
    guide = guide_of(kinds_of(job, load_kinds()), sheet=_free_name(sheets))
    last_row = max(ROWS_OFFERED, max(map(len, sheets.values())) + _ROOM) + 1
    file = io.BytesIO()
    book, paint = new_workbook(file)
    _write_guide(book.add_worksheet(guide.lists.sheet, RowSheet), guide, paint)
    for name, rows in sheets.items():
        sheet = book.add_worksheet(name, RowSheet)
        _write_rows(sheet, columns(name) if name in SHEETS else (), rows, paint)
        if name in SHEETS:
            _offer(sheet, name, rows, guide.lists, last_row)
        if name in RECORDS:
            sheet.set_tab_color(paint.record_tab)
        if name == _SHOWN_FIRST and not open_guide:
            sheet.activate()
    book.close()
    whole_book(book)
    data = file.getvalue()
    if len(data) > MOST_BYTES:
        found = f"{len(data) // 2**20} MB"
        mend = "Write a folder of sheets or an archive"
        raise BadDocument((_fault("", found, f"at most {MOST_BYTES // 2**20} MB", mend),))
    return data


def _write_rows(sheet: RowSheet, known: Sequence[Column], rows: Rows, paint: Paint) -> None:
    """The headings and the rows of one sheet."""
    by_name = {column.name: column for column in known}
    headings = tuple(dict.fromkeys((*by_name, *(heading for row in rows for heading in row))))
    widths = [max(_NARROW, len(heading) + _ARROW) for heading in headings]
    needed = {column.name for column in known if column.required}
    sheet.put_row(
        1,
        ((place, name, paint.needed if name in needed else paint.heading) for place, name in enumerate(headings)),
    )
    # a column of the job's own may hold both, so its figures have no look of their own
    figures = [name not in by_name or by_name[name].kind in _FIGURES for name in headings]
    looks = [
        paint.text if name not in by_name or not is_figure else None
        for name, is_figure in zip(headings, figures, strict=True)
    ]
    plan = list(zip(range(len(headings)), headings, figures, looks, strict=True))
    for number, row in enumerate(rows, start=2):
        cells: list[Cell] = []
        for place, heading, is_figure, look in plan:
            text = row.get(heading)
            if not text:
                continue
            if len(text) >= widths[place]:
                widths[place] = max(widths[place], _longest_line(text) + 1)
            figure = figure_of(text) if is_figure else None
            if figure is not None:
                cells.append((place, figure, None))
            else:
                cells.append((place, text, paint.quoted if text[0] in _SIGNS else look))
        sheet.put_row(number, cells)
    for place, _, is_figure, _ in plan:
        sheet.set_column(place, place, min(widths[place], _WIDE), None if is_figure else paint.text)
    if headings:
        _arrange(sheet, len(rows), len(headings), is_key_first=bool(known) and known[0].key)


def _arrange(sheet: RowSheet, rows: int, columns: int, *, is_key_first: bool) -> None:
    """Keeps the headings, and the name of each row, in sight; a filter; and a page that can be printed."""
    sheet.freeze_panes(1, 1 if is_key_first else 0)
    sheet.autofilter(0, 0, max(rows, 1), columns - 1)
    sheet.ignore_errors({"number_stored_as_text": f"A1:{cell_name((max(rows, ROWS_OFFERED) + 1, columns))}"})
    sheet.set_landscape()
    sheet.set_paper(_A4)
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)


def _offer(sheet: RowSheet, name: str, rows: Rows, lists: Lists, last_row: int) -> None:
    """The note and the list of each column of a sheet of the contract."""
    for place, column in enumerate(columns(name)):
        first = 1
        if (name, column.name) == ("vehicle", "value"):
            for first, row in enumerate(rows, start=1):
                if row["name"] in PROPERTIES:
                    sheet.data_validation(first, place, first, place, property_offer(row["name"]))
                else:
                    sheet.data_validation(first, place, first, place, offer_of(name, column, lists, last_row=last_row))
            first = len(rows) + 1
        sheet.data_validation(first, place, last_row - 1, place, offer_of(name, column, lists, last_row=last_row))


def _write_guide(sheet: RowSheet, guide: Guide, paint: Paint) -> None:
    for place, width in enumerate(WIDTHS):
        sheet.set_column(place, place, width)
    for number, line in enumerate(guide.lines, start=1):
        look = paint.guide[line.look]
        sheet.put_row(number, ((place, text, look) for place, text in enumerate(line.cells) if text))
    sheet.set_tab_color(paint.guide_tab)
    sheet.hide_gridlines(2)
    sheet.set_landscape()
    sheet.set_paper(_A4)
    sheet.fit_to_pages(1, 0)


def _longest_line(text: str) -> int:
    return len(text) if "\n" not in text else max(map(len, text.splitlines()), default=0)


def _free_name(names: Iterable[str]) -> str:
    """What our guide is called in this workbook: a sheet of the job's own keeps its name."""
    taken = {name.casefold() for name in names}
    return next(name for name in (_GUIDE, *(f"{_GUIDE}_{number}" for number in range(2, 1000))) if name not in taken)


def _fault(sheet: str, found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet=sheet, row=None, column="", found=found, allowed=allowed, mend=mend)
