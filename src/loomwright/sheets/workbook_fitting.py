"""What in the sheets of a job could no workbook hold, or could not be read back from one?

Asked before anything is written, so that a job goes into a workbook whole or not at all.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from loomwright.refusals import Problem
from loomwright.sheets.workbook_cells import LONGEST_TEXT, text_fault
from loomwright.sheets.workbook_look import FURTHEST_ROW, MOST_CELLS, MOST_COLUMNS, MOST_TEXT_BYTES
from loomwright.sheets.workbook_package import MOST_SHEETS
from loomwright.sheets.workbook_table import GUIDE_MARK

__all__ = ["unfit_for_workbook"]

_NOT_IN_A_NAME = re.compile(r"[\[\]:*?/\\\x00-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
_LONGEST_NAME = 31
_TAKEN_NAME = "history"
_NAME = "at most 31 letters, none of [ ] : * ? / \\, no ' at either end, and not History"
_RENAME = "Give the sheet another name"
_FIRST_ROW = 2

Rows = Sequence[Mapping[str, str]]


def unfit_for_workbook(sheets: Mapping[str, Rows]) -> list[Problem]:
    """What keeps sheets of text from being a workbook; nothing in most cases.

    Args:
        sheets: sheet -> its rows below the heading, heading -> text.
    """
    faults = [*_about_names(list(sheets)), *_about_amounts(sheets)]
    for name, rows in sheets.items():
        faults += _about_headings(name, rows)
        for number, row in enumerate(rows, start=_FIRST_ROW):
            if text_fault("".join(row.values())):
                faults += _about_texts(name, number, row)
    return faults


def _about_names(names: Sequence[str]) -> Iterator[Problem]:
    """Names that no tab can have, and names that differ in capitals only."""
    seen: dict[str, str] = {}
    for name in names:
        letters = len(name.encode("utf-16-le", "surrogatepass")) // 2
        is_taken = name.casefold() == _TAKEN_NAME
        if not 0 < letters <= _LONGEST_NAME or _NOT_IN_A_NAME.search(name) or "'" in (name[0], name[-1]) or is_taken:
            yield _of_sheet(name, name, _NAME, _RENAME)
        other = seen.setdefault(name.lower(), name)
        if other != name:
            yield _of_sheet(name, name, "each name once, whatever its capitals", f"{_RENAME} than {other}")
    if len(names) >= MOST_SHEETS:
        yield _of_sheet("", f"{len(names)} sheets", f"less than {MOST_SHEETS}", "Keep what is not of this job outside")


def _about_amounts(sheets: Mapping[str, Rows]) -> Iterator[Problem]:
    """More cells or more text than is read back."""
    cells = size_bytes = 0
    mend = "Write a folder of sheets or an archive"
    for name, rows in sheets.items():
        if len(rows) >= FURTHEST_ROW:
            yield _of_sheet(name, f"{len(rows)} rows", f"less than {FURTHEST_ROW}", mend)
        for row in rows:
            text = "".join(row.values())
            cells += len(row)
            size_bytes += len(text) if text.isascii() else len(text.encode("utf-8", "surrogatepass"))
    if cells > MOST_CELLS:
        yield _of_sheet("", f"{cells} cells", f"at most {MOST_CELLS}", mend)
    if size_bytes > MOST_TEXT_BYTES:
        yield _of_sheet("", f"{size_bytes // 2**20} MB of text", f"at most {MOST_TEXT_BYTES // 2**20} MB", mend)


def _about_headings(sheet: str, rows: Rows) -> Iterator[Problem]:
    """Headings that would be read as others."""
    headings = dict.fromkeys(heading for row in rows for heading in row)
    if len(headings) > MOST_COLUMNS:
        mend = "Keep what is not of this job in another sheet"
        yield _of_sheet(sheet, f"{len(headings)} columns", f"at most {MOST_COLUMNS}", mend)
    for heading in headings:
        if heading != heading.strip() or not heading:
            yield _at(sheet, 1, heading, repr(heading), "a heading without blanks around it", "Write the heading anew")
        if heading == GUIDE_MARK:
            yield _at(sheet, 1, heading, heading, "any other heading: this one marks our guide", "Change the heading")
        fault = text_fault(heading)
        if fault:
            yield _at(sheet, 1, _told(heading), fault, f"at most {LONGEST_TEXT} letters", "Write the heading anew")


def _about_texts(sheet: str, number: int, row: Mapping[str, str]) -> Iterator[Problem]:
    """Texts of one row that no cell can hold."""
    for heading, text in row.items():
        fault = text_fault(text)
        if fault:
            allowed = f"at most {LONGEST_TEXT} letters, each one a sign"
            yield _at(sheet, number, _told(heading), fault, allowed, "Shorten the text, or write it anew")


def _told(text: str) -> str:
    """A text that can be printed, whatever it holds."""
    return text[:80].encode("utf-8", "backslashreplace").decode()


def _of_sheet(sheet: str, found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet=_told(sheet), row=None, column="", found=_told(found), allowed=allowed, mend=mend)


def _at(sheet: str, row: int, column: str, found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet=_told(sheet), row=row, column=_told(column), found=_told(found), allowed=allowed, mend=mend)
