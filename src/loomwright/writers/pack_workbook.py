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

__all__ = ["pack_workbook"]

_FIGURE = re.compile(r"-?(?:0|[1-9]\d{0,14})(?:\.(\d{1,9}))?")
_FORMULA = re.compile(r"[=+\-@\t\r]")
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
    return made.getvalue()


class _Formats:
    """The formats of one workbook, each made when it is first used."""

    def __init__(self, book: Any) -> None:
        self._book = book
        self._made: dict[str, Any] = {}

    def heading(self) -> Any:
        """Of a heading."""
        more = {"bold": True, "bg_color": _RAISED, "bottom": 2, "bottom_color": _INK, "valign": "bottom"}
        return self._format("heading", more)

    def text(self, words: str) -> Any:
        """Of a text; one that looks like a formula is marked as text for whoever edits the cell."""
        return self._format("guarded", {"quote_prefix": True}) if _FORMULA.match(words) else self._format("text", {})

    def figure(self, decimals: int) -> Any:
        """Of a figure with so many decimals."""
        shown = "0." + "0" * decimals if decimals else "0"
        return self._format(f"figure {decimals}", {"num_format": shown, "align": "right"})

    def _format(self, name: str, more: dict[str, Any]) -> Any:
        if name not in self._made:
            self._made[name] = self._book.add_format({**_TEXT, **more})
        return self._made[name]


def _write(book: Any, formats: _Formats, one: PackList, *, title: str, revision: str) -> None:
    sheet = book.add_worksheet(one.name)
    widths = [float(len(heading)) for heading in one.headings]
    for column, heading in enumerate(one.headings):
        sheet.write_string(0, column, heading, formats.heading())
    numbers = [heading in one.figures for heading in one.headings]
    for place, row in enumerate(one.rows, start=1):
        for column, (cell, number) in enumerate(zip(row, numbers, strict=True)):
            figure = _FIGURE.fullmatch(cell) if number else None
            if figure:
                sheet.write_number(place, column, float(cell), formats.figure(len(figure.group(1) or "")))
            elif cell:
                sheet.write_string(place, column, cell[:_MOST_TEXT], formats.text(cell))
            else:
                sheet.write_blank(place, column, None, formats.text(""))
            widths[column] = max(widths[column], float(len(cell)))
    for column, width in enumerate(widths):
        sheet.set_column(column, column, min(_MOST_WIDTH, max(_LEAST_WIDTH, width + 1.5)))
    sheet.freeze_panes(1, 1)
    sheet.autofilter(0, 0, len(one.rows), len(one.headings) - 1)
    _print_set_up(sheet, one.name, title=title, revision=revision)


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
