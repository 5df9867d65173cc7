"""How does the pack become a workbook?

In: the lists of a pack. Out: bytes of an .xlsx: a sheet a list, the heading frozen and with a filter, ready to print on
A4 across. Figures are numbers that show the digits of the paper; everything else is text, a text that looks like a
formula too. The same lists give the same bytes.
"""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

import xlsxwriter

from loomwright.handover.lists import PackList
from loomwright.sheets.workbook_rows import Cell, RowSheet, whole_book

__all__ = ["pack_workbook"]

_FIGURE = re.compile(r"-?(?:0|[1-9]\d{0,14})(?:\.(\d{1,9}))?")
_BEGINS_FORMULA = frozenset("=+-@\t\r")
_MADE = datetime(2000, 1, 1, tzinfo=UTC)
_A4 = 9
_LEAST_WIDTH, _MOST_WIDTH = 7.0, 46.0
_MOST_TEXT = 32_000
_FACE = "Calibri"
_INK, _RULE, _RAISED = "#1d1f21", "#b9b3a5", "#f3efe4"
_TEXT: dict[str, Any] = {
    "font_name": _FACE,
    "font_size": 10,
    "font_color": _INK,
    "valign": "top",
    "text_wrap": True,
    "bottom": 1,
    "bottom_color": _RULE,
}


def pack_workbook(lists: Sequence[PackList], *, title: str = "", revision: str = "") -> bytes:
    """The lists as a workbook.

    Args:
        title: of the job, over every printed page.
        revision: printed beside it.
    """
    made = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_numbers": False, "strings_to_urls": False}
    book = xlsxwriter.Workbook(made, options)
    book.set_properties({"title": title[:250], "created": _MADE.replace(tzinfo=None)})
    formats = _Formats(book)
    for one in lists:
        _write(book, formats, one, title=title, revision=revision)
    book.close()
    whole_book(book)
    return made.getvalue()


class _Formats:
    """The formats of one workbook, each made when it is first used."""

    def __init__(self, book: Any) -> None:
        self._book = book
        self._figures: dict[int, Any] = {}
        heading = {"bold": True, "bg_color": _RAISED, "bottom": 2, "bottom_color": _INK, "valign": "bottom"}
        self.heading = book.add_format({**_TEXT, **heading})
        self.text = book.add_format(_TEXT)
        self.guarded = book.add_format({**_TEXT, "quote_prefix": True})
        """Of a text that looks like a formula, marked as text for whoever edits the cell."""

    def figure(self, decimals: int) -> Any:
        """Of a figure with so many decimals."""
        if decimals not in self._figures:
            shown = "0." + "0" * decimals if decimals else "0"
            self._figures[decimals] = self._book.add_format({**_TEXT, "num_format": shown, "align": "right"})
        return self._figures[decimals]


def _write(book: Any, formats: _Formats, one: PackList, *, title: str, revision: str) -> None:
    sheet = book.add_worksheet(one.name, RowSheet)
    sheet.put_row(1, ((column, heading, formats.heading) for column, heading in enumerate(one.headings)))
    numbers = [heading in one.figures for heading in one.headings]
    for place, row in enumerate(one.rows, start=2):
        told = zip(row, numbers, strict=True)
        sheet.put_row(place, (_cell(formats, column, cell, number) for column, (cell, number) in enumerate(told)))
    longest = (max(map(len, cells)) for cells in zip(one.headings, *one.rows, strict=True))
    for column, width in enumerate(longest):
        sheet.set_column(column, column, min(_MOST_WIDTH, max(_LEAST_WIDTH, width + 1.5)))
    sheet.freeze_panes(1, 1)
    sheet.autofilter(0, 0, len(one.rows), len(one.headings) - 1)
    _print_set_up(sheet, one.name, title=title, revision=revision)


def _cell(formats: _Formats, column: int, cell: str, is_number: bool) -> Cell:
    """A cell with its look: a figure where it is one in a column of figures, else text; a blank keeps its rule."""
    if not cell:
        return column, None, formats.text
    figure = _FIGURE.fullmatch(cell) if is_number else None
    if figure:
        return column, float(cell), formats.figure(len(figure.group(1) or ""))
    return column, cell[:_MOST_TEXT], formats.guarded if cell[0] in _BEGINS_FORMULA else formats.text


def _print_set_up(sheet: Any, name: str, *, title: str, revision: str) -> None:
    sheet.set_landscape()
    sheet.set_paper(_A4)
    sheet.set_margins(left=0.5, right=0.5, top=0.8, bottom=0.7)
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)
    sheet.set_header(f"&L&B{_plain(name)}&R{_plain(title)[:120]}")
    sheet.set_footer(f"&Lrevision {_plain(revision)[:60]}&Rpage &P of &N")


def _plain(words: str) -> str:
    """Words that mean nothing to a page's head or foot, where & begins a command."""
    return words.replace("&", "&&")
