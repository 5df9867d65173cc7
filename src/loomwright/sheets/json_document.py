"""A job as one JSON document: `{"format": 1, "sheets": {"parts": [{"id": "B1", ...}, ...], ...}}`.

A row is an object, heading -> text, and blank cells of the contract are left out; `docs/job.schema.json` is the whole
shape. Reading also takes a number for its digits, since many programs write `"size_mm2": 2.5`. Rows are counted as a
spreadsheet would: the first of a sheet is row 2. Everything that is wrong is told at once, and a job is given only if
there is nothing.

Written is always the same text for the same job: sheets and columns in the contract's order, one line a row, so that
two revisions can be compared line by line.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path

from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.job.reading import job_from_text
from loomwright.job.schema import FORMAT, SHEETS, columns, headings
from loomwright.job.taking import plain_heading
from loomwright.job.writing import text_from_job
from loomwright.refusals import BadDocument, Problem
from loomwright.sheets.one_file import read_whole, write_whole
from loomwright.sheets.separated import SheetText
from loomwright.sheets.sheet_text import is_heading, is_text, name_fault, unfit
from loomwright.sheets.strict_json import MOST_BYTES, Digits, NoNumber, Pairs, Value, parsed

__all__ = ["format_fault", "job_from_json", "json_bytes", "open_json", "write_json"]

_FORMAT, _SHEETS = "format", "sheets"
_SHAPE = '{"format": 1, "sheets": {"parts": [{"id": "B1", "kind": "battery"}]}}'
_MOST_DIGITS = 40
_LONGEST_CELL = 131_072
"""Most letters that a CSV sheet takes in one cell. [-]"""
_FIRST_ROW = 2


def open_json(path: str | Path, kinds: Kinds | None = None) -> Job:
    """The job that a JSON document describes.

    Args:
        path: the file.
        kinds: the library of part kinds; the one that ships where left out.
    Raises:
        BadDocument: anything wrong with the file or what stands in it; all of it is listed.
    """
    return job_from_json(read_whole(Path(path), most_bytes=MOST_BYTES), what=Path(path).name, kinds=kinds)


def job_from_json(raw: bytes, *, what: str, kinds: Kinds | None = None) -> Job:
    """The job that the bytes of a JSON document describe.

    Args:
        raw: the whole document.
        what: what the file is called, for the problems.
        kinds: the library of part kinds; the one that ships where left out.
    Raises:
        BadDocument: anything wrong with it; all of it is listed.
    """
    said, broken = parsed(raw, what=what)
    if broken is not None:
        raise BadDocument((broken,))
    faults: list[Problem] = []
    sheets = _sheets_of(said, what, faults)
    if not sheets:
        raise BadDocument(tuple(faults) or (_fault("", f"{what} holds no sheet", _SHAPE, "Write the sheets into it"),))
    return job_from_text(sheets, kinds, faults=faults)


def write_json(job: Job, path: str | Path) -> None:
    """Writes a job as one JSON document; a file that is there is replaced.

    Raises:
        BadDocument: the disk does not take it, or the job holds what no sheet can; nothing is changed.
    """
    write_whole(Path(path), json_bytes(job))


def json_bytes(job: Job) -> bytes:
    """A job as one JSON document: the same bytes for the same job.

    Raises:
        BadDocument: a sheet has a name or a text that no sheet can have, or there is more than can be read back.
    """
    sheets = text_from_job(job)
    faults = unfit(sheets)
    if faults:
        raise BadDocument(tuple(faults))
    own = sorted(name for name in sheets if name not in SHEETS)
    told = [_sheet_lines(name, sheets[name]) for name in (*SHEETS, *own) if name in sheets]
    text = f'{{\n "{_FORMAT}": {FORMAT},\n "{_SHEETS}": {{\n' + ",\n".join(told) + "\n }\n}\n"
    raw = text.encode()
    if len(raw) > MOST_BYTES:
        found = f"{len(raw) // (1024 * 1024)} MB"
        allowed = f"at most {MOST_BYTES // (1024 * 1024)} MB"
        raise BadDocument((_fault("", found, allowed, "Write a folder of sheets or an archive"),))
    return raw


def format_fault(said: object, what: str) -> Problem | None:
    """What keeps a document with that format number from being read, if anything.

    Args:
        said: what stands for the number.
        what: the document, or the member of an archive, for the problem.
    """
    number = int(said) if isinstance(said, Digits) and said.isdecimal() and len(said) < _MOST_DIGITS else 0
    if number == FORMAT:
        return None
    if number > FORMAT:
        mend = "Open it with the newer version of the program that made it"
        return _fault("", f"{what}: format {number}", f"format {FORMAT}, the newest that is known here", mend)
    found = f"{what}: format {_told(said)}" if said is not None else f"{what}: no format"
    return _fault("", found, f'"{_FORMAT}": {FORMAT}', "Write the number of the format")


def _sheet_lines(name: str, rows: Sequence[Mapping[str, str]]) -> str:
    """One sheet, a line a row; blank cells of the contract are left out."""
    known = frozenset(headings(name)) if name in SHEETS else frozenset()
    lines = ",\n".join(
        "   " + json.dumps({head: text for head, text in row.items() if text or head not in known}, ensure_ascii=False)
        for row in rows
    )
    return f"  {json.dumps(name, ensure_ascii=False)}: [\n{lines}\n  ]"


def _sheets_of(said: Value, what: str, faults: list[Problem]) -> dict[str, SheetText]:
    """The sheets of a document as rows of text; what is wrong with them goes to `faults`.

    A sheet whose rows or keys cannot all be had is left out, so that nothing is said about what names its ids.
    """
    if not isinstance(said, Pairs):
        faults.append(_fault("", f"{what}: {_told(said)}", _SHAPE, "Write one object with the sheets in it"))
        return {}
    top = dict(said)
    broken = format_fault(top.get(_FORMAT), what)
    if broken is not None:
        faults.append(broken)
        return {}
    for name in _twice(said):
        faults.append(_fault("", f"{what}: {name} twice", f"{_FORMAT} and {_SHEETS}, each once", f"Keep one {name}"))
    for name in top:
        if name not in (_FORMAT, _SHEETS):
            mend = f"Put it into {_SHEETS}, where it is a sheet" if plain_heading(name) in SHEETS else "Take it out"
            faults.append(_fault("", f"{what}: {name[:_MOST_DIGITS]}", f"{_FORMAT} and {_SHEETS}", mend))
    sheets = top.get(_SHEETS)
    if not isinstance(sheets, Pairs):
        faults.append(_fault("", f"{what}: {_SHEETS}: {_told(sheets)}", _SHAPE, "Write an object with the sheets"))
        return {}
    faults += (_fault(name, name, "each sheet once", f"Keep one sheet {name}") for name in _twice(sheets))
    found: dict[str, SheetText] = {}
    for name, rows in sheets:
        wrong = name_fault(name) if name else _fault("", f"{what}: a sheet without a name", "a name", "Give it one")
        if wrong is not None:
            faults.append(wrong)
        elif not isinstance(rows, list) or isinstance(rows, Pairs):
            faults.append(_fault(name, _told(rows), "a list of rows", "Write the rows between [ and ]"))
        else:
            text = _rows_of(name, rows, faults)
            if text is not None:
                found[name] = text
    return found


def _rows_of(sheet: str, rows: list[Value], faults: list[Problem]) -> SheetText | None:
    """The rows of one sheet, each with every heading that the sheet has of its own; None where some cannot be had."""
    plain = plain_heading(sheet)
    needed = {column.name for column in columns(plain) if column.required} if plain in SHEETS else set()
    is_whole = True
    text: SheetText = []
    for number, row in enumerate(rows, start=_FIRST_ROW):
        cells: dict[str, str] = {}
        if not isinstance(row, Pairs):
            told = Problem(
                sheet=sheet,
                row=number,
                column="",
                found=_told(row),
                allowed="an object, heading: text",
                mend="Write the row between { and }",
            )
            faults.append(told)
            is_whole = False
            continue
        for heading, value in row:
            name = heading.strip()
            fault = "this heading twice in the row" if name in cells else ""
            cell, wrong = _cell(name, value)
            if fault or wrong:
                faults.append(_of_cell(sheet, number, name, fault or wrong))
                is_whole = is_whole and plain_heading(name) not in needed
            cells.setdefault(name, cell)
        text.append(cells)
    if not is_whole:
        return None
    # as in a table, where every row has a cell below every heading
    blank = dict.fromkeys((name for row in text for name in row), "")
    return [blank | row if row else {} for row in text]


def _cell(heading: str, value: Value) -> tuple[str, str]:
    """The text of a cell, and what is wrong with it in words."""
    if isinstance(value, Digits) and len(value) > _MOST_DIGITS:
        return "", f"a number of {len(value)} signs"
    if not isinstance(value, str) or isinstance(value, NoNumber):
        return "", _told(value)
    if not heading and value.strip():
        return "", f"{value[:_MOST_DIGITS]} under no heading"
    if len(value) > _LONGEST_CELL:
        return "", f"{len(value)} letters"
    if not is_text(value) or not is_heading(heading):
        return "", "a zero byte or half a sign"
    return str(value), ""


def _of_cell(sheet: str, row: int, column: str, found: str) -> Problem:
    mend = 'Write the cell as a text, "like this"; leave a blank one out'
    allowed = "a text, or a number"
    return Problem(sheet=sheet, row=row, column=_plain(column), found=_plain(found), allowed=allowed, mend=mend)


def _twice(pairs: Pairs) -> list[str]:
    """Names that stand more than once."""
    seen: set[str] = set()
    return [name for name, _ in pairs if name in seen or seen.add(name)]  # type: ignore[func-returns-value]


def _told(value: object) -> str:
    """A piece of a document in a few words."""
    if isinstance(value, Pairs):
        return "an object"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, bool):
        return "true" if value else "false"
    if value is None:
        return "null"
    text = str(value)[:_MOST_DIGITS]
    return text if isinstance(value, Digits | NoNumber) else f'"{text}"'


def _plain(text: str) -> str:
    """A text that can be printed, whatever stands in the document."""
    return text.encode("utf-8", "backslashreplace").decode()


def _fault(sheet: str, found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet=_plain(sheet), row=None, column="", found=_plain(found), allowed=allowed, mend=_plain(mend))
