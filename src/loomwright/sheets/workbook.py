"""A job in a workbook (`.xlsx`): which job do its sheets describe, and what in them cannot be read?

    file -> parts (`workbook_package`) -> a look at each sheet (`workbook_look`) -> values (python-calamine)
         -> rows of text (`workbook_table`) -> one job (`job.reading`)

Every sheet is read, hidden ones too; our own guide is passed over. Whatever is wrong with the file, its sheets and what
stands in them is told at once, and a job is given only if there is nothing. The reader of values is handed a workbook
that holds no more than what was looked at: the sheets and their shared texts. It sees no styles (dates are worked out
here), no links, no drawings, and nothing it could choke on.

Writing is in `workbook_writing`; what is read and written how is in `docs/method/workbook.md`.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Collection, Mapping
from dataclasses import replace
from pathlib import Path

from python_calamine import CalamineError, CalamineSheet, CalamineWorkbook

from loomwright.job.job import Job
from loomwright.job.points import Kinds
from loomwright.job.reading import job_from_text
from loomwright.job.schema import SHEETS
from loomwright.job.taking import plain_heading
from loomwright.refusals import BadDocument, Problem
from loomwright.sheets.one_file import read_whole
from loomwright.sheets.separated import SheetText
from loomwright.sheets.workbook_look import (
    MOST_AREA,
    MOST_CELLS,
    MOST_TEXT_BYTES,
    SheetLook,
    TooMuch,
    look_at,
    shared_text_bytes,
)
from loomwright.sheets.workbook_package import MOST_BYTES, Package, SheetPart, package_of
from loomwright.sheets.workbook_table import Values, table_of
from loomwright.sheets.workbook_xml import DamagedPart

__all__ = ["open_workbook", "read_workbook"]

_THE_FILE = "the workbook"
_MOST_SHEET_BYTES = 64 * 1024 * 1024
_SPREADSHEET = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships"
_SAVE_ANEW = "Open it in the spreadsheet and save it anew as .xlsx"
_KNOWN_FAULTS = frozenset(("#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!"))


def open_workbook(path: str | Path, kinds: Kinds | None = None) -> Job:
    """The job that a workbook describes.

    Args:
        path: the file.
        kinds: the library of part kinds; the one that ships where left out.
    Raises:
        BadDocument: anything wrong with the file, its sheets or what stands in them; all of it is listed.
    """
    data = read_whole(Path(path), most_bytes=MOST_BYTES)
    sheets, faults = read_workbook(data, what=Path(path).name)
    if not sheets:
        raise BadDocument(tuple(faults))
    try:
        return job_from_text(sheets, kinds, faults=faults)
    except BadDocument as refusal:
        # a cell that was told and left blank is not told again as a blank one
        told = {(fault.sheet, fault.row, fault.column) for fault in faults if fault.row is not None}
        kept = [one for one in refusal.problems if one in faults or (one.sheet, one.row, one.column) not in told]
        raise BadDocument(tuple(kept)) from None


def read_workbook(
    data: bytes, *, what: str = _THE_FILE, wanted: Collection[str] = tuple(SHEETS)
) -> tuple[Mapping[str, SheetText], list[Problem]]:
    """The sheets of a workbook as rows of text, and everything in it that cannot be read.

    Args:
        data: the whole file.
        what: what the file is called, for the problems.
        wanted: a workbook with none of these sheets is none of ours.
    Returns:
        Sheet -> its rows below the heading, blank ones empty, the one at index 0 being row 2 of the spreadsheet; and
        the problems. A sheet with problems is among the sheets where its rows are known all the same.
    """
    package, found = package_of(data, what=what)
    faults = [replace(fault, sheet=_called(fault.sheet)) for fault in found]
    if package is None:
        return {}, faults
    looked: list[tuple[SheetPart, SheetLook]] = []
    for part in package.sheets:
        try:
            looked.append((part, look_at(part.data, date_styles=package.date_styles)))
        except DamagedPart as fault:
            faults.append(_damaged(part.name, fault))
    over = _too_much(package, looked, what)
    if over is not None:
        return {}, [*faults, over]
    sheets = _sheets(package, looked, what, faults)
    names = {_called(part.name) for part in package.sheets} | {fault.sheet for fault in faults}
    if names.isdisjoint(wanted):
        mend = "Give the sheets these names; loomwright new my.xlsx makes a workbook to fill in"
        faults.append(_fault("", f"{what} holds no sheet of a job", "sheets called parts wires ...", mend))
        return {}, faults
    return sheets, faults


def _sheets(
    package: Package, looked: list[tuple[SheetPart, SheetLook]], what: str, faults: list[Problem]
) -> dict[str, SheetText]:
    """The rows of the sheets that were looked at; what is wrong with them is added to the faults."""
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(_bare_workbook(package, looked)))
    except CalamineError:  # each sheet's XML has been gone through, so it is the texts that they share
        allowed = "texts as a spreadsheet writes them"
        faults.append(_fault("", f"{what} holds texts that cannot be read", allowed, _SAVE_ANEW))
        return {}
    sheets: dict[str, SheetText] = {}
    for number, (part, look) in enumerate(looked):
        name = _called(part.name)
        try:
            values = _rows(book.get_sheet_by_index(number))
            rows, found, whole = table_of(name, values, look, from_1904=package.from_1904)
        except CalamineError:
            faults.append(_fault(name, "cells that cannot be read", "cells as a spreadsheet writes them", _SAVE_ANEW))
            continue
        faults.extend(found)
        if rows is not None and whole:
            # a name that stands twice but for capitals is told by the reader of the job
            sheets[part.name if name in sheets else name] = rows
    return sheets


def _too_much(package: Package, looked: list[tuple[SheetPart, SheetLook]], what: str) -> Problem | None:
    """What a workbook holds more of than is read, if anything; each sheet by itself may hold as much."""
    mend = "Keep what is not of this job outside"
    cells = sum(look.cells for _, look in looked)
    if cells > MOST_CELLS:
        return _fault("", f"{what} holds {cells} cells", f"at most {MOST_CELLS}", mend)
    area = sum(look.rows * look.columns for _, look in looked)
    if area > MOST_AREA:
        mend = "Clear the cells that lie far out, or keep what is not of this job outside"
        return _fault("", f"{what} reaches over {area} cells", f"at most {MOST_AREA}, blank ones too", mend)
    size_bytes = sum(len(part.data) for part, _ in looked)
    if size_bytes > _MOST_SHEET_BYTES:
        return _fault(
            "", f"{what} holds {size_bytes // 2**20} MB of cells", f"at most {_MOST_SHEET_BYTES // 2**20} MB", mend
        )
    longest = max(package.string_bytes, default=0)
    if sum(look.strings for _, look in looked) * longest > MOST_TEXT_BYTES:
        size_bytes = sum(shared_text_bytes(part.data, look, package.string_bytes) for part, look in looked)
        if size_bytes > MOST_TEXT_BYTES:
            found = f"{what} holds {size_bytes // 2**20} MB of text, the same again and again"
            return _fault("", found, f"at most {MOST_TEXT_BYTES // 2**20} MB", mend)
    return None


def _rows(sheet: CalamineSheet) -> Values:
    """The rows of a sheet from the first on, each from the first column on."""
    if sheet.start is None:
        return
    left: list[float | bool | str] = [""] * sheet.start[1]
    for row in sheet.iter_rows():
        yield [*left, *row]


def _bare_workbook(package: Package, looked: list[tuple[SheetPart, SheetLook]]) -> bytes:
    """A workbook of the sheets as they were looked at and their shared texts, and of nothing else."""
    numbers = range(1, len(looked) + 1)
    named = "".join(f'<sheet name="{number}" sheetId="{number}" r:id="r{number}"/>' for number in numbers)
    related = "".join(_relationship(f"r{number}", "worksheet", f"worksheets/{number}.xml") for number in numbers)
    if package.strings:
        related += _relationship("strings", "sharedStrings", "sharedStrings.xml")
    members: dict[str, bytes | str] = {
        "_rels/.rels": _relationships(_relationship("book", "officeDocument", "xl/workbook.xml")),
        "xl/workbook.xml": f'<workbook xmlns="{_SPREADSHEET}" xmlns:r="{_OFFICE}"><sheets>{named}</sheets></workbook>',
        "xl/_rels/workbook.xml.rels": _relationships(related),
    }
    if package.strings:
        members["xl/sharedStrings.xml"] = package.strings
    for number, (part, look) in enumerate(looked, start=1):
        members[f"xl/worksheets/{number}.xml"] = _with_known_faults(part.data, look)
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as packed:
        for name, member in members.items():
            packed.writestr(name, member)
    return file.getvalue()


def _with_known_faults(data: bytes, look: SheetLook) -> bytes:
    """The same sheet with cell faults of newer spreadsheets as ones the reader of values knows; all are told."""
    for text in {*look.faults.values()} - _KNOWN_FAULTS:
        data = data.replace(b">" + text.encode() + b"<", b">#N/A<")
    return data


def _relationships(inside: str) -> str:
    return f'<Relationships xmlns="{_PACKAGE}">{inside}</Relationships>'


def _relationship(key: str, sort: str, target: str) -> str:
    return f'<Relationship Id="{key}" Type="{_OFFICE}/{sort}" Target="{target}"/>'


def _called(name: str) -> str:
    """A sheet's name: the contract's in any mixture of capitals, else its own."""
    plain = plain_heading(name)
    return plain if plain in SHEETS else name


def _damaged(sheet: str, fault: DamagedPart) -> Problem:
    if isinstance(fault, TooMuch):
        mend = "Clear what lies far out, or keep what is not of this job in another workbook"
        return _fault(_called(sheet), f"the sheet {fault.what}", fault.allowed, mend)
    return _fault(_called(sheet), f"the sheet {fault.what}", "a sheet as a spreadsheet writes it", _SAVE_ANEW)


def _fault(sheet: str, found: str, allowed: str, mend: str) -> Problem:
    return Problem(sheet=sheet, row=None, column="", found=found, allowed=allowed, mend=mend)
