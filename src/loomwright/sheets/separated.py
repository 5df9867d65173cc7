"""What rows does the text of one CSV sheet hold, and how are rows written as CSV?

Separators are `,` or `;`, told from the heading; a heading in which both part words is refused, not guessed at. Blank
lines keep their place, so that a row's number is the one a spreadsheet shows. Every row must fit its headings.

A text that a spreadsheet would take for a formula (`=1+1`, `@name`) is written with an apostrophe in front, as people
type it themselves, and read without it. It is text on both sides and nothing is ever worked out.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loomwright.job.taking import MOST_ROWS
from loomwright.refusals import Problem

__all__ = ["SheetText", "rows_from_text", "text_from_rows"]

SheetText = list[dict[str, str]]

_FORMULA = re.compile(r"'*[=+\-@\t\r]")
_GUARDED = re.compile(r"'+[=+\-@\t\r]")
_PLAIN = re.compile(r"[+\-]|[+\-][0-9][0-9.,]*(?:[eE][+\-]?[0-9]+)?")
_NEEDS_QUOTES = re.compile(r'[,;"\r\n]')
_IN_QUOTES = re.compile(r'"(?:[^"]|"")*"')


@dataclass(frozen=True, slots=True, kw_only=True)
class _Heading:
    """The headings of a sheet and where they stand: the record they are in, from 0. [-]"""

    names: tuple[str, ...]
    place: int


def rows_from_text(sheet: str, text: str) -> tuple[SheetText, list[Problem]]:
    """The rows of one sheet below its heading, heading -> text, and what is wrong with it as a table.

    Args:
        sheet: its name, for the problems.
        text: the whole sheet.
    Returns:
        Rows in order, blank ones empty; the row at index 0 is row 2 of the spreadsheet. No rows where the table is
        broken.
    """
    if "\0" in text:
        return [], [_zero_byte(sheet, text)]
    separator = _separator(text)
    if separator is None:
        return [], [_two_separators(sheet, text)]
    try:
        records = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))
    except csv.Error:
        return [], [_broken(sheet, text, separator)]
    heading = _heading(records)
    if heading is None:
        return [], []
    problems = _about_headings(sheet, heading, records)
    if problems:
        return [], problems
    if sum(map(any, records)) - 1 > MOST_ROWS:
        # told by the reader of the sheet, in its own words; its cells need not be looked at one by one
        return [dict(zip(heading.names, record, strict=False)) for record in records[heading.place + 1 :]], []
    rows: SheetText = [{} for _ in range(heading.place)]
    for number, record in enumerate(records[heading.place + 1 :], start=heading.place + 2):
        over = [cell for cell in record[len(heading.names) :] if cell.strip()]
        if over:
            problems.append(_too_wide(sheet, number, over, heading.names, separator))
        cells = (*record, *("" for _ in range(len(heading.names) - len(record)))) if any(record) else ()
        rows.append({name: unguarded(cell) for name, cell in zip(heading.names, cells, strict=False) if name})
    return rows, problems


def text_from_rows(names: Sequence[str], rows: Sequence[Mapping[str, str]]) -> str:
    """Rows as CSV text: headings first, `,` between cells, a line end behind each row."""
    lines = [",".join(_quoted(guarded(name)) for name in names)]
    for row in rows:
        lines.append(",".join(_quoted(guarded(row.get(name, ""))) for name in names))
    return "\n".join(lines) + "\n"


def guarded(text: str) -> str:
    """A cell as it is written: with an apostrophe in front where a spreadsheet would take it for a formula.

    Example:
        >>> guarded("=1+1"), guarded("-10"), guarded("+"), guarded("fan")
        ("'=1+1", '-10', '+', 'fan')
    """
    return f"'{text}" if _FORMULA.match(text) and not _PLAIN.fullmatch(text) else text


def unguarded(text: str) -> str:
    """A cell as it was meant, the apostrophe of `guarded` taken off."""
    return text[1:] if _GUARDED.match(text) else text


def _quoted(cell: str) -> str:
    """A cell between quotes where something in it would part cells or rows, in whatever way the text is read."""
    return '"' + cell.replace('"', '""') + '"' if _NEEDS_QUOTES.search(cell) else cell


def _separator(text: str) -> str | None:
    """What parts the cells, told from the heading; None where it cannot be told."""
    bare = _IN_QUOTES.sub("", _first_line(text))
    if "," in bare and ";" in bare:
        return None
    return ";" if ";" in bare else ","


def _zero_byte(sheet: str, text: str) -> Problem:
    line = text.count("\n", 0, text.index("\0")) + 1
    return _problem(
        sheet, row=line, found="a zero byte", allowed="text only", mend="Save the sheet anew as CSV in UTF-8"
    )


def _two_separators(sheet: str, text: str) -> Problem:
    return _problem(
        sheet,
        row=1,
        found=_first_line(text)[:80],
        allowed="headings parted by , or by ; and not by both",
        mend="Use one of them, and put a heading that has the other in it between quotes",
    )


def _first_line(text: str) -> str:
    """The first line in which something is written."""
    return next((line for line in text.splitlines() if line.strip(" \t,;")), "")


def _heading(records: Sequence[Sequence[str]]) -> _Heading | None:
    for place, record in enumerate(records):
        if any(cell.strip() for cell in record):
            names = [unguarded(cell.strip()) for cell in record]
            while names and not names[-1]:
                names.pop()
            return _Heading(names=tuple(names), place=place)
    return None


def _about_headings(sheet: str, heading: _Heading, records: Sequence[Sequence[str]]) -> list[Problem]:
    """Headings that stand twice, and columns with cells and no heading."""
    problems = []
    row = heading.place + 1
    seen = set()
    for count, name in enumerate(heading.names):
        if name and name in seen:
            mend = f"Keep one column {name}, or give one of them another heading"
            problems.append(_problem(sheet, row=row, column=name, found=name, allowed="each heading once", mend=mend))
        seen.add(name)
        if not name and any(len(record) > count and record[count].strip() for record in records[heading.place + 1 :]):
            mend = f"Write a heading over column {count + 1}, or clear its cells"
            problems.append(
                _problem(
                    sheet,
                    row=row,
                    found=f"cells without a heading in column {count + 1}",
                    allowed="a heading",
                    mend=mend,
                )
            )
    return problems


def _too_wide(sheet: str, number: int, over: list[str], names: Sequence[str], separator: str) -> Problem:
    return _problem(
        sheet,
        row=number,
        found=" ".join(over)[:80],
        allowed=f"{len(names)} cells, one a heading",
        mend=f'Put a text that has {separator} in it between quotes, "like{separator} this"',
    )


def _broken(sheet: str, text: str, separator: str) -> Problem:
    """A table that falls apart: where, and what is nearly always the reason."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    row = 1
    try:
        while next(reader, None) is not None:
            row += 1
    except csv.Error:
        pass
    return _problem(
        sheet,
        row=row,
        found="a quote that does not open or close a cell",
        allowed='cells with a quote at both ends, "like this", quotes inside doubled',
        mend=f"Close the quote in row {row}, or take it out",
    )


def _problem(sheet: str, *, row: int | None, found: str, allowed: str, mend: str, column: str = "") -> Problem:
    return Problem(sheet=sheet, row=row, column=column, found=found, allowed=allowed, mend=mend)
