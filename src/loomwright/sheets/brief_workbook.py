"""How is the brief a sheet of a workbook: a question a row, its answer beside it, what is allowed as a list?

The sheet is called `brief`; its columns are `question` (the name of the question), `answer`, and, for whoever fills it
in, `asks`, `unit` and `chapter`. Reading takes `question` and `answer` alone, so a sheet of two columns typed by hand
is read as well; a blank answer is the usual one.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from pathlib import Path

from xlsxwriter.utility import xl_range_abs
from xlsxwriter.worksheet import Worksheet

from loomwright.brief.brief import Brief
from loomwright.refusals import BadDocument, Problem
from loomwright.sheets.one_file import read_whole
from loomwright.sheets.workbook import read_workbook
from loomwright.sheets.workbook_package import MOST_BYTES
from loomwright.sheets.workbook_paint import new_workbook

__all__ = ["SHEET", "answers_in_workbook", "brief_workbook"]

SHEET = "brief"
"""What the sheet is called."""

_LISTS = "lists"
_QUESTION, _ANSWER = "question", "answer"
_COLUMNS = ((_QUESTION, 22), (_ANSWER, 38), ("asks", 62), ("unit", 8), ("chapter", 24))


def brief_workbook(brief: Brief) -> bytes:
    """The page of questions as a workbook, the usual answers in it and the allowed ones as lists."""
    file = io.BytesIO()
    book, paint = new_workbook(file)
    sheet = book.add_worksheet(SHEET)
    lists = book.add_worksheet(_LISTS)
    for place, (name, width) in enumerate(_COLUMNS):
        sheet.set_column(place, place, width)
        sheet.write_string(0, place, name, paint.heading)
    for row, each in enumerate(brief.asks, start=1):
        ask = each.ask
        for place, text in enumerate((ask.name, ask.usual, ask.says, ask.unit, each.chapter)):
            sheet.write_string(row, place, text, paint.text)
        if ask.allowed:
            sheet.data_validation(
                row,
                1,
                row,
                1,
                {
                    "validate": "list",
                    "source": list(ask.allowed) if _is_short(ask.allowed) else _listed(lists, row, ask.allowed),
                    "error_title": "Not an answer",
                    "error_message": "Take one of the list, or leave it blank for the usual one.",
                },
            )
    sheet.freeze_panes(1, 2)
    sheet.hide_gridlines(2)
    book.close()
    return file.getvalue()


def answers_in_workbook(path: str | Path) -> Mapping[str, str]:
    """The answers in a workbook's sheet `brief`: question -> answer, blank ones left out.

    Raises:
        BadDocument: it cannot be read, has no such sheet or no such columns, or asks one thing twice.
    """
    place = Path(path)
    sheets, faults = read_workbook(read_whole(place, most_bytes=MOST_BYTES), what=place.name, wanted=(SHEET,))
    rows = sheets.get(SHEET)
    if rows is None:
        raise BadDocument((_no_sheet(place.name),))
    own = tuple(fault for fault in faults if fault.sheet == SHEET)
    if own:
        raise BadDocument(own)
    found: dict[str, str] = {}
    problems = []
    for number, row in enumerate(rows, start=2):
        name = row.get(_QUESTION, "").strip()
        if row and _QUESTION not in row:
            problems.append(_problem(number, _QUESTION, "no question", "the name of one", "Name the question"))
        elif name in found:
            problems.append(_problem(number, _QUESTION, name, "each question once", "Take one of the two out"))
        elif name:
            found[name] = row.get(_ANSWER, "").strip()
    if problems:
        raise BadDocument(tuple(problems))
    return {name: answer for name, answer in found.items() if answer}


def _is_short(words: tuple[str, ...]) -> bool:
    """Whether a list can stand in the cell's own rule, which splits at commas and holds 255 letters."""
    return not any("," in word for word in words) and len(",".join(words)) <= 255


def _listed(lists: Worksheet, row: int, words: tuple[str, ...]) -> str:
    """Writes a list into its row of the sheet of lists, and names it: answers with a comma in them need it."""
    for place, word in enumerate(words):
        lists.write_string(row, place, word)
    return f"={_LISTS}!{xl_range_abs(row, 0, row, len(words) - 1)}"


def _no_sheet(what: str) -> Problem:
    mend = "Make one: loomwright new --questions --out brief.xlsx"
    return Problem(
        sheet="", row=None, column="", found=what, allowed=f"a workbook with a sheet called {SHEET}", mend=mend
    )


def _problem(row: int, column: str, found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet=SHEET, row=row, column=column, found=found, allowed=allowed, mend=mend)
